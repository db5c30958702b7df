//! The page for everybody: the cohort's commonest strengths and faults, with no pair named.

use maud::{Markup, html};

use super::{CAUTIONS, page};

/// Everything that the page says.
#[derive(Debug, Clone, Default)]
pub struct CohortFeedbackPage {
    /// The course.
    pub course: String,
    /// How many reports it is about.
    pub reports: usize,
    /// What most of them show well.
    pub strengths: Vec<Common>,
    /// What is most often missing or not supported, and what helps.
    pub faults: Vec<Common>,
    /// Questions of the markers to which reports most often had less than a full answer.
    pub judged: Vec<Common>,
    /// Slips that wrong numbers come out of.
    pub slips: Vec<Common>,
    /// How many stated numbers could be recomputed, and how many of them follow.
    pub numbers: Option<(usize, usize)>,
}

/// Something that several reports have in common.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Common {
    /// What.
    pub what: String,
    /// What to do about it, or why it is good; may be empty.
    pub advice: String,
    /// In how many reports.
    pub count: usize,
    /// Of how many in which it could be seen.
    pub of: usize,
}

/// The page.
pub fn render(feedback: &CohortFeedbackPage) -> String {
    let title = if feedback.course.is_empty() {
        String::from("Feedback for everybody")
    } else {
        format!("{}: feedback for everybody", feedback.course)
    };
    let content = html! {
        main {
            header {
                @if !feedback.course.is_empty() { p.over { (feedback.course) } }
                h1 { "Feedback for everybody" }
                p { "What " (feedback.reports) " reports have in common. Your own feedback says which of it is about your report." }
            }
            (list("What many of you did well", &feedback.strengths))
            (list("What needs another look, the commonest first", &feedback.faults))
            (list("What your markers asked, and often found only in part", &feedback.judged))
            @if let Some((recomputed, agree)) = feedback.numbers {
                section {
                    h2 { "Your numbers" }
                    p { (numbers_in_words(recomputed, agree)) }
                    @if !feedback.slips.is_empty() {
                        p { "Where they are not, this is what they most often come out of:" }
                        (items(&feedback.slips))
                    }
                }
            }
        }
        footer { @for caution in CAUTIONS { p { (caution) } } }
    };
    page(&title, &content)
}

fn numbers_in_words(recomputed: usize, agree: usize) -> String {
    if agree == recomputed {
        return format!(
            "All {agree} stated numbers that were recomputed are what the trials give."
        );
    }
    format!(
        "{agree} of {recomputed} stated numbers that were recomputed {} what the trials give.",
        if agree == 1 { "is" } else { "are" }
    )
}

fn list(title: &str, all: &[Common]) -> Markup {
    html! {
        @if !all.is_empty() {
            section { h2 { (title) } (items(all)) }
        }
    }
}

fn items(all: &[Common]) -> Markup {
    html! {
        ul {
            @for one in all {
                li {
                    strong { (one.what) } " "
                    span.note { "(" (one.count) " of " (one.of) ")" }
                    @if !one.advice.is_empty() { br; (one.advice) }
                }
            }
        }
    }
}

//! The page that a pair gets: what to look at first, its curve, its numbers, and the criteria one by one.

use maud::{Markup, PreEscaped, html};

use super::chart::Chart;
use super::{CAUTIONS, lines, page};
use crate::number::readable;

/// Everything that the page says.
#[derive(Debug, Clone, Default)]
pub struct FeedbackPage {
    /// The course.
    pub course: String,
    /// The pair.
    pub pair: String,
    /// The skill.
    pub skill: String,
    /// Who they are, where the roster has names.
    pub names: Vec<String>,
    /// The mark of the report.
    pub total: Option<Total>,
    /// What to read first: three at most.
    pub first: Vec<FirstThing>,
    /// The curves, the primary measure's first.
    pub charts: Vec<Chart>,
    /// The stated numbers.
    pub numbers: Numbers,
    /// The criteria in the rubric's order.
    pub criteria: Vec<CriterionFeedback>,
    /// What else to change or look at.
    pub further: Vec<String>,
    /// What the pair is asked.
    pub questions: Vec<String>,
}

/// The mark of the report, before what concerns one student alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Total {
    /// The mark; none where parts of it are each student's own.
    pub mark: Option<f64>,
    /// Out of.
    pub out_of: f64,
    /// Its level.
    pub level: Option<String>,
}

/// One thing to read first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FirstThing {
    /// What the marker wrote.
    Marker(String),
    /// What the record shows well.
    Strength(String),
    /// What to change next.
    Next(String),
}

impl FirstThing {
    /// Its label and its text.
    pub fn parts(&self) -> (&'static str, &str) {
        match self {
            Self::Marker(text) => ("From your marker", text),
            Self::Strength(text) => ("Well done", text),
            Self::Next(text) => ("Next", text),
        }
    }
}

/// The stated numbers beside the recomputed ones.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Numbers {
    /// How many agree.
    pub agree: usize,
    /// How many could be recomputed.
    pub recomputed: usize,
    /// Those that don't.
    pub differ: Vec<NumberLine>,
    /// How many more there are.
    pub more: usize,
}

/// One number that is not what the trials give.
#[derive(Debug, Clone, PartialEq)]
pub struct NumberLine {
    /// What it states (`mean of the post-test`).
    pub what: String,
    /// Where it stands in the report or the logbook.
    pub place: String,
    /// As stated.
    pub claimed: String,
    /// What the trials give.
    pub recomputed: String,
    /// What the stated number comes out of, as a sentence; empty where nothing was found.
    pub explained: String,
}

/// One criterion.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CriterionFeedback {
    /// Its title.
    pub title: String,
    /// The pair's mark; none where it is each student's own.
    pub mark: Option<f64>,
    /// Out of.
    pub out_of: f64,
    /// The level and its descriptor.
    pub level: String,
    /// What the marker wrote.
    pub comment: String,
    /// What the data settled.
    pub evidence: Vec<EvidenceLine>,
}

/// What the data say to one point of evidence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EvidenceLine {
    /// How far it is there.
    pub shown: Shown,
    /// The sentence.
    pub text: String,
}

/// How far a point of evidence is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// All of it.
    Yes,
    /// Half of it.
    Partly,
    /// Not yet.
    No,
}

impl Shown {
    /// The word before the sentence.
    pub fn word(self) -> &'static str {
        match self {
            Self::Yes => "There",
            Self::Partly => "Partly",
            Self::No => "Not yet",
        }
    }
}

/// Says how many stated numbers follow from the trials.
pub fn numbers_in_words(numbers: &Numbers) -> String {
    match numbers.recomputed {
        0 => String::from("No number of your report could be recomputed from the logbook."),
        n if n == numbers.agree => {
            format!("All {n} numbers that could be recomputed are what your trials give.")
        }
        n => format!(
            "{} of {n} numbers that could be recomputed are what your trials give.",
            numbers.agree
        ),
    }
}

/// The page.
pub fn render(feedback: &FeedbackPage) -> String {
    let title = if feedback.course.is_empty() {
        format!("Feedback for pair {}", feedback.pair)
    } else {
        format!("{}: feedback for pair {}", feedback.course, feedback.pair)
    };
    let content = html! {
        main {
            (header(feedback))
            (first(feedback))
            @if !feedback.charts.is_empty() { (charts(feedback)) }
            (numbers(&feedback.numbers))
            section {
                h2 { "Criterion by criterion" }
                div.columns {
                    @for criterion in &feedback.criteria { (criterion_section(criterion)) }
                }
            }
            @if !feedback.further.is_empty() {
                section {
                    h2 { "Also worth a look" }
                    ul { @for text in &feedback.further { li { (lines(text)) } } }
                }
            }
            @if !feedback.questions.is_empty() {
                section {
                    h2 { "Questions for you" }
                    ul { @for text in &feedback.questions { li { (lines(text)) } } }
                }
            }
        }
        footer { @for caution in CAUTIONS { p { (caution) } } }
    };
    page(&title, &content)
}

fn header(feedback: &FeedbackPage) -> Markup {
    html! {
        header {
            @if !feedback.course.is_empty() { p.over { (feedback.course) } }
            h1 { "Pair " (feedback.pair) @if !feedback.skill.is_empty() { ": " (feedback.skill) } }
            @if !feedback.names.is_empty() { p.over { (feedback.names.join(", ")) } }
            @if let Some(total) = &feedback.total {
                p.total {
                    @match total.mark {
                        Some(mark) => {
                            strong { (readable(mark)) } " of " (readable(total.out_of))
                            @if let Some(level) = &total.level { ", " (level) }
                        }
                        None => { "Parts of the mark, out of " (readable(total.out_of)) ", are each student's own." }
                    }
                }
                p.note { "This is the report's mark. Lateness, individual adjustments and rounding come after it, in your own final mark." }
            }
        }
    }
}

fn first(feedback: &FeedbackPage) -> Markup {
    html! {
        @if !feedback.first.is_empty() {
            section.first {
                h2 { "First" }
                ul {
                    @for thing in &feedback.first {
                        @let (label, text) = thing.parts();
                        li { span.word { (label) ":" } " " (lines(text)) }
                    }
                }
            }
        }
    }
}

fn charts(feedback: &FeedbackPage) -> Markup {
    html! {
        section {
            h2 { "Your tests and your practice curve" }
            div.figures.two[feedback.charts.len() > 1] {
                @for (index, chart) in feedback.charts.iter().enumerate() {
                    figure {
                        figcaption { (chart.measure) ", " (chart.better) }
                        (PreEscaped(chart.svg(&format!("c{index}"))))
                    }
                }
            }
            p.note { "Squares are tests, with the 95 % interval of their mean; dots are the means of practice sessions." }
        }
    }
}

fn numbers(numbers: &Numbers) -> Markup {
    html! {
        section {
            h2 { "Your numbers" }
            p { (numbers_in_words(numbers)) }
            @if !numbers.differ.is_empty() {
                table {
                    thead { tr { th { "What" } th.number { "Stated" } th.number { "From your trials" } th { "What the stated number comes out of" } } }
                    tbody {
                        @for line in &numbers.differ {
                            tr {
                                td { (line.what) @if !line.place.is_empty() { br; span.note { (line.place) } } }
                                td.number { (line.claimed) }
                                td.number { (line.recomputed) }
                                td { @if line.explained.is_empty() { span.note { "Nothing common gives it; start again from the trials." } } @else { (line.explained) } }
                            }
                        }
                    }
                }
                @if numbers.more > 0 { p.note { "And " (numbers.more) " more." } }
            }
        }
    }
}

fn criterion_section(criterion: &CriterionFeedback) -> Markup {
    html! {
        section.criterion {
            h3 {
                span { (criterion.title) }
                span.mark {
                    @match criterion.mark {
                        Some(mark) => { (readable(mark)) " of " (readable(criterion.out_of)) }
                        None => { "of " (readable(criterion.out_of)) ", each your own" }
                    }
                }
            }
            @if !criterion.level.is_empty() { p.level { (criterion.level) } }
            @if !criterion.comment.is_empty() { p.said { (lines(&criterion.comment)) } }
            @if !criterion.evidence.is_empty() {
                ul {
                    @for line in &criterion.evidence {
                        li {
                            span.word.missing[line.shown != Shown::Yes] { (line.shown.word()) ":" }
                            " " (line.text)
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_from_people_is_never_markup_and_there_is_no_script() {
        let page = render(&FeedbackPage {
            pair: "P<1>".into(),
            skill: "<script>alert(1)</script>".into(),
            first: vec![FirstThing::Marker("a < b & c\nsecond line".into())],
            ..FeedbackPage::default()
        });
        assert!(!page.contains("<script"));
        assert!(page.contains("P&lt;1&gt;") && page.contains("a &lt; b &amp; c<br>second line"));
        assert!(!page.contains("http"), "a page needs no network");
    }

    #[test]
    fn numbers_are_counted_in_words() {
        let of = |agree, recomputed| {
            numbers_in_words(&Numbers {
                agree,
                recomputed,
                ..Numbers::default()
            })
        };
        assert!(of(0, 0).starts_with("No number"));
        assert!(of(4, 4).starts_with("All 4"));
        assert!(of(3, 4).starts_with("3 of 4"));
    }
}

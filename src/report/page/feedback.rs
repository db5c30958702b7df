//! The page that a pair gets: what to look at first, its curve, its numbers, and the criteria one by one.

use std::fmt::Write as _;

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
    /// How it comes about, and what comes after it for both students: sentences.
    pub steps: Vec<String>,
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
    /// How many were recomputed and are told of: those that agree and those that don't.
    pub recomputed: usize,
    /// Whether others were recomputed that the page doesn't speak of.
    pub set_aside: bool,
    /// How many of those that don't agree come out by another convention.
    pub conventions: usize,
    /// How many could not be recomputed.
    pub not_recomputable: usize,
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
    /// What accepted moderation put into the mark; 0 for nothing.
    pub shift: f64,
    /// The level's title; empty where there is none.
    pub level: String,
    /// What the level means in general; empty where that isn't said.
    pub general: String,
    /// What the marker wrote.
    pub comment: String,
    /// What the data show to be met.
    pub met: Vec<Met>,
    /// What is not, or not all of it: by the data, then as the marker judged it.
    pub evidence: Vec<EvidenceLine>,
}

impl CriterionFeedback {
    /// The level, what it means in general, and what moderation put into the mark.
    pub fn level_in_words(&self) -> String {
        let mut words = Vec::new();
        if self.shift != 0.0 {
            words.push(format!(
                "{} of it by moderation, as in all reports of the same marker.",
                signed(self.shift)
            ));
        }
        if !self.level.is_empty() {
            words.push(format!("{}.", self.level));
        }
        if !self.general.is_empty() {
            words.push(format!("This level in general: {}", self.general));
        }
        words.join(" ")
    }
}

fn signed(shift: f64) -> String {
    if shift > 0.0 {
        format!("+{}", readable(shift))
    } else {
        readable(shift)
    }
}

/// A point that is met.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Met {
    /// What it is about, in a few words.
    pub name: String,
    /// The sentence.
    pub text: String,
}

/// A point that is not met, or not all of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EvidenceLine {
    /// How far it is there.
    pub shown: Shown,
    /// What it is about, in a few words.
    pub name: String,
    /// The sentence, or the question that the marker answered.
    pub text: String,
    /// The points that the marker gave, out of how many; none for what the data settled.
    pub points: Option<String>,
}

impl EvidenceLine {
    /// The words before the text: `In part, 1 of 2`.
    pub fn label(&self) -> String {
        match &self.points {
            Some(points) => format!("{}, {points}", self.shown.word()),
            None => self.shown.word().to_owned(),
        }
    }

    /// The whole line.
    pub fn in_words(&self) -> String {
        match &self.points {
            Some(points) => format!("{points}: {}", self.text),
            None => self.text.clone(),
        }
    }
}

/// How far a point of evidence is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// Some of it.
    Partly,
    /// Not yet.
    No,
}

impl Shown {
    /// The word before the sentence.
    pub fn word(self) -> &'static str {
        match self {
            Self::Partly => "In part",
            Self::No => "Not yet",
        }
    }
}

/// Says how many stated numbers follow from the trials, by one count: those that were recomputed and of which the page speaks.
pub fn numbers_in_words(numbers: &Numbers) -> String {
    let n = numbers.recomputed;
    let told = n.saturating_sub(numbers.agree);
    let mut text = match (n, told) {
        (0, _) if numbers.set_aside => String::from("No number is listed here for another look."),
        (0, _) => String::from("No number of your report could be recomputed from the logbook."),
        // Others were recomputed, and this is not about all of them.
        (_, 0) if numbers.set_aside => match n {
            1 => String::from("One of your numbers was recomputed and is what your trials give."),
            n => format!("{n} of your numbers were recomputed and are what your trials give."),
        },
        (1, 0) => String::from("The number that could be recomputed is what your trials give."),
        (n, 0) => format!("All {n} numbers that could be recomputed are what your trials give."),
        (n, told) => differ_in_words(n, told, numbers.conventions),
    };
    if n > 0 && numbers.not_recomputable > 0 {
        let more = match numbers.not_recomputable {
            1 => String::from("One"),
            more => more.to_string(),
        };
        let _ = write!(
            text,
            " {more} more could not be recomputed from the logbook."
        );
    }
    text
}

fn differ_in_words(n: usize, told: usize, conventions: usize) -> String {
    let be = |count| if count == 1 { "is" } else { "are" };
    let come = |count| if count == 1 { "comes" } else { "come" };
    if conventions == told {
        return format!(
            "{told} of your {n} recomputed numbers {} out by another convention than the usual one: say which you used. The list has the usual one.",
            come(told)
        );
    }
    let mut text = format!(
        "{told} of your {n} recomputed numbers {} not what your trials give.",
        be(told)
    );
    if conventions > 0 {
        let _ = write!(
            text,
            " {conventions} of these {told} {} out by another convention than the usual one and stand{} last: there, say which you used.",
            come(conventions),
            if conventions == 1 { "s" } else { "" }
        );
    }
    text
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
                p.note {
                    @for step in &total.steps { (step) " " }
                    "An individual adjustment, where there is one, comes after the report's mark, in your own final mark."
                }
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
            p.note { "Squares are tests, with the 95 % interval of their mean; dots are the means of practice sessions, which have the numbers of your logbook." }
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
            @let level = criterion.level_in_words();
            @if !level.is_empty() { p.level { (level) } }
            @if !criterion.comment.is_empty() { p.said { (lines(&criterion.comment)) } }
            @if !criterion.met.is_empty() {
                p { span.word { "Met:" } @for met in &criterion.met { " " (met.text) } }
            }
            @if !criterion.evidence.is_empty() {
                ul {
                    @for line in &criterion.evidence {
                        li {
                            span.word.missing { (line.label()) ":" }
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
        assert!(of(1, 1).starts_with("The number"));
        assert_eq!(
            of(10, 11),
            "1 of your 11 recomputed numbers is not what your trials give."
        );
        assert!(of(3, 8).starts_with("5 of your 8 recomputed numbers are not"));
    }

    #[test]
    fn a_count_never_says_all_where_others_were_set_aside() {
        let words = numbers_in_words(&Numbers {
            agree: 10,
            recomputed: 10,
            set_aside: true,
            ..Numbers::default()
        });
        assert_eq!(
            words,
            "10 of your numbers were recomputed and are what your trials give."
        );
        let conventions = numbers_in_words(&Numbers {
            agree: 3,
            recomputed: 8,
            conventions: 4,
            not_recomputable: 1,
            ..Numbers::default()
        });
        assert!(
            conventions.starts_with("5 of your 8 recomputed numbers are not what your trials give. 4 of these 5 come out by another convention"),
            "{conventions}"
        );
        assert!(conventions.ends_with("One more could not be recomputed from the logbook."));
    }
}

//! What a pair is told: the mark and how it comes about, what to look at first, the numbers, and the criteria one by one.
//!
//! What was dismissed never appears, nor does what only asks a person to look and nobody has looked at.

use super::asking;
use super::by_check::by_check;
use super::candidate::{Candidate, Of, of_findings, of_numbers};
use super::criteria::{Criteria, comment, criteria};
use super::final_mark::Finishing;
use super::numbers;
use super::report_mark::total;
use super::told::Decided;
use crate::checks::Finding;
use crate::cohort::Roster;
use crate::examination::PairResult;
use crate::ledger::{Decision, State};
use crate::marking::settle::SettledPair;
use crate::number::readable;
use crate::report::csv_rows::CsvRows;
use crate::report::page::CAUTIONS;
use crate::report::page::chart::Chart;
use crate::report::page::feedback::{FeedbackPage, FirstThing, Shown, numbers_in_words};
use crate::rubric::Rubric;

/// Comments that come first: three at most, the rest is listed after.
const FIRST: usize = 3;
/// Measures that are drawn.
const CHARTS: usize = 2;

/// What telling a pair needs.
pub struct Telling<'a> {
    /// The course's title.
    pub course: &'a str,
    /// The rubric.
    pub rubric: &'a Rubric,
    /// The roster, where there is one.
    pub roster: Option<&'a Roster>,
    /// What is in force by the ledger.
    pub state: &'a State,
    /// What the course settles about final marks.
    pub finishing: Finishing<'a>,
}

impl Telling<'_> {
    /// Everything that a pair is told.
    pub fn feedback(&self, pair: &SettledPair, result: Option<&PairResult>) -> FeedbackPage {
        let state = self.state.pair(&pair.pair);
        let decided = result.map(|result| Decided {
            state: self.state,
            result,
        });
        let mut told = decided
            .map(|decided| by_check(told(&decided)))
            .unwrap_or_default();
        let mut all = criteria(pair, self.rubric, decided.as_ref(), state, &mut told);
        all.candidates
            .extend(of_findings(&told, self.rubric.out_of));
        let wrong = decided.as_ref().and_then(numbers::next);
        if let Some(text) = wrong
            && !all.candidates.iter().any(|one| one.text == text)
        {
            all.candidates.push(of_numbers(text, self.rubric.out_of));
        }
        let (first, taken) = first_things(comment(state, "overall"), &mut all);
        let further = told
            .into_iter()
            .enumerate()
            .filter(|(index, _)| !taken.contains(index))
            .map(|(_, one)| one.text)
            .collect();
        FeedbackPage {
            course: self.course.to_owned(),
            pair: pair.pair.to_string(),
            skill: result
                .and_then(|result| result.skill.as_deref())
                .unwrap_or_default()
                .to_owned(),
            names: self.names(&pair.pair),
            total: Some(total(pair, self.rubric, self.roster, &self.finishing)),
            first,
            charts: result.map(charts).unwrap_or_default(),
            numbers: decided.as_ref().map(numbers::numbers).unwrap_or_default(),
            criteria: all.all,
            further,
            questions: decided
                .map(|decided| questions(&decided))
                .unwrap_or_default(),
        }
    }

    fn names(&self, pair: &str) -> Vec<String> {
        self.roster
            .into_iter()
            .flat_map(|roster| roster.of_pair(pair))
            .filter(|student| !student.name.is_empty() && student.status.takes_part())
            .map(|student| student.name.to_string())
            .collect()
    }
}

/// The findings that the pair is told; wrong numbers have a list of their own, and what was found about the marking is for those who mark.
fn told<'a>(decided: &'a Decided<'a>) -> impl Iterator<Item = &'a Finding> {
    decided.result.findings.iter().filter(move |finding| {
        !finding.check.starts_with("marks.")
            && !finding.comment.is_empty()
            && decided.is_told(finding)
            && !decided.is_in_the_list(finding)
    })
}

/// What the pair is asked.
fn questions(decided: &Decided<'_>) -> Vec<String> {
    let mut asked: Vec<String> = Vec::new();
    for finding in &decided.result.findings {
        if decided.on(finding) == Some(Decision::Ask) && !finding.check.starts_with("marks.") {
            let question = asking::question(finding, Some(decided.result));
            if !asked.contains(&question) {
                asked.push(question);
            }
        }
    }
    asked
}

/// The marker's own words, what the record shows best, and what to change first, the largest loss first. What comes first is only named where it
/// would stand otherwise; the findings that were taken are given by their index.
fn first_things(overall: String, all: &mut Criteria) -> (Vec<FirstThing>, Vec<usize>) {
    let mut first = Vec::new();
    if !overall.is_empty() {
        first.push(FirstThing::Marker(overall));
    }
    if let Some((criterion, met)) = all.strength
        && let Some(met) = all
            .all
            .get_mut(criterion)
            .and_then(|criterion| criterion.met.get_mut(met))
    {
        first.push(FirstThing::Strength(met.text.clone()));
        met.text = format!("{}, as said above.", met.name);
    }
    let mut candidates: Vec<Candidate> = std::mem::take(&mut all.candidates);
    candidates.sort_by(|a, b| b.lost.total_cmp(&a.lost));
    let mut taken = Vec::new();
    for candidate in candidates
        .into_iter()
        .take(FIRST.saturating_sub(first.len()))
    {
        match candidate.of {
            Of::Line(criterion, line) => {
                if let Some(line) = all
                    .all
                    .get_mut(criterion)
                    .and_then(|criterion| criterion.evidence.get_mut(line))
                {
                    line.text = format!("{}: see “Next” above.", line.name);
                }
            }
            Of::Finding(index) => taken.push(index),
            Of::Itself => {}
        }
        first.push(FirstThing::Next(candidate.text));
    }
    (first, taken)
}

fn charts(result: &PairResult) -> Vec<Chart> {
    result
        .measures
        .iter()
        .filter_map(|measure| Chart::of(measure, &result.blocks))
        .take(CHARTS)
        .collect()
}

/// The columns of `returned/feedback.csv`.
pub const COLUMNS: [&str; 4] = ["pair", "order", "kind", "text"];

/// The same as the page, as rows of text.
pub fn rows(rows: &mut CsvRows, feedback: &FeedbackPage) {
    let mut order = 0_usize;
    let mut add = |kind: &str, text: &str| {
        order += 1;
        rows.row([
            feedback.pair.as_str().into(),
            order.into(),
            kind.into(),
            text.into(),
        ]);
    };
    for step in feedback.total.iter().flat_map(|total| &total.steps) {
        add("mark", step);
    }
    for thing in &feedback.first {
        let kind = match thing {
            FirstThing::Marker(_) => "comment",
            FirstThing::Strength(_) => "strength",
            FirstThing::Next(_) => "next",
        };
        add(kind, thing.parts().1);
    }
    for chart in &feedback.charts {
        add("curve", &format!("{}: {}", chart.measure, chart.in_words()));
    }
    add("numbers", &numbers_in_words(&feedback.numbers));
    for line in &feedback.numbers.differ {
        let text = format!(
            "{}: stated {}, your trials give {}. {}",
            line.what, line.claimed, line.recomputed, line.explained
        );
        add("number", text.trim());
    }
    for criterion in &feedback.criteria {
        let mark = criterion.mark.map_or_else(
            || String::from("each student's own mark"),
            |mark| format!("{} of {}", readable(mark), readable(criterion.out_of)),
        );
        let level = match criterion.level_in_words() {
            words if words.is_empty() => words,
            words => format!(". {words}"),
        };
        add("criterion", &format!("{}: {mark}{level}", criterion.title));
        if !criterion.comment.is_empty() {
            add("comment", &criterion.comment);
        }
        for met in &criterion.met {
            add("strength", &met.text);
        }
        for line in &criterion.evidence {
            let kind = match (line.points.is_some(), line.shown) {
                (true, _) => "judged",
                (false, Shown::Partly) => "in part",
                (false, Shown::No) => "next",
            };
            add(kind, &line.in_words());
        }
    }
    for text in &feedback.further {
        add("finding", text);
    }
    for text in &feedback.questions {
        add("question", text);
    }
    for text in CAUTIONS {
        add("caution", text);
    }
}

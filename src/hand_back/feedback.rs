//! What a pair is told: the evidence's own sentences, the marker's comments, what findings were upheld, and the numbers that differ.
//!
//! What was dismissed never appears, nor does what only asks a person to look and nobody has looked at.

use crate::checks::{Finding, Weight};
use crate::claims::Verdict;
use crate::claims::in_table;
use crate::cohort::Roster;
use crate::examination::{ExaminedClaim, PairResult};
use crate::ledger::{Decision, PairState, State, Subject, decision_on};
use crate::logbook::model::ClaimOrigin;
use crate::marking::settle::SettledPair;
use crate::number::readable;
use crate::place::evidence;
use crate::report::csv_rows::CsvRows;
use crate::report::page::CAUTIONS;
use crate::report::page::chart::Chart;
use crate::report::page::feedback::{
    CriterionFeedback, EvidenceLine, FeedbackPage, FirstThing, NumberLine, Numbers, Shown, Total,
    numbers_in_words,
};
use crate::report::wording::claim_in_words;
use crate::rubric::{Criterion, EvidenceOutcome, Rubric, Settled};

/// Comments that come first: three at most, the rest is listed after.
const FIRST: usize = 3;
/// Numbers that the page lists; the rest is counted.
const NUMBERS: usize = 8;
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
}

impl Telling<'_> {
    /// Everything that a pair is told.
    pub fn feedback(&self, pair: &SettledPair, result: Option<&PairResult>) -> FeedbackPage {
        let state = self.state.pair(&pair.pair);
        let criteria: Vec<CriterionFeedback> = self
            .rubric
            .criteria
            .iter()
            .map(|criterion| criterion_feedback(pair, criterion, result, state))
            .collect();
        let (mut further, questions) = self.findings(&pair.pair, result);
        let first = first_things(state, result, &mut further);
        FeedbackPage {
            course: self.course.to_owned(),
            pair: pair.pair.to_string(),
            skill: result
                .and_then(|result| result.skill.as_deref())
                .unwrap_or_default()
                .to_owned(),
            names: self.names(&pair.pair),
            total: Some(self.total(pair)),
            first,
            charts: result.map(charts).unwrap_or_default(),
            numbers: result
                .map(|result| self.numbers(&pair.pair, result))
                .unwrap_or_default(),
            criteria,
            further,
            questions,
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

    fn total(&self, pair: &SettledPair) -> Total {
        let of_pair: Option<Vec<f64>> = pair
            .criteria
            .iter()
            .map(|criterion| match criterion.marks.as_slice() {
                [only] if only.student.is_none() => only.mark(),
                _ => None,
            })
            .collect();
        let mark = of_pair.map(|marks| marks.iter().sum::<f64>() + pair.total_shift);
        Total {
            mark,
            out_of: self.rubric.out_of,
            level: mark
                .and_then(|mark| self.rubric.level(mark))
                .map(|level| level.title.clone()),
        }
    }

    /// What findings say to the pair, the heaviest first, and what they ask it. Numbers that differ have a table of their own.
    fn findings(&self, pair: &str, result: Option<&PairResult>) -> (Vec<String>, Vec<String>) {
        let Some(result) = result else {
            return (Vec::new(), Vec::new());
        };
        let mut said: Vec<(Weight, String)> = Vec::new();
        let mut asked = Vec::new();
        for finding in &result.findings {
            // What was found about the marking is for those who mark.
            if finding.check.starts_with("marks.") {
                continue;
            }
            let decision = decision_on(self.state, Some(result), pair, finding);
            if decision == Some(Decision::Ask) {
                asked.push(question(finding));
                continue;
            }
            let in_table = finding
                .claim
                .and_then(|index| result.claims.get(index))
                .is_some_and(is_wrong);
            if is_told(finding, decision) && !in_table && !finding.comment.is_empty() {
                said.push((finding.weight, finding.comment.clone()));
            }
        }
        said.sort_by_key(|(weight, _)| std::cmp::Reverse(*weight));
        let mut further: Vec<String> = Vec::new();
        for (_, text) in said {
            // Ten cells with one fault are one thing to say.
            if !further.contains(&text) {
                further.push(text);
            }
        }
        (further, asked)
    }

    fn numbers(&self, pair: &str, result: &PairResult) -> Numbers {
        let agree = result.claims_with(Verdict::Agrees);
        let told: Vec<&ExaminedClaim> = result
            .claims
            .iter()
            .enumerate()
            .filter(|(index, claim)| is_wrong(claim) && self.is_told_of(pair, result, *index))
            .map(|(_, claim)| claim)
            .collect();
        Numbers {
            agree,
            // What somebody dismissed, or nobody looked at, is not counted against the pair.
            recomputed: agree + told.len(),
            differ: told
                .iter()
                .take(NUMBERS)
                .map(|claim| number_line(claim))
                .collect(),
            more: told.len().saturating_sub(NUMBERS),
        }
    }

    /// Whether the pair is told that a claim differs: not where the finding about it, or about its root, was dismissed.
    fn is_told_of(&self, pair: &str, result: &PairResult, index: usize) -> bool {
        let root = result
            .claims
            .get(index)
            .and_then(|claim| claim.recomputed.consequence_of);
        let mut findings = result.findings.iter().filter(|finding| {
            finding.claim == Some(index) || (root.is_some() && finding.claim == root)
        });
        findings.any(|finding| {
            let decision = decision_on(self.state, Some(result), pair, finding);
            decision != Some(Decision::Ask) && is_told(finding, decision)
        })
    }
}

fn criterion_feedback(
    pair: &SettledPair,
    criterion: &Criterion,
    result: Option<&PairResult>,
    state: Option<&PairState>,
) -> CriterionFeedback {
    let settled = pair.criteria.iter().find(|one| one.id == criterion.id);
    let mark = settled.and_then(|settled| match settled.marks.as_slice() {
        [only] if only.student.is_none() => only.mark(),
        _ => None,
    });
    let level = mark
        .and_then(|mark| criterion.level(mark))
        .map(|level| match &level.descriptor {
            Some(descriptor) => format!("{}: {descriptor}", level.title),
            None => level.title.clone(),
        });
    let comment = comment(state, &criterion.id);
    let evidence = result
        .into_iter()
        .flat_map(|result| &result.suggestions)
        .filter(|suggestion| suggestion.criterion == criterion.id)
        .flat_map(|suggestion| &suggestion.evidence)
        .filter_map(evidence_line)
        .collect();
    CriterionFeedback {
        title: criterion.title.clone(),
        mark,
        out_of: criterion.marks,
        level: level.unwrap_or_default(),
        comment,
        evidence,
    }
}

/// The marker's own words, what the record shows best, and what to change first; what is taken from `further` is not said twice.
fn first_things(
    state: Option<&PairState>,
    result: Option<&PairResult>,
    further: &mut Vec<String>,
) -> Vec<FirstThing> {
    let mut first = Vec::new();
    let overall = comment(state, "overall");
    if !overall.is_empty() {
        first.push(FirstThing::Marker(overall));
    }
    let outcomes: Vec<&EvidenceOutcome> = result
        .into_iter()
        .flat_map(|result| &result.suggestions)
        .flat_map(|suggestion| &suggestion.evidence)
        .collect();
    if let Some(best) = heaviest(&outcomes, |settled| matches!(settled, Settled::Met)) {
        first.push(FirstThing::Strength(best));
    }
    // What was upheld weighs most: it comes first in `further`.
    while first.len() < FIRST && !further.is_empty() {
        first.push(FirstThing::Next(further.remove(0)));
    }
    if first.len() < FIRST
        && let Some(missing) = heaviest(&outcomes, |settled| {
            matches!(settled, Settled::Unmet | Settled::Partly)
        })
    {
        first.push(FirstThing::Next(missing));
    }
    first
}

/// Upheld findings are told, dismissed ones never; those about which nobody decided are told unless they only ask a person to look.
fn is_told(finding: &Finding, decision: Option<Decision>) -> bool {
    match decision {
        Some(Decision::Uphold) => true,
        Some(Decision::Dismiss | Decision::Ask) => false,
        None => finding.weight > Weight::Query,
    }
}

fn is_wrong(claim: &ExaminedClaim) -> bool {
    matches!(
        claim.recomputed.verdict,
        Verdict::Differs | Verdict::Impossible
    )
}

fn comment(state: Option<&PairState>, of: &str) -> String {
    state
        .and_then(|state| state.standing(&Subject::Comment(of.to_owned()), ""))
        .map(|held| held.value.clone())
        .unwrap_or_default()
}

/// What a finding asks the pair.
pub fn question(finding: &Finding) -> String {
    let places = evidence(&finding.places);
    if places.is_empty() {
        finding.message.clone()
    } else {
        format!("{} ({places})", finding.message)
    }
}

fn evidence_line(outcome: &EvidenceOutcome) -> Option<EvidenceLine> {
    let shown = match outcome.settled {
        Settled::Met => Shown::Yes,
        Settled::Partly => Shown::Partly,
        Settled::Unmet => Shown::No,
        // What is left to the marker is said to the marker.
        Settled::Undecided { .. } | Settled::Untestable => return None,
    };
    Some(EvidenceLine {
        shown,
        text: outcome.sentence.clone()?,
    })
}

/// The sentence of the evidence that is worth most among those that are settled so; the first of several.
fn heaviest(outcomes: &[&EvidenceOutcome], wanted: fn(&Settled) -> bool) -> Option<String> {
    let mut best: Option<(f64, &str)> = None;
    for outcome in outcomes.iter().filter(|outcome| wanted(&outcome.settled)) {
        if let Some(text) = &outcome.sentence
            && best.is_none_or(|(points, _)| outcome.points > points)
        {
            best = Some((outcome.points, text));
        }
    }
    best.map(|(_, text)| text.to_owned())
}

fn charts(result: &PairResult) -> Vec<Chart> {
    result
        .measures
        .iter()
        .filter_map(|measure| Chart::of(measure, &result.blocks))
        .take(CHARTS)
        .collect()
}

fn number_line(examined: &ExaminedClaim) -> NumberLine {
    let claim = &examined.claim;
    let explained = if examined.recomputed.consequence_of.is_some() {
        String::from("It follows from another number of this list.")
    } else {
        examined
            .recomputed
            .explanations
            .first()
            .map(|explanation| format!("It comes out when {}.", explanation.when))
            .unwrap_or_default()
    };
    let place = match (&claim.location, claim.origin) {
        (Some(location), _) => location.to_string(),
        (None, ClaimOrigin::Marker) => String::new(),
        (None, _) => claim.place.to_string(),
    };
    NumberLine {
        what: claim_in_words(claim),
        place,
        claimed: claim.value_text.to_string(),
        recomputed: examined
            .recomputed
            .value
            .as_ref()
            .map(|value| in_table(claim.value.as_ref(), *value))
            .unwrap_or_default(),
        explained,
    }
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
        let level = if criterion.level.is_empty() {
            String::new()
        } else {
            format!(". {}", criterion.level)
        };
        add("criterion", &format!("{}: {mark}{level}", criterion.title));
        if !criterion.comment.is_empty() {
            add("comment", &criterion.comment);
        }
        for line in &criterion.evidence {
            let kind = if line.shown == Shown::Yes {
                "strength"
            } else {
                "next"
            };
            add(kind, &line.text);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn queries_that_nobody_looked_at_and_dismissed_findings_are_not_told() {
        let finding = |weight| Finding::new("testing.one-rater", weight, "m", "c");
        let (query, concern) = (finding(Weight::Query), finding(Weight::Concern));
        assert!(!is_told(&query, None));
        assert!(is_told(&query, Some(Decision::Uphold)));
        assert!(is_told(&concern, None));
        assert!(!is_told(&concern, Some(Decision::Dismiss)));
    }

    #[test]
    fn what_is_left_to_the_marker_is_not_said_to_the_pair() {
        let outcome = |settled| EvidenceOutcome {
            id: "a".into(),
            points: 1.0,
            settled,
            sentence: Some("For the marker: look.".into()),
            facts: Vec::new(),
        };
        assert!(evidence_line(&outcome(Settled::Untestable)).is_none());
        assert!(evidence_line(&outcome(Settled::Met)).is_some());
    }
}

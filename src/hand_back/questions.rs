//! What a pair is asked: findings that a person decided to ask about, and queries that nobody has settled yet.

use std::fmt::Write as _;

use super::asking::question;
use crate::checks::{Finding, Weight};
use crate::examination::PairResult;
use crate::ledger::{Decision, State, decision_on};

/// The open questions of a pair: those that a person decided to ask first.
pub fn open_questions(result: &PairResult, state: &State) -> Vec<String> {
    let with = |wanted: fn(Option<Decision>, &Finding) -> bool| {
        result
            .findings
            .iter()
            .filter(move |finding| {
                let decision = decision_on(state, Some(result), &result.pair, finding);
                wanted(decision, finding)
            })
            .map(|finding| question(finding, Some(result)))
            .collect::<Vec<String>>()
    };
    let mut questions: Vec<String> = Vec::new();
    for asked in with(|decision, _| decision == Some(Decision::Ask)) {
        if !questions.contains(&asked) {
            questions.push(asked);
        }
    }
    let queries = with(|decision, finding| {
        decision.is_none() && finding.weight == Weight::Query && is_for_the_pair(finding)
    });
    for query in queries {
        if !questions.contains(&query) {
            questions.push(query);
        }
    }
    questions
}

/// What only the whole cohort shows, or what concerns markers, is asked only where a person decides to: it may name others.
fn is_for_the_pair(finding: &Finding) -> bool {
    !finding.check.starts_with("cohort.") && !finding.check.starts_with("marks.")
}

/// The text for a pair, ready to be sent; none where nothing is open.
pub fn text(course: &str, result: &PairResult, state: &State) -> Option<String> {
    let questions = open_questions(result, state);
    if questions.is_empty() {
        return None;
    }
    let mut out = String::new();
    if !course.is_empty() {
        let _ = writeln!(out, "{course}");
    }
    let _ = writeln!(
        out,
        "Questions for pair {}\n\nBefore your report is marked, please help us with what we could not settle from the logbook alone. A short answer to each is enough, in a reply \
         to this message; please don't send a changed logbook unless we ask for one. A question is a place where we looked twice, and nothing more.\n",
        result.pair
    );
    for (number, question) in (1..).zip(&questions) {
        let _ = writeln!(out, "{number}. {question}\n");
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::Entry;

    #[test]
    fn what_was_asked_comes_first_and_what_was_settled_not_at_all() {
        let finding = |check, weight, message: &str| Finding::new(check, weight, "m", message);
        let settled = finding("testing.one-rater", Weight::Query, "settled");
        let asked = finding("data.out-of-scale", Weight::Error, "asked");
        let open = finding("data.ambiguous-value", Weight::Query, "open");
        let undecided = finding("data.off-step", Weight::Error, "an error is no question");
        let of_others = finding("cohort.shared-trials", Weight::Query, "names another pair");
        let entry = |finding: &Finding, new: &str| Entry {
            role: "instructor".into(),
            pair: "P1".into(),
            what: format!("decision {}", finding.id("P1")),
            new: new.into(),
            ..Entry::default()
        };
        let state =
            State::from_entries(&[entry(&settled, "dismiss"), entry(&asked, "ask the pair")]);
        let expected = [&asked, &open].map(|finding| question(finding, None));
        let result = PairResult {
            pair: "P1".into(),
            findings: vec![settled, open, asked, undecided, of_others],
            ..PairResult::default()
        };
        assert_eq!(open_questions(&result, &state), expected);
        assert!(text("", &PairResult::default(), &state).is_none());
    }
}

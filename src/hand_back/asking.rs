//! What a finding asks the pair: a question in plain words, with the number or the cell that it is about. It says what we see and asks what
//! they know; how a number may have come about is for the markers.

use crate::checks::Finding;
use crate::claims::in_table;
use crate::examination::{ExaminedClaim, PairResult};
use crate::facts::blocks::BlockRow;
use crate::logbook::model::ClaimMeasure;
use crate::phase::BlockName;
use crate::place::{Place, evidence};
use crate::report::wording::claim_in_words;

/// What stands in a cell is quoted as far as so many characters.
const QUOTED: usize = 60;

/// The question that a finding is to the pair whose hand-in gave `result`.
pub fn question(finding: &Finding, result: Option<&PairResult>) -> String {
    let claim = result
        .zip(finding.claim)
        .and_then(|(result, index)| Some((result, result.claims.get(index)?)));
    match claim {
        Some((result, claim)) => of_claim(finding, result, claim),
        None => of_check(finding),
    }
}

/// About a number that the report states.
fn of_claim(finding: &Finding, result: &PairResult, examined: &ExaminedClaim) -> String {
    let claim = &examined.claim;
    let measure = match claim.measure {
        ClaimMeasure::Known(index) if result.measures.len() > 1 => result
            .measures
            .get(index)
            .map_or_else(String::new, |measure| format!(", {}", measure.name)),
        _ => String::new(),
    };
    let place = claim
        .location
        .as_ref()
        .map_or_else(String::new, |place| format!(" ({place})"));
    let stated = format!(
        "You give {}{place} for the {}{measure}",
        claim.value_text,
        claim_in_words(claim)
    );
    let ours = &examined.recomputed.value;
    match (finding.check, ours) {
        ("numbers.differs", Ok(ours)) => {
            let ours = in_table(claim.value.as_ref(), *ours);
            let trials = trials(result, examined);
            format!("{stated}; from your {trials} we get {ours}. How did you work it out?")
        }
        ("numbers.differs" | "numbers.impossible", _) => format!(
            "{stated}, and we don't see how your trials give it. From which trials did you work it out, and how?"
        ),
        ("numbers.not-recomputable", _) => format!(
            "{stated}, and we don't find in your logbook what it comes from. From which trials did you work it out, and how?"
        ),
        ("numbers.improvement-reversed", _) => format!(
            "{stated}; as we read your trials, the later scores are no better than the earlier ones. Which trials did you compare, and which direction is better?"
        ),
        _ => with_comment(finding),
    }
}

/// The trials behind a number of one block, counted; of several blocks, only named.
fn trials(result: &PairResult, examined: &ExaminedClaim) -> String {
    let claim = &examined.claim;
    let counted = || {
        let ClaimMeasure::Known(index) = claim.measure else {
            return None;
        };
        let measure = &result.measures.get(index)?.name;
        let block = claim.phase.filter(|_| claim.versus.is_none())?;
        let is_it = |row: &&BlockRow| {
            row.measure == *measure
                && match block {
                    BlockName::Phase(phase) => row.phase == phase && row.session.is_none(),
                    BlockName::PracticeSession(number) => row.session == Some(number),
                }
        };
        result.blocks.iter().find(is_it).map(|row| row.n)
    };
    match counted() {
        Some(1) => String::from("one trial"),
        Some(n) => format!("{n} trials"),
        None => String::from("trials"),
    }
}

/// About what the logbook holds, or lacks.
fn of_check(finding: &Finding) -> String {
    let asks = match finding.check {
        "data.ambiguous-value" | "data.not-a-number" => "What was the score, or was there none?",
        "data.out-of-scale" => "That lies outside the scale of the measure. What was the score?",
        "data.off-step" => {
            "That lies between the steps of the scale. What was the score, and do you give scores in between?"
        }
        "data.duplicate-trial" => "This trial is recorded twice. Which of the two counts?",
        "data.missing-trial" => {
            "No score stands here. Was there one, and if not, what happened at this trial?"
        }
        "data.unreadable-date" => "Which day, month and year is it?",
        "data.ambiguous-column" | "data.unrecognised-column" => "What does this column hold?",
        "data.hidden-data" => "These rows or columns are hidden. Should they count?",
        "data.formula-error" | "data.formula-range" => {
            "Which trials is this formula meant to work with?"
        }
        _ => return of_the_whole(finding),
    };
    let Some(first) = finding.places.first() else {
        return with_comment(finding);
    };
    let stands = finding.stands.trim();
    let more = match finding.places.len() {
        0 | 1 => String::new(),
        2 => String::from(" (and one more cell)"),
        n => format!(" (and {} more cells)", n - 1),
    };
    if stands.is_empty() || finding.places.len() > 1 {
        format!("{first}{more}: {}", lowered(asks))
    } else {
        format!("{first} holds “{}”. {asks}", short(stands))
    }
}

/// A question after a colon begins small.
fn lowered(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_lowercase().chain(letters).collect())
        .unwrap_or_default()
}

/// About the programme, its tests, the stages and the theory.
fn of_the_whole(finding: &Finding) -> String {
    let asks = match finding.check {
        "data.date-order" => {
            "In which order did the tests and sessions take place, and on which days?"
        }
        "data.duplicate-submission" => {
            return format!(
                "We have several hand-ins of yours: {}. Which of them should be marked?",
                files(&finding.places)
            );
        }
        "data.missing-table" | "testing.no-outcome-record" => {
            "Which sheet of your logbook holds the scores of each trial, and which column is the score?"
        }
        "programme.safety-not-recorded" => {
            "Were consent and screening recorded before the first session, and where? (Whether and when is enough; please send no health details.)"
        }
        "programme.schedule-not-recorded" => {
            "How was practice ordered: one task at a time, or several mixed?"
        }
        "programme.feedback-not-recorded" => {
            "What feedback did the learner get during practice, and how often?"
        }
        "programme.no-practice-record" => {
            "Did you record the scores of practice, and where are they?"
        }
        "programme.long-gap" => "What happened in the longest break of your programme?",
        "testing.no-pre-test" => {
            "Was there a pre-test? If so, when was it, and where are its scores?"
        }
        "testing.no-post-test" => {
            "Was there a post-test? If so, when was it, and where are its scores?"
        }
        "testing.no-retention-test" => {
            "Was there a retention test? If so, when was it, and where are its scores?"
        }
        "testing.no-transfer-test" => {
            "Was there a transfer test? If so, when was it, what was new in it, and where are its scores?"
        }
        "testing.no-technique-record" => {
            "Did you rate the learner's technique, and where are the ratings?"
        }
        "testing.one-rater" => {
            "Did a second person judge any of the trials or the technique? If so, where are those judgements?"
        }
        "testing.feedback-in-test" => "Was the learner told results during the tests?",
        "testing.transfer-not-novel" => "What was new for the learner in the transfer test?",
        "stage.not-diagnosed" | "stage.unknown" => {
            "At which stage of learning was the learner at the start, and at which at the end? Please use the names from the course."
        }
        "stage.no-evidence" => "On what do you base the stage of learning that you name?",
        "theory.not-named" | "theory.unknown" => {
            "Which theory do you hold your data against? Please use its name from the course."
        }
        _ => return with_comment(finding),
    };
    String::from(asks)
}

/// For what has no question of its own: what a pair would read about it, and room for what we don't know.
fn with_comment(finding: &Finding) -> String {
    let places = evidence(&finding.places);
    // The cells of what only the cohort shows may be another pair's.
    let about = if places.is_empty() || finding.check.starts_with("cohort.") {
        String::new()
    } else {
        format!(" ({places})")
    };
    format!(
        "{} Is there anything about this that your logbook doesn't show?{about}",
        finding.comment.trim()
    )
}

fn files(places: &[Place]) -> String {
    let mut names: Vec<&str> = places.iter().map(|place| &*place.file).collect();
    names.dedup();
    names.join(", ")
}

fn short(text: &str) -> String {
    let mut letters = text.chars();
    let start: String = letters.by_ref().take(QUOTED).collect();
    if letters.next().is_some() {
        format!("{start}…")
    } else {
        start
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::{self, Weight};

    #[test]
    fn a_cell_is_asked_about_by_what_it_holds() {
        let place = Place::file("P15.xlsx");
        let finding = Finding::new("data.ambiguous-value", Weight::Query, "m", "c")
            .at(vec![place], "about half");
        assert_eq!(
            question(&finding, None),
            "P15.xlsx holds “about half”. What was the score, or was there none?"
        );
    }

    #[test]
    fn every_check_asks_something() {
        for check in checks::ALL {
            let finding = Finding::new(check.id, Weight::Query, "m", "Look again.");
            let asked = question(&finding, None);
            assert!(asked.contains('?'), "{}: {asked}", check.id);
            assert!(!asked.contains(check.id), "{asked}");
        }
    }
}

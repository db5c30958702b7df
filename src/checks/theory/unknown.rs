//! A theory whose predictions the course does not list.

use super::named::{places, text};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::Ladder;
use crate::wording::shortened;

/// A theory whose predictions the course does not list.
pub const CHECK: Check = Check {
    id: "theory.unknown",
    weight: Weight::Query,
    title: "a theory that is not on the list",
    explanation: Explanation {
        looks_at: "The theory named in About, against the theories of theories.toml and their spellings.",
        matters: "Its predictions can't be set against the record here; a person has to read what the report makes of it.",
        example: "“theory: muscle memory”.",
        remedy: "Use the theory's usual name; if it is another one, state its prediction so that a reader can follow.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if seen.judgements.theory.ladder != Ladder::Unknown {
        return;
    }
    let named = shortened(text(seen));
    findings.add(
        CHECK
            .finding(
                format!("The theory named, “{named}”, is not among those whose predictions are listed; a person has to read it."),
                format!("You name “{named}”, which is not among the theories of this course's list. If it goes by another name, use that; if not, state what it predicts for your learner, so that a reader can set it beside your data."),
            )
            .at(places(seen), text(seen)),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, only};

    #[test]
    fn a_theory_off_the_list_is_found_in_its_cell() {
        let mut sample = Sample::sound();
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.judgements.theory.ladder = Ladder::Unknown;
        let finding = only(sample.found(&CHECK));
        assert_eq!(
            finding.places,
            [sample.logbook.about.theory.clone().unwrap().place]
        );
        assert!(finding.message.contains("“power law of practice”"));
    }
}

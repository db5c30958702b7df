//! The transfer test's conditions are those that were practised.

use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::facts::conditions::Conditions;
use crate::phase::{Phase, PhaseKind};
use crate::wording::shortened;

/// The transfer test's conditions are those that were practised.
pub const CHECK: Check = Check {
    id: "testing.transfer-not-novel",
    weight: Weight::Concern,
    title: "a transfer test without anything new",
    explanation: Explanation {
        looks_at: "The conditions recorded for the transfer test, against all conditions that were practised or tested before; where it records none, whether About says what was novel.",
        matters: "Transfer means carrying over to what was not practised: under practised conditions the test is another retention test.",
        example: "The transfer test at 4 m, a distance of sessions 3 and 6.",
        remedy: "Choose something that no practice session had, change that one thing, and name it in About.",
        source: "Magill & Anderson, Motor Learning and Control, on transfer to novel situations",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut any = false;
    for (index, measure) in seen.logbook.measures.iter().enumerate() {
        let Some(test) = seen
            .block(index, Phase::TRANSFER)
            .filter(|test| test.n() > 0)
        else {
            continue;
        };
        any = true;
        let context = seen.logbook.about.novel_context.as_ref();
        let transfer = Conditions::of(test.block, seen.logbook);
        let mut before = Conditions::default();
        for block in &test.record.blocks {
            if !matches!(
                block.phase.kind,
                PhaseKind::Transfer | PhaseKind::Familiarisation
            ) {
                before.extend(&Conditions::of(block, seen.logbook));
            }
        }
        let of = seen.of_measure(measure);
        let known = !transfer.is_empty() && !transfer.exceeds(&before);
        let typed = format!("“{}”", shortened(&transfer.text().unwrap_or_default()));
        let says = if known {
            let but = context.map_or_else(String::new, |context| {
                format!(
                    "; About says that it changed “{}”, which the conditions don't show",
                    shortened(&context.value)
                )
            });
            format!(
                "The transfer test{of} is recorded under {typed}, which was practised or tested before{but}."
            )
        } else if transfer.is_empty() && context.is_none() {
            format!(
                "Neither the conditions of the transfer test{of} nor About say what was new in it."
            )
        } else {
            continue;
        };
        // What the report calls new may be there all the same, and only the column not kept up.
        let advice = if known && context.is_some() {
            "If something was new, put it into the column of conditions for these trials; if not, choose one thing that no session had, change only that, and say in your report what it was."
        } else {
            "A test of transfer asks for something that was never practised: choose one thing that no session had, change only that, and say in your report what it was."
        };
        let mut places = seen.cells(test.block);
        places.extend(context.map(|context| context.place.clone()));
        findings.add(
            CHECK
                .finding(says.clone(), format!("{says} {advice}"))
                .at(places, typed),
        );
    }
    if !any {
        findings.could_not(CHECK.id, "there is no scored transfer test");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    fn transfer_at(condition: Option<&str>, context: bool) -> Sample {
        let mut sample = Sample::sound();
        if !context {
            sample.logbook.about.novel_context = None;
        }
        for trial in sample.trials(Phase::TRANSFER) {
            trial.condition = condition.map(Into::into);
        }
        sample
    }

    #[test]
    fn practised_conditions_are_found_with_the_tests_cells() {
        let finding = only(transfer_at(Some("3 M"), false).found(&CHECK));
        assert_eq!(finding.weight, Weight::Concern);
        assert_eq!(finding.places.len(), 13);
    }

    #[test]
    fn a_context_that_the_conditions_dont_show_makes_them_no_less_practised() {
        let finding = only(transfer_at(Some("3 m"), true).found(&CHECK));
        assert_eq!(finding.weight, Weight::Concern);
        assert!(
            finding.comment.contains("column of conditions"),
            "{}",
            finding.comment
        );
    }

    #[test]
    fn nothing_recorded_at_all_is_found_and_either_record_is_enough() {
        assert_eq!(
            only(transfer_at(None, false).found(&CHECK)).weight,
            Weight::Concern
        );
        assert_eq!(transfer_at(None, true).found(&CHECK), Vec::new());
        assert_eq!(transfer_at(Some("5 m"), false).found(&CHECK), Vec::new());
    }

    #[test]
    fn without_a_transfer_test_it_is_not_checked() {
        not_checked(&Sample::sound().without(Phase::TRANSFER).run(&CHECK));
    }
}

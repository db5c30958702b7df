//! Rounded too early, twice, or not at all.

use super::slip::{Particular, Slip};
use crate::claims::computation::{
    Computation, EarlyRounding, Ending, Formula, Report, Sides, SpreadForm,
};

pub(super) static ROUNDED_EARLY: Slip = Slip {
    code: "rounded-early",
    convention: true,
    title: "Computed from rounded numbers",
    explanation: "The number is computed from means or spreads that were already rounded, or is rounded twice.",
    matters: "Rounding on the way moves the last digits of the result.",
    remedy: "Keep full precision until the last step, and round once.",
    vary: |v| {
        let from = v.from;
        let early = |early| Computation { early, ..from };
        let has_inputs = from.formula.sides() > Sides::One
            || matches!(
                from.formula,
                Formula::RelativeSpread | Formula::Line(..) | Formula::Centroid
            )
            || (from.formula == Formula::Spread && from.spread.form != SpreadForm::Sd)
            || from.formula == Formula::Level
            || from.formula == Formula::LevelInPercent;
        if has_inputs {
            if from.formula.uses_levels() || from.formula.uses_spread() {
                let of = Particular::Words("the means and spreads as the report states them");
                v.push_as(early(EarlyRounding::StatedRight), of, 1.0);
            }
            for (decimals, weight) in [(1, 1.0), (2, 1.0), (0, 1.0), (3, 0.4)] {
                let of = Particular::Decimals(decimals);
                v.push_as(early(EarlyRounding::To(decimals)), of, weight);
                if from.formula.uses_levels() && from.formula.uses_spread() {
                    v.push_as(early(EarlyRounding::LevelsTo(decimals)), of, weight * 0.3);
                }
                let last_input = matches!(
                    from.formula,
                    Formula::Percent(_)
                        | Formula::Standardised(..)
                        | Formula::Gain(_)
                        | Formula::Line(..)
                        | Formula::Nonoverlap { tau: true, .. }
                        | Formula::TTest(_, Report::P(_))
                );
                if last_input && decimals > 0 {
                    v.push_as(
                        early(EarlyRounding::LastInputTo(decimals)),
                        of,
                        weight * 0.5,
                    );
                }
            }
        }
        for (more, weight) in [(1, 1.0), (2, 0.3)] {
            let decimals = v.stated.decimals.saturating_add(more);
            let of = Particular::Words("a result already rounded once");
            v.push_as(early(EarlyRounding::ResultTo(decimals)), of, weight);
        }
    },
    when: |t| match t.detail.of {
        Particular::Decimals(0) => {
            String::from("it is computed from numbers already rounded to whole numbers")
        }
        Particular::Decimals(1) => {
            String::from("it is computed from numbers already rounded to 1 decimal")
        }
        Particular::Decimals(decimals) => {
            format!("it is computed from numbers already rounded to {decimals} decimals")
        }
        _ => format!("it is computed from {}", t.words("rounded numbers")),
    },
};

pub(super) static TRUNCATED: Slip = Slip {
    code: "truncated",
    convention: true,
    title: "Cut off instead of rounded",
    explanation: "The decimals are cut off instead of rounded.",
    matters: "A number cut off is too small by up to one unit of its last digit.",
    remedy: "Round to the last digit that you show.",
    vary: |v| v.ending(Ending::Truncated, Particular::Nothing, 1.0),
    when: |_| String::from("its decimals are cut off instead of rounded"),
};

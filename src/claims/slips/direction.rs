//! The wrong way round.

use super::slip::{Particular, Slip, Variations};
use crate::claims::computation::{Computation, Formula, GainForm, Transform};
use crate::logbook::model::Better;

pub(super) static SIGN_REVERSED: Slip = Slip {
    code: "sign-reversed",
    convention: false,
    title: "Sign reversed",
    explanation: "The number has the right size and the other sign.",
    matters: "The sign says whether the scores rose or fell.",
    remedy: "Subtract the earlier from the later value and keep the sign; say in words whether that is better.",
    vary: |v| {
        if !matches!(v.from.formula, Formula::Count | Formula::Agreement(_)) {
            let factor = -v.from.factor;
            v.push(Computation { factor, ..v.from });
        }
    },
    when: |_| String::from("the sign is reversed"),
};

pub(super) static PHASES_SWAPPED: Slip = Slip {
    code: "phases-swapped",
    convention: false,
    title: "Earlier and later swapped",
    explanation: "The two blocks change places in the formula.",
    matters: "It describes the way back from the later block to the earlier one.",
    remedy: "Put the later block first in the difference and the earlier one below the line.",
    vary: |v| {
        let from = v.from;
        let swapped = Computation {
            later: from.earlier,
            earlier: from.later,
            ..from
        };
        match from.formula {
            Formula::Gain(GainForm::Kept) => {
                let with_post = Computation {
                    later: from.between,
                    between: from.later,
                    ..from
                };
                v.push(with_post);
                let pre_and_post = Computation {
                    earlier: from.between,
                    between: from.earlier,
                    ..from
                };
                v.push_as(
                    pre_and_post,
                    Particular::Words("pre-test and post-test"),
                    0.5,
                );
            }
            Formula::Change
            | Formula::Percent(_)
            | Formula::Standardised(..)
            | Formula::Nonoverlap { .. }
            | Formula::TTest(..)
            | Formula::MannWhitney(_)
            | Formula::Wilcoxon(_) => v.push(swapped),
            _ => {}
        }
    },
    when: |t| match (t.computation.formula, t.detail.of) {
        (Formula::Gain(_), Particular::Words(words)) => format!("{words} change places"),
        (Formula::Gain(_), _) => String::from("the later test and the post-test change places"),
        _ => String::from("the earlier and the later block change places"),
    },
};

/// The scores themselves instead of what is made of them.
fn push_as_recorded(v: &mut Variations<'_, '_>, c: Computation) {
    let as_recorded = c.with_trials(|trials| {
        v.evaluator
            .gatherer
            .changed(trials, |selection| selection.taking(Transform::AsRecorded))
    });
    v.push(as_recorded);
}

pub(super) static DIRECTION_IGNORED: Slip = Slip {
    code: "direction-ignored",
    convention: false,
    title: "Lower is better, read as higher",
    explanation: "The measure is better when lower (or nearer to its target), and the number is computed as if higher were better.",
    matters: "For a distance from the target or a time, a fall is the gain.",
    remedy: "Go by the measure's own direction, and say which way is better.",
    vary: |v| {
        let Some(scale) = v.scale() else { return };
        if scale.better == Better::Higher {
            return;
        }
        let from = v.from;
        let target = scale.better == Better::Target;
        match from.formula {
            Formula::Percent(_) if from.factor < 0.0 => {
                let unsigned = Computation {
                    factor: -from.factor,
                    ..from
                };
                v.push(unsigned);
                if target {
                    push_as_recorded(v, unsigned);
                }
            }
            Formula::Nonoverlap {
                tau,
                higher_is_better: false,
            } => {
                let higher = Computation {
                    formula: Formula::Nonoverlap {
                        tau,
                        higher_is_better: true,
                    },
                    ..from
                };
                v.push(higher);
                if target {
                    push_as_recorded(v, higher);
                }
            }
            Formula::Gain(_) if target => push_as_recorded(v, from),
            Formula::LevelInPercent if v.taken() == Transform::Success => {
                v.selections(Particular::Nothing, 1.0, |s| {
                    s.taking(Transform::SuccessReversed)
                });
            }
            _ => {}
        }
    },
    when: |_| {
        String::from("higher scores are taken as better, which for this measure they are not")
    },
};

//! Another number than the mean stands for a block.

use super::slip::{Particular, Slip, Variations};
use crate::claims::computation::{Centre, Computation, Formula, Side};

fn instead_of(v: &mut Variations<'_, '_>, from: Centre, to: Centre) {
    if v.from.formula.uses_levels() && v.from.later.centre == from {
        v.sides(Particular::Nothing, 1.0, |side| Side { centre: to, ..side });
    }
}

pub(super) static MEDIAN_FOR_MEAN: Slip = Slip {
    code: "median-for-mean",
    convention: false,
    title: "The median instead of the mean",
    explanation: "The middle score stands where the mean is named.",
    matters: "With skewed scores the two differ, and both can be right to give.",
    remedy: "Give the mean, or call it the median; with skewed scores give both.",
    vary: |v| instead_of(v, Centre::Mean, Centre::Median),
    when: |t| format!("the median is taken for the mean{}", t.where_alone()),
};

pub(super) static MEAN_FOR_MEDIAN: Slip = Slip {
    code: "mean-for-median",
    convention: false,
    title: "The mean instead of the median",
    explanation: "The mean stands where the median is named.",
    matters: "With skewed scores the two differ.",
    remedy: "Give the middle score, or call it the mean.",
    vary: |v| {
        if v.from.formula == Formula::Level && v.from.later.centre == Centre::Median {
            v.sides(Particular::Nothing, 1.0, |side| Side {
                centre: Centre::Mean,
                ..side
            });
        }
    },
    when: |_| String::from("the mean is given for the median"),
};

pub(super) static SUM_FOR_MEAN: Slip = Slip {
    code: "sum-for-mean",
    convention: false,
    title: "The sum instead of the mean",
    explanation: "The total of the scores stands where their mean is named.",
    matters: "A total depends on how many trials there were.",
    remedy: "Divide by the number of trials, or call it the total.",
    vary: |v| instead_of(v, Centre::Mean, Centre::Sum),
    when: |t| format!("the sum is taken for the mean{}", t.where_alone()),
};

pub(super) static MODE_FOR_MEAN: Slip = Slip {
    code: "mode-for-mean",
    convention: false,
    title: "The most frequent score instead of the mean",
    explanation: "The mode stands where the mean is named.",
    matters: "The most frequent score says nothing of the others.",
    remedy: "Give the mean, or call it the mode.",
    vary: |v| {
        if !(v.from.formula.uses_levels() && v.from.later.centre == Centre::Mean) {
            return;
        }
        instead_of(v, Centre::Mean, Centre::Mode(0));
        if v.from.formula == Formula::Level {
            // Any of a tie may have been taken.
            let mode = Computation {
                later: Side {
                    centre: Centre::Mode(0),
                    ..v.from.later
                },
                ..v.from
            };
            let ties = v.evaluator.tied_modes(&mode).len();
            // Where every score occurs once there is no mode.
            let n = v.most();
            if ties < n {
                for which in 1..u8::try_from(ties).unwrap_or(u8::MAX) {
                    v.sides(Particular::Nothing, 1.0, |side| Side {
                        centre: Centre::Mode(which),
                        ..side
                    });
                }
            }
        }
    },
    when: |t| {
        format!(
            "the most frequent score is taken for the mean{}",
            t.where_alone()
        )
    },
};

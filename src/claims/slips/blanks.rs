//! Blanks and zeros taken for each other.

use super::dropped::keeping;
use super::slip::{Particular, Slip, Variations};
use crate::claims::computation::{Add, Keep, Selection};

/// Counts rows that don't count, where none are counted yet.
pub(super) fn adding(v: &mut Variations<'_, '_>, add: Add, of: Particular, weight: f64) {
    v.selections(of, weight, |selection| {
        if selection.add == Add::Nothing {
            Selection { add, ..selection }
        } else {
            selection
        }
    });
}

pub(super) static BLANKS_AS_ZERO: Slip = Slip {
    code: "blanks-as-zero",
    convention: false,
    title: "Blanks counted as zero",
    explanation: "Trials without a score are counted as scores of 0.",
    matters: "A trial that was not made is not a score of 0, and it pulls the mean down.",
    remedy: "Leave the cell empty, divide by the trials made, and say how many are missing.",
    vary: |v| {
        if v.is_of_trials() {
            adding(v, Add::BlanksAsZeros, Particular::Nothing, 1.0);
            adding(v, Add::UnreadableAsZeros, Particular::Nothing, 1.0);
        }
    },
    when: |t| format!("trials without a score are counted as 0{}", t.where_alone()),
};

pub(super) static ZEROS_AS_BLANK: Slip = Slip {
    code: "zeros-as-blank",
    convention: false,
    title: "Zeros left out",
    explanation: "Scores of 0 are taken for trials not made.",
    matters: "A miss is a result; without it the mean is of the hits alone.",
    remedy: "Count scores of 0, and leave cells empty only for trials not made.",
    vary: |v| {
        if v.is_of_trials() {
            keeping(v, Keep::WithoutZeros, Particular::Nothing, 1.0);
        }
    },
    when: |t| format!("scores of 0 are left out{}", t.where_alone()),
};

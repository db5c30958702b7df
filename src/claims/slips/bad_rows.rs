//! Rows that findings name, counted or left out.

use super::blanks::adding;
use super::dropped::keeping;
use super::slip::{Particular, Slip};
use crate::claims::computation::{Add, Keep};

pub(super) static BAD_ROWS_KEPT: Slip = Slip {
    code: "bad-rows-kept",
    convention: false,
    title: "Rows that can't stand, counted",
    explanation: "A trial recorded twice is counted twice, or a score outside the scale is counted.",
    matters: "The number rests on rows that another finding names.",
    remedy: "Settle those rows first, then compute the number again.",
    vary: |v| {
        if v.is_of_trials() {
            for (add, words) in [
                (
                    Add::SecondRecords,
                    "trials recorded twice are counted twice",
                ),
                (Add::OutOfScale, "scores outside the scale are counted"),
                (
                    Add::AllBadRows,
                    "repeated trials and scores outside the scale are counted",
                ),
            ] {
                adding(v, add, Particular::Words(words), 1.0);
            }
        }
    },
    when: |t| {
        format!(
            "{}{}",
            t.words("rows that findings name are counted"),
            t.where_alone()
        )
    },
};

pub(super) static BAD_ROWS_DROPPED: Slip = Slip {
    code: "bad-rows-dropped",
    convention: false,
    title: "Rows that findings name, left out",
    explanation: "Scores between the steps of the scale, hidden rows or trials recorded twice are left out.",
    matters: "What was recorded counts until it is put right.",
    remedy: "Settle those rows first, then compute the number again.",
    vary: |v| {
        if v.is_of_trials() {
            for (keep, words, weight) in [
                (
                    Keep::WithoutOffStep,
                    "scores between the steps of the scale are left out",
                    1.0,
                ),
                (
                    Keep::WithoutHidden,
                    "trials in hidden rows are left out",
                    0.7,
                ),
                (
                    Keep::WithoutRepeated,
                    "trials recorded twice are left out altogether",
                    0.5,
                ),
            ] {
                keeping(v, keep, Particular::Words(words), weight);
            }
        }
    },
    when: |t| {
        format!(
            "{}{}",
            t.words("rows that findings name are left out"),
            t.where_alone()
        )
    },
};

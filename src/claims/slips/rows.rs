//! A range that leaves trials out.

use super::dropped::keeping;
use super::slip::{Particular, Slip};
use crate::claims::computation::{Add, Formula, Keep, Selection, small};

const MATTERS: &str =
    "The number speaks for part of the trials only, while the report speaks of all.";

/// A range that misses two rows is rarer than one that misses one; it is told as the first or last k trials first.
const TWO_ROWS: f64 = 0.03;

pub(super) static FIRST_ROW_MISSED: Slip = Slip {
    code: "first-row-missed",
    convention: false,
    title: "The first trial missed",
    explanation: "The range begins one row too late.",
    matters: MATTERS,
    remedy: "Check where the range begins; if the first trial was a warm-up, record it as familiarisation.",
    vary: |v| {
        if v.is_of_trials() {
            keeping(v, Keep::WithoutFirst(1), Particular::Nothing, 1.0);
            keeping(
                v,
                Keep::WithoutFirstOfEach,
                Particular::Words("the first trial of each session"),
                0.3,
            );
            if v.most() > 4 {
                keeping(
                    v,
                    Keep::WithoutFirst(2),
                    Particular::Words("the first two trials"),
                    TWO_ROWS,
                );
            }
        }
    },
    when: |t| {
        let are = if t.detail.of == Particular::Words("the first two trials") {
            "are"
        } else {
            "is"
        };
        format!(
            "{} {are} left out{}",
            t.words("the first trial"),
            t.where_alone()
        )
    },
};

pub(super) static LAST_ROW_MISSED: Slip = Slip {
    code: "last-row-missed",
    convention: false,
    title: "The last trial missed",
    explanation: "The range ends one row too early.",
    matters: MATTERS,
    remedy: "Check where the range ends; rows added later fall outside it.",
    vary: |v| {
        if v.is_of_trials() {
            keeping(v, Keep::WithoutLast(1), Particular::Nothing, 1.0);
            keeping(
                v,
                Keep::WithoutLastOfEach,
                Particular::Words("the last trial of each session"),
                0.3,
            );
            if v.most() > 4 {
                keeping(
                    v,
                    Keep::WithoutLast(2),
                    Particular::Words("the last two trials"),
                    TWO_ROWS,
                );
            }
        }
    },
    when: |t| {
        let are = if t.detail.of == Particular::Words("the last two trials") {
            "are"
        } else {
            "is"
        };
        format!(
            "{} {are} left out{}",
            t.words("the last trial"),
            t.where_alone()
        )
    },
};

pub(super) static ROWS_MISSED: Slip = Slip {
    code: "rows-missed",
    convention: false,
    title: "The formula's range leaves trials out",
    explanation: "The formula in the claim's cell names a range that leaves out trials of the block.",
    matters: MATTERS,
    remedy: "Let the range begin at the block's first trial and end at its last.",
    vary: |v| {
        let claim = v.claim;
        let Some(range) = v
            .material()
            .logbook
            .claims
            .get(claim as usize)
            .and_then(|claim| claim.formula.as_ref())
        else {
            return;
        };
        if range.left_out.is_empty() {
            return;
        }
        let (left_out, extra) = (range.left_out.len(), !range.extra.is_empty());
        v.selections(Particular::Count(left_out), 1.0, |s| Selection {
            keep: Keep::WithinFormula(claim),
            ..s
        });
        if extra {
            v.selections(Particular::Count(left_out), 1.0, |s| Selection {
                keep: Keep::WithinFormula(claim),
                add: Add::FormulaExtras(claim),
                ..s
            });
        }
    },
    when: |t| match t.count() {
        1 => String::from("only the formula's own range is counted, which leaves out 1 trial"),
        k => format!("only the formula's own range is counted, which leaves out {k} trials"),
    },
};

pub(super) static FIRST_TRIALS_ONLY: Slip = Slip {
    code: "first-trials-only",
    convention: false,
    title: "Only the first trials counted",
    explanation: "The first k trials of the block are counted, the others not.",
    matters: MATTERS,
    remedy: "Count all recorded trials of the block.",
    vary: |v| {
        if v.is_of_trials() && v.from.formula != Formula::Count && !v.is_costly() {
            for k in 2..v.most_of_one_list() {
                keeping(v, Keep::First(small(k)), Particular::Count(k), 1.0);
            }
        }
    },
    when: |t| {
        format!(
            "only the first {} trials are counted (k = {}){}",
            t.count(),
            t.count(),
            t.where_alone()
        )
    },
};

pub(super) static LAST_TRIALS_ONLY: Slip = Slip {
    code: "last-trials-only",
    convention: false,
    title: "Only the last trials counted",
    explanation: "The last k trials of the block are counted, the others not.",
    matters: MATTERS,
    remedy: "Count all recorded trials of the block.",
    vary: |v| {
        if v.is_of_trials() && v.from.formula != Formula::Count && !v.is_costly() {
            for k in 2..v.most_of_one_list() {
                keeping(v, Keep::Last(small(k)), Particular::Count(k), 1.0);
            }
        }
    },
    when: |t| {
        format!(
            "only the last {} trials are counted (k = {}){}",
            t.count(),
            t.count(),
            t.where_alone()
        )
    },
};

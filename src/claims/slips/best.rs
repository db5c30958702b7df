//! The best stands for all.

use super::dropped::keeping;
use super::slip::{Particular, Slip};
use crate::claims::computation::{BestBy, Centre, Formula, Keep, Selection, Side};
use crate::logbook::model::Better;

pub(super) static BEST_TRIAL: Slip = Slip {
    code: "best-trial",
    convention: false,
    title: "The best trial stands for the block",
    explanation: "The best single score is taken for the mean.",
    matters: "The best of several tries is not typical performance, and grows with the number of tries.",
    remedy: "Average all recorded trials; where the brief asks for the best trial, call it that.",
    vary: |v| {
        if v.from.formula.uses_levels() && v.from.later.centre == Centre::Mean {
            // Equally near on either side of a target are not equal scores.
            for centre in [Centre::Best, Centre::LastBest] {
                v.sides(Particular::Nothing, 1.0, |side| Side { centre, ..side });
            }
        } else if v.from.formula.uses_levels() && v.from.later.centre == Centre::Median {
            v.sides(Particular::Nothing, 0.5, |side| Side {
                centre: Centre::Best,
                ..side
            });
        } else if matches!(v.from.formula, Formula::RootMeanSquare(_)) {
            v.selections(Particular::Nothing, 1.0, |s| Selection {
                keep: Keep::Best,
                ..s
            });
        } else if v.from.formula == Formula::Centroid {
            v.selections(Particular::Nothing, 1.0, |s| Selection {
                keep: Keep::Best,
                ..s
            });
        }
    },
    when: |t| format!("the best trial stands for the block{}", t.where_alone()),
};

pub(super) static BEST_SESSION: Slip = Slip {
    code: "best-session",
    convention: false,
    title: "The best session stands for the block",
    explanation: "Of a block over several sessions, only the session with the best mean is counted.",
    matters: "A best day is not typical performance.",
    remedy: "Count the trials of all sessions of the block.",
    vary: |v| {
        if v.is_of_blocks() {
            let target = v
                .scale()
                .is_some_and(|scale| scale.better == Better::Target);
            for (by, makes_sense) in [
                (BestBy::Trials, true),
                (BestBy::TrialsLast, true),
                (BestBy::Mean, target),
            ] {
                if makes_sense {
                    keeping(v, Keep::BestSession(by), Particular::Nothing, 1.0);
                }
            }
        }
    },
    when: |t| format!("only the best session is counted{}", t.where_alone()),
};

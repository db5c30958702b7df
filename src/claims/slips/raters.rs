//! Several ratings of one trial.

use super::slip::{Particular, Slip};
use crate::claims::computation::{Ratings, Selection, small};

pub(super) static ONE_RATER_ONLY: Slip = Slip {
    code: "one-rater-only",
    convention: false,
    title: "One rater's scores only",
    explanation: "Trials were rated by several raters, and one rater's ratings alone are counted.",
    matters: "One rater's severity then passes for the learner's performance.",
    remedy: "Average the ratings of each trial first.",
    vary: |v| {
        if !v.is_of_trials() {
            return;
        }
        let measure = v.measure();
        let raters = v
            .material()
            .measures
            .get(measure)
            .map_or(0, |measure| measure.raters.len());
        if raters > 1 {
            for rater in 0..raters {
                v.selections(Particular::Rater(rater), 1.0, |s| {
                    if s.ratings == Ratings::Averaged {
                        Selection {
                            ratings: Ratings::Of(small(rater)),
                            ..s
                        }
                    } else {
                        s
                    }
                });
            }
        }
    },
    when: |t| {
        format!(
            "the ratings of {} alone are counted{}",
            t.rater(),
            t.where_alone()
        )
    },
};

pub(super) static RATERS_POOLED: Slip = Slip {
    code: "raters-pooled",
    convention: false,
    title: "Every rating counted as a trial",
    explanation: "Trials were rated by several raters, and every rating is counted as a trial of its own.",
    matters: "It makes more trials than there were, and counts disagreement between raters as variation of the learner.",
    remedy: "Average the ratings of each trial first; n is the number of trials.",
    vary: |v| {
        if v.is_of_trials() {
            v.selections(Particular::Nothing, 1.0, |s| {
                if s.ratings == Ratings::Averaged {
                    Selection {
                        ratings: Ratings::Pooled,
                        ..s
                    }
                } else {
                    s
                }
            });
        }
    },
    when: |t| {
        format!(
            "every rating is counted as a trial of its own{}",
            t.where_alone()
        )
    },
};

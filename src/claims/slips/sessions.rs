//! Means of means.

use super::slip::{Particular, Slip};
use crate::claims::computation::{Centre, Formula, Ratings, Selection, Side};

pub(super) static AVERAGED_AVERAGES: Slip = Slip {
    code: "averaged-averages",
    convention: true,
    title: "The mean of sessions' means",
    explanation: "Each session is averaged first, then the sessions' means are averaged, where sessions have unequal numbers of trials.",
    matters: "A short session then counts as much as a long one.",
    remedy: "Say which you want: every trial alike, or every session alike.",
    vary: |v| {
        if matches!(v.from.formula, Formula::Line(..)) {
            return;
        }
        let by_session = |side: Side| Side {
            centre: Centre::BySession,
            ..side
        };
        if v.from.formula.uses_levels() && v.from.later.centre == Centre::Mean {
            v.sides(Particular::Nothing, 1.0, by_session);
            // Beside a spread of all ratings it would be every rating counted as a trial.
            if !v.from.formula.uses_spread() {
                v.all_and_each(Particular::Words("raters"), 0.3, |v, side| Side {
                    centre: Centre::ByRater,
                    ..v.with_selection(side, |selection| Selection {
                        ratings: Ratings::Pooled,
                        ..selection
                    })
                });
            }
        } else if v.from.formula == Formula::Spread && v.from.later.centre == Centre::Mean {
            v.sides(Particular::Nothing, 1.0, by_session);
        }
    },
    when: |t| {
        format!(
            "the means of {} are averaged{}",
            t.words("the sessions"),
            t.where_alone()
        )
    },
};

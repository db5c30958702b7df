//! Trials left out for what they scored.

use super::slip::{Particular, Slip, Variations};
use crate::claims::computation::{Keep, OutlierRule, Selection};

/// Keeps part of the trials, where all are still there.
pub(super) fn keeping(v: &mut Variations<'_, '_>, keep: Keep, of: Particular, weight: f64) {
    v.selections(of, weight, |selection| {
        if selection.keep == Keep::All {
            Selection { keep, ..selection }
        } else {
            selection
        }
    });
}

pub(super) static WORST_DROPPED: Slip = Slip {
    code: "worst-dropped",
    convention: false,
    title: "The worst trial dropped",
    explanation: "The worst score is left out.",
    matters: "Leaving out the worst makes any block look better than it was.",
    remedy: "Count all recorded trials unless a rule for exclusions was stated before the test.",
    vary: |v| {
        if v.is_of_trials() {
            keeping(v, Keep::WithoutWorst(1), Particular::Nothing, 1.0);
            // Equally far to either side of a target are not equal scores.
            keeping(v, Keep::WithoutLastWorst, Particular::Nothing, 1.0);
            if v.most() > 4 {
                keeping(v, Keep::WithoutWorst(2), Particular::Count(2), 0.3);
            }
        }
    },
    when: |t| {
        let worst = t.trials("the worst");
        let is = if t.count() == 1 { "is" } else { "are" };
        format!("{worst} {is} left out{}", t.where_alone())
    },
};

pub(super) static BEST_AND_WORST_DROPPED: Slip = Slip {
    code: "best-and-worst-dropped",
    convention: false,
    title: "The best and the worst trial dropped",
    explanation: "The highest and the lowest score are left out, as judges' marks are in some sports.",
    matters: "It is a trimmed mean: the reader must be told, and the spread is cut as well.",
    remedy: "Count all recorded trials, or say before the test that both ends are cut.",
    vary: |v| {
        if v.is_of_trials() {
            keeping(v, Keep::WithoutBestAndWorst(1), Particular::Nothing, 1.0);
            keeping(
                v,
                Keep::WithoutExtremes,
                Particular::Words("the highest and the lowest score"),
                1.0,
            );
        }
    },
    when: |t| {
        format!(
            "{} are left out{}",
            t.words("the best and the worst trial"),
            t.where_alone()
        )
    },
};

pub(super) static OUTLIER_DROPPED: Slip = Slip {
    code: "outlier-dropped",
    convention: false,
    title: "Scores far from the rest dropped",
    explanation: "Scores beyond 2 standard deviations of the mean, or beyond 1.5 interquartile ranges of the quartiles, are left out.",
    matters: "A poor or lucky trial belongs to a learner's performance; a rule applied after looking is no rule.",
    remedy: "Count all recorded trials, or state the rule for exclusions before the test and name the trials that it took out.",
    vary: |v| {
        if v.is_of_trials() && !v.is_costly() {
            for (rule, words, weight) in [
                (
                    OutlierRule::TenthsOfSd(20),
                    "scores more than 2 standard deviations from the mean",
                    1.0,
                ),
                (
                    OutlierRule::InclusiveQuartiles,
                    "scores more than 1.5 interquartile ranges outside the quartiles",
                    1.0,
                ),
                (
                    OutlierRule::ExclusiveQuartiles,
                    "scores more than 1.5 interquartile ranges outside the (exclusive) quartiles",
                    0.5,
                ),
                (
                    OutlierRule::Hinges,
                    "scores more than 1.5 interquartile ranges outside the medians of the halves",
                    0.3,
                ),
                (
                    OutlierRule::TenthsOfSd(25),
                    "scores more than 2.5 standard deviations from the mean",
                    0.3,
                ),
                (
                    OutlierRule::TenthsOfSd(30),
                    "scores more than 3 standard deviations from the mean",
                    0.3,
                ),
            ] {
                keeping(
                    v,
                    Keep::WithoutOutliers(rule),
                    Particular::Words(words),
                    weight,
                );
            }
        }
    },
    when: |t| {
        format!(
            "{} are left out{}",
            t.words("scores far from the rest"),
            t.where_alone()
        )
    },
};

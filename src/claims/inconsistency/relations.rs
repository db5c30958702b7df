//! What some numbers of a report give for another one.

use crate::statistic::{Statistic, Statistic as S};
use crate::stats::distribution::t_two_sided;
use crate::stats::effect_size::small_sample_factor;

/// A relation: what some claims give for another one.
pub(super) struct Relation {
    /// The number that they give.
    pub of: Statistic,
    /// What goes in, in this order.
    pub from: &'static [(Statistic, At)],
    /// How it is computed; not a number where it does not hold.
    pub gives: fn(&[f64]) -> f64,
    /// The rule in words.
    pub says: &'static str,
}

/// Where a claim that enters a relation stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum At {
    /// In the same block, or the same comparison.
    Same,
    /// In the earlier block of the comparison.
    Earlier,
    /// In the later block of the comparison, or the test of a gain.
    Later,
    /// In the pre-test.
    Pre,
    /// In the post-test.
    Post,
}

/// One of the corner's numbers; relations name as many as they use.
pub(super) fn at(numbers: &[f64], place: usize) -> f64 {
    numbers.get(place).copied().unwrap_or(f64::NAN)
}

/// Both means, both standard deviations, both numbers of trials: the later block's first.
const LEVELS_AND_SPREADS: &[(Statistic, At)] = &[
    (S::Mean, At::Later),
    (S::Mean, At::Earlier),
    (S::Sd, At::Later),
    (S::Sd, At::Earlier),
    (S::N, At::Later),
    (S::N, At::Earlier),
];

/// The change over the pooled standard deviation.
fn standardised(x: &[f64]) -> f64 {
    let (a, b) = (at(x, 5) - 1.0, at(x, 4) - 1.0);
    let pooled = (at(x, 3).powi(2) * a + at(x, 2).powi(2) * b) / (a + b);
    (at(x, 0) - at(x, 1)) / pooled.sqrt()
}

/// How many pairs two blocks make: it can't be said where one has more trials, as nobody knows which are left out.
#[expect(clippy::float_cmp, reason = "numbers of trials are whole")]
fn pairs(later: f64, earlier: f64) -> f64 {
    if later == earlier { later } else { f64::NAN }
}

pub(super) const RELATIONS: &[Relation] = &[
    Relation {
        of: S::Mean,
        from: &[(S::Sum, At::Same), (S::N, At::Same)],
        gives: |x| at(x, 0) / at(x, 1),
        says: "a mean is the sum over the number of trials",
    },
    Relation {
        of: S::Se,
        from: &[(S::Sd, At::Same), (S::N, At::Same)],
        gives: |x| at(x, 0) / at(x, 1).sqrt(),
        says: "a standard error is the standard deviation over √n",
    },
    Relation {
        of: S::Variance,
        from: &[(S::Sd, At::Same)],
        gives: |x| at(x, 0).powi(2),
        says: "a variance is the square of the standard deviation",
    },
    Relation {
        of: S::Cv,
        from: &[(S::Sd, At::Same), (S::Mean, At::Same)],
        gives: |x| 100.0 * at(x, 0) / at(x, 1),
        says: "a coefficient of variation is 100 times the standard deviation over the mean",
    },
    Relation {
        of: S::Range,
        from: &[(S::Maximum, At::Same), (S::Minimum, At::Same)],
        gives: |x| at(x, 0) - at(x, 1),
        says: "a range is the maximum less the minimum",
    },
    Relation {
        of: S::TotalError,
        from: &[(S::ConstantError, At::Same), (S::VariableError, At::Same)],
        gives: |x| at(x, 0).hypot(at(x, 1)),
        says: "total error squared is constant error squared plus variable error squared",
    },
    Relation {
        of: S::Change,
        from: &[(S::Mean, At::Later), (S::Mean, At::Earlier)],
        gives: |x| at(x, 0) - at(x, 1),
        says: "a change is the later mean less the earlier one",
    },
    Relation {
        of: S::PercentChange,
        from: &[(S::Mean, At::Later), (S::Mean, At::Earlier)],
        gives: |x| 100.0 * (at(x, 0) - at(x, 1)) / at(x, 1).abs(),
        says: "a percent change is the change in percent of the earlier mean",
    },
    Relation {
        of: S::PercentChange,
        from: &[(S::Change, At::Same), (S::Mean, At::Earlier)],
        gives: |x| 100.0 * at(x, 0) / at(x, 1).abs(),
        says: "a percent change is the change in percent of the earlier mean",
    },
    Relation {
        of: S::GlassDelta,
        from: &[(S::Change, At::Same), (S::Sd, At::Earlier)],
        gives: |x| at(x, 0) / at(x, 1),
        says: "Glass's delta is the change over the earlier standard deviation",
    },
    Relation {
        of: S::D,
        from: LEVELS_AND_SPREADS,
        gives: standardised,
        says: "d is the change over the pooled standard deviation",
    },
    Relation {
        of: S::G,
        from: &[(S::D, At::Same), (S::N, At::Later), (S::N, At::Earlier)],
        gives: |x| {
            let df = at(x, 1) + at(x, 2) - 2.0;
            at(x, 0) * small_sample_factor(df).unwrap_or(f64::NAN)
        },
        says: "g is d times the small-sample factor",
    },
    Relation {
        of: S::Tau,
        from: &[(S::Nap, At::Same)],
        gives: |x| 2.0 * at(x, 0) - 1.0,
        says: "tau is twice nap less 1",
    },
    Relation {
        of: S::PT,
        from: &[(S::T, At::Same), (S::N, At::Later), (S::N, At::Earlier)],
        gives: |x| t_two_sided(at(x, 0), at(x, 1) + at(x, 2) - 2.0).unwrap_or(f64::NAN),
        says: "p follows from t and the degrees of freedom",
    },
    Relation {
        of: S::PTPaired,
        from: &[
            (S::TPaired, At::Same),
            (S::N, At::Later),
            (S::N, At::Earlier),
        ],
        gives: |x| {
            let pairs = pairs(at(x, 1), at(x, 2));
            t_two_sided(at(x, 0), pairs - 1.0).unwrap_or(f64::NAN)
        },
        says: "p follows from t and the degrees of freedom",
    },
    Relation {
        of: S::T,
        from: &[(S::D, At::Same), (S::N, At::Later), (S::N, At::Earlier)],
        gives: |x| at(x, 0) / (1.0 / at(x, 1) + 1.0 / at(x, 2)).sqrt(),
        says: "t is d over the root of 1/n + 1/n",
    },
    Relation {
        of: S::T,
        from: LEVELS_AND_SPREADS,
        gives: |x| standardised(x) / (1.0 / at(x, 4) + 1.0 / at(x, 5)).sqrt(),
        says: "t follows from both means, standard deviations and numbers of trials",
    },
    Relation {
        of: S::TWelch,
        from: LEVELS_AND_SPREADS,
        gives: |x| {
            let (earlier, later) = (at(x, 3).powi(2) / at(x, 5), at(x, 2).powi(2) / at(x, 4));
            (at(x, 0) - at(x, 1)) / (earlier + later).sqrt()
        },
        says: "Welch's t follows from both means, standard deviations and numbers of trials",
    },
    Relation {
        of: S::TPaired,
        from: &[
            (S::DPaired, At::Same),
            (S::N, At::Later),
            (S::N, At::Earlier),
        ],
        gives: |x| at(x, 0) * pairs(at(x, 1), at(x, 2)).sqrt(),
        says: "a paired t is the d of the differences times √n",
    },
    Relation {
        of: S::R2,
        from: &[(S::R, At::Same)],
        gives: |x| at(x, 0).powi(2),
        says: "r² is the square of r",
    },
    Relation {
        of: S::RetainedGain,
        from: &[
            (S::Mean, At::Later),
            (S::Mean, At::Pre),
            (S::Mean, At::Post),
        ],
        gives: |x| 100.0 * (at(x, 0) - at(x, 1)) / (at(x, 2) - at(x, 1)),
        says: "the retained gain is the share of the gain from pre- to post-test",
    },
    Relation {
        of: S::TransferredGain,
        from: &[
            (S::Mean, At::Later),
            (S::Mean, At::Pre),
            (S::Mean, At::Post),
        ],
        gives: |x| 100.0 * (at(x, 0) - at(x, 1)) / (at(x, 2) - at(x, 1)),
        says: "the transferred gain is the share of the gain from pre- to post-test",
    },
];

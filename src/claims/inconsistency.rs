//! Claims that contradict each other, whatever the trials: a mean that is not the sum over n, a percent that is not of its own means, a p that
//! does not belong to its t.
//!
//! Every stated number is an interval, half a unit of its last digit to either side. What follows from some claims is an interval too; where
//! it misses the number stated, they can't all be right.

use super::sentences::subject;
use super::verdict::{Confidence, RecomputedClaim, Verdict};
use crate::logbook::Logbook;
use crate::logbook::model::{Better, Claim, ClaimMeasure};
use crate::number::{Bound, readable};
use crate::phase::{BlockName, Phase};
use crate::statistic::{Shape, Statistic, Statistic as S};
use crate::stats::Interval;
use crate::stats::distribution::t_two_sided;
use crate::stats::effect_size::small_sample_factor;

/// Claims that can't all be right.
#[derive(Debug, Clone, PartialEq)]
pub struct Inconsistency {
    /// Which claims, as indices into the logbook's claims: those that the trials contradict first.
    pub claims: Vec<usize>,
    /// What is wrong between them, in a sentence.
    pub says: String,
    /// A finding on one of these claims already accounts for it.
    pub accounted: bool,
}

/// A claim with the interval that it stands for.
struct Known<'a> {
    index: usize,
    statistic: Statistic,
    measure: usize,
    phase: BlockName,
    versus: Option<BlockName>,
    claim: &'a Claim,
    interval: Interval,
}

/// A relation: what some claims give for another one.
struct Relation {
    of: Statistic,
    from: &'static [(Statistic, At)],
    gives: fn(&[f64]) -> f64,
    says: &'static str,
}

/// Where a claim that enters a relation stands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
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
fn at(numbers: &[f64], place: usize) -> f64 {
    numbers.get(place).copied().unwrap_or(f64::NAN)
}

const RELATIONS: &[Relation] = &[
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
        from: &[
            (S::Mean, At::Later),
            (S::Mean, At::Earlier),
            (S::Sd, At::Later),
            (S::Sd, At::Earlier),
            (S::N, At::Later),
            (S::N, At::Earlier),
        ],
        gives: |x| {
            let (a, b) = (at(x, 5) - 1.0, at(x, 4) - 1.0);
            let pooled = (at(x, 3).powi(2) * a + at(x, 2).powi(2) * b) / (a + b);
            (at(x, 0) - at(x, 1)) / pooled.sqrt()
        },
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
        from: &[(S::TPaired, At::Same), (S::N, At::Later)],
        gives: |x| t_two_sided(at(x, 0), at(x, 1) - 1.0).unwrap_or(f64::NAN),
        says: "p follows from t and the degrees of freedom",
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

/// All contradictions among the claims of a logbook.
pub fn inconsistencies(logbook: &Logbook, recomputed: &[RecomputedClaim]) -> Vec<Inconsistency> {
    let known: Vec<Known<'_>> = logbook
        .claims
        .iter()
        .enumerate()
        .filter_map(|(index, claim)| known(index, claim))
        .collect();
    let mut found: Vec<Inconsistency> = Vec::new();
    let mut add = |claims: Vec<&Known<'_>>, says: String| {
        let inconsistency = told(&claims, &says, logbook, recomputed);
        // Numbers that are all what the trials give can't contradict each other: it is the relation that does not hold here, as where a
        // paired test has fewer pairs than the block has trials.
        if inconsistency
            .claims
            .iter()
            .all(|claim| follows(recomputed, *claim))
        {
            return;
        }
        // A number that the trials contradict is contradicted once.
        let wrong = inconsistency
            .claims
            .first()
            .filter(|claim| is_wrong(recomputed, **claim));
        let known_already = found.iter().any(|other| {
            other
                .claims
                .iter()
                .all(|claim| inconsistency.claims.contains(claim))
                || (wrong.is_some() && other.claims.first() == wrong)
        });
        if !known_already {
            found.push(inconsistency);
        }
    };
    for (place, one) in known.iter().enumerate() {
        for other in known.iter().skip(place + 1) {
            if same_number(one, other) && !same_value(one, other) {
                add(
                    vec![one, other],
                    String::from("the same number is given twice, and differently"),
                );
            }
        }
        for relation in RELATIONS
            .iter()
            .filter(|relation| relation.of == one.statistic)
            .filter(|_| !by_distance(one, logbook))
        {
            related(one, relation, &known, &mut add);
        }
        improvement(one, &known, logbook, &mut add);
        within_range(one, &known, &mut add);
    }
    found
}

/// A gain that goes by the distance from a target, of which the means of the scores themselves say nothing.
fn by_distance(one: &Known<'_>, logbook: &Logbook) -> bool {
    one.statistic.shape() == Shape::Gain
        && logbook
            .measures
            .get(one.measure)
            .is_some_and(|measure| measure.better == Better::Target)
}

fn known(index: usize, claim: &Claim) -> Option<Known<'_>> {
    let stated = claim
        .value
        .filter(|stated| stated.bound == Bound::Exactly)?;
    let statistic = claim.statistic?;
    if statistic.shape() == Shape::Agreement {
        return None;
    }
    let ClaimMeasure::Known(measure) = claim.measure else {
        return None;
    };
    let half = stated.half_unit() * (1.0 + 1e-9);
    Some(Known {
        index,
        statistic,
        measure,
        phase: claim.phase?,
        versus: claim.versus,
        claim,
        interval: Interval::around(stated.value, half),
    })
}

fn is_wrong(recomputed: &[RecomputedClaim], claim: usize) -> bool {
    recomputed
        .iter()
        .find(|result| result.claim == claim)
        .is_some_and(|result| matches!(result.verdict, Verdict::Differs | Verdict::Impossible))
}

fn follows(recomputed: &[RecomputedClaim], claim: usize) -> bool {
    recomputed
        .iter()
        .find(|result| result.claim == claim)
        .is_some_and(|result| result.verdict == Verdict::Agrees)
}

fn same_number(one: &Known<'_>, other: &Known<'_>) -> bool {
    // Any of a tie is the mode, and U counts from either side.
    !matches!(one.statistic, S::Mode | S::U | S::Wilcoxon)
        && one.statistic == other.statistic
        && one.measure == other.measure
        && one.phase == other.phase
        && one.versus == other.versus
}

/// One of the two may be stated with more decimals.
fn same_value(one: &Known<'_>, other: &Known<'_>) -> bool {
    let (Some(a), Some(b)) = (one.claim.value, other.claim.value) else {
        return true;
    };
    a.agrees(b.value) || b.agrees(a.value)
}

fn apart(a: Interval, b: Interval) -> bool {
    a.high < b.low || b.high < a.low
}

/// What the claims of a relation give for one of them.
fn related<'k, 'a>(
    one: &'k Known<'a>,
    relation: &Relation,
    known: &'k [Known<'a>],
    add: &mut impl FnMut(Vec<&'k Known<'a>>, String),
) {
    let inputs: Option<Vec<&Known<'_>>> = relation
        .from
        .iter()
        .map(|(statistic, place)| find(one, *statistic, *place, known))
        .collect();
    let Some(inputs) = inputs else { return };
    let intervals: Vec<Interval> = inputs.iter().map(|input| range_of(input)).collect();
    // Means of pre- and post-test that may be equal at the precision stated leave a gain over nothing: it could be any number.
    if relation.of.shape() == Shape::Gain
        && let [_, pre, post] = intervals.as_slice()
        && !apart(*pre, *post)
    {
        return;
    }
    if let Some(given) = corners(&intervals, relation.gives)
        && apart(given, one.interval)
    {
        let says = format!(
            "{}, which these would make {}",
            relation.says,
            between(given)
        );
        let mut claims = vec![one];
        claims.extend(inputs);
        add(claims, says);
    }
}

/// The claim that stands where a relation looks.
fn find<'k, 'a>(
    one: &Known<'_>,
    statistic: Statistic,
    place: At,
    known: &'k [Known<'a>],
) -> Option<&'k Known<'a>> {
    let (phase, versus) = match place {
        At::Same => (one.phase, one.versus),
        At::Later => (one.phase, None),
        At::Earlier => (one.versus?, None),
        At::Pre => (BlockName::Phase(Phase::PRE), None),
        At::Post => (BlockName::Phase(Phase::POST), None),
    };
    known.iter().find(|other| {
        other.statistic == statistic
            && other.measure == one.measure
            && other.phase == phase
            && (place != At::Same || other.versus == versus)
    })
}

/// A count is itself; any other number may be half a unit off.
fn range_of(known: &Known<'_>) -> Interval {
    if known.statistic == S::N {
        let n = known.claim.value.map_or(0.0, |stated| stated.value);
        Interval { low: n, high: n }
    } else {
        known.interval
    }
}

/// From where to where a function of intervals goes: it is monotone in each of them away from its poles, so its corners bound it.
fn corners(intervals: &[Interval], gives: fn(&[f64]) -> f64) -> Option<Interval> {
    let mut bounds: Option<Interval> = None;
    let mut corner: Vec<f64> = Vec::with_capacity(intervals.len());
    for which in 0..(1_u32 << intervals.len().min(8)) {
        corner.clear();
        corner.extend(intervals.iter().enumerate().map(|(place, interval)| {
            if which >> place & 1 == 0 {
                interval.low
            } else {
                interval.high
            }
        }));
        let value = gives(&corner);
        if !value.is_finite() {
            return None;
        }
        bounds = Some(bounds.map_or(
            Interval {
                low: value,
                high: value,
            },
            |bounds| Interval {
                low: bounds.low.min(value),
                high: bounds.high.max(value),
            },
        ));
    }
    // Where zero lies within an interval a size or quotient may turn between the corners.
    let through_zero = intervals
        .iter()
        .any(|interval| interval.low < 0.0 && interval.high > 0.0);
    bounds.filter(|_| !through_zero)
}

fn between(given: Interval) -> String {
    let (low, high) = (readable(given.low), readable(given.high));
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

/// Percent improvement goes by the measure's own direction.
fn improvement<'k, 'a>(
    one: &'k Known<'a>,
    known: &'k [Known<'a>],
    logbook: &Logbook,
    add: &mut impl FnMut(Vec<&'k Known<'a>>, String),
) {
    if one.statistic != S::PercentImprovement {
        return;
    }
    let gives: fn(&[f64]) -> f64 = match logbook.measures.get(one.measure).map(|m| m.better) {
        Some(Better::Higher) => |x| 100.0 * (at(x, 0) - at(x, 1)) / at(x, 1).abs(),
        Some(Better::Lower) => |x| 100.0 * (at(x, 1) - at(x, 0)) / at(x, 1).abs(),
        _ => return,
    };
    let relation = Relation {
        of: S::PercentImprovement,
        from: &[(S::Mean, At::Later), (S::Mean, At::Earlier)],
        gives,
        says: "a percent improvement is the change for the better in percent of the earlier mean",
    };
    related(one, &relation, known, add);
}

/// A mean, median or mode outside the minimum and maximum; a spread that they don't allow.
fn within_range<'k, 'a>(
    one: &'k Known<'a>,
    known: &'k [Known<'a>],
    add: &mut impl FnMut(Vec<&'k Known<'a>>, String),
) {
    let name = match one.statistic {
        S::Mean | S::Median | S::Mode => {
            "a mean, median or mode lies between the minimum and the maximum"
        }
        S::Sd => "a standard deviation is at most half the range times √(n/(n − 1))",
        _ => return,
    };
    let low = find(one, S::Minimum, At::Same, known);
    let high = find(one, S::Maximum, At::Same, known);
    if one.statistic == S::Sd {
        let (Some(low), Some(high), Some(n)) = (low, high, find(one, S::N, At::Same, known)) else {
            return;
        };
        let n_trials = range_of(n).low;
        let most =
            (high.interval.high - low.interval.low) / 2.0 * (n_trials / (n_trials - 1.0)).sqrt();
        if n_trials > 1.0 && one.interval.low > most {
            add(vec![one, low, high, n], String::from(name));
        }
        return;
    }
    if let Some(low) = low
        && one.interval.high < low.interval.low
    {
        add(vec![one, low], String::from(name));
    }
    if let Some(high) = high
        && one.interval.low > high.interval.high
    {
        add(vec![one, high], String::from(name));
    }
}

/// A contradiction in words, the claims that the trials contradict first.
fn told(
    claims: &[&Known<'_>],
    says: &str,
    logbook: &Logbook,
    recomputed: &[RecomputedClaim],
) -> Inconsistency {
    let stated: Vec<String> = claims
        .iter()
        .map(|known| {
            format!(
                "{} ({})",
                subject(known.claim, logbook),
                known.claim.value_text.trim()
            )
        })
        .collect();
    let result_of = |index: usize| recomputed.iter().find(|result| result.claim == index);
    let accounted = claims.iter().any(|known| {
        result_of(known.index).is_some_and(|result| {
            result.consequence_of.is_some()
                || (result.verdict == Verdict::Differs
                    && result.confidence == Some(Confidence::Likely))
        })
    });
    let mut indices: Vec<usize> = claims.iter().map(|known| known.index).collect();
    indices.sort_by_key(|index| !is_wrong(recomputed, *index));
    Inconsistency {
        claims: indices,
        says: format!("{} can't all be right: {says}", stated.join(", ")),
        accounted,
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::Made;
    use super::*;

    fn found(made: &Made) -> Vec<Vec<usize>> {
        inconsistencies(&made.logbook, &made.recomputed())
            .into_iter()
            .map(|inconsistency| inconsistency.claims)
            .collect()
    }

    /// 0.99/√10 = 0.313; t = 2.5 with 18 degrees of freedom has p = 0.022 3 (SciPy 1.17: `2*t.sf(2.5, 18)`).
    #[test]
    fn claims_contradict_each_other_without_any_trials() {
        let claims = |given: &[(&str, &str, &str)]| {
            let mut made = Made::ratings();
            for (statistic, of, value) in given {
                made = made.claims(statistic, of, value);
            }
            made
        };
        let sound = claims(&[
            ("n", "post", "10"),
            ("n", "pre", "10"),
            ("sum", "post", "31"),
            ("mean", "post", "3.1"),
            ("sd", "post", "0.99"),
            ("se", "post", "0.31"),
            ("mean", "pre", "1.9"),
            ("change", "post", "1.2"),
            ("percent change", "post", "63.2"),
            ("percent improvement", "post", "63"),
            ("t", "post", "2.5"),
            ("p t", "post", "0.022"),
            ("nap", "post", "0.85"),
            ("tau", "post", "0.70"),
        ]);
        assert_eq!(found(&sound), Vec::<Vec<usize>>::new());
        for (given, expected) in [
            (
                vec![
                    ("mean", "post", "3.4"),
                    ("sum", "post", "31"),
                    ("n", "post", "10"),
                ],
                vec![0, 1, 2],
            ),
            (
                vec![
                    ("se", "post", "0.42"),
                    ("sd", "post", "0.99"),
                    ("n", "post", "10"),
                ],
                vec![0, 1, 2],
            ),
            (
                vec![
                    ("percent change", "post", "38.7"),
                    ("mean", "post", "3.1"),
                    ("mean", "pre", "1.9"),
                ],
                vec![0, 1, 2],
            ),
            (
                vec![
                    ("t", "post", "2.5"),
                    ("p t", "post", "0.11"),
                    ("n", "post", "10"),
                    ("n", "pre", "10"),
                ],
                vec![1, 0, 2, 3],
            ),
            (
                vec![("tau", "post", "0.50"), ("nap", "post", "0.85")],
                vec![0, 1],
            ),
            (
                vec![("mean", "post", "3.1"), ("mean", "post", "3.3")],
                vec![0, 1],
            ),
            (
                vec![("mean", "post", "4.7"), ("maximum", "post", "4")],
                vec![0, 1],
            ),
        ] {
            assert_eq!(found(&claims(&given)), [expected], "{given:?}");
        }
    }

    #[test]
    fn rounding_is_no_contradiction() {
        // From 1.9 and 3.1 as rounded anything from 56.4 to 70.3 may come.
        let made = |percent: &str| {
            Made::ratings()
                .claims("mean", "pre", "1.9")
                .claims("mean", "post", "3.1")
                .claims("percent change", "post", percent)
        };
        assert!(found(&made("56.5")).is_empty());
        assert!(found(&made("70.1")).is_empty());
        assert_eq!(found(&made("70.5")).len(), 1);
    }

    #[test]
    fn what_the_trials_contradict_comes_first() {
        let made = Made::ratings()
            .trials("post", 5, &[3.0, 4.0, 2.0, 4.0, 3.0])
            .claims("n", "post", "5")
            .claims("sum", "post", "16")
            .claims("mean", "post", "3.87");
        let all = inconsistencies(&made.logbook, &made.recomputed());
        assert_eq!(all.len(), 1);
        assert_eq!(all[0].claims, [2, 1, 0]);
        assert!(all[0].says.contains("the mean of the post-test (3.87)"));
    }
}

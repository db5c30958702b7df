//! Claims that contradict each other, whatever the trials: a mean that is not the sum over n, a percent that is not of its own means, a p that
//! does not belong to its t.
//!
//! Every stated number is an interval, half a unit of its last digit to either side. What follows from some claims is an interval too; where
//! it misses the number stated, they can't all be right.

mod relations;

use self::relations::{At, RELATIONS, Relation, at};
use super::sentences::subject;
use super::verdict::{Confidence, RecomputedClaim, Verdict};
use crate::logbook::Logbook;
use crate::logbook::model::{Better, Claim, ClaimMeasure};
use crate::number::{Bound, readable};
use crate::phase::{BlockName, Phase};
use crate::statistic::{Shape, Statistic, Statistic as S};
use crate::stats::Interval;
use crate::stats::distribution::t_two_sided;

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
        p_of_welch(one, &known, &mut add);
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
fn corners(intervals: &[Interval], gives: impl Fn(&[f64]) -> f64) -> Option<Interval> {
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

/// The p of Welch's test: its degrees of freedom lie between those of the smaller block and those of both together.
fn p_of_welch<'k, 'a>(
    one: &'k Known<'a>,
    known: &'k [Known<'a>],
    add: &mut impl FnMut(Vec<&'k Known<'a>>, String),
) {
    if one.statistic != S::PTWelch {
        return;
    }
    let (Some(t), Some(later), Some(earlier)) = (
        find(one, S::TWelch, At::Same, known),
        find(one, S::N, At::Later, known),
        find(one, S::N, At::Earlier, known),
    ) else {
        return;
    };
    let intervals = [range_of(t), range_of(later), range_of(earlier)];
    let p = |t: f64, df: f64| t_two_sided(t, df).unwrap_or(f64::NAN);
    let fewest = corners(&intervals, |x| p(at(x, 0), at(x, 1).min(at(x, 2)) - 1.0));
    let most = corners(&intervals, |x| p(at(x, 0), at(x, 1) + at(x, 2) - 2.0));
    let (Some(fewest), Some(most)) = (fewest, most) else {
        return;
    };
    let given = Interval {
        low: fewest.low.min(most.low),
        high: fewest.high.max(most.high),
    };
    if apart(given, one.interval) {
        let says = format!(
            "p follows from t and the degrees of freedom, which these would make {}",
            between(given)
        );
        add(vec![one, t, later, earlier], says);
    }
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
mod tests;

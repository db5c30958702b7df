//! How each marker marks: severity on the same reports, spread, likeness across criteria, drift, distance from the evidence.
//!
//! Markers are not compared by their raw means: with forty reports each, markers who are alike differ by several marks.

use super::FEW;
use super::gather::{Gathered, MarkedPair, Marking, Scale};
use crate::number::readable;
use crate::report::workbook::marker::MarkingAs;
use crate::stats::correlation::{Correlation, pearson, spearman};
use crate::stats::distribution::{f_quantile, t_quantile};
use crate::stats::moments::Moments;
use crate::stats::variance_components::{
    Contrast, Effect, fixed_markers, linked_groups, variance_components,
};
use crate::stats::{Interval, Undefined};

/// Fewer marks than this, and spread, likeness and drift say nothing.
const FEW_MARKS: usize = 8;

/// How severe each marker is, on one scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Severity {
    /// What is compared.
    pub scale: Scale,
    /// The markers in order of their names.
    pub markers: Vec<MarkerSeverity>,
    /// The evidence was taken into account; without it, the pairs alone.
    pub with_evidence: bool,
}

/// How far one marker is from the markers together, in marks; positive is generous.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkerSeverity {
    /// Who.
    pub marker: String,
    /// On the same reports; none where no shared pairs link this marker to most of the others: raw means are not compared.
    pub estimate: Option<Contrast>,
    /// Drawn towards 0 as far as few marks speak; none where there is no estimate.
    pub shrunken: Option<Effect>,
}

/// A marker's severity as it is told everywhere: against the other marker where there are two, else against the markers together.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Marks above (generous) or below (severe).
    pub value: f64,
    /// Its 95 % interval; none where too few shared pairs give one.
    pub interval: Option<Interval>,
    /// The other marker, where two are compared; none where the markers together are meant.
    pub than: Option<String>,
}

impl Told {
    /// Whether the interval leaves out that there is no difference.
    pub fn is_sure(&self) -> bool {
        self.interval
            .is_some_and(|interval| !interval.contains(0.0))
    }

    /// The interval of what [`Self::in_words`] says: `95 % interval from 0.9 to 3.6`.
    pub fn interval_in_words(&self) -> Option<String> {
        let interval = self.interval?;
        let (low, high) = if self.value < 0.0 {
            (-interval.high, -interval.low)
        } else {
            (interval.low, interval.high)
        };
        Some(format!(
            "95 % interval from {} to {}",
            readable(low),
            readable(high)
        ))
    }

    /// To follow the marker's name: `gives 2.2 less than M. Ostrow on the same reports`.
    pub fn in_words(&self) -> String {
        let side = if self.value < 0.0 { "less" } else { "more" };
        let than = self.than.as_deref().unwrap_or("the markers together");
        format!(
            "gives {} {side} than {than} on the same reports",
            readable(self.value.abs())
        )
    }
}

impl Severity {
    /// How severe a marker is, as it is told; none where nothing links the marker to the others.
    ///
    /// Effects sum to 0, so that of two markers each is half their distance from the middle: what people compare is the whole of it, and as
    /// the two estimates are each other's opposite, so are the ends of the interval.
    pub fn told(&self, marker: &str) -> Option<Told> {
        let one = self.markers.iter().find(|one| one.marker == marker)?;
        let estimate = one.estimate?;
        let linked = self.markers.iter().filter(|one| one.estimate.is_some());
        let others: Vec<&str> = linked
            .map(|one| one.marker.as_str())
            .filter(|other| *other != marker)
            .collect();
        let (times, than) = match others.as_slice() {
            [other] => (2.0, Some((*other).to_owned())),
            _ => (1.0, None),
        };
        Some(Told {
            value: times * estimate.value,
            interval: estimate.interval().map(|interval| Interval {
                low: times * interval.low,
                high: times * interval.high,
            }),
            than,
        })
    }

    /// What stands out, one sentence each: of two markers who differ, the one who gives less; of more, everyone who surely differs.
    pub fn headline(&self) -> Vec<String> {
        let told = self
            .markers
            .iter()
            .filter_map(|one| Some((one, self.told(&one.marker)?)));
        told.filter(|(_, told)| told.is_sure() && (told.than.is_none() || told.value < 0.0))
            .map(|(one, told)| {
                let interval = told
                    .interval_in_words()
                    .map_or_else(String::new, |interval| format!(" ({interval})"));
                format!("{} {}{interval}.", one.marker, told.in_words())
            })
            .collect()
    }
}

/// A figure with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WithInterval {
    /// The figure.
    pub value: f64,
    /// Its 95 % interval.
    pub interval: Interval,
}

/// How one marker marks.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkerReport {
    /// Who.
    pub marker: String,
    /// Pairs with all marks from this marker.
    pub marked: usize,
    /// Of these, pairs that somebody else marked too.
    pub shared: usize,
    /// The lowest and highest total given.
    pub range: Option<Interval>,
    /// Sd of totals over that of the others' totals: 1 where alike.
    pub spread: Option<WithInterval>,
    /// Total less what the evidence gives: mean.
    pub from_evidence: Option<WithInterval>,
    /// Mean correlation between criteria, in shares of their marks; high where a report's criteria are all marked alike.
    pub halo: Option<f64>,
    /// Rank correlation of total less evidence with the order of marking; above 0 where marks grew more generous.
    pub drift: Option<Correlation>,
}

/// Complete marks on one scale by pair and marker, both numbered from 0 without gaps.
#[derive(Debug, Default)]
struct Rows {
    marks: Vec<f64>,
    pairs: Vec<usize>,
    markers: Vec<usize>,
    /// What the evidence gives; none where it settles nothing for some pair.
    evidence: Option<Vec<f64>>,
    /// The markers' names, by number.
    names: Vec<String>,
}

/// The complete marks of those of these markers who have any.
fn rows(gathered: &Gathered, scale: &Scale, of: &[&str]) -> Rows {
    let mut found: Vec<(f64, &MarkedPair, &str)> = Vec::new();
    for pair in &gathered.pairs {
        for marking in &pair.markings {
            let name = of.iter().find(|name| **name == marking.marker);
            if let (Some(mark), Some(name)) = (gathered.value(marking, scale), name) {
                found.push((mark, pair, name));
            }
        }
    }
    let mut rows = Rows {
        evidence: found.iter().map(|(_, pair, _)| pair.evidence).collect(),
        ..Rows::default()
    };
    let mut last: Option<&MarkedPair> = None;
    let mut pairs = 0;
    let names: Vec<&str> = of
        .iter()
        .copied()
        .filter(|name| found.iter().any(|(_, _, marker)| marker == name))
        .collect();
    for (mark, pair, name) in &found {
        if last.is_some_and(|last| !std::ptr::eq(last, *pair)) {
            pairs += 1;
        }
        last = Some(pair);
        if let Some(number) = names.iter().position(|known| known == name) {
            rows.marks.push(*mark);
            rows.pairs.push(pairs);
            rows.markers.push(number);
        }
    }
    rows.names = names.into_iter().map(str::to_owned).collect();
    rows
}

/// The markers of the largest group that shared pairs link.
fn most_linked(rows: &Rows) -> Vec<&str> {
    let groups = linked_groups(&rows.pairs, &rows.markers);
    let size = |id: usize| groups.iter().filter(|other| **other == id).count();
    // Of two groups of one size, that of the marker whose name comes first.
    let largest = groups.iter().rev().copied().max_by_key(|id| size(*id));
    let names = rows.names.iter().zip(&groups);
    names
        .filter(|(_, id)| Some(**id) == largest)
        .map(|(name, _)| name.as_str())
        .collect()
}

/// Severities on a scale, by REML: mark = pair (random) + marker + evidence score. The estimate takes markers as they are; what is drawn in
/// takes them as drawn from many.
///
/// # Errors
/// As [`fixed_markers`]: no pair was marked by two, or the marks don't differ.
pub fn severities(gathered: &Gathered, scale: Scale) -> Result<Severity, Undefined> {
    let all = rows(gathered, &scale, &gathered.markers());
    let linked = rows(gathered, &scale, &most_linked(&all));
    let fit = |covariates: &[&[f64]]| {
        let fixed = fixed_markers(&linked.marks, &linked.pairs, &linked.markers, covariates)?;
        let drawn = variance_components(&linked.marks, &linked.pairs, &linked.markers, covariates)?;
        Ok((fixed.markers, drawn.markers))
    };
    let evidence = linked.evidence.as_deref();
    let with = evidence.and_then(|evidence| fit(&[evidence]).ok());
    let with_evidence = with.is_some();
    let (estimates, drawn) = match with {
        Some(found) => found,
        None => fit(&[])?,
    };
    let markers = all.names.iter().map(|name| {
        let number = linked.names.iter().position(|known| known == name);
        MarkerSeverity {
            marker: name.clone(),
            estimate: number.and_then(|number| estimates.get(number).copied()),
            shrunken: number.and_then(|number| drawn.get(number).copied()),
        }
    });
    Ok(Severity {
        scale,
        markers: markers.collect(),
        with_evidence,
    })
}

/// A marker's marks of a pair, with the pair.
type Own<'a> = (&'a MarkedPair, &'a Marking);

/// How each marker marks, in order of their names.
pub fn marker_reports(gathered: &Gathered) -> Vec<MarkerReport> {
    let all: Vec<Own<'_>> = gathered
        .pairs
        .iter()
        .flat_map(|pair| pair.markings.iter().map(move |marking| (pair, marking)))
        .collect();
    let names = gathered.markers();
    names
        .into_iter()
        .map(|name| {
            let (own, others): (Vec<Own<'_>>, Vec<Own<'_>>) =
                all.iter().partition(|(_, marking)| marking.marker == name);
            report(gathered, name, &own, &others)
        })
        .collect()
}

fn report(gathered: &Gathered, name: &str, own: &[Own<'_>], others: &[Own<'_>]) -> MarkerReport {
    let total = |(_, marking): &Own<'_>| gathered.value(marking, &Scale::Total);
    let totals: Vec<f64> = own.iter().filter_map(total).collect();
    // Second marks come from a sample that is not like the rest: only first marks are compared in spread.
    let first = |list: &[Own<'_>]| -> Vec<f64> {
        let first = list
            .iter()
            .filter(|(_, m)| m.marking_as == MarkingAs::First);
        first.filter_map(total).collect()
    };
    let shared = own.iter().filter(|(pair, marking)| {
        let complete = |other: &Marking| gathered.value(other, &Scale::Total).is_some();
        let other = |other: &&Marking| other.marker != marking.marker && complete(other);
        complete(marking) && pair.markings.iter().any(|marking| other(&marking))
    });
    let mut off: Vec<(usize, f64)> = own
        .iter()
        .filter_map(|one| Some((one.1.order, total(one)? - one.0.evidence?)))
        .collect();
    off.sort_by_key(|(order, _)| *order);
    let distances: Vec<f64> = off.iter().map(|(_, distance)| *distance).collect();
    let order: Vec<f64> = (0..off.len()).map(|index| index as f64).collect();
    MarkerReport {
        marker: name.to_owned(),
        marked: totals.len(),
        shared: shared.count(),
        range: range(&totals),
        spread: spread(&first(own), &first(others)),
        from_evidence: mean_with_interval(&distances),
        halo: halo(gathered, own),
        drift: (off.len() >= FEW_MARKS)
            .then(|| spearman(&order, &distances).ok())
            .flatten(),
    }
}

fn range(values: &[f64]) -> Option<Interval> {
    let low = values.iter().copied().min_by(f64::total_cmp)?;
    let high = values.iter().copied().max_by(f64::total_cmp)?;
    Some(Interval { low, high })
}

fn mean_with_interval(values: &[f64]) -> Option<WithInterval> {
    if values.len() < FEW {
        return None;
    }
    let moments = Moments::of(values).ok()?;
    let n = values.len() as f64;
    let t = t_quantile(0.975, n - 1.0).ok()?;
    Some(WithInterval {
        value: moments.mean,
        interval: Interval::around(moments.mean, t * moments.sd().ok()? / n.sqrt()),
    })
}

/// The ratio of two sds with its interval from the F distribution, both normal (Snedecor & Cochran 1989, Statistical Methods, chapter 6).
fn spread(own: &[f64], others: &[f64]) -> Option<WithInterval> {
    if own.len() < FEW_MARKS || others.len() < FEW_MARKS {
        return None;
    }
    let (a, b) = (Moments::of(own).ok()?, Moments::of(others).ok()?);
    let (a, b) = (a.sd().ok()?, b.sd().ok()?);
    if b <= 0.0 {
        return None;
    }
    let (df_a, df_b) = (own.len() as f64 - 1.0, others.len() as f64 - 1.0);
    let ratio = a / b;
    Some(WithInterval {
        value: ratio,
        interval: Interval {
            low: ratio / f_quantile(0.975, df_a, df_b).ok()?.sqrt(),
            high: ratio * f_quantile(0.975, df_b, df_a).ok()?.sqrt(),
        },
    })
}

/// The mean of the correlations between all pairs of criteria.
fn halo(gathered: &Gathered, own: &[Own<'_>]) -> Option<f64> {
    let complete: Vec<Vec<f64>> = own
        .iter()
        .filter_map(|(_, marking)| {
            let criteria = gathered.criteria.iter();
            criteria
                .map(|(id, _)| marking.marks.get(id).copied())
                .collect()
        })
        .collect();
    if complete.len() < FEW_MARKS {
        return None;
    }
    let column = |index: usize| -> Vec<f64> {
        complete
            .iter()
            .filter_map(|marks| marks.get(index).copied())
            .collect()
    };
    let mut correlations = Vec::new();
    for a in 0..gathered.criteria.len() {
        for b in a + 1..gathered.criteria.len() {
            if let Ok(correlation) = pearson(&column(a), &column(b)) {
                correlations.push(correlation.r);
            }
        }
    }
    Moments::of(&correlations).ok().map(|moments| moments.mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marking(marker: &str, marking_as: MarkingAs, mark: f64, order: usize) -> Marking {
        Marking {
            marker: marker.into(),
            marking_as,
            marks: [(String::from("testing"), mark)].into(),
            of_students: std::collections::BTreeMap::new(),
            judged: None,
            order,
        }
    }

    /// Ben gives three marks less than Ann for everything, the noise apart.
    fn linked() -> Gathered {
        let noise = [0.2, -0.3, 0.4, -0.1, 0.0, 0.3, -0.4, 0.1, -0.2, 0.0];
        let pairs = noise.iter().zip(0_usize..).map(|(noise, index)| {
            let mark = 50.0 + 3.0 * index as f64;
            MarkedPair {
                pair: format!("P{index}"),
                evidence: Some(mark - 2.0 + noise),
                gain: None,
                markings: vec![
                    marking("Ann", MarkingAs::First, mark + noise, index),
                    marking("Ben", MarkingAs::Second, mark - 3.0, index),
                ],
            }
        });
        Gathered {
            pairs: pairs.collect(),
            criteria: vec![(String::from("testing"), 100.0)],
            judged_out_of: 0.0,
            out_of: 100.0,
        }
    }

    #[test]
    fn a_severe_marker_is_told_from_hard_reports() {
        let severity = severities(&linked(), Scale::Total).unwrap();
        let estimate = |index: usize| severity.markers[index].estimate.unwrap().value;
        // Effects sum to 0: half of three marks each way.
        assert!((estimate(0) - 1.5).abs() < 0.1, "{severity:?}");
        assert!((estimate(1) + 1.5).abs() < 0.1, "{severity:?}");
        // Told as what it is between the two, and once.
        let told = severity.told("Ben").unwrap();
        assert!((told.value + 3.0).abs() < 0.2, "{told:?}");
        assert_eq!(told.than.as_deref(), Some("Ann"));
        let headline = severity.headline();
        assert_eq!(headline.len(), 1, "{headline:?}");
        assert!(
            headline[0].starts_with("Ben gives")
                && headline[0].contains("less than Ann on the same reports"),
            "{headline:?}"
        );
    }

    #[test]
    fn what_a_marker_does_is_counted() {
        let reports = marker_reports(&linked());
        let ann = &reports[0];
        assert_eq!((ann.marked, ann.shared), (10, 10));
        assert!((ann.from_evidence.unwrap().value - 2.0).abs() < 1e-9);
        // One criterion can't be like another, and second marks have no spread of their own.
        assert_eq!((ann.halo, ann.spread), (None, None));
        assert!(ann.drift.is_none_or(|drift| drift.r.abs() <= 1.0));
    }

    #[test]
    fn a_ratio_of_sds_has_the_interval_of_f() {
        // SciPy 1.17: sqrt(4 / scipy.stats.f.ppf(0.975, 9, 9)) = 0.99677, sqrt(4 * scipy.stats.f.ppf(0.975, 9, 9)) = 4.01298.
        let narrow: Vec<f64> = (0..10).map(f64::from).collect();
        let wide: Vec<f64> = narrow.iter().map(|value| 2.0 * value).collect();
        let found = spread(&wide, &narrow).unwrap();
        assert!((found.value - 2.0).abs() < 1e-12);
        assert!((found.interval.low - 0.996_77).abs() < 1e-4, "{found:?}");
        assert!((found.interval.high - 4.012_98).abs() < 1e-4, "{found:?}");
    }
}

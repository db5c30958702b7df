//! How far first and second marks agree on one scale, every figure with its interval or the reason why it has none.

use std::collections::BTreeSet;

use super::FEW;
use super::gather::{Gathered, MarkedPair, Scale};
use crate::stats::Undefined;
use crate::stats::agreement::cohen::{Kappa, Weights, cohen_kappa};
use crate::stats::agreement::krippendorff::{Alpha, Level, krippendorff_alpha};
use crate::stats::correlation::{Correlation, spearman};
use crate::stats::icc::{Estimate, intraclass_correlations};
use crate::stats::limits_of_agreement::{LimitsOfAgreement, limits_of_agreement};

/// Agreement on one scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Agreement {
    /// What is compared.
    pub scale: Scale,
    /// What it is out of.
    pub out_of: f64,
    /// Pairs with a first and a second mark; students, for a criterion that is marked for each.
    pub n: usize,
    /// Differences, first less second: mean with interval, sd, limits (Bland & Altman 1986).
    pub difference: Result<LimitsOfAgreement, Undefined>,
    /// How many differ by no more than the tolerance.
    pub within: usize,
    /// ICC(A,1) (McGraw & Wong 1996).
    pub icc: Result<Estimate, Undefined>,
    /// Quadratic weighted kappa on levels (Cohen 1968); none where the scale has no levels.
    pub kappa: Option<Result<Kappa, Undefined>>,
    /// Krippendorff's alpha for intervals, over all markers.
    pub alpha: Result<Alpha, Undefined>,
    /// Rank correlation of first and second marks.
    pub rank: Result<Correlation, Undefined>,
}

/// Agreement on a scale. `tolerance` is in percent of what it is out of; `levels` are the marks at which its levels begin, in any order.
pub fn agreement(gathered: &Gathered, scale: Scale, tolerance: f64, levels: &[f64]) -> Agreement {
    let out_of = gathered.out_of(&scale);
    let (first, second): (Vec<f64>, Vec<f64>) = gathered
        .twice(&scale)
        .iter()
        .map(|one| (one.first, one.second))
        .unzip();
    let n = first.len();
    // A difference of exactly the tolerance is within it: sums of halves and thirds are not exact.
    let most = out_of * tolerance / 100.0 + 1e-9;
    let differences = first.iter().zip(&second);
    let within = differences.filter(|(a, b)| (*a - *b).abs() <= most);
    let within = within.count();
    let enough = if n < FEW {
        Err(Undefined::TooFew {
            needed: FEW,
            given: n,
        })
    } else {
        Ok(())
    };
    let things: Vec<Vec<f64>> = first
        .iter()
        .zip(&second)
        .map(|(first, second)| vec![*first, *second])
        .collect();
    let level = |mark: &f64| levels.iter().filter(|from| *mark >= **from - 1e-9).count() as f64;
    let kappa = (!levels.is_empty()).then(|| {
        enough?;
        let first: Vec<f64> = first.iter().map(level).collect();
        let second: Vec<f64> = second.iter().map(level).collect();
        cohen_kappa(&first, &second, Weights::Quadratic)
    });
    Agreement {
        difference: limits_of_agreement(&first, &second),
        icc: enough.and_then(|()| intraclass_correlations(&things)?.agreement),
        alpha: enough
            .and_then(|()| krippendorff_alpha(&all_marks(gathered, &scale), Level::Interval)),
        rank: enough.and_then(|()| spearman(&first, &second)),
        kappa,
        scale,
        out_of,
        n,
        within,
    }
}

/// Every marker's marks of every pair (of every student, where a criterion is marked for each), one place a marker.
fn all_marks(gathered: &Gathered, scale: &Scale) -> Vec<Vec<Option<f64>>> {
    let markers = gathered.markers();
    let of = |pair: &MarkedPair, marker: &str, student: Option<&str>| {
        let mut markings = pair.markings.iter();
        let marking = markings.find(|marking| marking.marker == marker)?;
        match (scale, student) {
            (Scale::Criterion(id), Some(student)) => {
                marking.of_students.get(id)?.get(student).copied()
            }
            _ => gathered.value(marking, scale),
        }
    };
    let mut all = Vec::new();
    for pair in &gathered.pairs {
        let students = pair.markings.iter().filter_map(|marking| match scale {
            Scale::Criterion(id) => marking.of_students.get(id),
            Scale::Judged | Scale::Total => None,
        });
        let students: BTreeSet<&str> = students
            .flat_map(|of| of.keys().map(String::as_str))
            .collect();
        let units: Vec<Option<&str>> = if students.is_empty() {
            vec![None]
        } else {
            students.into_iter().map(Some).collect()
        };
        for student in units {
            let marks = markers.iter().map(|marker| of(pair, marker, student));
            all.push(marks.collect());
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::gather::Marking;
    use super::*;
    use crate::report::workbook::marker::MarkingAs;
    use crate::stats::published::{PEAK_FLOW_MINI, PEAK_FLOW_WRIGHT};

    fn gathered(first: &[f64], second: &[f64]) -> Gathered {
        let marking = |marker: &str, marking_as, mark: f64| Marking {
            marker: marker.into(),
            marking_as,
            marks: [(String::from("testing"), mark)].into(),
            of_students: std::collections::BTreeMap::new(),
            judged: None,
            order: 0,
        };
        Gathered {
            pairs: first
                .iter()
                .zip(second)
                .map(|(first, second)| MarkedPair {
                    markings: vec![
                        marking("Ann", MarkingAs::First, *first),
                        marking("Ben", MarkingAs::Second, *second),
                    ],
                    ..MarkedPair::default()
                })
                .collect(),
            criteria: vec![(String::from("testing"), 1000.0)],
            judged_out_of: 0.0,
            out_of: 1000.0,
        }
    }

    #[test]
    fn the_published_meters_agree_as_published() {
        // Bland & Altman 1986, The Lancet 327:307–310, table 1: difference −2.1 l/min, sd 38.8, limits −79.7 to 75.5 (with 2 sd).
        let gathered = gathered(&PEAK_FLOW_WRIGHT, &PEAK_FLOW_MINI);
        let found = agreement(&gathered, Scale::Total, 5.0, &[0.0, 400.0, 500.0]);
        let difference = found.difference.unwrap();
        assert_eq!(found.n, 17);
        assert!((difference.mean - -2.1).abs() < 0.05, "{difference:?}");
        assert!((difference.sd - 38.8).abs() < 0.05, "{difference:?}");
        // Fifty of a thousand: all but the differences of 54, 57, 67, 80 … in their table.
        let beyond = PEAK_FLOW_WRIGHT
            .iter()
            .zip(&PEAK_FLOW_MINI)
            .filter(|(a, b)| (*a - *b).abs() > 50.0)
            .count();
        assert_eq!(found.within, 17 - beyond);
        assert!(found.icc.is_ok() && found.rank.is_ok() && found.alpha.is_ok());
        assert!(found.kappa.unwrap().is_ok());
    }

    /// One point too many for one student and too few for the other: the mean of the two agrees, the marks don't.
    #[test]
    fn a_criterion_for_each_student_is_compared_student_by_student() {
        let mut gathered = gathered(&[4.0; 6], &[4.0; 6]);
        for pair in &mut gathered.pairs {
            for (marking, marks) in pair.markings.iter_mut().zip([[3.0, 5.0], [5.0, 3.0]]) {
                let students = ["s1", "s2"].map(str::to_owned).into_iter().zip(marks);
                let of = students.collect();
                marking.of_students.insert(String::from("testing"), of);
            }
        }
        let scale = Scale::Criterion(String::from("testing"));
        let found = agreement(&gathered, scale, 0.1, &[]);
        assert_eq!((found.n, found.within), (12, 0));
        assert_eq!(agreement(&gathered, Scale::Total, 0.1, &[]).within, 6);
        // The same by hand: differences of 2 and −2 in turn have mean 0 and sd √(12·4/11).
        let difference = found.difference.unwrap();
        assert!((difference.sd - (48.0_f64 / 11.0).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn three_pairs_are_too_few_for_coefficients() {
        let gathered = gathered(&[5.0, 6.0, 7.0], &[5.0, 7.0, 6.0]);
        let found = agreement(&gathered, Scale::Total, 5.0, &[]);
        assert!(found.difference.is_ok());
        assert!(matches!(found.icc, Err(Undefined::TooFew { .. })));
        assert!(found.rank.is_err() && found.alpha.is_err());
        assert_eq!(found.kappa, None);
    }
}

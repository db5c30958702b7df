//! The rows of blocks.csv: a row a block, and a row a practice session.

use std::sync::Arc;

use super::block_summary::BlockSummary;
use super::record::{Record, SessionTrials};
use crate::logbook::model::{Logbook, Measure};
use crate::phase::{Phase, PhaseKind};

/// One row of blocks.csv: a block, or one practice session. Numbers are in the measure's unit; none where undefined.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct BlockRow {
    /// The measure.
    pub measure: Arc<str>,
    /// The phase.
    pub phase: Phase,
    /// The practice session's number; none for a whole block.
    pub session: Option<u32>,
    /// Scores that count.
    pub n: usize,
    /// Recorded trials without a usable score; gaps in the numbering are not counted.
    pub missing: usize,
    /// Mean.
    pub mean: Option<f64>,
    /// Median.
    pub median: Option<f64>,
    /// Sample standard deviation (n − 1).
    pub sd: Option<f64>,
    /// Smallest score.
    pub minimum: Option<f64>,
    /// Largest score.
    pub maximum: Option<f64>,
    /// Constant error; only for measures with a target, not for unsigned errors.
    pub ce: Option<f64>,
    /// Absolute error; only for measures with a target.
    pub ae: Option<f64>,
    /// Variable error (n); only for measures with a target, not for unsigned errors.
    pub ve: Option<f64>,
    /// Total error; only for measures with a target.
    pub rmse: Option<f64>,
    /// Mean radial error of the landing points.
    pub mre: Option<f64>,
    /// Distance of their centroid from the target.
    pub sre: Option<f64>,
    /// Their spread about the centroid (n).
    pub bve: Option<f64>,
}

impl BlockRow {
    /// A row for tests, of `n` scores and without a number.
    #[cfg(test)]
    pub fn without_numbers(measure: &str, phase: Phase, session: Option<u32>, n: usize) -> Self {
        Self {
            measure: measure.into(),
            phase,
            session,
            n,
            missing: 0,
            mean: None,
            median: None,
            sd: None,
            minimum: None,
            maximum: None,
            ce: None,
            ae: None,
            ve: None,
            rmse: None,
            mre: None,
            sre: None,
            bve: None,
        }
    }

    /// The numbers from `mean` on, in the order of the columns.
    pub fn numbers(&self) -> [Option<f64>; 12] {
        [
            self.mean,
            self.median,
            self.sd,
            self.minimum,
            self.maximum,
            self.ce,
            self.ae,
            self.ve,
            self.rmse,
            self.mre,
            self.sre,
            self.bve,
        ]
    }

    fn of(
        measure: &Measure,
        phase: Phase,
        session: Option<u32>,
        sessions: &[SessionTrials],
    ) -> Self {
        let summary = BlockSummary::of(sessions, measure);
        let has_target = measure.error_target().is_some();
        Self {
            measure: measure.name.clone(),
            phase,
            session,
            n: summary.n,
            missing: summary.missing,
            mean: summary.mean.ok(),
            median: summary.median.ok(),
            sd: summary.sd.ok(),
            minimum: summary.minimum.ok(),
            maximum: summary.maximum.ok(),
            ce: summary.ce.ok(),
            ae: summary.ae.ok(),
            // It is defined without a target too, but stands here beside the errors that need one.
            ve: summary.ve.ok().filter(|_| has_target),
            rmse: summary.rmse.ok(),
            mre: summary.mre.ok(),
            sre: summary.sre.ok(),
            bve: summary.bve.ok(),
        }
    }
}

/// The names of the columns after `pair`.
pub const COLUMNS: [&str; 17] = [
    "measure", "phase", "session", "n", "missing", "mean", "median", "sd", "minimum", "maximum",
    "ce", "ae", "ve", "rmse", "mre", "sre", "bve",
];

/// All rows of a logbook: by measure, phase and session; a block's row before those of its sessions. A practice session that has no
/// number, where others have one, is part of its block's row only.
pub fn block_rows(logbook: &Logbook, record: &Record) -> Vec<BlockRow> {
    let mut rows = Vec::new();
    for (measure, blocks) in logbook.measures.iter().zip(&record.measures) {
        for block in &blocks.blocks {
            if block.phase.kind == PhaseKind::Familiarisation {
                continue;
            }
            rows.push(BlockRow::of(measure, block.phase, None, &block.sessions));
            if block.phase.kind != PhaseKind::Practice {
                continue;
            }
            let named = block.sessions.iter().filter(|s| s.practice_number > 0);
            rows.extend(named.map(|session| {
                BlockRow::of(
                    measure,
                    block.phase,
                    Some(session.practice_number),
                    std::slice::from_ref(session),
                )
            }));
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::sample::{Row, logbook, measure, practice, test};
    use crate::logbook::model::{MeasureKind, Score};
    use crate::number::close;

    fn rows_of(measure: Measure, rows: Vec<Row>) -> Vec<BlockRow> {
        let logbook = logbook(vec![measure], rows);
        block_rows(&logbook, &Record::new(&logbook))
    }

    fn assert_numbers(row: Option<&BlockRow>, expected: [Option<f64>; 12]) {
        let numbers = row.map(BlockRow::numbers).unwrap_or_default();
        for ((number, expected), column) in numbers.iter().zip(expected).zip(&COLUMNS[5..]) {
            let agrees = match (number, expected) {
                (Some(number), Some(expected)) => close(*number, expected),
                (number, expected) => number.is_none() && expected.is_none(),
            };
            assert!(agrees, "{column}: {number:?} for {expected:?}");
        }
    }

    #[test]
    fn a_block_then_its_practice_sessions() {
        let mut rows = test(PhaseKind::Post, 20, "", &[3.0]);
        rows.extend(practice(2, 9, &[2.0, 4.0]));
        rows.extend(practice(1, 2, &[1.0, 2.0]));
        rows.extend(test(PhaseKind::Familiarisation, 1, "", &[1.0]));
        let named: Vec<_> = rows_of(Measure::undescribed(), rows)
            .iter()
            .map(|row| (row.phase.to_string(), row.session, row.n, row.mean, row.sd))
            .collect();
        let expected = [
            // SciPy 1.17: numpy.std([1, 2, 2, 4], ddof=1)
            (
                "practice",
                None,
                4,
                Some(2.25),
                Some(1.258_305_739_211_791_7),
            ),
            ("practice", Some(1), 2, Some(1.5), Some(0.5_f64.sqrt())),
            ("practice", Some(2), 2, Some(3.0), Some(2.0_f64.sqrt())),
            ("post", None, 1, Some(3.0), None),
        ];
        assert_eq!(named.len(), expected.len());
        for (row, expected) in named.iter().zip(expected) {
            assert_eq!(
                (row.0.as_str(), row.1, row.2, row.3),
                (expected.0, expected.1, expected.2, expected.3)
            );
            assert_eq!(row.4.is_some(), expected.4.is_some());
            assert!(
                row.4
                    .zip(expected.4)
                    .is_none_or(|(sd, expected)| close(sd, expected))
            );
        }
    }

    #[test]
    fn signed_errors_have_all_four_error_scores() {
        // The worked example of a published class lab (93, 103, 99, 105, 96 towards 100: CE −0.8, VE 4.4), the rest by NumPy 2.
        let timing = Measure {
            target: Some(100.0),
            ..measure("timing", MeasureKind::SignedError)
        };
        let rows = rows_of(
            timing,
            test(PhaseKind::Pre, 1, "", &[93.0, 103.0, 99.0, 105.0, 96.0]),
        );
        assert_numbers(
            rows.first(),
            [
                Some(99.2),
                Some(99.0),
                Some(4.919_349_550_499_537),
                Some(93.0),
                Some(105.0),
                Some(-0.8),
                Some(4.0),
                Some(4.4),
                Some(4.472_135_954_999_58),
                None,
                None,
                None,
            ],
        );
    }

    #[test]
    fn unsigned_errors_have_no_direction_and_landing_points_have_two() {
        let landed = |number, x: f64, y: f64| Row::pre(number, x.hypot(y)).landing(x, y);
        let rows = rows_of(
            measure("distance", MeasureKind::Error),
            vec![
                landed(1, 3.0, 4.0),
                landed(2, -6.0, 8.0),
                landed(3, 0.0, -5.0),
                Row::pre(4, 0.0).scored(Score::Missing).landing(50.0, 50.0),
            ],
        );
        assert_eq!(rows.first().map(|row| (row.n, row.missing)), Some((3, 1)));
        // NumPy 2 on the three points: distances 5, 10, 5; centroid (−1, 7/3).
        assert_numbers(
            rows.first(),
            [
                Some(20.0 / 3.0),
                Some(5.0),
                Some(2.886_751_345_948_129),
                Some(5.0),
                Some(10.0),
                None,
                Some(20.0 / 3.0),
                None,
                Some(7.071_067_811_865_475),
                Some(20.0 / 3.0),
                Some(2.538_591_035_287_969_7),
                Some(6.599_663_291_074_443),
            ],
        );
    }

    #[test]
    fn a_measure_without_a_target_has_no_errors() {
        let rows = rows_of(
            Measure::undescribed(),
            vec![Row::pre(1, 2.0), Row::pre(2, 4.0).scored(Score::Missing)],
        );
        assert_numbers(
            rows.first(),
            [
                Some(2.0),
                Some(2.0),
                None,
                Some(2.0),
                Some(2.0),
                None,
                None,
                None,
                None,
                None,
                None,
                None,
            ],
        );
    }
}

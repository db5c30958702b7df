//! Marks for the tests of this family: three pairs, two criteria of ten marks, 7 and 8 given.

use super::entered::{
    Boundary, CriterionMarks, Figure, MarkEntry, MarkerFigures, MarksSeen, PairMarks, Role,
};
use crate::checks::check::{Placed, PlacedFindings};
use crate::checks::{Check, Run};
use crate::place::Place;
use crate::thresholds::Thresholds;

pub(super) struct Sample {
    pub pairs: Vec<PairMarks>,
    pub markers: Vec<MarkerFigures>,
    pub follow_gain: Option<Figure>,
}

impl Sample {
    /// Nothing to mark.
    pub fn empty() -> Self {
        Self {
            pairs: Vec::new(),
            markers: Vec::new(),
            follow_gain: None,
        }
    }

    /// Everything marked once, with this mark for the first criterion: 10 marks, 5 of 7 evidence points earned, 2 of 3 judged points given.
    pub fn with_mark(mark: f64) -> Self {
        let mut sample = Self::marked();
        sample.pairs[0].criteria[0].entries[0].mark = mark;
        sample
    }

    /// Everything marked once.
    pub fn marked() -> Self {
        let criterion =
            |pair: u32, column: u32, name: &str, suggested: f64, mark: f64| CriterionMarks {
                criterion: name.into(),
                student: None,
                out_of: 10.0,
                step: Some(0.5),
                evidence_points: 7.0,
                suggested: Some(suggested),
                judged_out_of: 3.0,
                judged: Some(2.0),
                entries: vec![MarkEntry {
                    marker: "Ann".into(),
                    role: Role::First,
                    mark,
                    reason: None,
                    place: Some(Place::cell("Ann.xlsx".into(), "Marks".into(), pair, column)),
                }],
            };
        let pairs = (1..=3)
            .map(|pair| PairMarks {
                pair: format!("P{pair:02}"),
                criteria: vec![
                    criterion(pair, 2, "testing", 5.0, 7.0),
                    criterion(pair, 3, "theory", 6.0, 8.0),
                ],
            })
            .collect();
        Self {
            pairs,
            ..Self::empty()
        }
    }

    pub fn found(&self, check: &Check) -> Vec<Placed> {
        self.run(check).found
    }

    #[track_caller]
    pub fn not_checked(&self, check: &Check) {
        let findings = self.run(check);
        assert!(findings.found.is_empty(), "{:?}", findings.found);
        assert_eq!(findings.not_checked.len(), 1);
    }

    fn run(&self, check: &Check) -> PlacedFindings {
        let boundary = |title: &str, from| Boundary {
            title: title.into(),
            from,
        };
        let thresholds = Thresholds::default();
        let seen = MarksSeen {
            thresholds: &thresholds,
            pairs: &self.pairs,
            boundaries: &[boundary("pass", 8.0), boundary("Excellent", 18.0)],
            markers: &self.markers,
            follow_gain: self.follow_gain,
        };
        let mut findings = PlacedFindings::default();
        match check.run {
            Run::Marks(run) => run(&seen, &mut findings),
            _ => panic!("{} does not look at marks", check.id),
        }
        findings
    }
}

#[track_caller]
pub(super) fn only(mut found: Vec<Placed>) -> Placed {
    assert_eq!(found.len(), 1, "{found:#?}");
    let placed = found.remove(0);
    assert!(placed.finding.comment.ends_with('.'));
    placed
}

//! Everything that comparing the markers gives, in one go.

use super::again::{RunAgain, runs_again};
use super::agreement::{Agreement, agreement};
use super::entered::{boundaries, figures, follow_gain, pair_marks};
use super::gather::{Gathered, Scale, gather};
use super::markers::{MarkerReport, Severity, marker_reports, severities};
use super::proposals::{Grounds, Proposal, proposals};
use super::since::{Before, Figures};
use crate::checks::{MarksSeen, PlacedFindings, run_marks};
use crate::cohort::Roster;
use crate::cohort::marking_settings::ModerationSettings;
use crate::examination::{CohortResult, Course};
use crate::ledger::{Entry, State};
use crate::stats::Undefined;

/// What is compared.
#[derive(Clone, Copy)]
pub struct Comparing<'a> {
    /// What the course settles.
    pub course: &'a Course,
    /// How marks are moderated.
    pub moderation: &'a ModerationSettings,
    /// The roster, where there is one.
    pub roster: Option<&'a Roster>,
    /// The ledger's lines.
    pub entries: &'a [Entry],
    /// What is in force by them.
    pub state: &'a State,
    /// What the hand-ins gave.
    pub cohort: &'a CohortResult,
}

/// What comes out.
#[derive(Debug, Clone)]
pub struct Compared {
    /// The marks.
    pub gathered: Gathered,
    /// Agreement on every scale.
    pub agreements: Vec<Agreement>,
    /// Severities on every scale; each with the reason where there are none.
    pub severities: Vec<(Scale, Result<Severity, Undefined>)>,
    /// How each marker marks.
    pub markers: Vec<MarkerReport>,
    /// What the checks of marks found.
    pub found: PlacedFindings,
    /// What could be settled.
    pub proposals: Vec<Proposal>,
    /// The runs that are to be marked again.
    pub again: Vec<RunAgain>,
    /// The figures that the next comparison is held against.
    pub figures: Figures,
    /// The comparison before this one, by the ledger; none where this is the first.
    pub before: Option<Before>,
}

impl Comparing<'_> {
    /// Compares.
    pub fn compare(&self) -> Compared {
        let rubric = &self.course.rubric;
        let tolerance = self.moderation.tolerance_percent();
        let gathered = gather(rubric, self.roster, self.state, self.cohort);
        let scales = gathered.scales();
        let agreements: Vec<_> = scales
            .iter()
            .map(|scale| {
                let levels = match scale {
                    Scale::Judged => Vec::new(),
                    Scale::Total => rubric.levels.iter().map(|level| level.from).collect(),
                    Scale::Criterion(id) => {
                        let criterion = rubric.criterion(id);
                        let levels = criterion.into_iter().flat_map(|c| &c.levels);
                        levels.map(|level| level.from).collect()
                    }
                };
                agreement(&gathered, scale.clone(), tolerance, &levels)
            })
            .collect();
        let severities: Vec<_> = scales
            .iter()
            .map(|scale| (scale.clone(), severities(&gathered, scale.clone())))
            .collect();
        let of_total = severities
            .iter()
            .find(|(scale, _)| *scale == Scale::Total)
            .and_then(|(_, severity)| severity.as_ref().ok());
        let markers = marker_reports(&gathered);
        let pairs = pair_marks(rubric, self.roster, self.state, self.entries, self.cohort);
        let found = run_marks(
            &MarksSeen {
                thresholds: &self.course.thresholds,
                pairs: &pairs,
                boundaries: &boundaries(rubric),
                markers: &figures(&markers, of_total),
                follow_gain: follow_gain(&gathered),
            },
            &self.course.policy,
        );
        let proposals = proposals(&Grounds {
            gathered: &gathered,
            agreements: &agreements,
            severity: of_total,
            markers: &markers,
            tolerance,
            all_twice: self.moderation.all_marked_twice,
        });
        let figures = Figures::of(&gathered, &agreements, &severities);
        Compared {
            again: runs_again(self.state, self.entries, &gathered),
            before: Before::last(self.entries, &figures),
            gathered,
            agreements,
            severities,
            markers,
            found,
            proposals,
            figures,
        }
    }
}

impl Compared {
    /// Severity on a scale, where it could be told.
    pub fn severity(&self, scale: &Scale) -> Option<&Severity> {
        let found = self.severities.iter().find(|(known, _)| known == scale);
        found.and_then(|(_, severity)| severity.as_ref().ok())
    }

    /// Agreement on a scale.
    pub fn agreement(&self, scale: &Scale) -> Option<&Agreement> {
        self.agreements.iter().find(|found| found.scale == *scale)
    }
}

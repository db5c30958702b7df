//! Of what facts are computed: one measure of one pair.

use std::borrow::Cow;

use super::calendar::Calendar;
use super::record::{Block, MeasureRecord, Record};
use super::settings::FactSettings;
use super::value::{Facts, Reason};
use super::writer::{Writer, namespace_of};
use crate::logbook::model::{Logbook, Measure};
use crate::phase::{Phase, PhaseKind};
use crate::stats::Direction;
use crate::stats::random::Stream;

/// Tests of one kind that have facts of their own. Nobody holds more; a hostile file could claim thousands.
pub(super) const MOST_REPEATS: u16 = 20;

/// One measure of one pair, with all that its facts are computed from.
pub(super) struct Subject<'a> {
    /// The pair's id, for its random streams.
    pub pair: &'a str,
    /// The logbook.
    pub logbook: &'a Logbook,
    /// The whole record.
    pub record: &'a Record,
    /// The measure.
    pub measure: &'a Measure,
    /// The measure's part of the record.
    pub blocks: &'a MeasureRecord,
    /// It is the primary measure, of which bare names speak.
    pub is_primary: bool,
    /// The practice sessions and days.
    pub calendar: &'a Calendar<'a>,
    /// What a course may set.
    pub settings: &'a FactSettings,
}

impl<'a> Subject<'a> {
    /// A writer for a namespace of this measure's facts.
    pub fn writer<'f>(
        &self,
        facts: &'f mut Facts,
        namespace: impl Into<Cow<'static, str>>,
    ) -> Option<Writer<'f>>
    where
        'a: 'f,
    {
        let measure: Option<&'a str> = (!self.is_primary).then_some(&*self.measure.name);
        Writer::new(facts, measure, namespace)
    }

    /// The test blocks in order of phase.
    pub fn tests(&self) -> impl Iterator<Item = &'a Block> {
        self.blocks
            .blocks
            .iter()
            .filter(|block| block.phase.kind.is_test())
    }

    /// The tests of which facts speak: those recorded, up to [`MOST_REPEATS`] of a kind, and the first of each kind that is not.
    pub fn test_phases(&self) -> Vec<Phase> {
        let first = PhaseKind::ALL
            .into_iter()
            .filter(|kind| kind.is_test())
            .map(Phase::first);
        let recorded = self
            .tests()
            .map(|block| block.phase)
            .filter(|phase| phase.number <= MOST_REPEATS);
        let mut phases: Vec<Phase> = recorded.chain(first).collect();
        phases.sort_unstable();
        phases.dedup();
        phases
    }

    /// The scores of a phase; empty where it is not recorded.
    pub fn scores(&self, phase: Phase) -> Vec<f64> {
        self.blocks
            .block(phase)
            .map(Block::scores)
            .unwrap_or_default()
    }

    /// Scores as they are compared for better and worse: distances where nearest to a target is best.
    pub fn comparable(&self, scores: &[f64]) -> Vec<f64> {
        scores
            .iter()
            .map(|score| self.measure.comparable(*score))
            .collect()
    }

    /// Which way comparable scores are better.
    pub fn direction(&self) -> Direction {
        if self.measure.higher_is_better() {
            Direction::Higher
        } else {
            Direction::Lower
        }
    }

    /// The random stream of a fact: of seed, pair, measure and name, so that what one fact draws never moves another's numbers.
    pub fn stream(&self, namespace: &str, fact: &str) -> Stream {
        let name = format!(
            "{}\u{1f}{}\u{1f}{namespace}.{fact}",
            self.pair, self.measure.name
        );
        Stream::new(self.settings.seed, &name)
    }
}

/// A phase's namespace below another: `change.retention_2`.
pub(super) fn below(group: &'static str, phase: Phase) -> Cow<'static, str> {
    Cow::Owned(format!("{group}.{}", namespace_of(phase)))
}

/// Why a test that is needed has no scores: the same words whether it was not held or nothing of it can be read.
pub(super) fn no_scores(phase: Phase) -> Reason {
    Cow::Owned(format!("no {} is recorded", phase.title()))
}

/// Why a fact that needs simulation has no value.
pub(super) const NOT_SIMULATED: &str = "was not simulated in this run";

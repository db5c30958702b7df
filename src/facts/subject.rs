//! Of what facts are computed: one measure of one pair.

use std::borrow::Cow;

use super::calendar::Calendar;
use super::record::{Block, MeasureRecord, Record};
use super::value::Facts;
use super::writer::Writer;
use crate::logbook::model::{Logbook, Measure};
use crate::phase::{Phase, PhaseKind};

/// One measure of one pair, with all that its facts are computed from.
pub(super) struct Subject<'a> {
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

    /// The tests of which facts speak: those recorded, and the first of each kind that is not.
    pub fn test_phases(&self) -> Vec<Phase> {
        let first = PhaseKind::ALL
            .into_iter()
            .filter(|kind| kind.is_test())
            .map(Phase::first);
        let mut phases: Vec<Phase> = self.tests().map(|block| block.phase).chain(first).collect();
        phases.sort_unstable();
        phases.dedup();
        phases
    }
}

//! The trials that count: the logbook's trials with ratings of one trial joined, duplicates and scores off the scale set aside.
//!
//! Everything after this works on the record; the checks report what was set aside and why.

mod sorting;
mod usable;

use std::sync::Arc;

use jiff::civil::Date;

use crate::logbook::model::Logbook;
use crate::phase::{BlockName, Phase};

/// The trials that count, by measure and phase.
#[derive(Debug, Clone, Default)]
pub struct Record {
    /// The blocks of each measure, in the order of the logbook's measures.
    pub measures: Vec<MeasureRecord>,
    /// Ratings and trials that enter no statistic, with why, in reading order. Familiarisation is not listed.
    pub set_aside: Vec<SetAside>,
    /// Scores that lie between the scale's steps, as indices into the logbook's trials: they count, and are reported.
    pub off_step: Vec<usize>,
    /// Trials whose phase is not known: they belong to no block.
    pub without_phase: Vec<usize>,
    /// No trial counts, and columns that look like their scores or phases were not recognised: what the trials show is not known, and
    /// nothing follows from its absence.
    pub unread: bool,
    /// Some trials count, and others could not be read: nothing follows from the absence of a test.
    pub partly_unread: bool,
}

/// The blocks of one measure.
#[derive(Debug, Clone, Default)]
pub struct MeasureRecord {
    /// The blocks in phase order; familiarisation is among them, though it enters no statistic.
    pub blocks: Vec<Block>,
}

/// All trials of one phase over all its sessions.
#[derive(Debug, Clone)]
pub struct Block {
    /// The phase.
    pub phase: Phase,
    /// Its sessions in the order of their numbers, else dates, else as first read.
    pub sessions: Vec<SessionTrials>,
}

/// The trials of one session of one phase.
#[derive(Debug, Clone)]
pub struct SessionTrials {
    /// The session's number as recorded.
    pub number: Option<u32>,
    /// For practice: the number by which claims and curves name it: as recorded, else its place by date over practice alone.
    pub practice_number: u32,
    /// The session's date.
    pub date: Option<Date>,
    /// Its trials in order of number, those without a usable score included.
    pub trials: Vec<ScoredTrial>,
}

/// One trial, all its ratings together.
#[derive(Debug, Clone)]
pub struct ScoredTrial {
    /// Its number as recorded, else its order in the block.
    pub number: u32,
    /// The mean of its usable ratings; none where it has no usable score.
    pub score: Option<f64>,
    /// Landing point relative to the target, where recorded.
    pub landing: Option<(f64, f64)>,
    /// Its usable ratings, one a rater, in reading order; one for a trial that one rater scored.
    pub ratings: Vec<Rating>,
    /// Index of its first row in the logbook's trials.
    pub row: usize,
}

/// One rater's score of one trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Rating {
    /// Who, where recorded.
    pub rater: Option<Arc<str>>,
    /// The score.
    pub score: f64,
    /// Index of the row in the logbook's trials.
    pub row: usize,
}

/// A recorded row that enters no statistic.
#[derive(Debug, Clone, PartialEq)]
pub struct SetAside {
    /// Index into the logbook's trials.
    pub row: usize,
    /// Why.
    pub why: Why,
}

/// Why a recorded row enters no statistic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Why {
    /// The cell is empty or holds what stands for missing.
    Missing,
    /// The cell holds a text that is no number.
    Unreadable,
    /// The score lies outside the measure's scale.
    OutOfScale(f64),
    /// The same trial was recorded before, in this row.
    DuplicateOf(usize),
}

impl Block {
    /// The scores that count, over all sessions, in order.
    pub fn scores(&self) -> Vec<f64> {
        self.trials().filter_map(|trial| trial.score).collect()
    }

    /// All its trials, in order of sessions and numbers.
    pub fn trials(&self) -> impl Iterator<Item = &ScoredTrial> {
        self.sessions.iter().flat_map(|session| &session.trials)
    }

    /// Recorded trials without a usable score.
    pub fn missing(&self) -> usize {
        self.trials().filter(|trial| trial.score.is_none()).count()
    }
}

impl SessionTrials {
    /// The scores that count, in order.
    pub fn scores(&self) -> Vec<f64> {
        self.trials.iter().filter_map(|trial| trial.score).collect()
    }
}

impl MeasureRecord {
    /// The block of a phase.
    pub fn block(&self, phase: Phase) -> Option<&Block> {
        let at = self
            .blocks
            .binary_search_by_key(&phase, |block| block.phase);
        self.blocks.get(at.ok()?)
    }

    /// The practice sessions in order.
    pub fn practice(&self) -> &[SessionTrials] {
        self.block(Phase::PRACTICE)
            .map_or(&[], |block| &block.sessions)
    }

    /// The sessions of which a name speaks: all of a phase's, or one practice session.
    pub fn sessions(&self, name: BlockName) -> Vec<&SessionTrials> {
        match name {
            BlockName::Phase(phase) => self
                .block(phase)
                .map(|block| block.sessions.iter().collect())
                .unwrap_or_default(),
            BlockName::PracticeSession(number) => self
                .practice()
                .iter()
                .filter(|session| session.practice_number == number)
                .collect(),
        }
    }
}

impl Record {
    /// Sorts the logbook's trials into blocks and decides which count.
    pub fn new(logbook: &Logbook) -> Self {
        sorting::sorted(logbook)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::FactSettings;
    use crate::facts::sample::{Row, logbook, measure};
    use crate::logbook::grid::Grid;
    use crate::logbook::model::MeasureKind;
    use crate::logbook::model::{Measure, Score};
    use crate::logbook::settings::ReadingSettings;
    use crate::phase::PhaseKind;

    fn rating() -> Measure {
        Measure {
            lowest: Some(1.0),
            highest: Some(4.0),
            step: Some(1.0),
            ..measure("score", MeasureKind::Rating)
        }
    }

    fn record_of(rows: Vec<Row>) -> Record {
        Record::new(&logbook(vec![rating()], rows))
    }

    fn scores(record: &Record, phase: Phase) -> Vec<f64> {
        record
            .measures
            .first()
            .and_then(|measure| measure.block(phase))
            .map(Block::scores)
            .unwrap_or_default()
    }

    #[test]
    fn trials_in_columns_that_were_not_recognised_are_unread_and_not_missing() {
        let read = |phase: &str, score: &str| {
            let header =
                format!("Session #|date|{phase}|Attempt no.|measure|{score}|x|y|condition|rater");
            let rows = [
                header.as_str(),
                "1||pre-test|1|distance|23.5|||3 m line|",
                "1||pre-test|2|distance|31|||3 m line|",
                "2||practice|1|distance|28|||3 m line|",
            ];
            let grids = [Grid::from_rows("Trials", &rows)];
            crate::logbook::read("P07.xlsx", &grids, &ReadingSettings::default())
        };
        assert!(Record::new(&read("Test / practice", "Distance from hole (cm)")).unread);
        assert!(!Record::new(&read("phase", "score")).unread);
    }

    /// A test on a sheet of its own under an unknown name is open, and what is read beside it stands.
    #[test]
    fn a_table_that_could_not_be_read_leaves_its_tests_open() {
        let read = |score: &str| {
            let later = format!("phase|trial|{score}");
            let grids = [
                Grid::from_rows("Pre", &["phase|trial|score", "pre|1|3", "pre|2|4"]),
                Grid::from_rows("Later", &[&later, "post|1|4", "post|2|5"]),
            ];
            crate::logbook::read("P07.xlsx", &grids, &ReadingSettings::default())
        };
        let logbook = read("Nearness");
        let record = Record::new(&logbook);
        assert!(!record.unread && record.partly_unread);
        let facts = crate::facts::compute("P07", &logbook, &record, &FactSettings::default());
        assert_eq!(facts.number("pre.n"), Some(2.0));
        assert!(facts.is_unread("post.mean") && !facts.is_unread("pre.mean"));
        assert!(!facts.is_unread("about.consent"));
        assert!(!Record::new(&read("score")).partly_unread);
    }

    #[test]
    fn scores_count_unless_missing_unreadable_or_off_the_scale() {
        let record = record_of(vec![
            Row::pre(1, 3.0),
            Row::pre(2, 2.5),
            Row::pre(3, 5.0),
            Row::pre(4, 0.0).scored(Score::Missing),
            Row::pre(5, 0.0).scored(Score::Unreadable("good".into())),
            Row::pre(6, f64::NAN),
        ]);
        assert_eq!(scores(&record, Phase::PRE), [3.0, 2.5]);
        assert_eq!(record.off_step, [1]);
        let why: Vec<_> = record.set_aside.iter().map(|aside| aside.why).collect();
        assert_eq!(
            why,
            [
                Why::OutOfScale(5.0),
                Why::Missing,
                Why::Unreadable,
                Why::Unreadable
            ]
        );
        let missing = record
            .measures
            .first()
            .and_then(|measure| measure.block(Phase::PRE))
            .map(Block::missing);
        assert_eq!(missing, Some(4));
    }

    #[test]
    fn a_second_rater_is_averaged_and_a_second_record_set_aside() {
        let record = record_of(vec![
            Row::pre(1, 3.0).by("A"),
            Row::pre(1, 4.0).by("B"),
            Row::pre(1, 1.0).by("A"),
            Row::pre(1, 1.0),
            Row::pre(2, 2.0),
            Row::pre(2, 4.0).by("A"),
            Row::pre(3, 0.0).scored(Score::Missing).by("A"),
            Row::pre(3, 2.0).by("A"),
        ]);
        // Mean of two ratings; of an unnamed and a named one; the first record stands, though it has no score.
        assert_eq!(scores(&record, Phase::PRE), [3.5, 3.0]);
        let aside: Vec<_> = record
            .set_aside
            .iter()
            .map(|aside| (aside.row, aside.why))
            .collect();
        assert_eq!(
            aside,
            [
                (2, Why::DuplicateOf(0)),
                (3, Why::DuplicateOf(0)),
                (6, Why::Missing),
                (7, Why::DuplicateOf(6)),
            ]
        );
    }

    #[test]
    fn rows_without_a_number_are_numbered_by_their_order() {
        let numbers = |rows: Vec<Row>| {
            let record = record_of(rows);
            assert_eq!(record.set_aside, []);
            record
                .measures
                .iter()
                .flat_map(|measure| &measure.blocks)
                .flat_map(Block::trials)
                .map(|trial| (trial.number, trial.row, trial.ratings.len()))
                .collect::<Vec<_>>()
        };
        // Between numbered rows each has its place; a row whose place is taken goes to the next free one.
        let unnumbered = |score: f64| Row::pre(1, score).unnumbered();
        assert_eq!(
            numbers(vec![Row::pre(1, 1.0), unnumbered(2.0), Row::pre(3, 3.0)]),
            [(1, 0, 1), (2, 1, 1), (3, 2, 1)]
        );
        assert_eq!(
            numbers(vec![Row::pre(1, 1.0), unnumbered(2.0), Row::pre(2, 3.0)]),
            [(1, 0, 1), (2, 2, 1), (3, 1, 1)]
        );
        // Each rater's rows are counted on their own, so that the second rater's meet the first's.
        assert_eq!(
            numbers(vec![
                unnumbered(1.0).by("A"),
                unnumbered(2.0).by("A"),
                unnumbered(3.0).by("B"),
                unnumbered(4.0).by("B"),
            ]),
            [(1, 0, 2), (2, 1, 2)]
        );
    }

    #[test]
    fn the_same_number_in_another_session_is_another_trial() {
        let record = record_of(vec![
            Row::practice(2, 1, 3.0),
            Row::practice(1, 1, 2.0),
            Row::practice(1, 2, 1.0),
        ]);
        assert_eq!(scores(&record, Phase::PRACTICE), [2.0, 1.0, 3.0]);
        assert_eq!(record.set_aside, []);
    }

    #[test]
    fn practice_sessions_without_numbers_count_by_date() {
        let record = record_of(vec![
            Row::practice(0, 1, 3.0).unnumbered_session().on(2026, 3, 9),
            Row::practice(0, 1, 2.0).unnumbered_session().on(2026, 3, 2),
            Row::practice(0, 2, 1.0).unnumbered_session().on(2026, 3, 2),
            Row::pre(1, 1.0).unnumbered_session().on(2026, 3, 1),
        ]);
        let first: Vec<f64> = record
            .measures
            .iter()
            .flat_map(|measure| measure.sessions(BlockName::PracticeSession(1)))
            .flat_map(SessionTrials::scores)
            .collect();
        assert_eq!(first, [2.0, 1.0]);
    }

    #[test]
    fn familiarisation_is_kept_but_nothing_of_it_is_set_aside() {
        let familiarisation = Phase::first(PhaseKind::Familiarisation);
        let record = record_of(vec![
            Row::new(familiarisation, None, 1, 9.0),
            Row::new(familiarisation, None, 2, 1.5),
            Row::pre(1, 1.0),
        ]);
        assert_eq!(scores(&record, familiarisation), [1.5]);
        assert_eq!(record.set_aside, []);
        assert_eq!(record.off_step, Vec::<usize>::new());
    }

    #[test]
    fn trials_without_a_phase_are_listed() {
        let record = record_of(vec![Row::pre(1, 1.0), Row::pre(2, 1.0).without_phase()]);
        assert_eq!(record.without_phase, [1]);
    }

    #[test]
    fn a_hostile_record_is_sorted_in_time() {
        // 20,000 raters of one trial, 20,000 sessions of one trial: quadratic work would take minutes.
        let raters = (0..20_000).map(|rater| Row::pre(1, 2.0).by(&rater.to_string()));
        let sessions = (0..20_000).map(|session| Row::practice(session, 1, 2.0));
        let numbered = (1..20_000).map(|number| Row::pre(number, 2.0).in_session(9));
        let unnumbered = (1..20_000).map(|_| Row::pre(1, 2.0).in_session(9).unnumbered());
        let rows = raters.chain(sessions).chain(unnumbered).chain(numbered);
        let started = std::time::Instant::now();
        let record = record_of(rows.collect());
        assert!(started.elapsed().as_secs() < 20);
        assert_eq!(record.set_aside, []);
    }
}

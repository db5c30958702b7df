//! What the checks look at: read-only, gathered once.

use super::cohort::{Likeness, PairTrace};
use crate::claims::RecomputedClaim;
use crate::facts::record::{Block, MeasureRecord};
use crate::facts::{Facts, Record};
use crate::judgement::Judgements;
use crate::logbook::Logbook;
use crate::logbook::model::Measure;
use crate::logbook::problem::ProblemKind;
use crate::phase::{Phase, PhaseKind};
use crate::place::Place;
use crate::thresholds::Thresholds;
use crate::wording::listed;

/// One pair, as every check of a pair sees it.
pub struct Seen<'a> {
    /// The pair's id.
    pub pair: &'a str,
    /// What it handed in.
    pub logbook: &'a Logbook,
    /// Which trials count.
    pub record: &'a Record,
    /// The named facts.
    pub facts: &'a Facts,
    /// The thresholds in force.
    pub thresholds: &'a Thresholds,
    /// The tables that the rubric needs.
    pub needed_tables: &'a [TableName],
    /// Every claim of the logbook, recomputed, in the order of the claims.
    pub claims: &'a [RecomputedClaim],
    /// What the data can bear of the stages and the theory that the pair names.
    pub judgements: &'a Judgements,
}

/// A table of a logbook, by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TableName {
    /// About.
    About,
    /// Measures.
    Measures,
    /// Sessions.
    Sessions,
    /// Trials.
    Trials,
    /// Technique.
    Technique,
    /// Claims.
    Claims,
}

impl TableName {
    /// What every rubric needs.
    pub const ALWAYS: &'static [Self] = &[Self::About, Self::Trials];

    /// The name as it stands on a sheet.
    pub fn name(self) -> &'static str {
        match self {
            Self::About => "About",
            Self::Measures => "Measures",
            Self::Sessions => "Sessions",
            Self::Trials => "Trials",
            Self::Technique => "Technique",
            Self::Claims => "Claims",
        }
    }

    /// Where the table begins in a logbook; none where it is not there.
    pub fn place(self, logbook: &Logbook) -> Option<&Place> {
        let tables = &logbook.tables;
        match self {
            Self::About => tables.about.as_ref(),
            Self::Measures => tables.measures.as_ref(),
            Self::Sessions => tables.sessions.as_ref(),
            Self::Trials => tables.trials.as_ref(),
            Self::Technique => tables.technique.as_ref(),
            Self::Claims => tables.claims.as_ref(),
        }
    }
}

/// The block of one measure and phase, with what is needed to speak of it.
#[derive(Clone, Copy)]
pub struct TestBlock<'a> {
    /// Index of the measure.
    pub index: usize,
    /// The measure.
    pub measure: &'a Measure,
    /// All blocks of that measure.
    pub record: &'a MeasureRecord,
    /// The block.
    pub block: &'a Block,
}

impl<'a> Seen<'a> {
    /// The blocks of all tests of all measures, in that order.
    pub fn tests(&self) -> impl Iterator<Item = TestBlock<'a>> {
        self.blocks().filter(|test| test.block.phase.kind.is_test())
    }

    /// The blocks of all measures, familiarisation too, in the order of measures and phases.
    pub fn blocks(&self) -> impl Iterator<Item = TestBlock<'a>> {
        let (logbook, record) = (self.logbook, self.record);
        logbook
            .measures
            .iter()
            .zip(&record.measures)
            .enumerate()
            .flat_map(|(index, (measure, blocks))| {
                blocks.blocks.iter().map(move |block| TestBlock {
                    index,
                    measure,
                    record: blocks,
                    block,
                })
            })
    }

    /// The block of a measure and phase.
    pub fn block(&self, index: usize, phase: Phase) -> Option<TestBlock<'a>> {
        let record = self.record.measures.get(index)?;
        Some(TestBlock {
            index,
            measure: self.logbook.measures.get(index)?,
            record,
            block: record.block(phase)?,
        })
    }

    /// Whether any trial outside familiarisation has a score that counts.
    pub fn has_scores(&self) -> bool {
        self.blocks().any(|test| {
            test.block.phase.kind != PhaseKind::Familiarisation
                && test.block.trials().any(|trial| trial.score.is_some())
        })
    }

    /// Why nothing is concluded from what the trials don't show, where their columns were not recognised: what follows from trials is then
    /// not checked, and `testing.no-outcome-record` alone says so.
    pub fn unread(&self) -> Option<String> {
        self.record
            .unread
            .then(|| format!("the trials could not be read: {}", self.not_recognised()))
    }

    /// Why nothing is concluded from the absence of a test, where trials that it may have could not be read, all or some of them.
    pub fn left_open(&self) -> Option<String> {
        self.unread().or_else(|| {
            self.record
                .partly_unread
                .then(|| format!("some trials could not be read: {}", self.not_recognised()))
        })
    }

    /// What was not recognised, by its name: columns, phases, or rows without a header.
    fn not_recognised(&self) -> String {
        let of = |kind: ProblemKind, named: bool| -> Vec<String> {
            let mut names: Vec<String> = Vec::new();
            for problem in self.logbook.columns_not_read() {
                if problem.kind == kind && problem.names_column() == named {
                    let name = format!("“{}”", problem.text);
                    if !names.contains(&name) {
                        names.push(name);
                    }
                }
            }
            names
        };
        let told = |noun: &str, names: &[String]| {
            let (ending, verb) = if names.len() == 1 {
                ("", "was")
            } else {
                ("s", "were")
            };
            (!names.is_empty())
                .then(|| format!("{noun}{ending} {} {verb} not recognised", listed(names)))
        };
        let parts: Vec<String> = [
            told("column", &of(ProblemKind::UnrecognisedColumn, true)),
            told("phase", &of(ProblemKind::AmbiguousValue, false)),
        ]
        .into_iter()
        .flatten()
        .collect();
        if parts.is_empty() {
            String::from("numbers stand under no header")
        } else {
            listed(&parts)
        }
    }

    /// Where a row of the logbook's trials stands.
    pub fn place(&self, row: usize) -> Option<Place> {
        Some(self.logbook.trials.get(row)?.place.clone())
    }

    /// The cells of a block's trials whose score counts, in reading order: all ratings of each.
    pub fn cells(&self, block: &Block) -> Vec<Place> {
        let mut rows: Vec<usize> = block
            .trials()
            .flat_map(|trial| trial.ratings.iter().map(|rating| rating.row))
            .collect();
        rows.sort_unstable();
        rows.into_iter().filter_map(|row| self.place(row)).collect()
    }

    /// Where to look for what is not there: the beginning of the table that should hold it, else the hand-in.
    pub fn where_missing(&self, table: TableName) -> Place {
        table
            .place(self.logbook)
            .cloned()
            .unwrap_or_else(|| Place::file(self.logbook.name.clone()))
    }

    /// “ of distance” where the logbook has several measures, so that a sentence says which one it speaks of; else nothing.
    pub fn of_measure(&self, measure: &Measure) -> String {
        if self.logbook.measures.len() > 1 {
            format!(" of {}", measure.name)
        } else {
            String::new()
        }
    }
}

impl TestBlock<'_> {
    /// Scored trials.
    pub fn n(&self) -> usize {
        self.block
            .trials()
            .filter(|trial| trial.score.is_some())
            .count()
    }
}

/// All pairs together.
pub struct CohortSeen<'a> {
    /// The thresholds in force.
    pub thresholds: &'a Thresholds,
    /// What matching hand-ins to pairs has to report, in its order.
    pub hand_ins: &'a [HandInNote],
    /// What is kept of every pair, in the order of the pairs.
    pub traces: &'a [PairTrace],
    /// What pairs have alike; worked out when a check first asks.
    pub(super) likeness: Likeness<'a>,
}

impl<'a> CohortSeen<'a> {
    /// The cohort as its checks see it.
    pub fn new(
        thresholds: &'a Thresholds,
        hand_ins: &'a [HandInNote],
        traces: &'a [PairTrace],
    ) -> Self {
        Self {
            thresholds,
            hand_ins,
            traces,
            likeness: Likeness::default(),
        }
    }
}

/// What there is to say of hand-ins that are not simply one pair's one logbook.
#[derive(Debug, Clone, PartialEq)]
pub enum HandInNote {
    /// A pair of the roster without a hand-in.
    Missing {
        /// The pair.
        pair: String,
        /// Its first row of the roster.
        roster: Option<Place>,
    },
    /// A hand-in that is no pair's, or could be several pairs'.
    Unmatched {
        /// The hand-in.
        hand_in: Place,
        /// The pairs that it could belong to; empty where there is none.
        could_be: Vec<String>,
    },
    /// Two or more hand-ins of one pair.
    Duplicate {
        /// The pair.
        pair: String,
        /// The hand-in that counts.
        counts: Place,
        /// The others.
        others: Vec<Place>,
        /// Why that one counts, as the rest of a sentence: `its name carries the latest version`.
        because: String,
    },
    /// A hand-in, or a file of one, that could not be read.
    Unreadable {
        /// The pair, where it is known.
        pair: Option<String>,
        /// The file.
        file: Place,
        /// What was wrong with it, in one sentence.
        says: String,
    },
    /// A file that was read, or left out of a zip, of whose name something should be known.
    Noticed {
        /// The file.
        file: Place,
        /// What, in one sentence.
        says: String,
    },
    /// Files among the submissions without a table in them.
    WithoutTable {
        /// The files.
        files: Vec<Place>,
    },
}

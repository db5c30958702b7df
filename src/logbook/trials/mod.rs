//! The Trials table in all its layouts: long; a row a block with a column a trial; a column a phase or a session with a row a trial.
//!
//! One idea covers them all: a score column may itself name a phase, a session, a trial, a measure or a rater, and a row may name the
//! others. [`plan`] finds what the columns name, [`reader`] puts row and column together, [`complete`] takes what is left open from the
//! Sessions table, [`averages`] turns what the pair computed beside or below into claims.

pub(super) mod averages;
pub(super) mod complete;
pub(super) mod index;
mod long;
mod marks;
pub(super) mod plan;
pub(super) mod reader;
mod reports;
pub(super) mod restarts;
mod row;
mod table_labels;
mod wide;

use super::grid::Cell;
use super::labels::Label;
use super::model::Trial;
use super::numbers::Marks;
use crate::phase::PhaseKind;
use crate::statistic::Statistic;

/// A trial before what it leaves open is taken from the Sessions table.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    /// The trial as read so far.
    pub trial: Trial,
    /// Which grid of the hand-in it stands in, and where: formulas speak of cells.
    pub cell: (usize, u32, u32),
    /// How its session was named.
    pub naming: SessionNaming,
    /// Its week, where only that is named.
    pub week: Option<u32>,
    /// Which of several columns of the same week it stands in, and which of all columns of weeks, both from 1.
    pub nth_of_week: Option<(u32, u32)>,
    /// What the title or the sheet's name says, for what nothing else does.
    pub fallback: Label,
}

/// How a session's number was given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum SessionNaming {
    /// As a number.
    #[default]
    Number,
    /// As a count over practice: `Practice 3`.
    CountOfPractice,
    /// As a session of no phase: `Session 3`.
    SessionAlone,
}

/// A cell whose phase could be several.
#[derive(Debug, Clone)]
pub(super) struct OpenPhase<'g> {
    pub kinds: Vec<PhaseKind>,
    pub cell: &'g Cell,
    pub grid: usize,
    pub drafts: Vec<usize>,
}

/// Something computed beside or below the trials.
#[derive(Debug, Clone)]
pub(super) struct Average<'g> {
    /// The statistic that its header or label names; none where it names none that could be recomputed.
    pub statistic: Option<Statistic>,
    /// The header or label.
    pub text: String,
    /// The cell.
    pub cell: &'g Cell,
    /// Its grid.
    pub grid: usize,
    /// The trials that it stands for, as indices into the drafts; empty where its place doesn't say.
    pub of: Vec<usize>,
    /// The block that its header or label names besides ("Pre mean").
    pub named: Label,
    /// The decimal mark that the scores have settled on.
    pub marks: Marks,
}

/// Everything that the Trials tables gave.
#[derive(Debug, Default)]
pub(super) struct TrialsRead<'g> {
    pub drafts: Vec<Draft>,
    pub averages: Vec<Average<'g>>,
    pub open_phases: Vec<OpenPhase<'g>>,
    /// Names of measures that the logbook doesn't describe, to be added after its own.
    pub further_measures: Vec<super::model::Measure>,
}

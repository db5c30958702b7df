//! The record for external moderators: settings, rubric, sample, agreement, severity, decisions, adjudications and a digest of the history.
//! Pairs are known by their ids alone.

mod history_table;
mod initial_marks_table;
mod marks_table;
mod proposals_table;
mod rubric_table;
mod sample_table;
mod settings_table;

use super::report::{
    Shown, agreement_table, decisions_table, levels_table, markers_table, severity_table,
};
use crate::cohort::settings::Settings;
use crate::marking::settle::SettledPair;
use crate::report::workbook::moderation_report::ReportTable;
use history_table::history_table;
use initial_marks_table::initial_marks_table;
use marks_table::marks_table;
use proposals_table::proposals_table;
use rubric_table::rubric_table;
use sample_table::sample_table;
use settings_table::settings_table;

/// What the record is made of.
#[derive(Clone, Copy)]
pub struct Recorded<'a> {
    /// What comparing the markers gave.
    pub shown: Shown<'a>,
    /// The cohort's settings.
    pub settings: &'a Settings,
    /// The pairs' marks as they stand.
    pub settled: &'a [SettledPair],
    /// Digest of the ledger's last line.
    pub ledger_head: &'a str,
}

/// The sheets of the record.
pub fn record(of: &Recorded<'_>) -> Vec<ReportTable> {
    let shown = &of.shown;
    vec![
        settings_table(of),
        rubric_table(of),
        sample_table(of),
        agreement_table(shown),
        severity_table(shown),
        markers_table(shown),
        levels_table(shown),
        marks_table(of),
        initial_marks_table(of, "Initial marks", false),
        initial_marks_table(of, "Adjudications", true),
        proposals_table(of),
        decisions_table(shown),
        history_table(of),
    ]
}

//! What the rows of a Trials table leave unread, said.

use super::plan::column_of;
use super::reader::{MOST_TRIALS, RowsReader};
use super::row::RowAbout;
use crate::logbook::aliases::Field;
use crate::logbook::cells::cell_text;
use crate::logbook::columns::place_of;
use crate::logbook::grid::Cell;
use crate::logbook::problem::{Problem, ProblemKind, report};

impl RowsReader<'_, '_> {
    /// Says that the rest of an endless table is not read.
    pub(super) fn report_too_many(&mut self, line: u32) {
        report(
            self.problems,
            Problem::at(
                ProblemKind::AmbiguousValue,
                self.region.grid.place(line, 0),
                "",
                format!("The hand-in holds more than {MOST_TRIALS} trials."),
                "What follows was not read.",
            ),
        );
    }

    pub(super) fn report_computed_rows(&mut self, column: u32, text: &str, n: usize) {
        let header = self
            .region
            .headers
            .iter()
            .find(|header| header.column == column);
        if let Some(header) = header {
            report(
                self.problems,
                Problem::at(
                    ProblemKind::UnrecognisedColumn,
                    place_of(self.region, header),
                    text,
                    format!("“{text}” is computed for single trials ({n} cells), not for a block."),
                    "Nothing was read from it.",
                ),
            );
        }
    }

    pub(super) fn report_unknown_names(&mut self, about: &RowAbout) {
        if let Some(cell) = about.unknown_phase {
            self.report_unknown(cell, "phase");
        }
        if let Some(cell) = about.unknown_session {
            self.report_unknown(cell, "session");
        }
    }

    /// A word that can't be read is reported once for all cells that hold it.
    pub(super) fn report_unknown(&mut self, cell: &Cell, what: &'static str) {
        let text = cell_text(cell);
        let place = self.region.grid.place(cell.row, cell.column);
        if let Some(at) = self.unknown.get(&(what, text.clone())) {
            if let Some(problem) = self.problems.get_mut(*at) {
                problem.places.push(place);
            }
            return;
        }
        self.unknown
            .insert((what, text.clone()), self.problems.len());
        let settle = if what == "phase" {
            format!(
                "To settle it, add to cohort.toml under [phases], for instance: practice = [{}].",
                toml::Value::from(text.as_str())
            )
        } else {
            String::from("It was left open.")
        };
        let says = format!("“{text}” is no {what} that could be read.");
        report(
            self.problems,
            Problem {
                looks_like: (what == "phase").then_some(Field::Phase),
                ..Problem::at(ProblemKind::AmbiguousValue, place, &text, says, settle)
            },
        );
    }

    /// A measure that the rows name and the Measures table doesn't describe, and how it was read.
    pub(super) fn report_undescribed(
        &mut self,
        measure: &str,
        cell: &Cell,
        read: impl Into<String>,
    ) {
        report(
            self.problems,
            Problem::at(
                ProblemKind::AmbiguousValue,
                self.region.grid.place(cell.row, cell.column),
                measure,
                format!("The Measures table has no measure “{measure}”."),
                read,
            ),
        );
    }

    /// Numbers in columns without a header are not dropped in silence.
    pub(super) fn report_strays(&mut self) {
        let mut columns: Vec<u32> = Vec::new();
        for cell in std::mem::take(&mut self.strays) {
            if columns.contains(&cell.column) || columns.len() > 20 {
                continue;
            }
            columns.push(cell.column);
            let landing = |field| column_of(self.plan, field).is_some();
            let may_be_scores =
                self.plan.scores.is_empty() && !(landing(Field::X) && landing(Field::Y));
            let settle = if may_be_scores {
                "Nothing was read from it. If it is the score, the header “score” settles it."
            } else {
                "Nothing was read from it."
            };
            report(
                self.problems,
                Problem {
                    looks_like: may_be_scores.then_some(Field::Score),
                    ..Problem::at(
                        ProblemKind::UnrecognisedColumn,
                        self.region.grid.place(cell.row, cell.column),
                        cell_text(cell),
                        "Numbers stand in a column without a header.",
                        settle,
                    )
                },
            );
        }
    }
}

//! A pair's own summary beside its trials, a row a test (`Test | Hits`), goes by the names of a table of trials. Read as trials, its totals
//! would be scores: it is left out, and that is said.

use std::collections::{HashMap, HashSet};

use super::aliases::{Aliases, Field, TableKind};
use super::cells::cell_text;
use super::columns::cell_at;
use super::headers::HeaderCell;
use super::labels::{Label, PhaseReading, read_phase};
use super::problem::{Problem, ProblemKind, report};
use super::read::column_named;
use super::regions::{Found, Region};
use crate::phase::Phase;

/// What says which trial a row or a column is, or of what: a second measure may well have one trial a test.
const OF_TRIALS: [Field; 4] = [Field::Trial, Field::Session, Field::Date, Field::Measure];

/// Takes out every table of trials that has one row a phase and says nothing of trials, where other tables have several trials of each of
/// these phases.
pub(super) fn leave_out(
    found: &mut [(usize, Found)],
    aliases: &Aliases,
    problems: &mut Vec<Problem>,
) {
    let regions = || found.iter().flat_map(|(_, found)| &found.regions);
    // Most hand-ins have one table of trials: nothing to compare.
    if regions()
        .filter(|region| is_trials(region))
        .nth(1)
        .is_none()
    {
        return;
    }
    let trials: HashSet<Phase> = regions()
        .filter(|region| is_trials(region) && summed_up(region, aliases).is_none())
        .flat_map(|region| phases_with_trials(region, aliases))
        .collect();
    for (_, found) in found {
        found.regions.retain(|region| {
            let is_summary = is_trials(region)
                && summed_up(region, aliases)
                    .is_some_and(|phases| phases.iter().all(|phase| trials.contains(phase)));
            if is_summary {
                report(problems, left_out(region));
            }
            !is_summary
        });
    }
}

fn is_trials(region: &Region) -> bool {
    region.kind == TableKind::Trials
}

/// The phases of a table with one row for each and no word of trials; none where it is no such table.
fn summed_up(region: &Region, aliases: &Aliases) -> Option<HashSet<Phase>> {
    let column = column_named(region, Field::Phase, aliases)?;
    let tells_trials = region.headers.iter().any(|header| {
        header
            .cells()
            .filter_map(|cell| HeaderCell::of(cell, aliases))
            .any(|read| {
                read.label != Label::default()
                    || OF_TRIALS
                        .iter()
                        .any(|field| read.may_be(TableKind::Trials, *field))
            })
    });
    if tells_trials {
        return None;
    }
    let mut phases = HashSet::new();
    for row in &region.rows {
        let phase = phase_of(&cell_text(cell_at(row, column)?), aliases)?;
        if !phases.insert(phase) {
            return None;
        }
    }
    (!phases.is_empty()).then_some(phases)
}

/// The phases of which a table has several trials: in rows, in columns, or below a header that names the phase.
fn phases_with_trials(region: &Region, aliases: &Aliases) -> HashSet<Phase> {
    let mut phases = HashSet::new();
    let mut across = 0;
    for header in &region.headers {
        for cell in header.cells() {
            let label = HeaderCell::of(cell, aliases).map(|read| read.label);
            across += usize::from(label.is_some_and(|label| label != Label::default()));
            if region.rows.len() > 1 {
                phases.extend(phase_of(&cell_text(cell), aliases));
            }
        }
    }
    let Some(column) = column_named(region, Field::Phase, aliases) else {
        return phases;
    };
    let mut rows: HashMap<Phase, usize> = HashMap::new();
    for row in &region.rows {
        if let Some(phase) =
            cell_at(row, column).and_then(|cell| phase_of(&cell_text(cell), aliases))
        {
            *rows.entry(phase).or_default() += 1;
        }
    }
    let several = rows.into_iter().filter(|(_, rows)| *rows > 1 || across > 1);
    phases.extend(several.map(|(phase, _)| phase));
    phases
}

fn phase_of(text: &str, aliases: &Aliases) -> Option<Phase> {
    match read_phase(text, aliases) {
        PhaseReading::One { phase, .. } => phase,
        PhaseReading::Several(_) | PhaseReading::No => None,
    }
}

fn left_out(region: &Region) -> Problem {
    let first = region.headers.iter().find_map(|header| header.cell());
    let at = first.map_or((0, 0), |cell| (cell.row, cell.column));
    Problem::at(
        ProblemKind::AmbiguousValue,
        region.grid.place(at.0, at.1),
        first.map(cell_text).unwrap_or_default(),
        "This table has one row for each test, and the trials of these tests stand elsewhere.",
        "It was taken for a summary, and nothing was read from it. If its rows are trials, a column with their numbers says so.",
    )
}

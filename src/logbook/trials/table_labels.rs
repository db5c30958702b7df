//! What the labels of a Trials table say as a whole: cells merged over rows, sessions that name phases, points in time from T0.

use super::plan::{Plan, Role, column_of};
use super::row::point_in_time;
use crate::logbook::aliases::{Aliases, Field};
use crate::logbook::cells::whole;
use crate::logbook::columns::cell_at;
use crate::logbook::grid::Value;
use crate::logbook::labels::{PhaseReading, read_phase};
use crate::logbook::regions::Region;

/// Labels of one kind that are merged over several rows.
#[derive(Debug)]
pub(super) struct MergedLabels {
    pub(super) field: Field,
    pub(super) column: u32,
    /// First and last row of each merged range, in order.
    pub(super) rows: Vec<(u32, u32)>,
}

pub(super) fn merged_labels(region: &Region, plan: &Plan) -> Vec<MergedLabels> {
    let mut labels: Vec<MergedLabels> = Vec::new();
    for merged in &region.grid.merged {
        if merged.last_row <= merged.first_row {
            continue;
        }
        let Some(Role::About(field)) = plan.role(merged.first_column) else {
            continue;
        };
        let rows = (merged.first_row, merged.last_row);
        match labels
            .iter_mut()
            .find(|labels| labels.column == merged.first_column)
        {
            Some(labels) => labels.rows.push(rows),
            None => labels.push(MergedLabels {
                field,
                column: merged.first_column,
                rows: vec![rows],
            }),
        }
    }
    for label in &mut labels {
        label.rows.sort_unstable();
    }
    labels
}

/// Whether the session column names phases too, and no other column does.
pub(super) fn sessions_name_phases(region: &Region, plan: &Plan, aliases: &Aliases) -> bool {
    let column =
        column_of(plan, Field::Session).filter(|_| column_of(plan, Field::Phase).is_none());
    column.is_some_and(|column| {
        region
            .rows
            .iter()
            .filter_map(|row| cell_at(row, column))
            .filter(|cell| matches!(cell.value, Value::Text(_)) && whole(cell).is_none())
            .take(100)
            .any(|cell| match &cell.value {
                Value::Text(text) => matches!(
                    read_phase(text, aliases),
                    PhaseReading::One { phase: Some(_), .. }
                ),
                _ => false,
            })
    })
}

/// Whether the phase column counts points in time from T0: then T1 is the post-test, not the pre-test.
pub(super) fn times_from_zero(region: &Region, plan: &Plan, aliases: &Aliases) -> bool {
    let Some(column) = column_of(plan, Field::Phase) else {
        return false;
    };
    let mut zero = false;
    let mut one = false;
    let mut last: Option<&Value> = None;
    for cell in region.rows.iter().filter_map(|row| cell_at(row, column)) {
        // Rows repeat the phase of the row above.
        if last == Some(&cell.value) {
            continue;
        }
        last = Some(&cell.value);
        if let Value::Text(text) = &cell.value
            && let Some(number) = point_in_time(text, aliases)
        {
            zero |= number == 0;
            one |= number == 1;
        }
    }
    zero && one
}

//! The block that titles, headings and names of sheets and files speak of.

use crate::logbook::aliases::{Aliases, TableKind};
use crate::logbook::cells::cell_text;
use crate::logbook::labels::{Label, PhaseReading, read_label, read_phase};
use crate::logbook::regions::Region;
use crate::logbook::spelling::words;

/// What the nearest short title names, else the sheet's or file's name.
pub(super) fn fallback(region: &Region, aliases: &Aliases) -> Label {
    let titles = region.titles.iter().rev().map(|cell| cell_text(cell));
    titles
        .chain(std::iter::once(region.grid.name().to_owned()))
        .find_map(|title| block_named(&title, aliases))
        .or_else(|| block_behind_table(region.grid.name(), aliases))
        .unwrap_or_default()
}

/// The block that a name goes on to name after it has named the table: `P07-trials-session 3`.
fn block_behind_table(name: &str, aliases: &Aliases) -> Option<Label> {
    let words = words(name);
    let table = words
        .iter()
        .position(|word| aliases.table_named(word) == Some(TableKind::Trials))?;
    block_named(&words.get(table + 1..)?.join(" "), aliases)
}

/// The block that a short title, a section's heading or a sheet's name speaks of.
pub(crate) fn block_named(title: &str, aliases: &Aliases) -> Option<Label> {
    let words = words(title);
    if words.is_empty() || words.len() > 6 {
        return None;
    }
    let label = read_label(title, aliases);
    if label.names_block() {
        return Some(label);
    }
    match read_phase(title, aliases) {
        PhaseReading::One { phase, session } => Some(Label {
            phase,
            session,
            ..Label::default()
        }),
        _ => None,
    }
}

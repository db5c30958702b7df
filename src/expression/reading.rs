//! Conditions and sentences as keys of a TOML table: their faults are faults of the file, at their line and column.

use super::catalogue::Catalogue;
use super::lower::ExpressionFault;
use super::{Condition, Sentence};
use crate::configuration::{Located, Table, source_offset};

/// The condition that a key holds, if the key is there and the condition is sound.
pub fn condition<'r>(
    table: &Table<'r>,
    key: &'r str,
    catalogue: &Catalogue,
) -> Option<Located<Condition>> {
    read(table, table.text(key)?, |text| {
        Condition::read(text, catalogue)
    })
}

/// The condition that a key must hold.
pub fn needed_condition<'r>(
    table: &Table<'r>,
    key: &'r str,
    catalogue: &Catalogue,
) -> Option<Located<Condition>> {
    read(table, table.needed_text(key)?, |text| {
        Condition::read(text, catalogue)
    })
}

/// The sentence that a key holds, if the key is there and the sentence is sound.
pub fn sentence<'r>(
    table: &Table<'r>,
    key: &'r str,
    catalogue: &Catalogue,
) -> Option<Located<Sentence>> {
    read(table, table.text(key)?, |text| {
        Sentence::read(text, catalogue)
    })
}

/// The sentence that a key must hold.
pub fn needed_sentence<'r>(
    table: &Table<'r>,
    key: &'r str,
    catalogue: &Catalogue,
) -> Option<Located<Sentence>> {
    read(table, table.needed_text(key)?, |text| {
        Sentence::read(text, catalogue)
    })
}

fn read<T>(
    table: &Table<'_>,
    text: Located<String>,
    read: impl FnOnce(&str) -> Result<T, Vec<ExpressionFault>>,
) -> Option<Located<T>> {
    match read(&text.value) {
        Ok(value) => Some(Located {
            value,
            span: text.span,
        }),
        Err(faults) => {
            let source = table.reading().source();
            for fault in faults {
                let start = source_offset(source, &text.span, fault.range.start);
                let end = source_offset(source, &text.span, fault.range.end);
                table.fault(&(start..end.max(start)), fault.message, fault.help);
            }
            None
        }
    }
}

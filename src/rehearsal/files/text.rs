//! A logbook as a folder of text files, one table a file.

use super::File;
use crate::rehearsal::table::Table;

/// The name of a table's file within the submissions.
pub fn file_name(pair: &str, table: &str) -> String {
    format!("{pair}/{}.csv", table.to_lowercase())
}

/// The files.
pub fn write(pair: &str, tables: &[Table]) -> Vec<File> {
    tables
        .iter()
        .map(|table| {
            let mut text = line(table.header.iter().cloned());
            for row in &table.rows {
                text.push_str(&line(
                    row.iter().map(crate::rehearsal::table::Cell::as_text),
                ));
            }
            File {
                name: file_name(pair, table.name),
                bytes: text.into_bytes(),
            }
        })
        .collect()
}

/// One record, quoted where it must be (RFC 4180).
fn line(fields: impl Iterator<Item = String>) -> String {
    let fields: Vec<String> = fields
        .map(|field| {
            if field.contains([',', '"', '\n', '\r']) {
                format!("\"{}\"", field.replace('"', "\"\""))
            } else {
                field
            }
        })
        .collect();
    format!("{}\r\n", fields.join(","))
}

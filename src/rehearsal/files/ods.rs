//! A logbook as an `OpenDocument` spreadsheet (OASIS ODF 1.3), one table a sheet: as little of the format as an office program needs.

use std::io::{self, Cursor, Write as _};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use crate::rehearsal::table::{Cell, Table};

const MIMETYPE: &str = "application/vnd.oasis.opendocument.spreadsheet";

const MANIFEST: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.3"><manifest:file-entry manifest:full-path="/" manifest:version="1.3" manifest:media-type="application/vnd.oasis.opendocument.spreadsheet"/><manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>
"#;

const BEGINNING: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.3"><office:body><office:spreadsheet>"#;

const END: &str = "</office:spreadsheet></office:body></office:document-content>\n";

/// The bytes of the spreadsheet.
pub fn write(tables: &[Table]) -> io::Result<Vec<u8>> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    // A fixed date: the same cohort gives the same bytes.
    let stored = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(zip::DateTime::default());
    let packed = stored.compression_method(CompressionMethod::Deflated);
    // The first entry, not compressed, says what the file is.
    for (name, content, options) in [
        ("mimetype", MIMETYPE.to_owned(), stored),
        ("content.xml", content(tables), packed),
        ("META-INF/manifest.xml", MANIFEST.to_owned(), packed),
    ] {
        zip.start_file(name, options).map_err(io::Error::other)?;
        zip.write_all(content.as_bytes())?;
    }
    Ok(zip.finish().map_err(io::Error::other)?.into_inner())
}

fn content(tables: &[Table]) -> String {
    let mut xml = String::from(BEGINNING);
    for table in tables {
        xml.push_str("<table:table table:name=\"");
        xml.push_str(&escaped(table.name));
        xml.push_str("\">");
        let header: Vec<Cell> = table.header.iter().map(Cell::text).collect();
        for row in std::iter::once(&header).chain(&table.rows) {
            xml.push_str("<table:table-row>");
            for cell in row {
                xml.push_str(&cell_xml(cell));
            }
            xml.push_str("</table:table-row>");
        }
        xml.push_str("</table:table>");
    }
    xml.push_str(END);
    xml
}

fn cell_xml(cell: &Cell) -> String {
    let shown = escaped(&cell.as_text());
    match cell {
        Cell::Empty => String::from("<table:table-cell/>"),
        Cell::Text(_) => {
            format!(
                "<table:table-cell office:value-type=\"string\"><text:p>{shown}</text:p></table:table-cell>"
            )
        }
        Cell::Number(number, _) => format!(
            "<table:table-cell office:value-type=\"float\" office:value=\"{number}\"><text:p>{shown}</text:p></table:table-cell>"
        ),
        Cell::Day(date) => format!(
            "<table:table-cell office:value-type=\"date\" office:date-value=\"{date}\"><text:p>{shown}</text:p></table:table-cell>"
        ),
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

//! Workbooks put together by hand, for the tests.

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// A zip of parts.
pub fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in parts {
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
        zip.start_file(*name, options).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// A workbook of Office Open XML with one sheet, whose part is given.
pub fn xlsx(sheet: &[u8]) -> Vec<u8> {
    zipped(&[
        ("[Content_Types].xml", b"<Types/>"),
        (
            "xl/workbook.xml",
            b"<workbook xmlns:r='r'><sheets><sheet name='Trials' sheetId='1' r:id='rId1'/></sheets></workbook>",
        ),
        (
            "xl/_rels/workbook.xml.rels",
            b"<Relationships><Relationship Id='rId1' Type='x/worksheet' Target='worksheets/sheet1.xml'/></Relationships>",
        ),
        ("xl/worksheets/sheet1.xml", sheet),
    ])
}

/// An `OpenDocument` spreadsheet with one table, whose rows are given.
pub fn ods(rows: &str) -> Vec<u8> {
    let content = format!(
        "<office:document-content><office:body><office:spreadsheet><table:table table:name='Trials'>{rows}</table:table></office:spreadsheet></office:body></office:document-content>"
    );
    zipped(&[
        (
            "mimetype",
            b"application/vnd.oasis.opendocument.spreadsheet",
        ),
        ("content.xml", content.as_bytes()),
    ])
}

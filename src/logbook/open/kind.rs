//! What a file is, by its content: its name is only compared with that.

use super::archive::{Archive, Place};
use super::error::OpenError;
use super::limits::Deadline;
use super::xlsx::{Layout, layout};

/// What can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Office Open XML, with or without macros.
    Xlsx,
    /// Office Open XML in its binary form.
    Xlsb,
    /// The workbooks of 1995–2003.
    Xls,
    /// `OpenDocument` spreadsheet, packed.
    Ods,
    /// `OpenDocument` spreadsheet in one XML file.
    FlatOds,
    /// Delimited text.
    Text,
}

impl Kind {
    /// What it is called, with its article.
    pub fn name(self) -> &'static str {
        match self {
            Self::Xlsx => "an Excel workbook",
            Self::Xlsb => "a binary Excel workbook",
            Self::Xls => "an Excel workbook in the format of 97–2003",
            Self::Ods | Self::FlatOds => "an OpenDocument spreadsheet",
            Self::Text => "a table in plain text",
        }
    }

    /// The endings that belong to it.
    pub fn endings(self) -> &'static [&'static str] {
        match self {
            Self::Xlsx => &["xlsx", "xlsm", "xltx", "xltm"],
            Self::Xlsb => &["xlsb"],
            Self::Xls => &["xls", "xlt"],
            Self::Ods => &["ods", "ots"],
            Self::FlatOds => &["fods"],
            Self::Text => &["csv", "tsv", "tab", "txt"],
        }
    }
}

/// A name's ending in lower case, without the dot; empty where there is none.
pub(in crate::logbook) fn ending(name: &str) -> String {
    let base = name.rsplit('/').next().unwrap_or(name);
    match base.rsplit_once('.') {
        Some((stem, ending)) if !stem.is_empty() => ending.to_lowercase(),
        _ => String::new(),
    }
}

/// What the first bytes say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logbook) enum Look {
    /// A zip: a workbook, another document, or a bundle of files.
    Zip,
    /// A compound file: an old workbook, an encrypted one, or another old document.
    Compound,
    /// A workbook of before 1997 without a compound file around it.
    BareXls,
    /// Text of some kind.
    Text,
    /// Something else that can be named.
    Other(&'static str),
}

/// First bytes of what is handed in by mistake.
const OTHERS: &[(&[u8], &str)] = &[
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"RIFF", "a film, a sound or a picture"),
    (b"II*\0", "a picture"),
    (b"MM\0*", "a picture"),
    (b"{\\rtf", "a text document (RTF)"),
    (b"Rar!", "a RAR archive"),
    (b"7z\xbc\xaf", "a 7-Zip archive"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"MZ", "a program"),
    (b"\x7fELF", "a program"),
    (b"SQLite format 3", "a database"),
    (b"ID3", "a sound"),
];

/// What the first bytes of a file say; 16 are enough.
pub(in crate::logbook) fn look(bytes: &[u8]) -> Look {
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return Look::Zip;
    }
    if bytes.starts_with(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1") {
        return Look::Compound;
    }
    // A workbook's first record: its number and length, low byte first.
    if [
        &b"\x09\x08\x10\0"[..],
        b"\x09\x08\x08\0",
        b"\x09\x04\x06\0",
        b"\x09\x02\x06\0",
        b"\x09\0\x04\0",
    ]
    .iter()
    .any(|start| bytes.starts_with(start))
    {
        return Look::BareXls;
    }
    if bytes.get(4..8) == Some(b"ftyp") {
        return Look::Other("a film or a picture");
    }
    OTHERS
        .iter()
        .find(|(start, _)| bytes.starts_with(start))
        .map_or(Look::Text, |(_, what)| Look::Other(what))
}

/// What a zip is.
#[derive(Debug)]
pub(super) enum Packed {
    /// A workbook of Office Open XML, with where it keeps its parts.
    Xlsx(Layout),
    /// The same in binary form.
    Xlsb(Layout),
    /// An `OpenDocument` spreadsheet.
    Ods,
    /// Files in a zip.
    Bundle,
}

/// What a zip is, by what it holds.
pub(super) fn packed(
    archive: &Archive<impl Place>,
    deadline: Deadline,
) -> Result<Packed, OpenError> {
    let has = |name: &str| archive.entry(name).is_some();
    if has("[Content_Types].xml") || has("xl/workbook.xml") {
        let other = |what| Err(OpenError::NotALogbook { what });
        return match layout(archive, deadline)? {
            Some(layout) if ending(&layout.part) == "bin" => Ok(Packed::Xlsb(layout)),
            Some(layout) if layout.part.starts_with("word/") => other("a Word document"),
            Some(layout) if layout.part.starts_with("ppt/") => other("a presentation"),
            Some(layout) => Ok(Packed::Xlsx(layout)),
            None => other("an Office file without a workbook in it"),
        };
    }
    if let Some(entry) = archive
        .entry("mimetype")
        .filter(|entry| entry.unpacked < 200)
    {
        let kind = archive.bytes(entry, deadline)?;
        let kind = String::from_utf8_lossy(&kind);
        if let Some(document) = kind
            .trim()
            .strip_prefix("application/vnd.oasis.opendocument.")
        {
            let what = match document.split('-').next() {
                Some("spreadsheet") => return Ok(Packed::Ods),
                Some("text") => "a text document (OpenDocument)",
                Some("presentation") => "a presentation (OpenDocument)",
                _ => "an OpenDocument file of another kind",
            };
            return Err(OpenError::NotALogbook { what });
        }
    }
    if has("content.xml") && has("META-INF/manifest.xml") {
        return Ok(Packed::Ods);
    }
    if archive.entries.iter().any(|entry| {
        entry.name.starts_with("Index/") && ending(&entry.name) == "iwa"
            || entry.name == "Index.zip"
    }) {
        return Err(OpenError::NotALogbook {
            what: "an Apple Numbers or Pages document",
        });
    }
    Ok(Packed::Bundle)
}

/// Markup in the place of a table: named for what it is.
pub(super) fn markup(start: &str) -> Option<Markup> {
    let mut start: String = start.chars().take(2_000).collect();
    start.make_ascii_lowercase();
    let text = start.trim_start_matches(['\u{feff}', ' ', '\n', '\r', '\t']);
    if text.starts_with("<!doctype html") || text.starts_with("<html") || text.starts_with("<table")
    {
        return Some(Markup::WebPage);
    }
    if !text.starts_with("<?xml")
        && !text.starts_with("<office:document")
        && !text.starts_with("<workbook")
    {
        return None;
    }
    Some(if text.contains("<office:document") {
        Markup::FlatOds
    } else if text.contains("urn:schemas-microsoft-com:office:spreadsheet") {
        Markup::XmlSpreadsheet
    } else if text.contains("<html") {
        Markup::WebPage
    } else {
        Markup::OtherXml
    })
}

/// What a text in angle brackets is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Markup {
    WebPage,
    XmlSpreadsheet,
    FlatOds,
    OtherXml,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_bytes_tell_what_a_file_is() {
        assert_eq!(look(b"PK\x03\x04rest"), Look::Zip);
        assert_eq!(look(b"%PDF-1.7"), Look::Other("a PDF document"));
        assert_eq!(
            look(b"\0\0\0\x18ftypmp42"),
            Look::Other("a film or a picture")
        );
        assert_eq!(look(b"phase,score"), Look::Text);
        assert_eq!(look(b""), Look::Text);
        assert_eq!(look(b"\x09\x08\x08\0\0\x05"), Look::BareXls);
    }

    #[test]
    fn markup_under_a_workbooks_name_is_recognised() {
        assert_eq!(markup("\u{feff} <HTML><body>"), Some(Markup::WebPage));
        assert_eq!(markup("<table><tr>"), Some(Markup::WebPage));
        assert_eq!(markup("<?xml version='1.0'?><x/>"), Some(Markup::OtherXml));
        assert_eq!(
            markup(
                "<?xml version='1.0'?><Workbook xmlns='urn:schemas-microsoft-com:office:spreadsheet'>"
            ),
            Some(Markup::XmlSpreadsheet)
        );
        assert_eq!(markup("<5 m,3"), None);
    }

    #[test]
    fn endings_are_the_last_part_of_a_name() {
        assert_eq!(ending("P07/Log.final.XLSX"), "xlsx");
        assert_eq!(ending("P07.d/log"), "");
        assert_eq!(ending(".hidden"), "");
    }
}

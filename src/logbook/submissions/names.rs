//! What names tell: whose file it is not, what it may hold, and which table.

use crate::logbook::open::cell_text::misleads;

/// What a file may be, by its ending.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ending {
    /// A workbook, or an archive that is named when it turns out to be none.
    Workbook,
    /// A table in text.
    Text,
    /// A zip of files.
    Zip,
    /// Something without a table.
    Other,
    /// An ending that tells nothing: the content must.
    Unknown,
}

const WORKBOOKS: &[&str] = &[
    "xlsx", "xlsm", "xltx", "xltm", "xlsb", "xls", "xlt", "ods", "ots", "fods", "numbers",
    "gsheet", "rar", "7z",
];
const TEXTS: &[&str] = &["csv", "tsv", "tab", "txt"];
const OTHERS: &[&str] = &[
    "pdf", "doc", "docx", "odt", "rtf", "pages", "ppt", "pptx", "odp", "key", "jpg", "jpeg", "png",
    "gif", "heic", "heif", "webp", "bmp", "tif", "tiff", "svg", "mp4", "mov", "avi", "mkv", "m4v",
    "webm", "mp3", "m4a", "wav", "toml", "json", "md", "html", "htm", "xml", "py", "r", "rmd",
    "ipynb", "js", "css", "log", "yaml", "yml",
];

/// What a file may be, by its ending in lower case.
pub(super) fn ending(ending: &str) -> Ending {
    let of = |list: &[&str]| list.contains(&ending);
    if of(WORKBOOKS) {
        Ending::Workbook
    } else if of(TEXTS) {
        Ending::Text
    } else if ending == "zip" {
        Ending::Zip
    } else if of(OTHERS) {
        Ending::Other
    } else {
        Ending::Unknown
    }
}

/// Files that a spreadsheet program, an operating system or an archiver leaves behind, and hidden ones.
pub(super) fn is_left_behind(base: &str) -> bool {
    base.starts_with('.')
        || base.starts_with("~$")
        || base.eq_ignore_ascii_case("__MACOSX")
        || base.eq_ignore_ascii_case("Thumbs.db")
        || base.eq_ignore_ascii_case("desktop.ini")
}

/// The program's own files beside or among the submissions, at their top.
pub(super) fn is_the_programs(base: &str) -> bool {
    const OWN: [&str; 8] = [
        "out",
        "marking",
        "returned",
        "cohort.toml",
        "roster.csv",
        "rubric.toml",
        "ledger.csv",
        "blank-logbook.xlsx",
    ];
    OWN.iter().any(|own| own.eq_ignore_ascii_case(base))
}

/// A name with what does not show, or turns the direction of writing, as `�`. None where nothing had to change.
pub(super) fn harmless(name: &str) -> Option<String> {
    name.contains(misleads)
        .then(|| name.replace(misleads, "\u{fffd}"))
}

/// The words by which a text file's name says which table it holds.
const TABLES: &[&str] = &[
    "about",
    "measures",
    "measure",
    "sessions",
    "session",
    "trials",
    "trial",
    "technique",
    "claims",
    "claim",
];

/// What a text file's name says beside the table: `P07-trials.csv` is `P07` before it, `trials-tests.csv` is `tests` after it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct TableName {
    /// What stands before the table's name, without separators.
    pub(super) before: String,
    /// What stands after it.
    pub(super) after: String,
}

/// Reads a text file's name (without its ending); none where it names no table.
pub(super) fn table_name(stem: &str) -> Option<TableName> {
    let mut from = 0;
    for word in stem.split_inclusive(|c: char| !c.is_alphanumeric()) {
        let plain = word.trim_end_matches(|c: char| !c.is_alphanumeric());
        if TABLES.iter().any(|table| table.eq_ignore_ascii_case(plain)) {
            let trim = |text: &str| {
                text.trim_matches(|c: char| !c.is_alphanumeric() && !matches!(c, '(' | ')'))
                    .to_owned()
            };
            return Some(TableName {
                before: trim(stem.get(..from).unwrap_or_default()),
                after: trim(stem.get(from + plain.len()..).unwrap_or_default()),
            });
        }
        from += word.len();
    }
    None
}

/// A name's last part.
pub(super) fn base(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or(name)
}

/// A name's folder; empty at the top.
pub(super) fn folder(name: &str) -> &str {
    name.rsplit_once('/').map_or("", |(folder, _)| folder)
}

/// A name's last part without its ending.
pub(super) fn stem(name: &str) -> &str {
    let base = base(name);
    match base.rsplit_once('.') {
        Some((stem, _)) if !stem.is_empty() => stem,
        _ => base,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_files_name_tells_its_table_and_its_pair() {
        let read = |stem| table_name(stem).map(|name| (name.before, name.after));
        let pair = |a: &str, b: &str| Some((a.to_owned(), b.to_owned()));
        assert_eq!(read("trials"), pair("", ""));
        assert_eq!(read("P07-trials"), pair("P07", ""));
        assert_eq!(read("P07_Claims"), pair("P07", ""));
        assert_eq!(
            read("Ana Example – trials (tests)"),
            pair("Ana Example", "(tests)")
        );
        assert_eq!(read("trials-practice"), pair("", "practice"));
        assert_eq!(read("industrials"), None);
        assert_eq!(read("P07"), None);
    }

    #[test]
    fn names_that_mislead_are_made_harmless() {
        assert_eq!(harmless("P07.xlsx"), None);
        assert_eq!(
            harmless("P07\u{202e}xslx.exe").as_deref(),
            Some("P07\u{fffd}xslx.exe")
        );
        assert_eq!(
            harmless("a\x1b[2J.csv").as_deref(),
            Some("a\u{fffd}[2J.csv")
        );
        assert_eq!(harmless("Zoë und Jürgen.csv"), None);
    }

    #[test]
    fn what_programs_leave_behind_is_known() {
        for name in [
            ".DS_Store",
            "~$P07.xlsx",
            ".~lock.P07.ods#",
            "__MACOSX",
            "._P07.xlsx",
        ] {
            assert!(is_left_behind(name), "{name}");
        }
        assert!(!is_left_behind("P07~.xlsx"));
        assert!(is_the_programs("Roster.csv"));
    }
}

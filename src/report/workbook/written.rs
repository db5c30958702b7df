//! What a workbook held when it was written, on a hidden sheet of its own: taking it back goes by what changed since.

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, XlsxError};

use super::sheet::clean;
use super::style::{FONT, FONT_SIZE};
use crate::cohort::Roster;
use crate::examination::PairResult;

/// The hidden sheet's name.
pub const NAME: &str = "evenhand written";

/// The version of the layout: what a later version can't take back it refuses in words.
pub const LAYOUT: &str = "1";

/// How high a row and how wide a column is where nothing else is said, in pixels.
const ROW_PIXELS: u32 = 20;
const COLUMN_PIXELS: u32 = 64;

/// What the hidden sheet says.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Written {
    /// Which workbook it is: `moderation`, `marker`, `moderation report`.
    pub kind: String,
    /// Whose it is: the marker's name; empty for the instructor's.
    pub marker: String,
    /// Digest of the rubric in force.
    pub rubric: String,
    /// How many lines the ledger had: what it says later came after this workbook was written.
    pub ledger_lines: usize,
    /// The pairs in it.
    pub pairs: Vec<WrittenPair>,
    /// The cells to fill in that were not empty: all others were.
    pub values: Vec<WrittenValue>,
    /// Cells to fill in that were started for whoever fills them in: no entry as long as they are left as they are.
    pub drafts: Vec<WrittenValue>,
}

/// A pair of a workbook, as it was written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WrittenPair {
    /// Its id.
    pub pair: String,
    /// Digest of its hand-in, under which marks are entered; empty where there is none.
    pub hand_in: String,
    /// Its students' ids, in the order in which the workbook's columns number them.
    pub students: Vec<String>,
}

impl WrittenPair {
    /// The pair with the digest of its hand-in, and its students as the columns number them.
    pub fn of(result: &PairResult, roster: Option<&Roster>) -> Self {
        let hand_in = result.hand_in.as_ref();
        let students = roster.into_iter();
        Self {
            pair: result.pair.to_string(),
            hand_in: hand_in.map_or_else(String::new, |hand_in| hand_in.digest.clone()),
            students: students
                .flat_map(|roster| roster.of_pair(&result.pair))
                .map(|student| student.id.to_string())
                .collect(),
        }
    }
}

/// One cell to fill in, as it was written. Whatever the sheet looks like, `id` and `key` are: pair and `mark testing`, `mark teamwork#2`,
/// `judged testing/protocol`, `comment testing` or `comment overall`; finding and `decision` or `note`; check or slip and
/// `decision-for-all`; proposal and `accept`; pair and `claim m1`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrittenValue {
    /// The sheet's own name.
    pub sheet: String,
    /// The row's id: a pair, a finding, a check, a claim.
    pub id: String,
    /// The column's key.
    pub key: String,
    /// What it held.
    pub value: String,
}

/// Adds the hidden sheet.
///
/// # Errors
/// What the writer of workbooks says.
pub fn add_written(workbook: &mut Workbook, written: &Written) -> Result<(), XlsxError> {
    let sheet = workbook.add_worksheet();
    sheet.set_name(NAME)?;
    let ledger_lines = written.ledger_lines.to_string();
    let about = [
        ("layout", LAYOUT),
        ("kind", &written.kind),
        ("marker", &written.marker),
        ("rubric", &written.rubric),
        ("ledger lines", &ledger_lines),
    ];
    let mut row = 0;
    for (key, value) in about {
        sheet.write_string(row, 0, key)?;
        sheet.write_string(row, 1, clean(value))?;
        row += 1;
    }
    for pair in &written.pairs {
        let texts = ["pair", &pair.pair, &pair.hand_in].into_iter();
        let texts = texts.chain(pair.students.iter().map(String::as_str));
        for (column, text) in (0_u16..).zip(texts) {
            sheet.write_string(row, column, clean(text))?;
        }
        row += 1;
    }
    let values = written.values.iter().map(|value| ("value", value));
    let drafts = written.drafts.iter().map(|value| ("draft", value));
    for (word, value) in values.chain(drafts) {
        sheet.write_string(row, 0, word)?;
        for (column, text) in (1_u16..).zip([&value.sheet, &value.id, &value.key, &value.value]) {
            sheet.write_string(row, column, clean(text))?;
        }
        row += 1;
    }
    sheet.set_hidden(true);
    sheet.protect();
    Ok(())
}

/// A workbook with our fixed properties: no clock value is in it, so that the same input gives the same bytes.
///
/// # Errors
/// What the writer of workbooks says.
pub fn new_workbook(title: &str) -> Result<Workbook, XlsxError> {
    let mut workbook = Workbook::new();
    let font = Format::new().set_font_name(FONT).set_font_size(FONT_SIZE);
    workbook.set_default_format(&font, ROW_PIXELS, COLUMN_PIXELS)?;
    let properties = DocProperties::new()
        .set_title(title)
        .set_author("evenhand")
        .set_creation_datetime(&ExcelDateTime::from_ymd(2000, 1, 1)?);
    workbook.set_properties(&properties);
    Ok(workbook)
}

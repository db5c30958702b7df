//! The record for external moderators as one workbook: nothing in it is to be filled in.

use rust_xlsxwriter::{Workbook, XlsxError};

use super::moderation_report::{ReportTable, write_table};
use super::style::Looks;

/// The file's name.
pub const FILE: &str = "record-of-moderation.xlsx";

/// Makes the workbook; the same input gives the same bytes.
///
/// # Errors
/// What the writer of workbooks says.
pub fn make(tables: &[ReportTable], looks: &Looks) -> Result<Workbook, XlsxError> {
    let mut workbook = super::new_workbook("Record of moderation")?;
    for table in tables {
        write_table(workbook.add_worksheet(), table, looks)?;
    }
    Ok(workbook)
}

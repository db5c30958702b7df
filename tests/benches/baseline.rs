//! What everything is compared with: a workbook merely opened by a library that reads workbooks, and each of its cells touched.

use std::io::{Read, Seek};

use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};

/// Opens a workbook, and counts the cells that hold something.
pub fn cells_touched(workbook: impl Read + Seek) -> usize {
    let mut workbook: Xlsx<_> = open_workbook_from_rs(workbook).unwrap();
    let mut touched = 0;
    for name in workbook.sheet_names() {
        let range = workbook.worksheet_range(&name).unwrap();
        touched += range
            .used_cells()
            .filter(|(_, _, cell)| **cell != Data::Empty)
            .count();
    }
    touched
}

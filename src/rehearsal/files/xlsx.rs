//! A logbook as a workbook, one table a sheet.

use rust_xlsxwriter::{ExcelDateTime, Format, Workbook, XlsxError};

use crate::rehearsal::table::{Cell, Table};
use crate::report::workbook::new_workbook;

/// The bytes of the workbook.
pub fn write(tables: &[Table]) -> Result<Vec<u8>, XlsxError> {
    let mut workbook: Workbook = new_workbook("Logbook")?;
    let day = Format::new().set_num_format("yyyy-mm-dd");
    let header = Format::new().set_bold();
    for table in tables {
        let sheet = workbook.add_worksheet();
        sheet.set_name(table.name)?;
        for (column, name) in (0_u16..).zip(&table.header) {
            sheet.write_string_with_format(0, column, name, &header)?;
            sheet.set_column_width(column, 13)?;
        }
        for (row, cells) in (1_u32..).zip(&table.rows) {
            for (column, cell) in (0_u16..).zip(cells) {
                match cell {
                    Cell::Empty => {}
                    Cell::Text(text) => {
                        sheet.write_string(row, column, text)?;
                    }
                    Cell::Number(number, decimals) => {
                        let format = number_format(*decimals);
                        sheet.write_number_with_format(
                            row,
                            column,
                            *number,
                            &Format::new().set_num_format(format),
                        )?;
                    }
                    Cell::Day(date) => {
                        let (year, month, of_month) = (date.year(), date.month(), date.day());
                        let value = ExcelDateTime::from_ymd(
                            u16::try_from(year).unwrap_or(2000),
                            u8::try_from(month).unwrap_or(1),
                            u8::try_from(of_month).unwrap_or(1),
                        )?;
                        sheet.write_datetime_with_format(row, column, &value, &day)?;
                    }
                }
            }
        }
    }
    workbook.save_to_buffer()
}

fn number_format(decimals: u8) -> String {
    if decimals == 0 {
        String::from("0")
    } else {
        format!("0.{}", "0".repeat(usize::from(decimals)))
    }
}

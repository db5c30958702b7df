//! What people look at: csv files, workbooks, pages, the terminal. Nothing is computed here that is not computed before.

pub mod comparison;
pub mod csv_rows;
pub mod explanations;
pub mod fitted;
pub mod history;
pub mod out_files;
pub mod page;
pub mod pair_view;
pub mod summary;
pub mod table;
mod to_settle;
pub mod wording;
pub mod workbook;

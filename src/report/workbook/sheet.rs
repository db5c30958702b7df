//! A sheet that is a table: declared by its columns, written row by row from the top, and recognised again when it comes back.
//!
//! The first row is hidden and holds a key for each column (`mark testing`), the first key with the sheet's own name before it. Whoever
//! renames, moves or adds columns, sorts or saves the sheet in another program keeps the keys, and taking back goes by them.

use std::borrow::{BorrowMut, Cow};
use std::sync::LazyLock;

use rust_xlsxwriter::{
    DataValidation, DataValidationErrorStyle, DataValidationRule, Format, Formula,
    ProtectionOptions, Url, Worksheet, XlsxError,
};

use super::style::{Look, Looks};

/// The hidden row of keys.
pub const KEY_ROW: u32 = 0;
/// The sheet's title.
const TITLE_ROW: u32 = 1;
/// The line under it.
const HINT_ROW: u32 = 2;
/// Headers over several columns.
const GROUP_ROW: u32 = 3;
/// The columns' headers.
pub const HEADER_ROW: u32 = 4;
/// The first row of data.
pub const FIRST_ROW: u32 = 5;
/// What begins the first key of a sheet: followed by the sheet's own name and a colon.
pub const SHEET_MARK: &str = "evenhand ";

/// Rows that a sheet can hold.
pub const ROW_LIMIT: u32 = 1_048_576;

/// Longest text that a cell takes.
const CELL_TEXT_LIMIT: usize = 32_767;

/// A column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// What it holds, for taking back: stable, whatever the header says.
    pub key: String,
    /// Its header.
    pub title: String,
    /// A header over it and its neighbours of the same group; empty for none.
    pub group: String,
    /// Its width in characters.
    pub width: f64,
    /// How its cells look.
    pub look: Look,
    /// What may be entered; none for cells that are not to be filled in.
    pub entry: Option<EntryRule>,
}

/// What may be entered in a cell.
#[derive(Debug, Clone, PartialEq)]
pub enum EntryRule {
    /// A number between these.
    Number {
        /// The smallest.
        least: f64,
        /// The largest.
        most: f64,
    },
    /// One of these words.
    Choice(&'static [&'static str]),
    /// Any text.
    Text,
}

impl Column {
    /// A column that is read, not filled in.
    pub fn shown(key: impl Into<String>, title: impl Into<String>, width: f64, look: Look) -> Self {
        Self {
            key: key.into(),
            title: title.into(),
            group: String::new(),
            width,
            look,
            entry: None,
        }
    }

    /// A column to fill in.
    pub fn entry(
        key: impl Into<String>,
        title: impl Into<String>,
        width: f64,
        rule: EntryRule,
    ) -> Self {
        let look = match rule {
            EntryRule::Number { .. } => Look::EntryNumber,
            EntryRule::Choice(_) | EntryRule::Text => Look::EntryText,
        };
        Self {
            entry: Some(rule),
            ..Self::shown(key, title, width, look)
        }
    }

    /// The same under a header that it shares with its neighbours.
    #[must_use]
    pub fn under(mut self, group: impl Into<String>) -> Self {
        self.group = group.into();
        self
    }
}

/// What one cell gets.
#[derive(Debug, Clone, PartialEq)]
pub enum CellContent {
    /// Text.
    Text(String),
    /// A number; not finite ones leave the cell empty.
    Number(f64),
    /// A formula with the result that it has now.
    Formula {
        /// The formula, without the leading `=`.
        formula: String,
        /// Its result.
        result: String,
    },
    /// Text that leads to another file.
    Link {
        /// Where to.
        target: String,
        /// What is shown.
        text: String,
    },
    /// Nothing: an empty cell, formatted, so that it can be filled in.
    Empty,
}

impl From<&str> for CellContent {
    fn from(text: &str) -> Self {
        if text.is_empty() {
            Self::Empty
        } else {
            Self::Text(text.to_owned())
        }
    }
}

impl From<String> for CellContent {
    fn from(text: String) -> Self {
        if text.is_empty() {
            Self::Empty
        } else {
            Self::Text(text)
        }
    }
}

impl From<f64> for CellContent {
    fn from(number: f64) -> Self {
        if number.is_finite() {
            Self::Number(number)
        } else {
            Self::Empty
        }
    }
}

impl From<usize> for CellContent {
    fn from(count: usize) -> Self {
        Self::Number(count as f64)
    }
}

impl<T: Into<CellContent>> From<Option<T>> for CellContent {
    fn from(content: Option<T>) -> Self {
        content.map_or(Self::Empty, Into::into)
    }
}

/// A table being written to a sheet: its own, or one lent to it.
pub struct TableSheet<'a, S = &'a mut Worksheet> {
    sheet: S,
    looks: &'a Looks,
    columns: Cow<'a, [Column]>,
    next_row: u32,
}

impl<'a, S: BorrowMut<Worksheet>> TableSheet<'a, S> {
    /// Writes title, hint and headers. `name` is the sheet's own name, for taking back and for its tab.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn begin(
        mut lent: S,
        looks: &'a Looks,
        name: &str,
        title: &str,
        hint: &str,
        columns: impl Into<Cow<'a, [Column]>>,
    ) -> Result<Self, XlsxError> {
        let columns = columns.into();
        let sheet = lent.borrow_mut();
        sheet.set_name(name)?;
        // A formula whose result is no text is empty, not 0, until somebody fills in what it sums up.
        sheet.set_formula_result_default("");
        for (index, column) in (0_u16..).zip(&*columns) {
            let width = column.width;
            sheet.set_column_width(index, width)?;
            if column.look == Look::Plain {
                sheet.set_column_format(index, looks.of(column.look))?;
            }
            let mark = if index == 0 {
                format!("{SHEET_MARK}{name}: {}", column.key)
            } else {
                column.key.clone()
            };
            sheet.write_string(KEY_ROW, index, mark)?;
        }
        sheet.set_row_hidden(KEY_ROW)?;
        sheet.set_row_height(TITLE_ROW, 24)?;
        sheet.write_string_with_format(TITLE_ROW, 0, clean(title), looks.of(Look::Title))?;
        sheet.write_string_with_format(HINT_ROW, 0, clean(hint), looks.of(Look::Hint))?;
        for (index, column) in (0_u16..).zip(&*columns) {
            let before = usize::from(index)
                .checked_sub(1)
                .and_then(|i| columns.get(i));
            let repeated = before.is_some_and(|before| before.group == column.group);
            if !column.group.is_empty() {
                let text = if repeated { "" } else { &column.group };
                sheet.write_string_with_format(
                    GROUP_ROW,
                    index,
                    clean(text),
                    looks.of(Look::Group),
                )?;
            }
        }
        let lines = columns.iter().map(header_lines).max().unwrap_or(1);
        sheet.set_row_height(HEADER_ROW, lines.max(2) as f64 * LINE_HEIGHT + 6.0)?;
        for (index, column) in (0_u16..).zip(&*columns) {
            let look = if column.look.is_right() {
                Look::HeaderRight
            } else {
                Look::Header
            };
            let title = clean(&column.title);
            sheet.write_string_with_format(HEADER_ROW, index, title, looks.of(look))?;
        }
        Ok(Self {
            sheet: lent,
            looks,
            columns,
            next_row: FIRST_ROW,
        })
    }

    /// The row that will be written next, from 0.
    pub fn next_row(&self) -> u32 {
        self.next_row
    }

    /// Whether the sheet can take another row.
    pub fn is_full(&self) -> bool {
        self.next_row >= ROW_LIMIT
    }

    /// Writes one row; cells beyond the columns are left out, columns beyond the cells stay empty.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn row(&mut self, cells: impl IntoIterator<Item = CellContent>) -> Result<(), XlsxError> {
        self.row_of_height(None, cells)
    }

    /// As [`TableSheet::row`], with a height in points.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn row_of_height(
        &mut self,
        height: Option<f64>,
        cells: impl IntoIterator<Item = CellContent>,
    ) -> Result<(), XlsxError> {
        let row = self.next_row;
        self.next_row += 1;
        let mut cells = cells.into_iter();
        let mut lines = 1;
        let sheet = self.sheet.borrow_mut();
        for (index, column) in (0_u16..).zip(&*self.columns) {
            let cell = cells.next().unwrap_or(CellContent::Empty);
            write_cell(sheet, row, index, &cell, self.looks.of(column.look))?;
            if column.look.wraps() {
                lines = lines.max(lines_of(&cell, column.width));
            }
        }
        if let Some(height) = height.or((lines > 1).then(|| height_of(lines))) {
            sheet.set_row_height(row, height)?;
        }
        Ok(())
    }

    /// Writes one row of columns that look so from top to bottom: what is empty takes nothing.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn light_row(
        &mut self,
        cells: impl IntoIterator<Item = CellContent>,
    ) -> Result<(), XlsxError> {
        let row = self.next_row;
        self.next_row += 1;
        let sheet = self.sheet.borrow_mut();
        for (index, cell) in (0_u16..).zip(cells) {
            match cell {
                CellContent::Number(number) => sheet.write_number(row, index, number)?,
                CellContent::Text(text) => sheet.write_string(row, index, clean(&text))?,
                CellContent::Empty => continue,
                other => {
                    write_cell(sheet, row, index, &other, self.looks.of(Look::Plain))?;
                    continue;
                }
            };
        }
        Ok(())
    }

    /// Writes one row in which every cell has a look of its own.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn row_of_looks(
        &mut self,
        height: f64,
        cells: impl IntoIterator<Item = (CellContent, Look)>,
    ) -> Result<(), XlsxError> {
        let row = self.next_row;
        self.next_row += 1;
        let sheet = self.sheet.borrow_mut();
        for ((index, _), (cell, look)) in (0_u16..).zip(&*self.columns).zip(cells) {
            write_cell(sheet, row, index, &cell, self.looks.of(look))?;
        }
        sheet.set_row_height(row, height)?;
        Ok(())
    }

    /// Writes one row in which the columns with these keys are filled in, whatever is typed kept as it is typed.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn row_to_fill_in(
        &mut self,
        keys: &[&str],
        cells: impl IntoIterator<Item = CellContent>,
    ) -> Result<(), XlsxError> {
        let row = self.next_row;
        self.next_row += 1;
        let mut cells = cells.into_iter();
        let sheet = self.sheet.borrow_mut();
        for (index, column) in (0_u16..).zip(&*self.columns) {
            let cell = cells.next().unwrap_or(CellContent::Empty);
            let look = if keys.contains(&column.key.as_str()) {
                Look::EntryVerbatim
            } else {
                column.look
            };
            write_cell(sheet, row, index, &cell, self.looks.of(look))?;
        }
        Ok(())
    }

    /// Sets filters, frozen headers, validation, protection and print, and gives the sheet back for what is particular to it.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn finish(mut self, frozen_columns: u16) -> Result<S, XlsxError> {
        let last_column = u16::try_from(self.columns.len().saturating_sub(1)).unwrap_or(u16::MAX);
        let last_row = self.next_row.saturating_sub(1).max(HEADER_ROW);
        let sheet = self.sheet.borrow_mut();
        sheet.autofilter(HEADER_ROW, 0, last_row, last_column)?;
        sheet.set_freeze_panes(FIRST_ROW, frozen_columns)?;
        if self.next_row > FIRST_ROW {
            for (index, column) in (0_u16..).zip(&*self.columns) {
                if let Some(rule) = &column.entry
                    && let Some(validation) = validation(rule)?
                {
                    sheet.add_data_validation(FIRST_ROW, index, last_row, index, &validation)?;
                }
            }
        }
        sheet.protect_with_options(&PROTECTION);
        sheet.set_landscape();
        sheet.set_paper_size(9);
        set_pages_across(sheet, &self.columns, frozen_columns)?;
        sheet.set_repeat_rows(GROUP_ROW, HEADER_ROW)?;
        sheet.set_margins(0.4, 0.4, 0.6, 0.6, 0.3, 0.3);
        sheet.set_footer("&L&A&RPage &P of &N");
        Ok(self.sheet)
    }
}

/// Characters that a sheet of A4 on its side holds beside each other at two thirds of their size: smaller ones nobody reads.
const LEGIBLE_WIDTH: f64 = 226.0;

/// Prints these columns as wide as a page, or on several pages beside each other where they would be too small to read: then with the first
/// columns, by which rows are told apart, on each.
///
/// # Errors
/// What the writer of workbooks says.
fn set_pages_across(
    sheet: &mut Worksheet,
    columns: &[Column],
    frozen_columns: u16,
) -> Result<(), XlsxError> {
    let pages = pages_across(columns, frozen_columns);
    sheet.set_print_fit_to_pages(pages, 0);
    if pages > 1 {
        if let Some(last) = frozen_columns.checked_sub(1) {
            sheet.set_repeat_columns(0, last)?;
        }
        // All of a row first: its pages are read side by side.
        sheet.set_page_order(false);
    }
    Ok(())
}

fn pages_across(columns: &[Column], frozen_columns: u16) -> u16 {
    let width = |columns: &[Column]| columns.iter().map(|column| column.width).sum::<f64>();
    let (frozen, rest) = columns.split_at(usize::from(frozen_columns).min(columns.len()));
    let repeated = width(frozen);
    let fits = |pages: &u16| {
        let room = (LEGIBLE_WIDTH - repeated).max(LEGIBLE_WIDTH / 3.0);
        f64::from(*pages) * room >= width(rest)
    };
    (1..=MOST_PAGES_ACROSS)
        .find(fits)
        .unwrap_or(MOST_PAGES_ACROSS)
}

/// More pages than that nobody lays beside each other, and office programs stop counting at 32,767.
const MOST_PAGES_ACROSS: u16 = 1_000;

/// Everything that doesn't change a locked cell is allowed.
static PROTECTION: LazyLock<ProtectionOptions> = LazyLock::new(|| ProtectionOptions {
    format_columns: true,
    format_rows: true,
    use_autofilter: true,
    sort: true,
    ..ProtectionOptions::default()
});

/// Writes one cell.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write_cell(
    sheet: &mut Worksheet,
    row: u32,
    column: u16,
    cell: &CellContent,
    format: &Format,
) -> Result<(), XlsxError> {
    match cell {
        CellContent::Text(text) => {
            sheet.write_string_with_format(row, column, clean(text), format)?
        }
        CellContent::Number(number) => {
            sheet.write_number_with_format(row, column, *number, format)?
        }
        CellContent::Formula { formula, result } => {
            let formula = Formula::new(formula).set_result(clean(result));
            sheet.write_formula_with_format(row, column, formula, format)?
        }
        CellContent::Link { target, text } => {
            let url = Url::new(target).set_text(clean(text));
            sheet.write_url_with_format(row, column, url, format)?
        }
        CellContent::Empty => sheet.write_blank(row, column, format)?,
    };
    Ok(())
}

/// Lines that a row shows at most: a longer text is there to be opened, not to push everything else off the screen.
const MOST_LINES: usize = 9;
/// Points that one line takes.
const LINE_HEIGHT: f64 = 13.0;

/// How many lines a text takes in a column so many characters wide: no office program measures rows that another one wrote.
pub(super) fn lines_of(cell: &CellContent, width: f64) -> usize {
    let (CellContent::Text(text) | CellContent::Link { text, .. }) = cell else {
        return 1;
    };
    lines_of_text(text, width).min(MOST_LINES)
}

/// How many lines a text takes in a column so many characters wide.
pub fn lines_of_text(text: &str, width: f64) -> usize {
    // A column's width counts digits, and letters are narrower: by a quarter in running text, of which words that go to the next line take part.
    let fit = (width * 1.1).max(1.0);
    let line = |line: &str| {
        let wanted = line.chars().count() as f64 / fit;
        (1..=CELL_TEXT_LIMIT)
            .find(|count| *count as f64 >= wanted)
            .unwrap_or(CELL_TEXT_LIMIT)
    };
    text.lines().map(line).sum::<usize>().max(1)
}

/// How many lines a column's header takes: its words one after the other, since they are few and bold.
fn header_lines(column: &Column) -> usize {
    let mut lines = 1;
    let mut used = 0;
    for word in column.title.split_whitespace() {
        let length = word.chars().count();
        // Half a character is lost to the cell's own margins.
        if used > 0 && (used + 1 + length) as f64 > column.width - 0.5 {
            lines += 1;
            used = length;
        } else {
            used += usize::from(used > 0) + length;
        }
    }
    lines
}

/// The height of a row of so many lines, in points.
pub fn height_of(lines: usize) -> f64 {
    lines as f64 * LINE_HEIGHT + 2.0
}

/// What an office program lets be typed into a cell with this rule; none where it may be anything.
///
/// # Errors
/// What the writer of workbooks says.
pub fn validation(rule: &EntryRule) -> Result<Option<DataValidation>, XlsxError> {
    let validation = match rule {
        EntryRule::Number { least, most } => DataValidation::new()
            .allow_decimal_number(DataValidationRule::Between(*least, *most))
            .set_error_title("Not a mark for this cell")?
            .set_error_message(format!("A number from {least} to {most}, or empty."))?,
        EntryRule::Choice(words) => DataValidation::new()
            .allow_list_strings(words)?
            .set_error_title("Not one of the words")?
            .set_error_message(format!("One of: {}.", words.join(", ")))?,
        EntryRule::Text => return Ok(None),
    };
    Ok(Some(
        validation
            .set_error_style(DataValidationErrorStyle::Stop)
            .ignore_blank(true),
    ))
}

/// Text as a cell takes it: without control characters, and not too long.
pub fn clean(text: &str) -> Cow<'_, str> {
    let unwanted = |c: char| c.is_control() && !matches!(c, '\n' | '\t');
    // A text of so many bytes has no more characters.
    if text.len() <= CELL_TEXT_LIMIT && !text.contains(unwanted) {
        return Cow::Borrowed(text);
    }
    let kept: String = text.chars().filter(|c| !unwanted(*c)).collect();
    if kept.chars().count() <= CELL_TEXT_LIMIT {
        return Cow::Owned(kept);
    }
    // The limit counts UTF-16 units: the first half of the limit in characters always fits.
    let mut cut: String = kept.chars().take(CELL_TEXT_LIMIT / 2).collect();
    cut.push('…');
    Cow::Owned(cut)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wide_tables_are_printed_on_several_pages() {
        let columns = |count: usize| vec![Column::shown("a", "A", 20.0, Look::Text); count];
        assert_eq!(pages_across(&columns(1), 1), 1);
        assert_eq!(pages_across(&columns(11), 1), 1);
        // Twelve take 240; of each further page 206 are left beside the column that is repeated.
        assert_eq!(pages_across(&columns(12), 1), 2);
        assert_eq!(pages_across(&columns(22), 1), 3);
        assert_eq!(pages_across(&columns(3), 3), 1);
        // However much is repeated, a third of each page is for what follows.
        assert_eq!(pages_across(&columns(99), 60), 11);
    }

    #[test]
    fn headers_take_as_many_lines_as_their_words_need() {
        let lines = |title: &str| header_lines(&Column::shown("a", title, 10.0, Look::Text));
        assert_eq!(lines("Pair"), 1);
        assert_eq!(lines("Mean of both"), 2);
        assert_eq!(lines("First less"), 2);
        assert_eq!(lines("Degrees of freedom"), 3);
        assert_eq!(lines("Pairs marked twice"), 3);
    }

    #[test]
    fn rows_are_as_tall_as_their_text_up_to_a_limit() {
        let lines = |text: &str| lines_of(&CellContent::Text(text.to_owned()), 20.0);
        assert_eq!(lines("short"), 1);
        assert_eq!(lines("Met: one.\nNot met: two."), 2);
        assert_eq!(lines(&"word ".repeat(14)), 4);
        assert_eq!(lines(&"word ".repeat(500)), MOST_LINES);
        assert_eq!(lines_of(&CellContent::Number(1.0), 20.0), 1);
    }
}

//! A logbook as plain tables, before it is written to a file.

use jiff::civil::Date;

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// Text.
    Text(String),
    /// A number, shown with so many decimals.
    Number(f64, u8),
    /// A day.
    Day(Date),
}

impl Cell {
    /// Text.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// A whole number.
    pub fn whole(number: usize) -> Self {
        Self::Number(number as f64, 0)
    }

    /// The cell as a text file holds it.
    pub fn as_text(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Text(text) => text.clone(),
            Self::Number(number, decimals) => format!("{number:.*}", usize::from(*decimals)),
            Self::Day(day) => day.to_string(),
        }
    }
}

/// One table: a header and rows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Its name: the sheet's, or the file's.
    pub name: &'static str,
    /// The names of its columns.
    pub header: Vec<String>,
    /// Its rows.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// An empty table.
    pub fn new(name: &'static str, header: &[&str]) -> Self {
        Self {
            name,
            header: header.iter().map(|name| (*name).to_owned()).collect(),
            rows: Vec::new(),
        }
    }

    /// Where a column stands.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|known| known == name)
    }

    /// A cell.
    pub fn get(&self, row: usize, column: &str) -> Option<&Cell> {
        self.rows.get(row)?.get(self.column(column)?)
    }

    /// Replaces a cell.
    pub fn set(&mut self, row: usize, column: &str, cell: Cell) {
        if let Some(column) = self.column(column)
            && let Some(place) = self.rows.get_mut(row).and_then(|row| row.get_mut(column))
        {
            *place = cell;
        }
    }

    /// The first row in which a column holds a text.
    pub fn row_where(&self, column: &str, text: &str) -> Option<usize> {
        let column = self.column(column)?;
        self.rows
            .iter()
            .position(|row| row.get(column).is_some_and(|cell| cell.as_text() == text))
    }
}

/// A logbook as its tables.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tables {
    /// About, a row a key.
    pub about: Table,
    /// Measures.
    pub measures: Table,
    /// Sessions.
    pub sessions: Table,
    /// Trials, in the long layout.
    pub trials: Table,
    /// Technique.
    pub technique: Table,
    /// Claims.
    pub claims: Table,
}

impl Tables {
    /// All tables, in the order in which a workbook holds them.
    pub fn all(&self) -> [&Table; 6] {
        [
            &self.about,
            &self.measures,
            &self.sessions,
            &self.trials,
            &self.technique,
            &self.claims,
        ]
    }
}

//! Tables in the terminal: side by side where they fit, with longer cells in several lines where they don't, and as a list where even single
//! words would have to be broken.

use std::fmt::Write as _;

use comfy_table::{
    CellAlignment, ColumnConstraint, ContentArrangement, Table as Grid, Width, presets,
};

use crate::emphasis::{plain, width as width_of};

/// Columns that a cell takes beside its text: a space on either side.
const PADDING: usize = 2;

/// A table for the terminal; cells may hold marks of emphasis.
pub struct Table {
    header: Vec<&'static str>,
    /// Whether the column holds numbers, which stand on the right.
    is_number: Vec<bool>,
    rows: Vec<Vec<String>>,
    /// How many of the first columns name the row in a list.
    names: usize,
}

impl Table {
    /// With these columns, those in `numbers` of numbers; the first `names` of them say what a row is about.
    pub fn new(header: &[&'static str], numbers: std::ops::Range<usize>, names: usize) -> Self {
        Self {
            header: header.to_vec(),
            is_number: (0..header.len())
                .map(|index| numbers.contains(&index))
                .collect(),
            rows: Vec::new(),
            names,
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// The table in `width` columns, or as wide as it is where nobody looks; each line ended.
    pub fn text(&self, width: Option<usize>) -> String {
        let natural: Vec<usize> = self.measured(width_of);
        let total = |widths: &[usize]| widths.iter().map(|width| width + PADDING).sum::<usize>();
        let Some(room) = width.filter(|room| *room < total(&natural)) else {
            return self.grid(None);
        };
        let least: Vec<usize> = self.measured(longest_word);
        if total(&least) > room {
            return self.list();
        }
        // The widest columns give way first, each no further than to its longest word.
        let mut widths = natural;
        while total(&widths) > room {
            let widest = widths
                .iter_mut()
                .zip(&least)
                .filter(|(width, least)| **width > **least)
                .max_by_key(|(width, _)| **width);
            match widest {
                Some((width, _)) => *width -= 1,
                None => break,
            }
        }
        self.grid(Some(&widths))
    }

    /// The largest measure of each column's cells, the header's among them.
    fn measured(&self, measure: fn(&str) -> usize) -> Vec<usize> {
        let cells = |index: usize| self.rows.iter().filter_map(move |row| row.get(index));
        self.header
            .iter()
            .enumerate()
            .map(|(index, header)| {
                cells(index)
                    .map(|cell| measure(cell))
                    .fold(measure(header), usize::max)
            })
            .collect()
    }

    fn grid(&self, widths: Option<&[usize]>) -> String {
        let mut grid = Grid::new();
        grid.load_style(presets::NOTHING);
        grid.set_header(self.header.iter().copied());
        for row in &self.rows {
            grid.add_row(row);
        }
        if widths.is_some() {
            grid.set_content_arrangement(ContentArrangement::Dynamic);
        }
        for (index, column) in grid.column_iter_mut().enumerate() {
            if self.is_number.get(index) == Some(&true) {
                column.set_cell_alignment(CellAlignment::Right);
            }
            column.set_padding((1, 1));
            let width = widths
                .and_then(|widths| widths.get(index))
                .and_then(|width| u16::try_from(width + PADDING).ok());
            if let Some(width) = width {
                column.set_constraint(ColumnConstraint::Absolute(Width::Fixed(width)));
            }
        }
        format!("{}\n", grid.trim_fmt())
    }

    /// A row a line: what it is about, then each cell that says something after its column's name.
    fn list(&self) -> String {
        let mut out = String::new();
        for row in &self.rows {
            let names: Vec<&str> = row
                .iter()
                .take(self.names)
                .map(|name| name.trim())
                .collect();
            let told: Vec<String> = self
                .header
                .iter()
                .zip(row)
                .skip(self.names)
                .filter(|(_, cell)| !plain(cell).is_empty())
                .map(|(header, cell)| format!("{header} {cell}"))
                .collect();
            let _ = writeln!(out, " {}: {}", names.join(" "), told.join("; "));
        }
        out
    }
}

fn longest_word(text: &str) -> usize {
    text.split(' ').map(width_of).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emphasis::Emphasis;

    fn table() -> Table {
        let mut table = Table::new(&["claim", "what", "claimed", "verdict", "why"], 2..3, 1);
        table.row([
            "c1".into(),
            "percent improvement from the pre-test to the post-test".into(),
            "46.0".into(),
            Emphasis::Concern.on("differs"),
            String::new(),
        ]);
        table
    }

    #[test]
    fn a_table_that_fits_or_that_nobody_looks_at_is_left_as_wide_as_it_is() {
        let whole = table().text(None);
        assert_eq!(whole.lines().count(), 2);
        assert_eq!(table().text(Some(200)), whole);
    }

    #[test]
    fn a_narrower_one_wraps_its_widest_cells_between_words() {
        for width in 44..=80 {
            let text = plain(&table().text(Some(width)));
            assert!(text.lines().count() > 2, "{width}\n{text}");
            assert!(text.lines().all(|line| width_of(line) <= width), "{text}");
            for word in ["improvement", "post-test", "differs", "claimed"] {
                assert!(text.contains(word), "{width}\n{text}");
            }
        }
    }

    #[test]
    fn the_narrowest_becomes_a_list() {
        assert_eq!(
            plain(&table().text(Some(40))),
            " c1: what percent improvement from the pre-test to the post-test; claimed 46.0; verdict differs\n"
        );
    }

    #[test]
    fn marks_move_no_column() {
        let mut unmarked = Table::new(&["a", "b", "c"], 1..2, 1);
        let mut marked = Table::new(&["a", "b", "c"], 1..2, 1);
        for verdict in ["agrees", "differs"] {
            unmarked.row(["x".into(), verdict.into(), "y z".into()]);
            marked.row(["x".into(), Emphasis::Sound.on(verdict), "y z".into()]);
        }
        for width in [None, Some(12), Some(14), Some(40)] {
            assert_eq!(plain(&marked.text(width)), unmarked.text(width));
        }
    }
}

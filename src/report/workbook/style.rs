//! How our workbooks look: one set of formats for all of them. Colour never stands alone: every coloured cell has a word in it.

use rust_xlsxwriter::{Color, Format, FormatAlign, FormatBorder, Workbook};

/// The font of all our workbooks: every office program has it, or one of the very same widths, so that columns and pages are as wide everywhere.
pub const FONT: &str = "Arial";
/// Its size in points.
pub const FONT_SIZE: u32 = 10;

/// Dark ink for headings and charts.
pub const INK: Color = Color::RGB(0x0027_3643);
/// The ground of headers.
pub const SAND: Color = Color::RGB(0x00EF_E9DD);
/// The ground of cells to fill in.
pub const ENTRY: Color = Color::RGB(0x00E2_F0EC);
/// Lines between cells.
pub const LINE: Color = Color::RGB(0x00C9_C2B4);
/// The first colour of charts.
pub const TEAL: Color = Color::RGB(0x002F_7F79);
/// The second colour of charts.
pub const CLAY: Color = Color::RGB(0x00B3_6A3C);

/// What a cell is, and with it how it looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Look {
    /// The sheet's title.
    Title,
    /// The line under the title.
    Hint,
    /// A header over several columns.
    Group,
    /// A column's header.
    Header,
    /// The header of a column of numbers, which stand to the right.
    HeaderRight,
    /// Text on one line.
    Text,
    /// Text or a number in a column that looks so from top to bottom, lines left out.
    Plain,
    /// Text that wraps.
    Wrapped,
    /// A number with as many decimals as it takes.
    Number,
    /// A whole number.
    Whole,
    /// A number with two decimals.
    Decimal,
    /// A link.
    Link,
    /// A cell to fill in with text.
    EntryText,
    /// A cell to fill in whose text stays exactly as typed: `3.40` keeps its zero.
    EntryVerbatim,
    /// A cell to fill in with a number.
    EntryNumber,
    /// A number computed in the sheet.
    Total,
    /// A label in a block of counts.
    Label,
    /// What is said beside a count.
    Note,
    /// The row that begins a pair's part of a sheet.
    Band,
    /// What is said in that row.
    BandText,
    /// Text that wraps, small: on sheets to print.
    Small,
    /// The name of what stands beside it, which wraps.
    Strong,
    /// A box to write in by hand.
    Box,
}

impl Look {
    /// All looks.
    pub const ALL: [Self; 23] = [
        Self::Title,
        Self::Hint,
        Self::Group,
        Self::Header,
        Self::HeaderRight,
        Self::Text,
        Self::Plain,
        Self::Wrapped,
        Self::Number,
        Self::Whole,
        Self::Decimal,
        Self::Link,
        Self::EntryText,
        Self::EntryVerbatim,
        Self::EntryNumber,
        Self::Total,
        Self::Label,
        Self::Note,
        Self::Band,
        Self::BandText,
        Self::Small,
        Self::Strong,
        Self::Box,
    ];

    /// Whether its numbers stand to the right.
    pub fn is_right(self) -> bool {
        matches!(
            self,
            Self::Number | Self::Whole | Self::Decimal | Self::Total | Self::EntryNumber
        )
    }

    /// Whether its text goes on in a second line.
    pub fn wraps(self) -> bool {
        matches!(
            self,
            Self::Wrapped
                | Self::Link
                | Self::EntryText
                | Self::Note
                | Self::Band
                | Self::BandText
                | Self::Small
                | Self::Strong
        )
    }

    /// The format that makes it.
    pub fn format(self) -> Format {
        let base = Format::new()
            .set_font_name(FONT)
            .set_font_size(FONT_SIZE)
            .set_align(FormatAlign::Top);
        let cell = || {
            base.clone()
                .set_border_bottom(FormatBorder::Thin)
                .set_border_bottom_color(LINE)
        };
        let entry = || {
            cell()
                .set_background_color(ENTRY)
                .set_border(FormatBorder::Thin)
                .set_border_color(LINE)
                .set_unlocked()
        };
        let band = || {
            base.clone()
                .set_font_color(INK)
                .set_background_color(SAND)
                .set_text_wrap()
                .set_border_top(FormatBorder::Medium)
                .set_border_top_color(INK)
        };
        let header = || {
            base.clone()
                .set_bold()
                .set_font_color(INK)
                .set_background_color(SAND)
                .set_text_wrap()
                .set_align(FormatAlign::VerticalCenter)
                .set_border_bottom(FormatBorder::Medium)
                .set_border_bottom_color(INK)
        };
        match self {
            Self::Title => base.set_bold().set_font_size(15).set_font_color(INK),
            Self::Hint => base.set_italic().set_font_color(INK),
            Self::Group => base
                .set_bold()
                .set_font_color(INK)
                .set_background_color(SAND)
                .set_border_left(FormatBorder::Thin)
                .set_border_left_color(LINE),
            Self::Header => header(),
            Self::HeaderRight => header().set_align(FormatAlign::Right).set_indent(1),
            Self::Text => cell(),
            Self::Plain => base.set_num_format("0.####"),
            Self::Wrapped => cell().set_text_wrap(),
            Self::Number => cell()
                .set_num_format("0.####")
                .set_align(FormatAlign::Right)
                .set_indent(1),
            Self::Whole => cell()
                .set_num_format("0")
                .set_align(FormatAlign::Right)
                .set_indent(1),
            Self::Decimal => cell()
                .set_num_format("0.00")
                .set_align(FormatAlign::Right)
                .set_indent(1),
            Self::Link => cell()
                .set_text_wrap()
                .set_font_color(TEAL)
                .set_underline(rust_xlsxwriter::FormatUnderline::Single),
            Self::EntryText => entry().set_text_wrap(),
            Self::EntryVerbatim => entry().set_num_format("@"),
            Self::EntryNumber => entry()
                .set_num_format("0.##")
                .set_align(FormatAlign::Right)
                .set_indent(1),
            Self::Total => cell()
                .set_bold()
                .set_num_format("0.##")
                .set_align(FormatAlign::Right)
                .set_indent(1),
            Self::Label => base,
            Self::Note => base.set_text_wrap().set_indent(1).set_font_color(INK),
            Self::Band => band().set_bold(),
            Self::BandText => band(),
            Self::Small => cell().set_font_size(9).set_text_wrap(),
            Self::Strong => cell().set_bold().set_font_color(INK).set_text_wrap(),
            Self::Box => cell()
                .set_border(FormatBorder::Thin)
                .set_border_color(INK)
                .set_font_size(9)
                .set_align(FormatAlign::Right)
                .set_align(FormatAlign::Bottom),
        }
    }
}

/// All formats, made once a workbook.
pub struct Looks {
    formats: Vec<Format>,
}

impl Default for Looks {
    fn default() -> Self {
        Self {
            formats: Look::ALL.iter().map(|look| look.format()).collect(),
        }
    }
}

impl Looks {
    /// The format of a look.
    pub fn of(&self, look: Look) -> &Format {
        // `formats` holds one for each look, in the order of their declaration.
        &self.formats[look as usize]
    }

    /// Numbers all formats of a workbook in the order of their declaration, whichever is used first.
    pub fn register(&self, workbook: &mut Workbook) {
        for format in &self.formats {
            workbook.register_format(format);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_look_has_its_own_format() {
        let looks = Looks::default();
        for look in Look::ALL {
            assert_eq!(*looks.of(look), look.format(), "{look:?}");
        }
    }
}

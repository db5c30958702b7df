//! Emphasis in texts for the terminal: what stands out, and how. A text carries marks that take no room, so that tables and wrapping measure it
//! as it will be seen; on the way out they become the terminal's own codes. Emphasis never stands alone: the word is there without it.

use anstyle::{AnsiColor, Style};
use unicode_width::UnicodeWidthChar as _;

/// What a piece of text is. The colours are few, and none says more than its word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Emphasis {
    /// The title of what follows.
    Heading,
    /// A file to open.
    File,
    /// Contradicted, or not done.
    Error,
    /// Not supported, or something to know.
    Concern,
    /// Something that a person should look at.
    Query,
    /// As it should be.
    Sound,
}

/// Marks are code points that no text holds: unassigned, and by the Unicode standard (`Default_Ignorable_Code_Point`) of no width.
const END: char = '\u{FFF0}';

impl Emphasis {
    const ALL: [Self; 6] = [
        Self::Heading,
        Self::File,
        Self::Error,
        Self::Concern,
        Self::Query,
        Self::Sound,
    ];

    fn mark(self) -> char {
        match self {
            Self::Heading => '\u{FFF1}',
            Self::File => '\u{FFF2}',
            Self::Error => '\u{FFF3}',
            Self::Concern => '\u{FFF4}',
            Self::Query => '\u{FFF5}',
            Self::Sound => '\u{FFF6}',
        }
    }

    /// How it looks: the terminal's own colours, since its user chose them for its background.
    fn style(self) -> Style {
        let plain = Style::new();
        match self {
            Self::Heading => plain.bold(),
            Self::File => plain.underline(),
            Self::Error => plain.bold().fg_color(Some(AnsiColor::Red.into())),
            Self::Concern => plain.bold().fg_color(Some(AnsiColor::Magenta.into())),
            Self::Query => plain.fg_color(Some(AnsiColor::BrightBlue.into())),
            Self::Sound => plain.fg_color(Some(AnsiColor::Cyan.into())),
        }
    }

    /// The text with this emphasis.
    pub fn on(self, text: &str) -> String {
        if text.is_empty() {
            return String::new();
        }
        format!("{}{text}{END}", self.mark())
    }

    /// The text with this emphasis, filled with spaces to at least so many columns.
    pub fn on_wide(self, text: &str, columns: usize) -> String {
        let fill = columns.saturating_sub(width(text));
        format!("{}{:fill$}", self.on(text), "")
    }

    fn of_mark(letter: char) -> Option<Self> {
        Self::ALL.into_iter().find(|of| of.mark() == letter)
    }
}

/// How many columns a character takes in a terminal.
pub fn columns(letter: char) -> usize {
    if is_mark(letter) {
        0
    } else {
        letter.width().unwrap_or(0)
    }
}

/// How many columns a text of one line takes in a terminal.
pub fn width(text: &str) -> usize {
    text.chars().map(columns).sum()
}

fn is_mark(letter: char) -> bool {
    letter == END || Emphasis::of_mark(letter).is_some()
}

/// The text without marks.
pub fn plain(text: &str) -> String {
    text.chars().filter(|letter| !is_mark(*letter)).collect()
}

/// The text with the terminal's codes for its marks. Codes that a hand-in brought along are shown as signs: a student's text commands no
/// terminal.
pub fn painted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + text.len() / 16);
    let mut worn: Option<Style> = None;
    for letter in text.chars() {
        if let Some(of) = Emphasis::of_mark(letter) {
            take_off(&mut out, &mut worn);
            let style = of.style();
            out.push_str(&style.render().to_string());
            worn = Some(style);
        } else if letter == END {
            take_off(&mut out, &mut worn);
        } else if letter == '\n' {
            // No emphasis runs into the cell or line beside it.
            take_off(&mut out, &mut worn);
            out.push(letter);
        } else if letter.is_control() && letter != '\t' {
            out.push(shown(letter));
        } else {
            out.push(letter);
        }
    }
    take_off(&mut out, &mut worn);
    out
}

fn take_off(out: &mut String, worn: &mut Option<Style>) {
    if let Some(style) = worn.take() {
        out.push_str(&style.render_reset().to_string());
    }
}

/// The sign for a control character: `␛` for escape.
fn shown(control: char) -> char {
    match u32::from(control) {
        code @ 0..0x20 => char::from_u32(0x2400 + code),
        0x7F => Some('␡'),
        _ => None,
    }
    .unwrap_or('\u{FFFD}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_take_no_room_and_leave_the_text_as_it_is() {
        for of in Emphasis::ALL {
            let marked = of.on("differs");
            assert_eq!(width(&marked), 7);
            assert_eq!(plain(&marked), "differs");
            // What tables measure by.
            assert_eq!(unicode_width::UnicodeWidthStr::width(marked.as_str()), 7);
            assert_eq!(plain(&of.on_wide("query", 8)), "query   ");
        }
        assert_eq!(Emphasis::Error.on(""), "");
    }

    #[test]
    fn wide_letters_count_twice_and_combining_ones_not_at_all() {
        assert_eq!(width("投球"), 4);
        assert_eq!(width("e\u{301}"), 1);
    }

    #[test]
    fn codes_are_put_on_and_taken_off_within_the_line() {
        let painted = painted(&format!("{} x\n", Emphasis::Error.on("error\nerror")));
        assert_eq!(painted, "\u{1b}[1m\u{1b}[31merror\u{1b}[0m\nerror x\n");
    }

    #[test]
    fn a_students_escape_codes_are_shown_not_obeyed() {
        assert_eq!(
            painted("a\u{1b}[2J\u{7}\u{9b}b\tc\r\n"),
            "a␛[2J␇\u{FFFD}b\tc␍\n"
        );
    }
}

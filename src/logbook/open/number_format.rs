//! What a number format shows: decimals, a percentage, a date, a time of day, a length of time.
//!
//! Source of the built-in formats and of the format codes: ECMA-376-1, 18.8.30 (numFmt).

use crate::logbook::grid::Shown;

/// What numbers of a format mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct NumberFormat {
    /// Decimals and percent, for plain numbers.
    pub(super) shown: Shown,
    /// Dates and times are numbers too, until they are shown.
    pub(super) moment: Option<Moment>,
}

/// What of a moment a format shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Moment {
    /// A date, with a time of day or without.
    Date,
    /// A time of day.
    Time,
    /// A length of time: hours or minutes beyond 24 or 60, or minutes and seconds without hours.
    Length,
}

/// A format that shows so many decimals.
const fn decimals(decimals: u8, percent: bool) -> NumberFormat {
    NumberFormat {
        shown: Shown {
            decimals: Some(decimals),
            percent,
        },
        moment: None,
    }
}

/// A format that shows a moment.
pub(super) const fn moment(moment: Moment) -> NumberFormat {
    NumberFormat {
        shown: Shown {
            decimals: None,
            percent: false,
        },
        moment: Some(moment),
    }
}

/// The format of a built-in number, for those that mean more than "as it is". Numbers 27–36 and 50–58 are dates in East Asian locales.
pub(super) fn built_in(id: u32) -> NumberFormat {
    match id {
        1 | 3 | 5 | 6 | 37 | 38 | 41 | 42 => decimals(0, false),
        2 | 4 | 7 | 8 | 39 | 40 | 43 | 44 => decimals(2, false),
        9 => decimals(0, true),
        10 => decimals(2, true),
        14..=17 | 22 | 27..=31 | 36 | 50..=54 | 57 | 58 => moment(Moment::Date),
        18..=21 | 32..=35 | 55 | 56 => moment(Moment::Time),
        45..=47 => moment(Moment::Length),
        _ => NumberFormat::default(),
    }
}

/// The format of a code as the file writes it (`0.00`, `0.0%`, `dd/mm/yyyy`, `[h]:mm`).
pub(super) fn of_code(code: &str) -> NumberFormat {
    let mut seen = Seen::default();
    let mut characters = code.chars().peekable();
    while let Some(character) = characters.next() {
        match character {
            // Only the first section: positive numbers, or all of them.
            ';' => break,
            '"' => {
                for quoted in characters.by_ref() {
                    if quoted == '"' {
                        break;
                    }
                }
            }
            // The next character stands for itself, for its width, or for filling.
            '\\' | '_' | '*' => {
                characters.next();
            }
            '[' => {
                let inside: String = characters.by_ref().take_while(|c| *c != ']').collect();
                seen.bracket(&inside);
            }
            'A' | 'a'
                if characters
                    .peek()
                    .is_some_and(|next| matches!(next, 'M' | 'm' | '/')) =>
            {
                // AM/PM and A/P: their letters are not months.
                for marked in characters.by_ref() {
                    if matches!(marked, 'P' | 'p') {
                        break;
                    }
                }
                if characters
                    .peek()
                    .is_some_and(|next| matches!(next, 'M' | 'm'))
                {
                    characters.next();
                }
                seen.hours = true;
            }
            'G' | 'g' if !seen.moment() && rest_is(&characters, "eneral") => {
                return NumberFormat::default();
            }
            _ => seen.character(character),
        }
    }
    seen.format()
}

fn rest_is(characters: &std::iter::Peekable<std::str::Chars<'_>>, word: &str) -> bool {
    characters
        .clone()
        .zip(word.chars())
        .filter(|(a, b)| a.eq_ignore_ascii_case(b))
        .count()
        == word.len()
}

/// What a code holds, as it is read from left to right.
#[derive(Debug, Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is one letter of the code"
)]
struct Seen {
    days_or_years: bool,
    months_or_minutes: bool,
    hours: bool,
    seconds: bool,
    elapsed: bool,
    percent: bool,
    /// Digits are shown as needed (`#`), as a fraction, with an exponent, in thousands, or by a condition: decimals can't be told.
    open: bool,
    digits: bool,
    point: bool,
    decimals: u8,
    /// A comma after the last digit so far: thousands, unless a digit follows.
    comma: bool,
}

impl Seen {
    fn bracket(&mut self, inside: &str) {
        let unit = !inside.is_empty()
            && ['h', 'm', 's']
                .iter()
                .any(|unit| inside.chars().all(|c| c.eq_ignore_ascii_case(unit)));
        if unit {
            self.elapsed = true;
        } else if inside.starts_with(['<', '>', '=']) {
            self.open = true;
        }
    }

    fn moment(&self) -> bool {
        self.days_or_years || self.months_or_minutes || self.hours || self.seconds || self.elapsed
    }

    fn character(&mut self, character: char) {
        match character {
            // An exponent in a number; a year in East Asian dates.
            'e' | 'E' | '/' if self.digits => self.open = true,
            'y' | 'Y' | 'd' | 'D' | 'b' | 'B' | 'g' | 'e' => self.days_or_years = true,
            'm' | 'M' => self.months_or_minutes = true,
            'h' | 'H' => self.hours = true,
            's' | 'S' => self.seconds = true,
            '%' => self.percent = true,
            '0' => {
                self.digits = true;
                self.comma = false;
                if self.point {
                    self.decimals = self.decimals.saturating_add(1);
                }
            }
            '#' | '?' => {
                self.digits = true;
                self.comma = false;
                self.open |= self.point;
            }
            '.' => self.point = true,
            ',' => self.comma = self.digits,
            _ => {}
        }
    }

    fn format(&self) -> NumberFormat {
        if self.moment() {
            // Minutes and months share a letter: beside days, years or alone they are months.
            let date = self.days_or_years
                || (self.months_or_minutes && !self.hours && !self.seconds && !self.elapsed);
            return moment(if date {
                Moment::Date
            } else if self.elapsed || !self.hours {
                Moment::Length
            } else {
                Moment::Time
            });
        }
        NumberFormat {
            shown: Shown {
                decimals: (self.digits && !self.open && !self.comma).then_some(self.decimals),
                percent: self.percent,
            },
            moment: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_and_percent_are_those_that_the_format_shows() {
        let shown = |code| {
            let format = of_code(code);
            assert_eq!(format.moment, None, "{code}");
            (format.shown.decimals, format.shown.percent)
        };
        assert_eq!(shown("General"), (None, false));
        assert_eq!(shown("0"), (Some(0), false));
        assert_eq!(shown("0.00"), (Some(2), false));
        assert_eq!(shown("#,##0.0"), (Some(1), false));
        assert_eq!(shown("0.0%"), (Some(1), true));
        assert_eq!(shown("0.00\" m\""), (Some(2), false));
        assert_eq!(shown("[$€-407] #,##0.00"), (Some(2), false));
        assert_eq!(shown("[Red]0.000;[Blue]-0.0"), (Some(3), false));
        assert_eq!(shown("_-* #,##0.00_-;-* #,##0.00_-"), (Some(2), false));
        // As many as it takes, a fraction, an exponent, thousands, a condition: not a fixed number of decimals.
        for code in ["0.##", "# ?/?", "0.00E+00", "0.0,", "[>=100]0;0.00", "@"] {
            assert_eq!(shown(code).0, None, "{code}");
        }
    }

    #[test]
    fn moments_are_told_from_numbers_and_from_each_other() {
        let kind = |code| of_code(code).moment;
        for date in [
            "dd/mm/yyyy",
            "yyyy\\-mm\\-dd",
            "d mmm",
            "mmm-yy",
            "[$-809]d mmmm yyyy;@",
            "m/d/yy h:mm",
            "mmmm",
        ] {
            assert_eq!(kind(date), Some(Moment::Date), "{date}");
        }
        for time in ["h:mm", "hh:mm:ss", "h:mm AM/PM", "h AM/PM"] {
            assert_eq!(kind(time), Some(Moment::Time), "{time}");
        }
        for length in ["[h]:mm:ss", "mm:ss.0", "[mm]:ss", "[s]"] {
            assert_eq!(kind(length), Some(Moment::Length), "{length}");
        }
        for number in ["0\" days\"", "0.0\\s", "\"m\"0", "General\" days\""] {
            assert_eq!(kind(number), None, "{number}");
        }
    }
}

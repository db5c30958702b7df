//! The Sessions table: one row a session.

use super::aliases::{Aliases, Field};
use super::cells::cell_text;
use super::cells::{self, NumberReading};
use super::cells::{text_of, whole};
use super::columns::{Columns, columns};
use super::dates::{self, DateReading};
use super::grid::{Cell, Value};
use super::labels::{PhaseReading, read_phase};
use super::model::Session;
use super::numbers::plain;
use super::problem::{Problem, ProblemKind, report};
use super::read::Context;
use super::regions::Region;
use super::spelling::{key, numbered, words};
use crate::phase::{Phase, PhaseKind};

/// Reads one Sessions table.
pub(crate) fn read(
    region: &Region,
    context: &Context,
    problems: &mut Vec<Problem>,
) -> Vec<Session> {
    let columns = columns(region, context.aliases(), problems);
    let shares = feedback_is_share(region, &columns, context);
    region
        .rows
        .iter()
        .filter_map(|row| {
            Row {
                region,
                context,
                columns: &columns,
                cells: row,
            }
            .read(shares, problems)
        })
        .collect()
}

/// Whether the column of feedback frequencies holds shares from 0 to 1 instead of percentages.
fn feedback_is_share(region: &Region, columns: &Columns, context: &Context) -> bool {
    let mut any_part = false;
    for row in &region.rows {
        if let Some(cell) = columns.cell(row, Field::FeedbackPercent)
            && let NumberReading::Number {
                value,
                percent: false,
            } = cells::read(cell, context)
        {
            if value > 1.0 {
                return false;
            }
            any_part |= value.fract() != 0.0;
        }
    }
    any_part
}

struct Row<'r, 'g> {
    region: &'r Region<'g>,
    context: &'r Context<'r>,
    columns: &'r Columns,
    cells: &'g [Cell],
}

impl<'g> Row<'_, 'g> {
    fn read(&self, feedback_is_share: bool, problems: &mut Vec<Problem>) -> Option<Session> {
        let first = self.cells.first()?;
        let date_cell = self.cell(Field::Date);
        let date = date_cell.and_then(|cell| self.date(cell, problems));
        let (mut phase, mut named_session) = self.phase(self.cell(Field::Phase), problems);
        let mut number = self.cell(Field::Session).and_then(whole);
        if number.is_none()
            && let Some(cell) = self.cell(Field::Session)
            && let Value::Text(text) = &cell.value
        {
            match read_phase(text, self.context.aliases()) {
                PhaseReading::One { phase: of, session } => {
                    phase = phase.or(of);
                    named_session = named_session.or(session);
                }
                _ => number = numbered(text).map(|(_, number)| number),
            }
        }
        let number = number.or(named_session);
        let week = self.cell(Field::Week).and_then(|cell| {
            whole(cell).or_else(|| match &cell.value {
                Value::Text(text) => numbered(text).map(|(_, week)| week),
                _ => None,
            })
        });
        if number.is_none() && date.is_none() && phase.is_none() && week.is_none() {
            // A note, or a row of totals.
            return None;
        }
        let aliases = self.context.aliases();
        let feedback_cell = self.cell(Field::Feedback);
        let place = |cell: &Cell| self.region.grid.place(cell.row, cell.column);
        Some(Session {
            number,
            date,
            week,
            phase,
            minutes: self.minutes(problems),
            order: self.word(Field::Order, problems, Aliases::order),
            variety: self.word(Field::Variety, problems, Aliases::variety),
            part: self
                .text(Field::Part)
                .map(|text| aliases.part(&key(&text)).map_or(text, Into::into)),
            feedback: self.word(Field::Feedback, problems, Aliases::feedback),
            feedback_percent: self.percent(feedback_is_share, problems),
            content: self.text(Field::Content),
            notes: self.text(Field::Notes),
            place: place(first),
            date_place: date_cell.filter(|_| date.is_some()).map(place),
            feedback_place: feedback_cell.map(place),
        })
    }

    fn cell(&self, field: Field) -> Option<&'g Cell> {
        self.columns.cell(self.cells, field)
    }

    fn text(&self, field: Field) -> Option<std::sync::Arc<str>> {
        self.cell(field).and_then(text_of)
    }

    fn date(&self, cell: &Cell, problems: &mut Vec<Problem>) -> Option<jiff::civil::Date> {
        let reading = self.context.dates.read(&cell.value, self.context.aliases());
        dates::report_unread(self.region.grid, cell, &reading, problems);
        match reading {
            DateReading::On(date) => Some(date),
            _ => None,
        }
    }

    fn phase(
        &self,
        cell: Option<&Cell>,
        problems: &mut Vec<Problem>,
    ) -> (Option<Phase>, Option<u32>) {
        let Some(cell) = cell else {
            return (None, None);
        };
        let text = cell_text(cell);
        match read_phase(&text, self.context.aliases()) {
            PhaseReading::One { phase, session } => (phase.or(Some(Phase::PRACTICE)), session),
            PhaseReading::Several(kinds) => {
                // A session of the programme that is called practice is practice.
                let kind = if kinds.contains(&PhaseKind::Practice) {
                    PhaseKind::Practice
                } else if kinds.contains(&PhaseKind::Post) {
                    PhaseKind::Post
                } else {
                    return (None, None);
                };
                let names: Vec<&str> = kinds.iter().map(|kind| kind.title()).collect();
                report(
                    problems,
                    Problem::at(
                        ProblemKind::AmbiguousColumn,
                        self.region.grid.place(cell.row, cell.column),
                        &text,
                        format!("“{text}” could be {}.", names.join(" or ")),
                        format!(
                            "It was read as {}. To settle it, add to cohort.toml under [phases]: {} = [\"{text}\"].",
                            kind.title(),
                            kind.name()
                        ),
                    ),
                );
                (Some(Phase::first(kind)), None)
            }
            PhaseReading::No => {
                if plain(&text).chars().any(|c| c != '-') {
                    self.left_open(cell, "phase", problems);
                }
                (None, None)
            }
        }
    }

    fn left_open(&self, cell: &Cell, what: &str, problems: &mut Vec<Problem>) {
        let text = cell_text(cell);
        report(
            problems,
            Problem::at(
                ProblemKind::AmbiguousValue,
                self.region.grid.place(cell.row, cell.column),
                &text,
                format!("“{text}” could not be read as {what}."),
                "It was left open.",
            ),
        );
    }

    fn word<T>(
        &self,
        field: Field,
        problems: &mut Vec<Problem>,
        meaning: impl Fn(&Aliases, &str) -> Option<T>,
    ) -> Option<T> {
        let cell = self.cell(field)?;
        let text = text_of(cell)?;
        let aliases = self.context.aliases();
        let found = meaning(aliases, &key(&text)).or_else(|| {
            // "KR after every trial": one word in the text decides, where it alone does.
            let mut meanings = words(&text)
                .into_iter()
                .filter(|word| word.len() > 1)
                .filter_map(|word| meaning(aliases, &word));
            let first = meanings.next()?;
            meanings.next().is_none().then_some(first)
        });
        if found.is_none()
            && plain(&text).chars().any(|c| c != '-')
            && aliases.cell_word(&key(&text)) != Some(super::aliases::CellWord::Missing)
        {
            self.left_open(cell, field.name(), problems);
        }
        found
    }

    fn minutes(&self, problems: &mut Vec<Problem>) -> Option<f64> {
        let cell = self.cell(Field::Minutes)?;
        match &cell.value {
            Value::Duration(days) => return Some((days * 1440.0 * 1000.0).round() / 1000.0),
            Value::Time(time) => {
                return Some(
                    f64::from(time.hour()) * 60.0
                        + f64::from(time.minute())
                        + f64::from(time.second()) / 60.0,
                );
            }
            _ => {}
        }
        let reading = cells::read(cell, self.context);
        if reading == NumberReading::No {
            match &cell.value {
                Value::Text(text) if clock(text).is_some() => return clock(text),
                _ => self.left_open(cell, "minutes", problems),
            }
        }
        let hours = matches!(&cell.value, Value::Text(text) if words(text).iter().any(|word| matches!(word.as_str(), "h" | "hr" | "hrs" | "hour" | "hours")));
        reading
            .number()
            .map(|minutes| if hours { minutes * 60.0 } else { minutes })
    }

    fn percent(&self, is_share: bool, problems: &mut Vec<Problem>) -> Option<f64> {
        let cell = self.cell(Field::FeedbackPercent)?;
        match cells::read(cell, self.context) {
            NumberReading::Number {
                value,
                percent: false,
            } if is_share => Some(value * 100.0),
            NumberReading::Number { value, .. } => Some(value),
            NumberReading::Missing => None,
            NumberReading::No => {
                self.left_open(cell, "a percentage", problems);
                None
            }
        }
    }
}

/// `1:30` and `1h 30`: hours and minutes.
fn clock(text: &str) -> Option<f64> {
    let words = words(text);
    let numbers: Vec<f64> = words.iter().filter_map(|word| word.parse().ok()).collect();
    match numbers.as_slice() {
        [hours, minutes]
            if text.contains(':') || words.iter().any(|word| word.starts_with('h')) =>
        {
            Some(hours * 60.0 + minutes)
        }
        _ => None,
    }
}

//! The About table: keys and values, down the rows or across one header row.

use std::sync::Arc;

use super::aliases::AboutKey;
use super::cells::cell_text;
use super::cells::text_of;
use super::columns::cell_at;
use super::dates::{self, DateReading};
use super::grid::{Cell, Value};
use super::model::{About, Recorded, Sourced};
use super::problem::{Problem, ProblemKind, report};
use super::read::Context;
use super::regions::{Region, about_key};
use super::spelling::{key, words};

/// The keys of an About table with their value cells, in reading order.
pub(crate) fn entries<'g>(
    region: &Region<'g>,
    context_aliases: &super::aliases::Aliases,
) -> Vec<(AboutKey, &'g Cell)> {
    let mut entries = Vec::new();
    if region.keyed {
        for row in &region.rows {
            if let [name, rest @ ..] = row
                && let Some(key) = about_key(name, context_aliases)
                && let Some(value) = rest.first()
            {
                entries.push((key, value));
            }
        }
    } else if let Some(row) = region.rows.first() {
        for header in &region.headers {
            if let Some(key) = header
                .cell()
                .and_then(|cell| about_key(cell, context_aliases))
                && let Some(value) = cell_at(row, header.column)
            {
                entries.push((key, value));
            }
        }
    }
    entries
}

/// Reads one About table into what others have left open.
pub(crate) fn read(
    region: &Region,
    context: &Context,
    about: &mut About,
    problems: &mut Vec<Problem>,
) {
    for (key, cell) in entries(region, context.aliases()) {
        let mut entry = Entry {
            region,
            context,
            cell,
            problems,
        };
        match key {
            AboutKey::Pair => entry.text(&mut about.pair),
            AboutKey::Coach => entry.text(&mut about.coach),
            AboutKey::Learner => entry.text(&mut about.learner),
            AboutKey::Skill => entry.text(&mut about.skill),
            AboutKey::Start => entry.date(&mut about.start),
            AboutKey::End => entry.date(&mut about.end),
            AboutKey::StageBefore => entry.text(&mut about.stage_before),
            AboutKey::StageAfter => entry.text(&mut about.stage_after),
            AboutKey::StageReason => entry.text(&mut about.stage_reason),
            AboutKey::Theory => entry.text(&mut about.theory),
            AboutKey::TheoryReason => entry.text(&mut about.theory_reason),
            AboutKey::Experience => entry.text(&mut about.experience),
            AboutKey::NovelContext => entry.text(&mut about.novel_context),
            AboutKey::LearningClaimed => entry.answer(&mut about.learning_claimed),
            AboutKey::Consent => entry.recorded(&mut about.consent),
            AboutKey::Screening => entry.recorded(&mut about.screening),
        }
    }
    report_unknown(region, context, problems);
}

/// Keys that About does not have.
fn report_unknown(region: &Region, context: &Context, problems: &mut Vec<Problem>) {
    let unknown: Vec<&Cell> = if region.keyed {
        region
            .rows
            .iter()
            .filter(|row| row.len() > 1)
            .filter_map(|row| row.first())
            .filter(|cell| about_key(cell, context.aliases()).is_none())
            .collect()
    } else {
        region
            .headers
            .iter()
            .filter_map(super::regions::Header::cell)
            .filter(|cell| about_key(cell, context.aliases()).is_none())
            .collect()
    };
    for cell in unknown {
        let text = cell_text(cell);
        let heads = context.aliases().about_header(&key(&text)).is_some();
        if text.chars().count() > 60 || heads {
            continue;
        }
        report(
            problems,
            Problem::at(
                ProblemKind::UnrecognisedColumn,
                region.grid.place(cell.row, cell.column),
                &text,
                format!("The About table has no entry “{text}”."),
                "Nothing was read from it.",
            ),
        );
    }
}

/// One value, with where it stands.
struct Entry<'e, 'g> {
    region: &'e Region<'g>,
    context: &'e Context<'e>,
    cell: &'e Cell,
    problems: &'e mut Vec<Problem>,
}

impl Entry<'_, '_> {
    fn sourced<T>(&self, value: T) -> Sourced<T> {
        Sourced {
            value,
            place: self.region.grid.place(self.cell.row, self.cell.column),
        }
    }

    /// The text; none for an empty cell or a dash.
    fn content(&self) -> Option<Arc<str>> {
        text_of(self.cell).filter(|text| !text.chars().all(|c| matches!(c, '-' | '–' | '—' | ' ')))
    }

    fn text(&self, slot: &mut Option<Sourced<Arc<str>>>) {
        if slot.is_none() {
            *slot = self.content().map(|text| self.sourced(text));
        }
    }

    fn date(&mut self, slot: &mut Option<Sourced<jiff::civil::Date>>) {
        if slot.is_some() {
            return;
        }
        let reading = self
            .context
            .dates
            .read(&self.cell.value, self.context.aliases());
        dates::report_unread(self.region.grid, self.cell, &reading, self.problems);
        if let DateReading::On(date) = reading {
            *slot = Some(self.sourced(date));
        }
    }

    fn yes_or_no(&self) -> Option<bool> {
        if let Value::Truth(truth) = &self.cell.value {
            return Some(*truth);
        }
        let text = self.content()?;
        let aliases = self.context.aliases();
        // "Yes, because …": the first word answers.
        aliases.answer(&key(&text)).or_else(|| {
            words(&text)
                .first()
                .filter(|word| word.len() > 1)
                .and_then(|word| aliases.answer(word))
        })
    }

    fn answer(&mut self, slot: &mut Option<Sourced<bool>>) {
        if slot.is_some() {
            return;
        }
        match self.yes_or_no() {
            Some(answer) => *slot = Some(self.sourced(answer)),
            None => {
                if let Some(text) = self.content() {
                    report(
                        self.problems,
                        Problem::at(
                            ProblemKind::AmbiguousValue,
                            self.region.grid.place(self.cell.row, self.cell.column),
                            text.to_string(),
                            format!("“{text}” is neither yes nor no."),
                            "It was left open.",
                        ),
                    );
                }
            }
        }
    }

    /// Yes, no or a date; nothing else is kept, because forms may hold health details.
    fn recorded(&self, slot: &mut Option<Sourced<Recorded>>) {
        if slot.is_some() {
            return;
        }
        let date = match self
            .context
            .dates
            .read(&self.cell.value, self.context.aliases())
        {
            DateReading::On(date) => Some(Recorded::On(date)),
            // Which of two days it was matters little: it took place.
            DateReading::TwoWays(..) => Some(Recorded::Yes),
            _ => None,
        };
        let recorded = date.or_else(|| {
            self.yes_or_no()
                .map(|yes| if yes { Recorded::Yes } else { Recorded::No })
        });
        *slot = recorded.map(|recorded| self.sourced(recorded));
    }
}

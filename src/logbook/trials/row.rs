//! What a row of a Trials table says of its trials.

use std::sync::Arc;

use jiff::civil::Date;

use super::SessionNaming;
use super::plan::{Layout, Role};
use super::reader::RowsReader;
use crate::logbook::aliases::{Aliases, Field};
use crate::logbook::cells::{is_dash, is_value, text_number, text_of, whole};
use crate::logbook::columns::cell_at;
use crate::logbook::dates::{self, DateReading};
use crate::logbook::grid::{Cell, Value};
use crate::logbook::labels::{Label, PhaseReading, read_phase, statistic_of_block};
use crate::logbook::model::{Measure, Score};
use crate::logbook::numbers::{NumberText, read_number};
use crate::logbook::spelling::{key, numbered};
use crate::phase::{Phase, PhaseKind};
use crate::statistic::Statistic;

/// What a row says of its trials.
#[derive(Debug, Clone, Default)]
pub(super) struct RowAbout<'g> {
    pub(super) phase: Option<Phase>,
    pub(super) open_phase: Option<(Vec<PhaseKind>, &'g Cell)>,
    pub(super) session: Option<u32>,
    pub(super) naming: SessionNaming,
    pub(super) week: Option<u32>,
    pub(super) date: Option<Date>,
    pub(super) number: Option<u32>,
    pub(super) block: Option<u32>,
    pub(super) measure: Option<usize>,
    pub(super) condition: Option<Arc<str>>,
    pub(super) rater: Option<Arc<str>>,
    pub(super) estimate: Option<f64>,
    pub(super) x: Option<(f64, &'g Cell)>,
    pub(super) y: Option<(f64, &'g Cell)>,
    pub(super) hidden: bool,
    /// Something in the row says which block it belongs to.
    pub(super) names_block: bool,
    /// A word in a phase cell that is no phase, with its cell.
    pub(super) unknown_phase: Option<&'g Cell>,
    /// A word in a session cell that is no session, with its cell.
    pub(super) unknown_session: Option<&'g Cell>,
    /// The first word that names a statistic.
    pub(super) summary: Option<(Option<Statistic>, Label, &'g Cell)>,
}

impl<'g> RowsReader<'g, '_> {
    pub(super) fn about(&mut self, row: &'g [Cell]) -> RowAbout<'g> {
        let mut about = RowAbout::default();
        let grid = self.region.grid;
        if let Some(first) = row.first()
            && !grid.hidden_rows.is_empty()
        {
            about.hidden = grid.hidden_rows.binary_search(&first.row).is_ok();
        }
        let mut role_at = 0;
        let mut first_text = None;
        let mut left = None;
        for cell in row {
            let left = left.replace(cell);
            while self
                .plan
                .roles
                .get(role_at)
                .is_some_and(|(column, _)| *column < cell.column)
            {
                role_at += 1;
            }
            match self.plan.roles.get(role_at) {
                Some((column, role)) if *column == cell.column => match role {
                    Role::About(field) => self.take_about(&mut about, *field, cell),
                    Role::Score(_) | Role::Computed(_) => {
                        first_text = first_text
                            .or(Some(cell).filter(|cell| matches!(cell.value, Value::Text(_))));
                    }
                    Role::Nothing => {}
                },
                _ => {
                    if is_value(cell) && !matches!(cell.value, Value::Text(_)) {
                        self.take_stray(left, cell);
                    }
                    first_text = first_text
                        .or(Some(cell).filter(|cell| matches!(cell.value, Value::Text(_))));
                }
            }
        }
        // A word that names a statistic stands for the row where nothing else says whose row it is.
        if about.summary.is_none()
            && about.number.is_none()
            && !about.names_block
            && let Some(cell) = first_text
        {
            self.take_summary(&mut about, cell);
        }
        self.take_merged(&mut about, row);
        self.carry_down(&mut about);
        about
    }

    /// A number in a column without a header: with the name of a statistic on its left it states one, else it is told.
    fn take_stray(&mut self, left: Option<&'g Cell>, cell: &'g Cell) {
        let aliases = self.context.aliases();
        let named = left
            .filter(|name| {
                let unused = matches!(self.plan.role(name.column), None | Some(Role::Nothing));
                unused && name.column + 1 == cell.column
            })
            .and_then(|name| match &name.value {
                Value::Text(text) if text.len() <= 60 => match aliases.statistic(&key(text)) {
                    Some(statistic) => Some((statistic, Label::default(), name)),
                    None => statistic_of_block(text, aliases)
                        .map(|(statistic, label)| (statistic, label, name)),
                },
                _ => None,
            });
        match named {
            Some((statistic, label, name)) => self.beside.push((statistic, label, name, cell)),
            None => self.strays.push(cell),
        }
    }

    pub(super) fn take_about(&mut self, about: &mut RowAbout<'g>, field: Field, cell: &'g Cell) {
        match field {
            Field::Phase => self.take_phase(about, cell),
            Field::Session => self.take_session(about, cell),
            Field::Date => self.take_date(about, cell),
            Field::Week => {
                about.week = whole(cell).or_else(|| text_number(cell));
            }
            Field::Trial => {
                about.number = whole(cell).or_else(|| text_number(cell));
                if about.number.is_none() {
                    self.take_summary(about, cell);
                }
            }
            Field::Block => about.block = whole(cell).or_else(|| text_number(cell)),
            Field::Measure => about.measure = self.take_measure(cell),
            Field::X => about.x = self.landing(cell).map(|x| (x, cell)),
            Field::Y => about.y = self.landing(cell).map(|y| (y, cell)),
            Field::Condition => about.condition = text_of(cell),
            Field::Rater => about.rater = text_of(cell),
            Field::Estimate => about.estimate = self.estimate(cell),
            Field::Pair | Field::Learner | Field::Coach if self.plan.layout != Layout::Long => {
                self.take_summary(about, cell);
            }
            _ => {}
        }
    }

    pub(super) fn take_phase(&mut self, about: &mut RowAbout<'g>, cell: &'g Cell) {
        let reading = match &cell.value {
            Value::Text(text) => {
                // Rows repeat the phase of the row above.
                match &self.last_phase {
                    Some((last, reading)) if last == text => reading.clone(),
                    _ => {
                        let reading = self.read_phase_cell(text);
                        self.last_phase = Some((text.clone(), reading.clone()));
                        reading
                    }
                }
            }
            // Tests by number: 1 is the first.
            Value::Number(_) => match whole(cell) {
                Some(number) => read_phase(&format!("test {number}"), self.context.aliases()),
                None => PhaseReading::No,
            },
            _ => PhaseReading::No,
        };
        match reading {
            PhaseReading::One { phase, session } => {
                about.phase = phase;
                about.names_block = true;
                if session.is_some() {
                    about.session = session;
                    about.naming = naming(phase);
                }
            }
            PhaseReading::Several(kinds) => {
                about.open_phase = Some((kinds, cell));
                about.names_block = true;
            }
            PhaseReading::No => {
                self.take_summary(about, cell);
                if about.summary.is_none() && !is_dash(cell) {
                    about.unknown_phase = Some(cell);
                }
            }
        }
    }

    fn read_phase_cell(&self, text: &str) -> PhaseReading {
        let aliases = self.context.aliases();
        if self.times_from_zero
            && let Some(number) = point_in_time(text, aliases)
            && let Ok(number) = usize::try_from(number)
        {
            let order = [Phase::PRE, Phase::POST, Phase::RETENTION, Phase::TRANSFER];
            return order
                .get(number)
                .map_or(PhaseReading::No, |phase| PhaseReading::One {
                    phase: Some(*phase),
                    session: None,
                });
        }
        if text.contains(' ')
            && aliases.phase(&key(text)).is_empty()
            && statistic_of_block(text, aliases).is_some()
        {
            // "Pre mean" stands for a row of averages.
            return PhaseReading::No;
        }
        read_phase(text, aliases)
    }

    pub(super) fn take_session(&mut self, about: &mut RowAbout<'g>, cell: &'g Cell) {
        if let Some(number) = whole(cell) {
            about.session = Some(number);
            about.naming = if self.sessions_name_phases {
                SessionNaming::SessionAlone
            } else {
                SessionNaming::Number
            };
            about.names_block = true;
            return;
        }
        let Value::Text(text) = &cell.value else {
            return;
        };
        if let PhaseReading::One { phase, session } = self.read_phase_cell(text) {
            about.phase = about.phase.or(phase);
            if session.is_some() {
                about.session = session;
                about.naming = naming(phase);
            }
            about.names_block = true;
            return;
        }
        if let Some((_, number)) = numbered(text) {
            about.session = Some(number);
            about.names_block = true;
            return;
        }
        self.take_summary(about, cell);
        if about.summary.is_none() && !is_dash(cell) {
            about.unknown_session = Some(cell);
        }
    }

    pub(super) fn take_date(&mut self, about: &mut RowAbout<'g>, cell: &'g Cell) {
        let reading = match &cell.value {
            Value::Text(text) => match &self.last_date {
                Some((last, reading)) if last == text => reading.clone(),
                _ => {
                    let reading = self.context.dates.read(&cell.value, self.context.aliases());
                    self.last_date = Some((text.clone(), reading.clone()));
                    self.report_date(cell, &reading);
                    reading
                }
            },
            value => {
                let reading = self.context.dates.read(value, self.context.aliases());
                self.report_date(cell, &reading);
                reading
            }
        };
        if let DateReading::On(date) = reading {
            about.date = Some(date);
            about.names_block = true;
        }
    }

    /// A date that can't be read is reported once for the cells that repeat it one below the other.
    pub(super) fn report_date(&mut self, cell: &Cell, reading: &DateReading) {
        if let Value::Text(text) = &cell.value
            && self.context.aliases().statistic(&key(text)).is_some()
        {
            return;
        }
        dates::report_unread(self.region.grid, cell, reading, self.problems);
    }

    pub(super) fn take_measure(&mut self, cell: &Cell) -> Option<usize> {
        let text = text_of(cell)?;
        if let Some((last, index)) = &self.last_measure
            && *last == text
        {
            return Some(*index);
        }
        let wanted = key(&text);
        let index = match self.measure_names.get(&wanted) {
            Some(index) => *index,
            None => self
                .like_measure(&wanted, &text, cell)
                .unwrap_or_else(|| self.add_measure(&text, cell)),
        };
        self.measure_names.insert(wanted, index);
        self.last_measure = Some((text, index));
        Some(index)
    }

    /// The one measure whose name is nearly this one ("throw accuracy" for "accuracy"), said to be read so.
    fn like_measure(&mut self, wanted: &str, text: &Arc<str>, cell: &Cell) -> Option<usize> {
        let described = self.context.measures;
        if !self.context.measures_described || described.len() > 50 {
            return None;
        }
        let like = |measure: &Measure| {
            let name = key(&measure.name);
            name.len() > 2 && wanted.len() > 2 && (name.contains(wanted) || wanted.contains(&name))
                || strsim::normalized_levenshtein(&name, wanted) >= 0.75
        };
        let mut alike = described
            .iter()
            .enumerate()
            .filter(|(_, measure)| like(measure));
        let (index, measure) = alike.next()?;
        if alike.next().is_some() {
            return None;
        }
        self.report_undescribed(text, cell, format!("It was read as “{}”.", measure.name));
        Some(index)
    }

    /// Adds a measure that the logbook doesn't describe.
    fn add_measure(&mut self, text: &Arc<str>, cell: &Cell) -> usize {
        let mut measure = self.context.settings.measure.clone().complete(text.clone());
        if self.context.measures_described {
            measure = Measure {
                name: text.clone(),
                ..Measure::undescribed()
            };
            self.report_undescribed(
                text,
                cell,
                "Its trials were read as a measure of their own, without a scale and higher is better.",
            );
        }
        self.out.further_measures.push(measure);
        self.context.measures.len() + self.out.further_measures.len() - 1
    }

    pub(super) fn landing(&mut self, cell: &'g Cell) -> Option<f64> {
        match self.score(cell, 0) {
            Score::Number(number) => Some(number),
            _ => None,
        }
    }

    pub(super) fn estimate(&mut self, cell: &Cell) -> Option<f64> {
        let number = match &cell.value {
            Value::Number(number) => Some(*number).filter(|number| number.is_finite()),
            Value::Text(text) => match read_number(text, self.marks.marks) {
                NumberText::Number(typed) => Some(typed.stated.value),
                NumberText::Fraction { numerator, .. } => Some(numerator),
                _ if self.context.aliases().cell_word(&key(text)).is_some() || is_dash(cell) => {
                    return None;
                }
                _ => None,
            },
            _ => None,
        };
        if number.is_none() {
            self.report_unknown(cell, "estimate");
        }
        number
    }

    /// A word that names a statistic, alone or with a block ("Mean", "Pre average").
    pub(super) fn take_summary(&mut self, about: &mut RowAbout<'g>, cell: &'g Cell) {
        let Value::Text(text) = &cell.value else {
            return;
        };
        if about.summary.is_some() || text.len() > 60 {
            return;
        }
        let aliases = self.context.aliases();
        let key = key(text);
        if let Some(statistic) = aliases.statistic(&key) {
            about.summary = Some((Some(statistic), Label::default(), cell));
        } else if aliases.is_computed(&key) {
            about.summary = Some((None, Label::default(), cell));
        } else if let Some((statistic, label)) = statistic_of_block(text, aliases) {
            about.summary = Some((Some(statistic), label, cell));
        }
    }

    /// A label merged over several rows holds for each of them.
    pub(super) fn take_merged(&mut self, about: &mut RowAbout<'g>, row: &[Cell]) {
        let grid = self.region.grid;
        let Some(line) = row.first().map(|cell| cell.row) else {
            return;
        };
        for at in 0..self.merged.len() {
            let Some(labels) = self.merged.get(at) else {
                continue;
            };
            let (field, column) = (labels.field, labels.column);
            let above = labels.rows.partition_point(|(first, _)| *first < line);
            let covering = above
                .checked_sub(1)
                .and_then(|at| labels.rows.get(at))
                .filter(|(_, last)| *last >= line);
            if let Some((first, _)) = covering
                && cell_at(row, column).is_none()
                && let Some(cell) = grid.get(*first, column)
            {
                let summary = about.summary;
                self.take_about(about, field, cell);
                about.summary = summary;
            }
        }
    }

    /// Where a row names no block at all, it belongs to the block of the row above.
    pub(super) fn carry_down(&self, about: &mut RowAbout<'g>) {
        if about.names_block || about.unknown_phase.is_some() || about.summary.is_some() {
            return;
        }
        let above = &self.above;
        about.phase = above.phase;
        about.open_phase.clone_from(&above.open_phase);
        about.session = above.session;
        about.naming = above.naming;
        about.date = above.date;
        about.week = about.week.or(above.week);
        about.names_block = above.names_block;
        if about.measure.is_none() {
            about.measure = above.measure;
        }
    }
}

/// A session named with practice counts over practice; named alone, it is a session of the programme.
fn naming(phase: Option<Phase>) -> SessionNaming {
    if phase.is_some() {
        SessionNaming::CountOfPractice
    } else {
        SessionNaming::SessionAlone
    }
}

/// The number of a point in time: 0 in `T0`, 1 in `time 1`.
pub(super) fn point_in_time(text: &str, aliases: &Aliases) -> Option<u32> {
    let (word, number) = numbered(text)?;
    let is_time = matches!(word.as_str(), "t" | "time" | "timepoint");
    (is_time && !aliases.phase(&key(text)).is_empty()).then_some(number)
}

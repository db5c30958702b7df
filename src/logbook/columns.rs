//! From a table's header to what each column holds. A header that could be two things is settled by what stands in its column and which
//! columns stand beside it; what stays open is reported, and so is every column that nothing is read from.

use super::aliases::{Aliases, Field, TableKind};
use super::cells::{cell_text, starts_as_number};
use super::grid::{Cell, Value};
use super::headers::HeaderCell;
use super::labels::{PhaseReading, read_phase, statistic_of_block};
use super::problem::{Problem, ProblemKind, report};
use super::regions::{Header, Region};
use super::spelling::{key, numbered};

/// Which column holds what.
#[derive(Debug, Clone, Default)]
pub(crate) struct Columns {
    fields: Vec<(Field, u32)>,
}

/// Cells looked at to decide what a column holds.
const SAMPLE: usize = 40;

impl Columns {
    /// The column of a field.
    pub(crate) fn of(&self, field: Field) -> Option<u32> {
        self.fields
            .iter()
            .find(|(of, _)| *of == field)
            .map(|(_, column)| *column)
    }

    /// The cell of a field in a row.
    pub(crate) fn cell<'g>(&self, row: &'g [Cell], field: Field) -> Option<&'g Cell> {
        cell_at(row, self.of(field)?)
    }

    pub(crate) fn insert(&mut self, field: Field, column: u32) {
        self.fields.push((field, column));
    }
}

/// The cell of a row in a column.
pub(crate) fn cell_at(row: &[Cell], column: u32) -> Option<&Cell> {
    row.binary_search_by_key(&column, |cell| cell.column)
        .ok()
        .and_then(|at| row.get(at))
}

/// The columns of a table other than Trials, whose layouts need more.
pub(crate) fn columns(region: &Region, aliases: &Aliases, problems: &mut Vec<Problem>) -> Columns {
    let mut choice = Choice::new(region, aliases);
    for header in &region.headers {
        let read = read_header(header, region.kind, aliases);
        choice.offer(header, fields_of(&read, region.kind));
    }
    choice.settle(problems)
}

/// What a header means in a table of this kind: its words in two rows as one, else the lower row's, with what the upper row adds.
pub(crate) fn read_header(header: &Header, kind: TableKind, aliases: &Aliases) -> HeaderCell {
    let single = |cell: &Cell| {
        let mut read = HeaderCell::of(cell, aliases)
            .unwrap_or_else(|| HeaderCell::of_text(header.column, "", aliases));
        read.column = header.column;
        read
    };
    match (header.upper, header.lower) {
        (Some(upper), Some(lower)) => {
            let joined = HeaderCell::of_text(header.column, &header.text(), aliases);
            let names = |read: &HeaderCell| read.fields.iter().any(|(of, _)| *of == kind);
            let (upper, mut lower) = (single(upper), single(lower));
            // Two words of one header ("Test" over "phase"), not the name of a group over a column's own ("Result" over "rep").
            let one_header = joined.key != upper.key
                && aliases
                    .column(&joined.key)
                    .iter()
                    .any(|(of, _)| *of == kind);
            if one_header || names(&joined) && !names(&lower) {
                return joined;
            }
            if lower.fields.is_empty() && lower.label.names_block() && !upper.fields.is_empty() {
                return HeaderCell {
                    label: lower.label,
                    ..upper
                };
            }
            lower.label = lower.label.or(upper.label);
            lower.date |= upper.date;
            if lower.fields.is_empty()
                && !lower.computed
                && lower.label == super::labels::Label::default()
            {
                // A unit or a weekday below: the upper word is the header.
                lower.fields = upper.fields;
                lower.computed = upper.computed;
                lower.key = upper.key;
            }
            lower
        }
        (Some(only), None) | (None, Some(only)) => single(only),
        (None, None) => HeaderCell::of_text(header.column, "", aliases),
    }
}

/// The columns of this table that a header may name.
pub(crate) fn fields_of(read: &HeaderCell, kind: TableKind) -> Vec<Field> {
    read.fields
        .iter()
        .filter(|(of, _)| *of == kind)
        .map(|(_, field)| *field)
        .collect()
}

/// Collects what each header may be, then settles all of them together.
pub(crate) struct Choice<'r, 'g> {
    region: &'r Region<'g>,
    aliases: &'r Aliases,
    offered: Vec<(&'r Header<'g>, Vec<Field>)>,
}

impl<'r, 'g> Choice<'r, 'g> {
    pub(crate) fn new(region: &'r Region<'g>, aliases: &'r Aliases) -> Self {
        Self {
            region,
            aliases,
            offered: Vec::new(),
        }
    }

    pub(crate) fn offer(&mut self, header: &'r Header<'g>, fields: Vec<Field>) {
        self.offered.push((header, fields));
    }

    /// Settles the columns, and reports the headers that name none.
    pub(crate) fn settle(self, problems: &mut Vec<Problem>) -> Columns {
        let region = self.region;
        let (columns, unnamed) = self.settle_named(problems);
        for header in unnamed {
            if let Some(problem) = unrecognised(region, header) {
                report(problems, problem);
            }
        }
        columns
    }

    /// Settles the columns: headers with one meaning first, then the others by their content and by what is still free. Gives the headers
    /// that name none, too.
    pub(crate) fn settle_named(
        self,
        problems: &mut Vec<Problem>,
    ) -> (Columns, Vec<&'r Header<'g>>) {
        let mut columns = Columns::default();
        let mut unnamed = Vec::new();
        for (header, fields) in &self.offered {
            match fields.as_slice() {
                [] => unnamed.push(*header),
                [field] if columns.of(*field).is_none() => columns.insert(*field, header.column),
                [field] => self.second(header, *field, &columns, problems),
                _ => {}
            }
        }
        for (header, fields) in &self.offered {
            if fields.len() > 1 && !self.settle_one(header, fields, &mut columns, problems) {
                unnamed.push(*header);
            }
        }
        unnamed.retain(|header| !self.names_statistics(header));
        (columns, unnamed)
    }

    /// Whether what the column is could be settled, or there is nothing in it.
    fn settle_one(
        &self,
        header: &Header,
        fields: &[Field],
        columns: &mut Columns,
        problems: &mut Vec<Problem>,
    ) -> bool {
        let sample = sample(self.region, header.column);
        let mut fits: Vec<(Field, u32)> = fields
            .iter()
            .map(|field| (*field, fit(*field, &sample, self.aliases)))
            .collect();
        // A stable sort: readings that fit alike keep the order of the list.
        fits.sort_by_key(|(_, fit)| std::cmp::Reverse(*fit));
        let free: Vec<(Field, u32)> = fits
            .iter()
            .copied()
            .filter(|(field, _)| columns.of(*field).is_none())
            .collect();
        let best_fit = fits.first().map_or(0, |(_, fit)| *fit);
        match free.as_slice() {
            // Nothing in the column to decide by, and nothing to read either.
            _ if sample.is_empty() => {}
            [(field, fit), rest @ ..] if *fit > 0 && *fit * 2 >= best_fit => {
                // A column of dates begins with digits as one of numbers does, and is one of dates.
                let dates = *field == Field::Date && *fit == 100;
                if let Some((other, other_fit)) = rest.first()
                    && other_fit == fit
                    && !dates
                {
                    report(problems, self.ambiguous(header, *field, *other));
                }
                columns.insert(*field, header.column);
            }
            // "condition" over "4 m", "5 m", "6 m": the content says nothing, the column's own name does.
            [(field, _), ..] | [_, (field, _), ..] if key(field.name()) == key(&header.text()) => {
                columns.insert(*field, header.column);
            }
            _ => match fits.first() {
                Some((field, fit)) if *fit > 0 && columns.of(*field).is_some() => {
                    self.second(header, *field, columns, problems);
                }
                _ => return false,
            },
        }
        true
    }

    fn ambiguous(&self, header: &Header, read: Field, other: Field) -> Problem {
        let text = header.text();
        let settle = match self.aliases.line_for(read, &text) {
            Some(line) => format!("To settle it, add to cohort.toml under [columns]: {line}."),
            None => String::from("A header as in the blank logbook settles it."),
        };
        Problem::at(
            ProblemKind::AmbiguousColumn,
            self.place(header),
            &text,
            format!(
                "The header “{text}” could be {} or {}.",
                read.name(),
                other.name()
            ),
            format!("It was read as {}. {settle}", read.name()),
        )
    }

    /// A second column of one kind: the first is used.
    fn second(
        &self,
        header: &Header,
        field: Field,
        columns: &Columns,
        problems: &mut Vec<Problem>,
    ) {
        if sample(self.region, header.column).is_empty()
            || matches!(field, Field::Notes | Field::Content)
        {
            return;
        }
        let text = header.text();
        let mut problem = Problem::at(
            ProblemKind::AmbiguousColumn,
            self.place(header),
            &text,
            format!(
                "Two columns read as {}; the second is “{text}”.",
                field.name()
            ),
            String::from(
                "The first was used. A spelling for one of them in cohort.toml under [columns] settles it.",
            ),
        );
        let first = columns.of(field).and_then(|column| {
            self.region
                .headers
                .iter()
                .find(|header| header.column == column)
        });
        if let Some(first) = first {
            problem.places.push(self.place(first));
        }
        report(problems, problem);
    }

    /// Names of the averages that stand beside the table are no column of it.
    fn names_statistics(&self, header: &Header) -> bool {
        let names = |cell: &&Cell| {
            matches!(&cell.value, Value::Text(text) if self.aliases.statistic(&key(text)).is_some()
                || statistic_of_block(text, self.aliases).is_some())
        };
        sample(self.region, header.column).iter().all(names)
    }

    fn place(&self, header: &Header) -> crate::place::Place {
        place_of(self.region, header)
    }
}

/// A header that no column of this table has, where anything stands below it.
pub(crate) fn unrecognised(region: &Region, header: &Header) -> Option<Problem> {
    let text = header.text();
    (!sample(region, header.column).is_empty() && !text.is_empty()).then(|| {
        Problem::at(
            ProblemKind::UnrecognisedColumn,
            place_of(region, header),
            &text,
            format!("The {} table has no column “{text}”.", region.kind.name()),
            "Nothing was read from it. If it is a column under another name, add the name to cohort.toml under [columns].",
        )
    })
}

pub(crate) fn place_of(region: &Region, header: &Header) -> crate::place::Place {
    let cell = header.cell();
    region.grid.place(
        cell.map_or(0, |cell| cell.row),
        cell.map_or(header.column, |cell| cell.column),
    )
}

/// The first cells of a column that hold something.
pub(crate) fn sample<'g>(region: &Region<'g>, column: u32) -> Vec<&'g Cell> {
    region
        .rows
        .iter()
        .filter_map(|row| cell_at(row, column))
        .filter(|cell| !matches!(&cell.value, Value::Text(text) if text.trim().is_empty()))
        .take(SAMPLE)
        .collect()
}

/// How well cells fit a column of this kind, in percent.
pub(crate) fn fit(field: Field, cells: &[&Cell], aliases: &Aliases) -> u32 {
    let share = |fits: &dyn Fn(&Cell) -> bool| {
        let n = cells.iter().filter(|cell| fits(cell)).count();
        u32::try_from(n * 100 / cells.len().max(1)).unwrap_or(0)
    };
    let number = |cell: &Cell| match &cell.value {
        Value::Number(_) => true,
        Value::Text(text) => starts_as_number(text),
        _ => false,
    };
    match field {
        Field::Phase | Field::Versus => {
            // A stage of learning is no phase, though "initial" and "final" may be either.
            let stages = share(&|cell| stage_of_learning(cell, aliases));
            let phases = share(
                &|cell| matches!(&cell.value, Value::Text(text) if read_phase(text, aliases) != PhaseReading::No),
            );
            if stages > phases { 0 } else { phases }
        }
        Field::LearningStage => share(&|cell| stage_of_learning(cell, aliases)),
        Field::Date => share(&|cell| match &cell.value {
            Value::Date(_) => true,
            Value::Text(text) => super::dates::looks_like_date(text, aliases),
            Value::Number(serial) => (36_000.0..60_000.0).contains(serial),
            _ => false,
        }),
        Field::Session | Field::Week | Field::Trial | Field::Block => {
            share(&|cell| match &cell.value {
                Value::Number(number) => number.fract() == 0.0 && (0.0..1_000.0).contains(number),
                Value::Text(text) => {
                    numbered(text).is_some() && !super::dates::looks_like_date(text, aliases)
                }
                _ => false,
            })
        }
        Field::Score
        | Field::X
        | Field::Y
        | Field::Estimate
        | Field::Minutes
        | Field::FeedbackPercent
        | Field::Lowest
        | Field::Highest
        | Field::Step
        | Field::Target
        | Field::Value
        | Field::TrialCount => share(&number),
        Field::Rating => share(&|cell| {
            number(cell)
                || matches!(&cell.value, Value::Truth(_))
                || matches!(&cell.value, Value::Text(text) if aliases.answer(&key(text)).is_some())
        }),
        // Words of any kind: what fits better goes before.
        Field::Condition => {
            let words = share(&|cell| !number(cell)) * 6 / 10;
            words.max(if few_values(cells) { 45 } else { 0 })
        }
        _ => share(&|cell| !number(cell)) * 6 / 10,
    }
}

/// Whether a column repeats a few values: what was set, not what was scored.
fn few_values(cells: &[&Cell]) -> bool {
    let mut values: Vec<String> = Vec::new();
    for cell in cells {
        let text = cell_text(cell);
        if !values.contains(&text) {
            values.push(text);
        }
    }
    cells.len() >= 6 && values.len() <= 2
}

fn stage_of_learning(cell: &Cell, aliases: &Aliases) -> bool {
    matches!(&cell.value, Value::Text(text) if aliases.is_learning_stage(&key(text)))
}

//! From the grids of one hand-in to its logbook: the tables are found, dates and scales settled from all of them, and each is read.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::about;
use super::aliases::{AboutKey, Aliases, Field, TableKind};
use super::cells::cell_text;
use super::cells::text_of;
use super::claims::{self, Claimed};
use super::columns::cell_at;
use super::dates::Dates;
use super::grid::{Grid, Value};
use super::headers::HeaderCell;
use super::measures;
use super::model::{About, Claim, Logbook, Measure, Score, Session, Sourced, Tables, Trial};
use super::problem::{Problem, ProblemKind, report};
use super::regions::{self, Found, Header, Region, Supposed};
use super::sessions;
use super::settings::ReadingSettings;
use super::spelling::key;
use super::summaries;
use super::technique;
use super::trials::averages;
use super::trials::index::TrialIndex;
use super::trials::{TrialsRead, complete, reader, restarts};
use crate::phase::Phase;
use crate::place::{Place, Spot};

/// What reading a table needs of the hand-in as a whole.
pub(crate) struct Context<'a> {
    /// The cohort's settings.
    pub settings: &'a ReadingSettings,
    /// The hand-in's dates, settled.
    pub dates: Dates,
    /// All grids: formulas speak of other sheets.
    pub grids: &'a [Grid],
    /// The measures; empty until the Measures table has been read.
    pub measures: &'a [Measure],
    /// There is a Measures table.
    pub measures_described: bool,
    /// The phase of each session by its number; empty until the Sessions table has been read.
    pub phase_of_session: HashMap<u32, Phase>,
    /// How many cells formulas may still take in: a hand-in made of formulas over whole columns must not take for ever.
    formula_cells: std::cell::Cell<usize>,
}

/// Far beyond what the formulas of an honest hand-in take in.
const CELLS_IN_FORMULAS: usize = 20_000_000;

impl Context<'_> {
    /// The spellings that are taken.
    pub(crate) fn aliases(&self) -> &Aliases {
        &self.settings.aliases
    }

    /// Whether formulas may take in so many more cells.
    pub(crate) fn may_take_in(&self, cells: usize) -> bool {
        let left = self.formula_cells.get();
        self.formula_cells.set(left.saturating_sub(cells));
        left >= cells
    }
}

/// Reads the grids of one hand-in. `name` is the hand-in's file or folder, relative to the submissions. Whatever can't be understood is
/// a problem of the logbook; reading itself never fails.
pub fn read(name: &str, grids: &[Grid], settings: &ReadingSettings) -> Logbook {
    let aliases: &Aliases = &settings.aliases;
    let mut problems = Vec::new();
    let tables = find_tables_with_measures(grids, aliases, &mut problems);
    let of = |kind: TableKind| tables.iter().filter(move |(_, region)| region.kind == kind);

    let mut context = Context {
        settings,
        dates: settle_dates(&tables, settings),
        grids,
        measures: &[],
        measures_described: false,
        phase_of_session: HashMap::new(),
        formula_cells: std::cell::Cell::new(CELLS_IN_FORMULAS),
    };
    let mut about = About::default();
    for (_, region) in of(TableKind::About) {
        about::read(region, &context, &mut about, &mut problems);
    }
    let mut measures: Vec<Measure> = Vec::new();
    for (_, region) in of(TableKind::Measures) {
        measures.extend(measures::read(region, &context, &mut problems));
    }
    context.measures_described = !measures.is_empty();
    context.measures = &measures;

    let mut sessions = Vec::new();
    for (_, region) in of(TableKind::Sessions) {
        sessions.extend(sessions::read(region, &context, &mut problems));
    }
    context.phase_of_session = phases_by_number(&sessions);
    let mut trials_read = TrialsRead::default();
    let default_measure;
    if !context.measures_described
        && !of(TableKind::Trials).any(|(_, region)| names_measures(region, aliases))
    {
        default_measure = [settings.measure.clone().complete("score".into())];
        context.measures = &default_measure;
    }
    for (grid, region) in of(TableKind::Trials) {
        reader::read(region, *grid, &context, &mut trials_read, &mut problems);
    }
    restarts::count_through(&mut sessions, &mut trials_read.drafts, &mut problems);
    let trials = complete::complete(&mut trials_read, &sessions, grids, &mut problems);
    report_without_phase(&trials, &mut problems);
    let mut technique = Vec::new();
    for (_, region) in of(TableKind::Technique) {
        technique.extend(technique::read(region, &context, &mut problems));
    }

    let mut all_measures: Vec<Measure> = context
        .measures
        .iter()
        .cloned()
        .chain(std::mem::take(&mut trials_read.further_measures))
        .collect();
    if all_measures.is_empty() {
        all_measures.push(settings.measure.clone().complete("score".into()));
    }
    let has_formulas = tables.iter().any(|(_, region)| {
        region
            .rows
            .iter()
            .any(|row| row.iter().any(|cell| cell.formula.is_some()))
    });
    let index = TrialIndex::new(&trials, &trials_read.drafts, has_formulas);
    let claimed = Claimed {
        context: &context,
        index: &index,
        measures: measures_by_key(&all_measures),
    };
    let mut claims = Vec::new();
    for (grid, region) in of(TableKind::Claims) {
        claims.extend(claims::read(region, *grid, &claimed, &mut problems));
    }
    claims.extend(averages::claims(
        &trials_read.averages,
        &index,
        &context,
        &mut problems,
    ));
    number_claims(&mut claims);
    if about.pair.is_none() {
        about.pair = pair_in_tables(&tables, aliases);
    }
    Logbook {
        name: name.into(),
        files: files(grids),
        about,
        measures: all_measures,
        sessions,
        trials,
        technique,
        claims,
        tables: places(&tables),
        problems,
    }
}

fn measures_by_key(measures: &[Measure]) -> HashMap<String, usize> {
    let mut names = HashMap::new();
    for (index, measure) in measures.iter().enumerate() {
        names.entry(key(&measure.name)).or_insert(index);
    }
    names
}

fn phases_by_number(sessions: &[Session]) -> HashMap<u32, Phase> {
    let mut phases = HashMap::new();
    for session in sessions {
        if let (Some(number), Some(phase)) = (session.number, session.phase) {
            phases.entry(number).or_insert(phase);
        }
    }
    phases
}

/// Trials of no known phase enter no statistic: that is said, where no word in a phase cell has been reported already.
fn report_without_phase(trials: &[Trial], problems: &mut Vec<Problem>) {
    let without = || trials.iter().filter(|trial| trial.phase.is_none());
    let Some(first) = without().next() else {
        return;
    };
    let n = without().count();
    problems.push(Problem {
        kind: ProblemKind::AmbiguousValue,
        places: without()
            .take(20)
            .map(|trial| trial.place.clone())
            .collect(),
        text: match &first.score {
            Score::Number(number) => crate::number::plain(*number),
            Score::Missing => String::new(),
            Score::Unreadable(text) => text.to_string(),
        },
        says: format!(
            "{n} {} no phase, neither in their own row or column nor in the Sessions table.",
            if n == 1 { "trial has" } else { "trials have" }
        ),
        settle: String::from("They enter no statistic."),
        looks_like: None,
        line: None,
    });
}

fn number_claims(claims: &mut [Claim]) {
    for (index, claim) in claims.iter_mut().enumerate() {
        claim.id = Arc::from(format!("c{}", index + 1));
    }
}

/// The files of the grids, each once, in order.
fn files(grids: &[Grid]) -> Vec<Arc<str>> {
    let mut files: Vec<Arc<str>> = Vec::new();
    for grid in grids {
        if !files.contains(&grid.file) {
            files.push(grid.file.clone());
        }
    }
    files
}

/// The tables of all grids. Where no Trials table shows itself, its score columns may go by the names of the measures.
fn find_tables_with_measures<'g>(
    grids: &'g [Grid],
    aliases: &Aliases,
    problems: &mut Vec<Problem>,
) -> Vec<(usize, Region<'g>)> {
    let tables = find_tables(grids, aliases, problems);
    if tables
        .iter()
        .any(|(_, region)| region.kind == TableKind::Trials && region.supposed.is_none())
    {
        return tables;
    }
    let names: Vec<String> = tables
        .iter()
        .filter(|(_, region)| region.kind == TableKind::Measures)
        .filter_map(|(_, region)| Some((region, column_named(region, Field::Measure, aliases)?)))
        .flat_map(|(region, column)| {
            region
                .rows
                .iter()
                .filter_map(move |row| cell_at(row, column))
        })
        .map(cell_text)
        .collect();
    if names.is_empty() {
        return tables;
    }
    problems.clear();
    find_tables(grids, &aliases.with_score_columns(&names), problems)
}

/// The tables of all grids, each with its grid's index. A table on a hidden sheet counts only where no visible sheet has that table.
fn find_tables<'g>(
    grids: &'g [Grid],
    aliases: &Aliases,
    problems: &mut Vec<Problem>,
) -> Vec<(usize, Region<'g>)> {
    let mut found: Vec<(usize, Found<'g>)> = grids
        .iter()
        .enumerate()
        .map(|(index, grid)| (index, regions::find(grid, aliases)))
        .collect();
    drop_suppositions(&mut found);
    summaries::leave_out(&mut found, aliases, problems);
    let visible: HashSet<TableKind> = found
        .iter()
        .flat_map(|(_, found)| &found.regions)
        .filter(|region| !region.grid.hidden && region.supposed.is_none())
        .map(|region| region.kind)
        .collect();
    let no_trials = !found
        .iter()
        .flat_map(|(_, found)| &found.regions)
        .any(|region| region.kind == TableKind::Trials);
    let mut tables = Vec::new();
    for (index, found) in found {
        report_outside(grids.get(index), &found, no_trials, problems);
        for mut region in found.regions {
            cut(&mut region, problems);
            if region.grid.hidden && visible.contains(&region.kind) {
                report(problems, left_out(&region));
            } else {
                tables.push((index, region));
            }
        }
    }
    tables
}

/// Where some table of trials shows itself by its columns, one whose header names neither phases nor trials is no second one.
fn drop_suppositions(found: &mut [(usize, Found)]) {
    let trials = found
        .iter()
        .flat_map(|(_, found)| &found.regions)
        .any(|region| {
            region.kind == TableKind::Trials && region.supposed != Some(Supposed::Unnamed)
        });
    if !trials {
        return;
    }
    for (_, found) in found {
        let Found { regions, outside } = found;
        regions.retain(|region| {
            let drop = region.supposed == Some(Supposed::Unnamed);
            if drop {
                outside.extend(region.rows.iter().filter_map(|row| {
                    row.iter()
                        .find(|cell| matches!(cell.value, Value::Number(_)))
                }));
            }
            !drop
        });
    }
}

/// More rows than a table other than Trials can honestly have.
const MOST_ROWS: usize = 10_000;

/// Cuts a table without end.
fn cut(region: &mut Region, problems: &mut Vec<Problem>) {
    if region.kind == TableKind::Trials || region.rows.len() <= MOST_ROWS {
        return;
    }
    let first = region.rows.get(MOST_ROWS).and_then(|row| row.first());
    if let Some(cell) = first {
        problems.push(Problem::at(
            ProblemKind::AmbiguousValue,
            region.grid.place(cell.row, cell.column),
            cell_text(cell),
            format!(
                "The {} table has more than {MOST_ROWS} rows.",
                region.kind.name()
            ),
            "What follows was not read.",
        ));
    }
    region.rows.truncate(MOST_ROWS);
}

fn left_out(region: &Region) -> Problem {
    let kind = region.kind.name();
    Problem {
        kind: ProblemKind::HiddenData,
        places: vec![sheet_place(region.grid)],
        text: region.grid.name().to_owned(),
        says: format!("The hidden sheet holds another {kind} table."),
        settle: format!("The {kind} table on the visible sheet was read, this one was not."),
        looks_like: None,
        line: None,
    }
}

fn sheet_place(grid: &Grid) -> Place {
    Place {
        file: grid.file.clone(),
        spot: match &grid.source {
            super::grid::Source::Sheet(sheet) => Spot::Sheet(sheet.clone()),
            super::grid::Source::Text { .. } => Spot::File,
        },
    }
}

/// Rows of numbers outside every table that may be the trials of a hand-in without a table of them.
const ROWS_OF_TRIALS: usize = 3;

/// Numbers outside every table are not dropped in silence; where there are no trials, they may be those.
fn report_outside(
    grid: Option<&Grid>,
    found: &Found,
    no_trials: bool,
    problems: &mut Vec<Problem>,
) {
    let (Some(grid), Some(first)) = (grid, found.outside.first()) else {
        return;
    };
    let rows = found.outside.len();
    report(
        problems,
        Problem {
            kind: ProblemKind::UnrecognisedColumn,
            places: found
                .outside
                .iter()
                .take(20)
                .map(|cell| grid.place(cell.row, cell.column))
                .collect(),
            text: cell_text(first),
            says: format!(
                "{rows} {} of numbers {} to no table that could be recognised.",
                if rows == 1 { "row" } else { "rows" },
                if rows == 1 { "belongs" } else { "belong" }
            ),
            settle: String::from(
                "Nothing was read from there. A header row with the names of the columns settles it.",
            ),
            looks_like: (no_trials && rows >= ROWS_OF_TRIALS).then_some(Field::Score),
            line: None,
        },
    );
}

/// Settles the order of day and month, and the year of dates without one, from all dates of the hand-in.
fn settle_dates(tables: &[(usize, Region)], settings: &ReadingSettings) -> Dates {
    let aliases: &Aliases = &settings.aliases;
    let columns: Vec<(&Region, u32)> = tables
        .iter()
        .filter(|(_, region)| !region.keyed)
        .flat_map(|(_, region)| {
            region
                .headers
                .iter()
                .filter(|header| may_be_date(header, region.kind, aliases))
                .map(move |header| (region, header.column))
        })
        .collect();
    let in_columns = columns
        .iter()
        .flat_map(|(region, column)| region.rows.iter().filter_map(|row| cell_at(row, *column)));
    let in_headers = tables
        .iter()
        .filter(|(_, region)| region.kind == TableKind::Trials)
        .flat_map(|(_, region)| region.headers.iter().flat_map(Header::cells))
        .filter(|cell| matches!(&cell.value, Value::Date(_)) || matches!(&cell.value, Value::Text(text) if super::dates::looks_like_date(text, aliases)));
    let entry = |key: AboutKey| {
        tables
            .iter()
            .filter(|(_, region)| region.kind == TableKind::About)
            .flat_map(|(_, region)| about::entries(region, aliases))
            .find(|(of, _)| *of == key)
            .map(|(_, cell)| cell)
    };
    Dates::settle(
        in_columns.chain(in_headers),
        (entry(AboutKey::Start), entry(AboutKey::End)),
        settings.date_order,
        aliases,
    )
}

fn may_be_date(header: &Header, kind: TableKind, aliases: &Aliases) -> bool {
    header
        .cells()
        .filter_map(|cell| HeaderCell::of(cell, aliases))
        .any(|cell| cell.may_be(kind, Field::Date))
}

/// Whether a Trials table has a column that names measures.
fn names_measures(region: &Region, aliases: &Aliases) -> bool {
    column_named(region, Field::Measure, aliases)
        .is_some_and(|column| region.rows.iter().any(|row| cell_at(row, column).is_some()))
}

pub(super) fn column_named(region: &Region, field: Field, aliases: &Aliases) -> Option<u32> {
    region
        .headers
        .iter()
        .find(|header| {
            header
                .cell()
                .and_then(|cell| HeaderCell::of(cell, aliases))
                .is_some_and(|cell| cell.may_be(region.kind, field))
        })
        .map(|header| header.column)
}

/// The pair's id from a column of another table, where About names none and every row names the same.
fn pair_in_tables(tables: &[(usize, Region)], aliases: &Aliases) -> Option<Sourced<Arc<str>>> {
    tables
        .iter()
        .filter(|(_, region)| matches!(region.kind, TableKind::Trials | TableKind::Sessions))
        .find_map(|(_, region)| {
            let column = column_named(region, Field::Pair, aliases)?;
            let mut cells = region.rows.iter().filter_map(|row| cell_at(row, column));
            let first = cells.next()?;
            let text = text_of(first)?;
            cells
                .all(|cell| cell.value == first.value)
                .then(|| Sourced {
                    value: text,
                    place: region.grid.place(first.row, first.column),
                })
        })
}

/// Where each table begins: its first header cell, or its first key.
fn places(tables: &[(usize, Region)]) -> Tables {
    let mut places = Tables::default();
    for (_, region) in tables {
        let slot = match region.kind {
            TableKind::About => &mut places.about,
            TableKind::Measures => &mut places.measures,
            TableKind::Sessions => &mut places.sessions,
            TableKind::Trials => &mut places.trials,
            TableKind::Technique => &mut places.technique,
            TableKind::Claims => &mut places.claims,
        };
        if slot.is_none() {
            let cell = region
                .headers
                .first()
                .and_then(Header::cell)
                .or_else(|| region.rows.first().and_then(|row| row.first()));
            *slot = cell.map(|cell| region.grid.place(cell.row, cell.column));
        }
    }
    places
}

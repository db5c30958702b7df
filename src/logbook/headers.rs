//! What a single header cell may mean, before its neighbours and its column are looked at.

use super::aliases::{AboutKey, Aliases, Counted, Field, TableKind};
use super::cells::whole_number;
use super::dates::looks_like_date;
use super::grid::{Cell, Value};
use super::labels::{Label, read_label, statistic_of_block};
use super::spelling::{key, words};

/// Everything that a header cell may mean.
#[derive(Debug, Clone)]
pub(crate) struct HeaderCell {
    /// Where it stands.
    pub column: u32,
    /// The key of its text.
    pub key: String,
    /// The columns that it may name, over all tables.
    pub fields: Vec<(TableKind, Field)>,
    /// The phase, session or trial that it names.
    pub label: Label,
    /// It heads something computed (an average, a total).
    pub computed: bool,
    /// The About key that it names.
    pub about: Option<AboutKey>,
    /// It is a date.
    pub date: bool,
    /// It names one of several raters ("Rater A").
    pub rater: bool,
}

/// How long a header may be: anything longer is prose.
const LONGEST_HEADER: usize = 60;

impl HeaderCell {
    /// What a cell may mean as a header; none where it can't be one (a number that counts nothing, an error, prose).
    pub(crate) fn of(cell: &Cell, aliases: &Aliases) -> Option<Self> {
        match &cell.value {
            Value::Text(text) if text.chars().count() <= LONGEST_HEADER => {
                Some(Self::of_text(cell.column, text, aliases))
            }
            // A question of a form is a header where the course says so.
            Value::Text(text) if text.len() < 600 => {
                let key = key(text);
                let fields = aliases.column(&key).to_vec();
                (!fields.is_empty()).then(|| Self {
                    key,
                    fields,
                    ..Self::empty(cell.column)
                })
            }
            Value::Number(number) => whole_number(*number).map(|number| Self {
                label: Label {
                    bare: Some(number),
                    ..Label::default()
                },
                ..Self::empty(cell.column)
            }),
            Value::Date(_) => Some(Self {
                date: true,
                ..Self::empty(cell.column)
            }),
            _ => None,
        }
    }

    pub(crate) fn of_text(column: u32, text: &str, aliases: &Aliases) -> Self {
        let key = key(text);
        let mut fields = aliases.column(&key).to_vec();
        if fields.is_empty() {
            // A scale or unit without brackets: "Score 1-4", "Distance cm".
            fields = aliases
                .column(without_tail(text, aliases).as_deref().unwrap_or_default())
                .to_vec();
        }
        let mut label = read_label(text, aliases);
        // "S2" is the second session, "s²" the variance.
        let counts = (label.session.is_some() || label.rater.is_some())
            && text.trim_end().ends_with(|c: char| c.is_ascii_digit());
        let mut computed =
            !counts && (aliases.statistic(&key).is_some() || aliases.is_computed(&key));
        if fields.is_empty()
            && !computed
            && label == Label::default()
            && let Some((_, block)) = statistic_of_block(text, aliases)
        {
            label = block;
            computed = true;
        }
        let date = fields.is_empty()
            && !computed
            && label == Label::default()
            && text.contains(|c: char| c.is_ascii_digit())
            && looks_like_date(text, aliases);
        Self {
            column,
            fields,
            label,
            computed,
            about: aliases.about_key(&key),
            date,
            rater: names_rater(text, aliases),
            key,
        }
    }

    fn empty(column: u32) -> Self {
        Self {
            column,
            key: String::new(),
            fields: Vec::new(),
            label: Label::default(),
            computed: false,
            about: None,
            date: false,
            rater: false,
        }
    }

    /// It is a number that counts something (1, 2, 3).
    pub(crate) fn is_number(&self) -> bool {
        self.label.bare.is_some()
    }

    /// Whether it may name a column of a table.
    pub(crate) fn may_be(&self, kind: TableKind, field: Field) -> bool {
        self.fields.contains(&(kind, field))
    }
}

/// Whether a text names one of several raters: "Rater 1", "Judge B".
pub(crate) fn names_rater(text: &str, aliases: &Aliases) -> bool {
    let mut words = words(text);
    // "Score rater 1", "Judge B score".
    words.retain(|word| {
        let named = aliases.column(word);
        aliases.counted(word) == Some(Counted::Rater)
            || !named.contains(&(TableKind::Trials, Field::Score))
    });
    match words.as_slice() {
        [word, name] => {
            aliases.counted(word) == Some(Counted::Rater) && word.len() > 1 && name.len() <= 2
        }
        _ => false,
    }
}

/// The key of a header without the scale, range or unit at its end.
fn without_tail(text: &str, aliases: &Aliases) -> Option<String> {
    if let Some((head, tail)) = text.trim().rsplit_once(" out of ")
        && tail.trim().parse::<f64>().is_ok()
    {
        return Some(key(head));
    }
    let trimmed = text.trim_end_matches(|c: char| {
        c.is_ascii_digit() || matches!(c, '-' | '–' | '/' | ' ' | ',' | ':' | '%')
    });
    if trimmed.len() < text.trim_end().len() && text.contains(['-', '–', '/', '%']) {
        return Some(key(trimmed));
    }
    let (head, unit) = text.trim().rsplit_once([' ', '/', '_', ','])?;
    (aliases.is_unit(&key(unit)) || key(unit) == "%").then(|| key(head))
}

/// Which table a row of header cells heads, if it is a header row at all. `named` is the table that the title, sheet or file names: it
/// counts only where the columns don't settle it.
pub(crate) fn table_of(cells: &[HeaderCell], named: Option<TableKind>) -> Option<TableKind> {
    let filled = cells.len();
    let named_columns = |kind: TableKind| {
        let mut fields: Vec<Field> = Vec::new();
        let mut columns = 0_usize;
        for cell in cells {
            let mut any = false;
            for (_, field) in cell.fields.iter().filter(|(of, _)| *of == kind) {
                any = true;
                if !fields.contains(field) {
                    fields.push(*field);
                }
            }
            columns += usize::from(any);
        }
        (fields, columns)
    };
    let mut best: Option<(TableKind, usize)> = None;
    let mut propose = |kind: TableKind, weight: usize| {
        if best.is_none_or(|(_, other)| weight > other) {
            best = Some((kind, weight));
        }
    };
    for kind in [
        TableKind::Claims,
        TableKind::Technique,
        TableKind::Measures,
        TableKind::Sessions,
        TableKind::Trials,
    ] {
        let (fields, mut columns) = named_columns(kind);
        if kind == TableKind::Technique && fields.contains(&Field::Element) {
            // A checklist with a column a phase.
            columns += blocks(cells);
        }
        if kind == TableKind::Trials {
            columns += cells
                .iter()
                .filter(|cell| cell.rater || (cell.computed && cell.fields.is_empty()))
                .count();
        }
        let has = |field: Field| fields.contains(&field);
        let any = |list: &[Field]| list.iter().any(|field| has(*field));
        let sound = match kind {
            TableKind::Claims => has(Field::Statistic) && has(Field::Value) && columns >= 2,
            TableKind::Technique => {
                has(Field::Element)
                    && (any(&[Field::Rating, Field::Observer]) && columns >= 2
                        || blocks(cells) >= 2)
            }
            TableKind::Measures => {
                has(Field::Measure)
                    && any(&[
                        Field::Kind,
                        Field::Better,
                        Field::Lowest,
                        Field::Highest,
                        Field::Scale,
                    ])
                    && columns >= 3
            }
            TableKind::Sessions => {
                any(&[Field::Session, Field::Date, Field::Week])
                    && any(&[
                        Field::Minutes,
                        Field::Order,
                        Field::Variety,
                        Field::Part,
                        Field::Feedback,
                        Field::FeedbackPercent,
                        Field::Content,
                    ])
                    && columns >= 3
                    || named == Some(TableKind::Sessions) && has(Field::Session) && columns >= 2
            }
            TableKind::Trials => long_trials(cells, &fields, columns),
            TableKind::About => false,
        };
        let named_so = named == Some(kind);
        if (sound || (named_so && columns >= 2 && kind != TableKind::Trials))
            && columns * 2 >= filled
        {
            propose(kind, columns * 2 + usize::from(named_so));
        }
    }
    if let Some(weight) = wide_trials(cells) {
        propose(
            TableKind::Trials,
            weight * 2 + usize::from(named == Some(TableKind::Trials)),
        );
    }
    let keys = cells.iter().filter(|cell| cell.about.is_some()).count();
    if keys >= 3 && keys * 2 >= filled {
        propose(
            TableKind::About,
            keys * 2 - usize::from(named != Some(TableKind::About)),
        );
    }
    best.map(|(kind, _)| kind)
}

/// Columns that name a phase, session or week.
fn blocks(cells: &[HeaderCell]) -> usize {
    cells
        .iter()
        .filter(|cell| (cell.label.names_block() || cell.date) && !cell.computed)
        .count()
}

/// A score column and something that says whose trial it is.
fn long_trials(cells: &[HeaderCell], fields: &[Field], columns: usize) -> bool {
    let has = |field: Field| fields.contains(&field);
    let raters = cells.iter().filter(|cell| cell.rater).count();
    let score = has(Field::Score) || (has(Field::X) && has(Field::Y)) || raters >= 2;
    let trial_of = [
        Field::Phase,
        Field::Trial,
        Field::Session,
        Field::Date,
        Field::Week,
        Field::Rater,
    ]
    .into_iter()
    .any(has);
    // A row of numbers is no header.
    score
        && trial_of
        && columns + raters >= 2
        && !cells.iter().any(|cell| cell.is_number() || cell.date)
}

/// How many columns speak for a wide layout of trials, where enough do.
fn wide_trials(cells: &[HeaderCell]) -> Option<usize> {
    let numbered = cells
        .iter()
        .filter(|cell| cell.label.trial.is_some())
        .count();
    let counted = counting_run(cells);
    let bare = cells
        .iter()
        .filter(|cell| cell.label.bare.is_some())
        .count();
    let blocks = blocks(cells);
    let columns_of_trials = |cell: &&HeaderCell| {
        [
            Field::Phase,
            Field::Session,
            Field::Date,
            Field::Week,
            Field::Measure,
            Field::Condition,
            Field::Rater,
            Field::Learner,
            Field::Pair,
            Field::Block,
            Field::Trial,
        ]
        .into_iter()
        .any(|field| cell.may_be(TableKind::Trials, field))
    };
    let attributes = cells
        .iter()
        .filter(|cell| !cell.label.names_block() && cell.label.trial.is_none())
        .filter(columns_of_trials)
        .count();
    let computed = cells.iter().filter(|cell| cell.computed).count();
    let heads_trials = cells
        .iter()
        .any(|cell| cell.may_be(TableKind::Trials, Field::Trial) && cell.label.trial.is_none());
    let known = numbered.max(counted) + blocks + attributes + computed;
    let enough = known * 2 >= cells.len();
    let phases = cells
        .iter()
        .filter(|cell| cell.label.phase.is_some())
        .count();
    let heads_blocks = cells.iter().any(|cell| {
        cell.label == Label::default()
            && [Field::Phase, Field::Session, Field::Trial]
                .into_iter()
                .any(|field| cell.may_be(TableKind::Trials, field))
    });
    if bare > 0 && (counted < bare || phases > 0 && !heads_blocks) {
        // Numbers that don't count from one to the next are data, and so are those behind the name of a phase, unless a column of phases
        // is headed too.
        return None;
    }
    if enough && (numbered >= 2 || counted >= 3) {
        return Some(numbered.max(counted) + attributes + computed);
    }
    let dates = cells.iter().filter(|cell| cell.date).count();
    let first_is_label = cells
        .first()
        .is_some_and(|cell| !cell.date && !cell.is_number());
    let by_block = bare == 0
        && (blocks >= 2 && (phases >= 1 || heads_trials || blocks == cells.len())
            || blocks >= 1 && heads_trials)
        && (dates == 0 || first_is_label);
    (enough && by_block).then_some(blocks + attributes + computed)
}

/// How many bare numbers count 1, 2, 3 … from left to right (from 0 or 1). Where they begin again, each run must be long enough to be a
/// count: successes and failures are ones and noughts in a row too.
fn counting_run(cells: &[HeaderCell]) -> usize {
    let numbers: Vec<u32> = cells.iter().filter_map(|cell| cell.label.bare).collect();
    let mut runs = numbers.chunk_by(|a, b| *b == a + 1).peekable();
    let one = numbers.chunk_by(|a, b| *b == a + 1).count() == 1;
    let counts = runs.peek().is_some()
        && runs.all(|run| run.first().is_some_and(|first| *first <= 1) && (one || run.len() >= 3));
    if counts { numbers.len() } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::grid::Grid;

    fn table(row: &str) -> Option<TableKind> {
        let grid = Grid::from_rows("Sheet1", &[row]);
        let aliases = Aliases::default();
        let cells: Option<Vec<HeaderCell>> = grid
            .cells
            .iter()
            .map(|cell| HeaderCell::of(cell, &aliases))
            .collect();
        table_of(&cells?, None)
    }

    #[test]
    fn canonical_headers() {
        assert_eq!(
            table("session|date|phase|trial|measure|score|x|y|condition|rater|estimate|notes"),
            Some(TableKind::Trials)
        );
        assert_eq!(
            table(
                "session|date|week|phase|minutes|order|variety|part|feedback|feedback %|content|notes"
            ),
            Some(TableKind::Sessions)
        );
        assert_eq!(
            table("measure|kind|unit|better|lowest|highest|step|target"),
            Some(TableKind::Measures)
        );
        assert_eq!(
            table("phase|element|rating|observer"),
            Some(TableKind::Technique)
        );
        assert_eq!(
            table("statistic|measure|phase|versus|value|unit|where"),
            Some(TableKind::Claims)
        );
        assert_eq!(
            table("pair|coach|learner|skill|start|end"),
            Some(TableKind::About)
        );
    }

    #[test]
    fn headers_of_wide_layouts() {
        assert_eq!(table("Phase|T1|T2|T3|Average"), Some(TableKind::Trials));
        assert_eq!(table("Phase|1|2|3|4"), Some(TableKind::Trials));
        assert_eq!(table("Trial|Pre|Post|Retention"), Some(TableKind::Trials));
        assert_eq!(
            table("Attempt #|Session 1|Session 2"),
            Some(TableKind::Trials)
        );
        assert_eq!(
            table("Timestamp|Performer|TestPhase|Pretest-T-1|Pretest-T-2"),
            Some(TableKind::Trials)
        );
        assert_eq!(
            table("Trial|@2026-03-02|@2026-03-09"),
            Some(TableKind::Trials)
        );
        assert_eq!(
            table("Test phase|Attempt|Score (1-4)"),
            Some(TableKind::Trials)
        );
        assert_eq!(table("fase|tentativa|pontuação"), Some(TableKind::Trials));
    }

    #[test]
    fn rows_of_data_are_no_headers() {
        assert_eq!(table("1|@2026-03-02|pre|1|score|3"), None);
        assert_eq!(table("pre|3|2|4"), None);
        assert_eq!(table("accuracy|rating|points|higher|1|4|1"), None);
        assert_eq!(table("The scores are out of four."), None);
    }
}

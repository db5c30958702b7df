//! What each column of a Trials table is: something about the trial, a score, or something computed.

mod layout;
mod titles;
mod unnamed;

use std::sync::Arc;

use jiff::civil::Date;

pub(crate) use self::titles::block_named;
use self::titles::fallback;
use crate::logbook::aliases::{Aliases, Field, TableKind};
use crate::logbook::cells::cell_text;
use crate::logbook::columns::{
    Choice, Columns, fields_of, fit, place_of, read_header, sample, unrecognised,
};
use crate::logbook::grid::{Cell, Value};
use crate::logbook::headers::{HeaderCell, names_rater};
use crate::logbook::labels::{Label, read_label, statistic_of_block};
use crate::logbook::model::Measure;
use crate::logbook::problem::{Problem, ProblemKind, report};
use crate::logbook::regions::{Header, Region};
use crate::logbook::spelling::key;
use crate::statistic::Statistic;

/// How the trials are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Layout {
    /// One row a trial, one score column (or one a measure or rater).
    Long,
    /// One row a block, one column a trial.
    RowABlock,
    /// One column a phase or session, one row a trial.
    ColumnABlock,
}

/// A column of scores, with what its header says of them.
#[derive(Debug, Clone, Default)]
pub(crate) struct ScoreColumn {
    pub column: u32,
    pub label: Label,
    pub date: Option<Date>,
    pub measure: Option<usize>,
    pub rater: Option<Arc<str>>,
    /// Which of several columns of the same week it is, and which of all columns of weeks, both from 1.
    pub nth_of_week: Option<(u32, u32)>,
}

/// A column of averages, totals or the like.
#[derive(Debug, Clone)]
pub(crate) struct ComputedColumn {
    pub column: u32,
    pub statistic: Option<Statistic>,
    pub text: String,
    pub label: Label,
}

/// What a column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    About(Field),
    Score(usize),
    Computed(usize),
    /// Reported already, or without meaning.
    Nothing,
}

/// The columns of one Trials table.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    pub layout: Layout,
    pub scores: Vec<ScoreColumn>,
    pub computed: Vec<ComputedColumn>,
    /// What each column is, in order of columns; columns without a header are not listed.
    pub roles: Vec<(u32, Role)>,
    /// What the title or the sheet's name says of all trials.
    pub fallback: Label,
}

impl Plan {
    /// What a column is; none where it has no header.
    pub(crate) fn role(&self, column: u32) -> Option<Role> {
        self.roles
            .binary_search_by_key(&column, |(of, _)| *of)
            .ok()
            .and_then(|at| self.roles.get(at))
            .map(|(_, role)| *role)
    }
}

/// Finds what the columns of a Trials table are.
pub(crate) fn plan(
    region: &Region,
    measures: &[Measure],
    aliases: &Aliases,
    read_date: &dyn Fn(&Cell) -> Option<Date>,
    problems: &mut Vec<Problem>,
) -> Plan {
    let mut planner = Planner {
        region,
        measures,
        aliases,
        heads: region
            .headers
            .iter()
            .map(|header| Head {
                header,
                read: read_header(header, TableKind::Trials, aliases),
                date: header_date(header, read_date),
            })
            .collect(),
        layout: Layout::Long,
        scores: Vec::new(),
        computed: Vec::new(),
        about: Columns::default(),
        nothing: Vec::new(),
        unnamed: Vec::new(),
    };
    planner.lay_out();
    planner.score_columns();
    planner.other_columns(problems);
    planner.first_column_without_header();
    planner.report_unnamed(problems);
    planner.finish()
}

fn header_date(header: &Header, read_date: &dyn Fn(&Cell) -> Option<Date>) -> Option<Date> {
    [header.lower, header.upper]
        .into_iter()
        .flatten()
        .find_map(|cell| match &cell.value {
            Value::Date(_) => read_date(cell),
            Value::Text(text) if text.contains(|c: char| c.is_ascii_digit()) && text.len() >= 4 => {
                read_date(cell)
            }
            _ => None,
        })
}

struct Head<'r, 'g> {
    header: &'r Header<'g>,
    read: HeaderCell,
    date: Option<Date>,
}

impl Head<'_, '_> {
    fn column(&self) -> u32 {
        self.header.column
    }

    fn may_be(&self, field: Field) -> bool {
        self.read.may_be(TableKind::Trials, field)
    }

    /// Names a block and nothing that every row could have.
    fn names_block(&self) -> bool {
        self.read.label.names_block() || self.date.is_some()
    }
}

struct Planner<'r, 'g> {
    region: &'r Region<'g>,
    measures: &'r [Measure],
    aliases: &'r Aliases,
    heads: Vec<Head<'r, 'g>>,
    layout: Layout,
    scores: Vec<ScoreColumn>,
    computed: Vec<ComputedColumn>,
    about: Columns,
    nothing: Vec<u32>,
    /// Headers that name no column.
    unnamed: Vec<&'r Header<'g>>,
}

impl<'r, 'g> Planner<'r, 'g> {
    /// The columns that hold scores by what their headers name.
    fn score_columns(&mut self) {
        let mut scores = Vec::new();
        for head in &self.heads {
            let label = head.read.label;
            let wide = match self.layout {
                Layout::RowABlock => label.trial.is_some(),
                Layout::ColumnABlock => {
                    head.names_block() && !self.is_about_rows(head) && !head.read.computed
                }
                Layout::Long => false,
            };
            let measure = self.measure_named(&head.header.text()).or_else(|| {
                head.header
                    .lower
                    .and_then(|cell| self.measure_named(&cell_text(cell)))
            });
            let by_measure =
                measure.is_some() && !wide && self.is_numeric(head.column()) && !head.read.computed;
            let by_rater = self.names_rater(head) && self.is_numeric(head.column());
            let labelled_score =
                head.may_be(Field::Score) && head.names_block() && label.trial.is_none();
            if wide || by_measure || by_rater || labelled_score {
                scores.push(ScoreColumn {
                    column: head.column(),
                    label,
                    date: head.date,
                    measure: measure.or_else(|| self.measure_above(head)),
                    rater: by_rater.then(|| Arc::from(rater_text(head).as_str())),
                    nth_of_week: None,
                });
            }
        }
        count_weeks(&mut scores);
        self.scores = scores;
    }

    fn measure_named(&self, text: &str) -> Option<usize> {
        let wanted = key(text);
        self.measures
            .iter()
            .position(|measure| !wanted.is_empty() && key(&measure.name) == wanted)
    }

    fn measure_above(&self, head: &Head) -> Option<usize> {
        head.header
            .upper
            .and_then(|cell| self.measure_named(&cell_text(cell)))
    }

    /// "Rater 1", "Judge B", "Score (rater A)".
    fn names_rater(&self, head: &Head) -> bool {
        if head.read.label.rater.is_some() {
            return true;
        }
        names_rater(&rater_text(head), self.aliases)
    }

    fn is_numeric(&self, column: u32) -> bool {
        let cells = sample(self.region, column);
        !cells.is_empty() && fit(Field::Score, &cells, self.aliases) >= 50
    }

    /// Computed columns, then everything that says something about the trial.
    fn other_columns(&mut self, problems: &mut Vec<Problem>) {
        let long = self.layout == Layout::Long;
        let certain_score = !self.scores.is_empty()
            || self.heads.iter().any(|head| {
                fields_of(&head.read, TableKind::Trials) == [Field::Score] && !head.read.computed
            });
        let mut choice = Choice::new(self.region, self.aliases);
        let mut wide_scores: Vec<&'r Header<'g>> = Vec::new();
        for head in &self.heads {
            if self
                .scores
                .iter()
                .any(|score| score.column == head.column())
            {
                continue;
            }
            let mut fields = fields_of(&head.read, TableKind::Trials);
            let counts_trials = fields.contains(&Field::Trial) && long;
            let may_score = fields.contains(&Field::Score);
            if head.read.computed && !counts_trials && !(long && may_score && !certain_score) {
                self.computed.push(ComputedColumn {
                    column: head.column(),
                    statistic: self.statistic_of(head),
                    text: head.header.text(),
                    label: head.read.label,
                });
                continue;
            }
            if !long || !self.scores.is_empty() {
                let before = fields.len();
                fields.retain(|field| *field != Field::Score);
                if fields.is_empty() && before > 0 {
                    wide_scores.push(head.header);
                    continue;
                }
            }
            if head.names_block() && fields.contains(&Field::Trial) {
                // "Trial" under "Pre" and again under "Post": one of them counts the rows.
                if self.about.of(Field::Trial).is_none() {
                    self.about.insert(Field::Trial, head.column());
                } else {
                    self.nothing.push(head.column());
                }
                continue;
            }
            choice.offer(head.header, fields);
        }
        let (settled, unnamed) = choice.settle_named(problems);
        self.unnamed = unnamed;
        for field in Field::ALL {
            if let Some(column) = settled.of(*field) {
                if *field == Field::Score {
                    self.scores.push(ScoreColumn {
                        column,
                        label: self
                            .heads
                            .iter()
                            .find(|head| head.column() == column)
                            .map(|head| head.read.label)
                            .unwrap_or_default(),
                        ..ScoreColumn::default()
                    });
                } else if *field == Field::LearningStage {
                    self.nothing.push(column);
                    let header = self
                        .region
                        .headers
                        .iter()
                        .find(|header| header.column == column);
                    problems.extend(header.and_then(|header| unrecognised(self.region, header)));
                } else if self.about.of(*field).is_none() {
                    self.about.insert(*field, column);
                }
            }
        }
        for header in wide_scores {
            let text = header.text();
            if !sample(self.region, header.column).is_empty() {
                report(
                    problems,
                    Problem::at(
                        ProblemKind::AmbiguousColumn,
                        place_of(self.region, header),
                        &text,
                        format!(
                            "“{text}” stands beside columns that hold a score each: it may be a total or another score."
                        ),
                        "Nothing was read from it.",
                    ),
                );
            }
        }
    }

    fn statistic_of(&self, head: &Head) -> Option<Statistic> {
        self.aliases
            .statistic(&head.read.key)
            .or_else(|| {
                head.header
                    .lower
                    .and_then(|cell| self.aliases.statistic(&key(&cell_text(cell))))
            })
            .or_else(|| {
                statistic_of_block(&head.header.text(), self.aliases)
                    .map(|(statistic, _)| statistic)
            })
    }

    /// Row labels in a first column without a header.
    fn first_column_without_header(&mut self) {
        let Some(column) = self
            .region
            .rows
            .iter()
            .take(10)
            .filter_map(|row| row.first())
            .map(|cell| cell.column)
            .min()
        else {
            return;
        };
        if self
            .region
            .headers
            .iter()
            .any(|header| header.column <= column)
        {
            return;
        }
        let cells = sample(self.region, column);
        let field = if fit(Field::Phase, &cells, self.aliases) >= 50
            || labels_blocks(&cells, self.aliases)
        {
            Field::Phase
        } else if fit(Field::Date, &cells, self.aliases) >= 50 {
            Field::Date
        } else if fit(Field::Trial, &cells, self.aliases) >= 50 {
            if self.layout == Layout::RowABlock {
                Field::Session
            } else {
                Field::Trial
            }
        } else {
            return;
        };
        if self.about.of(field).is_none() {
            self.about.insert(field, column);
        }
    }

    fn finish(self) -> Plan {
        let mut roles: Vec<(u32, Role)> = Vec::new();
        for (index, score) in self.scores.iter().enumerate() {
            roles.push((score.column, Role::Score(index)));
        }
        for (index, computed) in self.computed.iter().enumerate() {
            roles.push((computed.column, Role::Computed(index)));
        }
        for field in Field::ALL {
            if let Some(column) = self.about.of(*field) {
                roles.push((column, Role::About(*field)));
            }
        }
        for header in &self.region.headers {
            if !roles.iter().any(|(column, _)| *column == header.column) {
                roles.push((header.column, Role::Nothing));
            }
        }
        roles.sort_unstable_by_key(|(column, _)| *column);
        Plan {
            layout: self.layout,
            scores: self.scores,
            computed: self.computed,
            roles,
            fallback: fallback(self.region, self.aliases),
        }
    }
}

fn labels_blocks(cells: &[&Cell], aliases: &Aliases) -> bool {
    let named = cells
        .iter()
        .filter(|cell| matches!(&cell.value, Value::Text(text) if read_label(text, aliases).names_block()))
        .count();
    named * 2 >= cells.len() && named > 0
}

fn rater_text(head: &Head) -> String {
    let text = head.header.text();
    match crate::logbook::spelling::in_brackets(&text) {
        Some(inside) if head.may_be(Field::Score) => inside.to_owned(),
        _ => text,
    }
}

/// Columns that share a week (Monday, Wednesday) are its sessions, one after the other.
fn count_weeks(scores: &mut [ScoreColumn]) {
    let weeks: Vec<Option<u32>> = scores
        .iter()
        .map(|score| {
            score.label.week.filter(|_| {
                score.label.session.is_none() && score.label.trial.is_none() && score.date.is_none()
            })
        })
        .collect();
    let mut all = 0_u32;
    for (index, week) in weeks.iter().enumerate() {
        let Some(week) = week else {
            continue;
        };
        all += 1;
        let before = weeks
            .iter()
            .take(index)
            .filter(|other| **other == Some(*week))
            .count();
        let shared = weeks.iter().filter(|other| **other == Some(*week)).count() > 1;
        if let Some(score) = scores.get_mut(index)
            && shared
        {
            let nth = u32::try_from(before + 1).unwrap_or(u32::MAX);
            score.nth_of_week = Some((nth, all));
        }
    }
    // Where one week has several columns, the others count along.
    if scores.iter().any(|score| score.nth_of_week.is_some()) {
        let mut all = 0_u32;
        for (score, week) in scores.iter_mut().zip(weeks) {
            if week.is_some() {
                all += 1;
                let nth = score.nth_of_week.map_or(1, |(nth, _)| nth);
                score.nth_of_week = Some((nth, all));
            }
        }
    }
}

/// The cell of a row that stands in the column with this role.
pub(crate) fn column_of(plan: &Plan, field: Field) -> Option<u32> {
    plan.roles
        .iter()
        .find(|(_, role)| *role == Role::About(field))
        .map(|(column, _)| *column)
}

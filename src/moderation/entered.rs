//! What markers entered as the `marks` checks see it.

use super::gather::{Gathered, Scale};
use super::markers::{MarkerReport, Severity};
use crate::checks::marks::{
    Boundary, CriterionMarks, Figure, MarkEntry, MarkerFigures, PairMarks, Role,
};
use crate::cohort::Roster;
use crate::examination::{CohortResult, PairResult};
use crate::ledger::{Entry, Held, PairState, Slot, State, Subject};
use crate::place::{Place, cell_named};
use crate::rubric::{Criterion, Each, Rubric};
use crate::stats::correlation::partial;

/// The marks of the pairs that handed in and are to be marked.
pub fn pair_marks(
    rubric: &Rubric,
    roster: Option<&Roster>,
    state: &State,
    entries: &[Entry],
    cohort: &CohortResult,
) -> Vec<PairMarks> {
    cohort
        .results()
        .filter(|result| result.hand_in.is_some())
        .filter(|result| roster.is_none_or(|roster| roster.takes_part(&result.pair)))
        .map(|result| PairMarks {
            pair: result.pair.to_string(),
            criteria: rubric
                .criteria
                .iter()
                .flat_map(|criterion| {
                    let students = students(roster, criterion, &result);
                    let state = state.pair(&result.pair);
                    students
                        .into_iter()
                        .map(|student| of(criterion, student, &result, state, entries))
                        .collect::<Vec<_>>()
                })
                .collect(),
        })
        .collect()
}

fn students(
    roster: Option<&Roster>,
    criterion: &Criterion,
    result: &PairResult,
) -> Vec<Option<String>> {
    if criterion.each == Each::Pair {
        return vec![None];
    }
    let students = roster.into_iter().flat_map(|r| r.of_pair(&result.pair));
    students
        .filter(|student| student.status.takes_part())
        .map(|student| Some(student.id.to_string()))
        .collect()
}

fn of(
    criterion: &Criterion,
    student: Option<String>,
    result: &PairResult,
    state: Option<&PairState>,
    entries: &[Entry],
) -> CriterionMarks {
    let mut suggestions = result.suggestions.iter();
    let suggestion = suggestions.find(|suggestion| suggestion.criterion == criterion.id);
    let id = student.as_deref().unwrap_or("");
    let in_slot =
        |subject: &Subject, slot| state.and_then(|state| state.in_slot(subject, id, slot));
    let subject = Subject::Mark(criterion.id.clone());
    let roles = [
        (Slot::First, Role::First),
        (Slot::Second, Role::Second),
        (Slot::Deciding, Role::Moderator),
    ];
    let mut entered: Vec<(usize, MarkEntry)> = roles
        .into_iter()
        .filter_map(|(slot, role)| {
            let held = in_slot(&subject, slot)?;
            Some((held.line, entry(held, role, entries)?))
        })
        .collect();
    entered.sort_by_key(|(line, _)| *line);
    let judged = criterion.judged.iter().map(|part| {
        let subject = Subject::Judged(criterion.id.clone(), part.id.clone());
        let held = state.and_then(|state| state.standing(&subject, id));
        held?.value.parse::<f64>().ok()
    });
    let judged: Option<f64> = judged.sum();
    CriterionMarks {
        criterion: criterion.id.clone(),
        out_of: criterion.marks,
        step: None,
        evidence_points: suggestion.map_or(0.0, |suggestion| suggestion.out_of),
        suggested: suggestion
            .filter(|suggestion| suggestion.out_of > 0.0)
            .map(|suggestion| suggestion.suggested),
        judged_out_of: suggestion.map_or(criterion.marks, |suggestion| suggestion.judged_out_of),
        judged: judged.filter(|_| !criterion.judged.is_empty()),
        entries: entered.into_iter().map(|(_, entry)| entry).collect(),
        student,
    }
}

fn entry(held: &Held, role: Role, entries: &[Entry]) -> Option<MarkEntry> {
    let line = entries.get(held.line);
    Some(MarkEntry {
        marker: held.who.clone(),
        role,
        mark: held.value.parse().ok()?,
        reason: (!held.why.is_empty()).then(|| held.why.clone()),
        place: line.and_then(place),
    })
}

/// The cell that a ledger line was read from.
fn place(entry: &Entry) -> Option<Place> {
    if entry.file.is_empty() {
        return None;
    }
    let cell = || {
        let (sheet, name) = entry.cell.rsplit_once('!')?;
        let (row, column) = cell_named(name)?;
        let sheet = sheet.trim_matches('\'').replace("''", "'");
        Some(Place::cell(
            entry.file.as_str().into(),
            sheet.into(),
            row,
            column,
        ))
    };
    Some(cell().unwrap_or_else(|| Place::file(entry.file.as_str())))
}

/// The levels of the total and the pass mark, from low to high.
pub fn boundaries(rubric: &Rubric) -> Vec<Boundary> {
    let levels = rubric.levels.iter().map(|level| Boundary {
        title: level.title.clone(),
        from: level.from,
    });
    let pass = rubric.pass.map(|from| Boundary {
        title: String::from("pass"),
        from,
    });
    let mut boundaries: Vec<Boundary> = levels.chain(pass).collect();
    boundaries.sort_by(|a, b| a.from.total_cmp(&b.from));
    boundaries
}

/// The figures of each marker that checks judge.
pub fn figures(reports: &[MarkerReport], severity: Option<&Severity>) -> Vec<MarkerFigures> {
    reports
        .iter()
        .map(|report| {
            let told = severity
                .and_then(|severity| severity.told(&report.marker))
                .filter(|_| report.shared >= super::FEW);
            MarkerFigures {
                marker: report.marker.clone(),
                than: told.as_ref().and_then(|told| told.than.clone()),
                severity: told.and_then(|told| {
                    let interval = told.interval?;
                    Some(Figure {
                        value: told.value,
                        low: interval.low,
                        high: interval.high,
                        n: report.shared,
                    })
                }),
                spread: report.spread.map(|spread| Figure {
                    value: spread.value,
                    low: spread.interval.low,
                    high: spread.interval.high,
                    n: report.marked,
                }),
            }
        })
        .collect()
}

/// The correlation of first markers' totals with the learners' gains, the evidence held constant.
pub fn follow_gain(gathered: &Gathered) -> Option<Figure> {
    let mut series: [Vec<f64>; 3] = Default::default();
    for pair in &gathered.pairs {
        let mut totals = pair
            .markings
            .iter()
            .filter_map(|marking| gathered.value(marking, &Scale::Total));
        if let (Some(total), Some(gain), Some(evidence)) = (totals.next(), pair.gain, pair.evidence)
        {
            for (list, value) in series.iter_mut().zip([total, gain, evidence]) {
                list.push(value);
            }
        }
    }
    let [totals, gains, evidence] = &series;
    let found = partial(totals, gains, &[evidence]).ok()?;
    let interval = found.interval?;
    Some(Figure {
        value: found.r,
        low: interval.low,
        high: interval.high,
        n: totals.len(),
    })
}

//! From what a cell says it is of to what the cohort knows, and what may stand in it.

use super::book::Book;
use super::collect::Collecting;
use super::target::{Target, Whose};
use super::values;
use crate::cohort::roster::compared;
use crate::ledger::{DECISIONS, Role, Subject};
use crate::logbook::grid::Value;

/// What may be decided about a proposal.
pub const PROPOSAL_WORDS: &[&str] = &["accept", "refuse"];

/// Looks up what a workbook's cells are of.
#[derive(Clone, Copy)]
pub struct Resolver<'a> {
    /// The workbook.
    pub book: &'a Book,
    /// The cohort.
    pub with: &'a Collecting<'a>,
}

impl Resolver<'_> {
    /// The target with the ids that the cohort knows.
    ///
    /// # Errors
    /// What isn't there, to be read after the cell's text.
    pub fn resolve(&self, mut target: Target) -> Result<Target, String> {
        match &target.subject {
            Subject::Decision(id) | Subject::Note(id) => {
                let pair = self.with.identities.finding(id);
                target.pair = pair.ok_or_else(|| {
                    format!("is about {id}: there is no such finding, now or when the workbook was written")
                })?;
                return Ok(target);
            }
            Subject::DecisionForAll(id) => {
                return if self.with.identities.check(id) {
                    Ok(target)
                } else {
                    Err(format!("is about {id}: there is no such check or slip"))
                };
            }
            Subject::Mark(criterion) => self.criterion(criterion)?,
            Subject::Judged(criterion, part) => {
                self.criterion(criterion)?;
                self.part(criterion, part)?;
            }
            Subject::Comment(criterion) if criterion != "overall" => self.criterion(criterion)?,
            _ => {}
        }
        if target.pair.is_empty() {
            return Ok(target);
        }
        let pair = self.with.identities.pair(&target.pair);
        target.pair =
            pair.ok_or_else(|| format!("is for pair {}: there is no such pair", target.pair))?;
        target.student = match &target.student {
            Whose::Pair => Whose::Pair,
            Whose::Place(place) => Whose::Student(self.student(&target.pair, *place)?),
            Whose::Student(id) => Whose::Student(self.known_student(&target.pair, id)?),
        };
        Ok(target)
    }

    fn criterion(&self, id: &str) -> Result<(), String> {
        match self.with.rubric.criterion(id) {
            Some(_) => Ok(()),
            None => Err(format!(
                "is for criterion {id}: the rubric has none of that name"
            )),
        }
    }

    fn part(&self, criterion: &str, part: &str) -> Result<(), String> {
        let criterion = self.with.rubric.criterion(criterion);
        if criterion.is_some_and(|c| c.judged.iter().any(|judged| judged.id == part)) {
            Ok(())
        } else {
            Err(format!(
                "is for {part}: the rubric has no judged points of that name"
            ))
        }
    }

    /// The student whom the workbook numbers so: its own list goes before the roster, which may have changed since.
    fn student(&self, pair: &str, place: usize) -> Result<String, String> {
        let written = self.book.pairs.get(pair);
        let listed = written.and_then(|written| written.students.get(place));
        let on_roster = || {
            let student = self.with.roster?.of_pair(pair).nth(place)?;
            Some(student.id.to_string())
        };
        listed.cloned().or_else(on_roster).ok_or_else(|| {
            format!(
                "is for student {} of pair {pair}: the roster has no such student",
                place + 1
            )
        })
    }

    fn known_student(&self, pair: &str, id: &str) -> Result<String, String> {
        let Some(roster) = self.with.roster else {
            return Ok(id.to_owned());
        };
        let mut students = roster.of_pair(pair);
        students
            .find(|student| compared(&student.id) == compared(id))
            .map(|student| student.id.to_string())
            .ok_or_else(|| format!("is for student {id}: pair {pair} has no such student"))
    }

    /// A value in its canonical form.
    ///
    /// # Errors
    /// Why it can't stand there, to be read after the cell's text.
    pub fn value(&self, target: &Target, value: &Value) -> Result<String, String> {
        match &target.subject {
            Subject::Mark(criterion) => {
                let criterion = self.with.rubric.criterion(criterion);
                values::number(value, 0.0, criterion.map_or(0.0, |c| c.marks))
            }
            Subject::Judged(criterion, part) => {
                let criterion = self.with.rubric.criterion(criterion);
                let judged =
                    criterion.and_then(|c| c.judged.iter().find(|judged| judged.id == *part));
                values::number(value, 0.0, judged.map_or(0.0, |judged| judged.points))
            }
            Subject::Decision(_) | Subject::DecisionForAll(_) => values::word(value, DECISIONS),
            Subject::Proposal(_) => values::word(value, PROPOSAL_WORDS),
            _ => values::text(value),
        }
    }

    /// In which role a value is entered: as the row says, else by the kind of workbook and who marks the pair.
    pub fn role(&self, target: &Target, said: &str) -> Role {
        if let Some(role) = Role::from_name(said) {
            return role;
        }
        match self.book.kind.as_str() {
            "marker" => {
                let state = self.with.state.pair(&target.pair);
                let is = |subject: Subject| {
                    state
                        .and_then(|state| state.standing(&subject, ""))
                        .is_some_and(|held| held.value == self.book.marker)
                };
                if !is(Subject::FirstMarker) && is(Subject::SecondMarker) {
                    Role::SecondMarker
                } else {
                    Role::Marker
                }
            }
            "moderation report" => Role::Moderator,
            // The instructor's own workbook, whatever became of its hidden sheet.
            _ => Role::Instructor,
        }
    }
}

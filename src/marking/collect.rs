//! What changed in a workbook since it was written, as lines for the ledger.
//!
//! Every cell is compared with what it held when it was written (or when this very file was last taken back), at fifteen significant digits.
//! Unchanged cells say nothing, so the same file twice changes nothing. Where the ledger moved on meanwhile, the value stands beside the
//! other as a conflict, and neither wins.

mod claims;

use std::collections::{BTreeMap, HashMap, HashSet};

use super::book::{Book, EntryCell};
use super::refusal::Refusal;
use super::resolve::Resolver;
use super::target::{Target, Whose};
use super::values;
use crate::cohort::Roster;
use crate::cohort::marking_settings::ModerationSettings;
use crate::ledger::{Entry, Held, Role, Slot, State, Subject, shown_value};
use crate::place::{Place, quoted};
use crate::report::workbook::marker::COMMON;
use crate::rubric::Rubric;

/// Which pairs and findings there are.
pub trait Identities {
    /// The pair's id as the cohort writes it; none where there is no such pair.
    fn pair(&self, id: &str) -> Option<String>;
    /// The pair (empty for none) to which a finding belongs; none where there is no such finding.
    fn finding(&self, id: &str) -> Option<String>;
    /// Whether there is such a check or slip.
    fn check(&self, id: &str) -> bool;
}

/// Who is said to have filled a workbook in.
#[derive(Debug, Clone, Copy)]
pub enum By<'a> {
    /// Nobody was named.
    Unsaid,
    /// Whoever decides, said of all workbooks at once: what stands in a marker's is still the marker's.
    Decider(&'a str),
    /// Who filled in this very workbook, whosever it is: somebody may have marked for another.
    Of(&'a str),
}

impl<'a> By<'a> {
    /// Who it was, where the workbook is this marker's or none's.
    fn who(self, marker: Option<&'a str>) -> &'a str {
        let who = match self {
            Self::Unsaid => marker,
            Self::Decider(name) => marker.or(Some(name)),
            Self::Of(name) => Some(name),
        };
        who.unwrap_or("instructor")
    }
}

/// What taking back needs to know.
pub struct Collecting<'a> {
    /// The rubric in force.
    pub rubric: &'a Rubric,
    /// The roster, where there is one.
    pub roster: Option<&'a Roster>,
    /// How one mark comes out of two.
    pub moderation: &'a ModerationSettings,
    /// Which pairs and findings there are.
    pub identities: &'a dyn Identities,
    /// The ledger so far.
    pub entries: &'a [Entry],
    /// What is in force by it.
    pub state: &'a State,
    /// Who filled the workbook in, where it was said; else its marker, else the instructor.
    pub by: By<'a>,
    /// When it is taken back.
    pub time: &'a str,
}

/// What one workbook gave.
#[derive(Debug, Default)]
pub struct Collected {
    /// Lines for the ledger, in reading order.
    pub entries: Vec<Entry>,
    /// What was not taken.
    pub refusals: Vec<Refusal>,
}

impl Collected {
    /// How many of the lines disagree with what the ledger holds.
    pub fn conflicts(&self) -> usize {
        let conflicting = |entry: &&Entry| entry.what.starts_with("conflict ");
        self.entries.iter().filter(conflicting).count()
    }
}

/// Takes a workbook back.
pub fn collect(book: &Book, with: &Collecting<'_>) -> Collected {
    let mut taking = Taking::new(book, with);
    let mut order: Vec<(Target, Role)> = Vec::new();
    let mut found: HashMap<(Target, Role), Vec<Typed>> = HashMap::new();
    for cell in &book.cells {
        if let Some((target, role, typed)) = taking.read(cell) {
            let key = (target, role);
            let list = found.entry(key.clone()).or_default();
            if list.is_empty() {
                order.push(key);
            }
            list.push(typed);
        }
    }
    for key in order {
        if let Some(list) = found.remove(&key) {
            let (target, role) = key;
            taking.settle(&target, role, &list);
        }
    }
    taking.claims(&book.claims);
    taking.collected
}

/// A value in its canonical form, empty for an empty cell, and where it stands.
struct Typed {
    value: String,
    place: Place,
}

/// What something is of, as the ledger names it: pair, student, subject.
type Of = (String, String, Subject);

/// What this file said last about something since it was written.
struct Said {
    value: String,
    /// It disagreed with what the ledger held.
    conflicting: bool,
    cell: String,
}

struct Taking<'a> {
    book: &'a Book,
    with: &'a Collecting<'a>,
    resolver: Resolver<'a>,
    who: &'a str,
    /// What the cells to fill in held when the workbook was written.
    base: HashMap<Of, &'a str>,
    /// With what cells were started for the marker: nobody's entry as long as it is left as it is.
    drafts: HashMap<Of, &'a str>,
    /// What this file said about each thing since then, by the ledger.
    said: HashMap<(Of, Slot), Said>,
    /// About what the ledger ever said anything.
    spoken_of: HashSet<Of>,
    collected: Collected,
}

impl<'a> Taking<'a> {
    fn new(book: &'a Book, with: &'a Collecting<'a>) -> Self {
        let resolver = Resolver { book, with };
        let marker = (!book.marker.is_empty()).then_some(book.marker.as_str());
        let resolved = |values: &'a BTreeMap<Target, String>| {
            values
                .iter()
                .filter_map(|(target, value)| {
                    let target = resolver.resolve(target.clone()).ok()?;
                    Some((of(&target), value.as_str()))
                })
                .collect()
        };
        let base = resolved(&book.base);
        let drafts = resolved(&book.drafts);
        let mut said = HashMap::new();
        let mut spoken_of = HashSet::new();
        for (line, entry) in with.entries.iter().enumerate() {
            let (subject, conflicting) = match Subject::from(entry.what.as_str()) {
                Subject::Conflict(of) => (*of, true),
                subject => (subject, false),
            };
            let of = (entry.pair.clone(), entry.student.clone(), subject);
            if line >= book.ledger_lines
                && entry.file == book.file
                && let Some(role) = Role::from_name(&entry.role)
            {
                let last = Said {
                    value: entry.new.clone(),
                    conflicting,
                    cell: entry.cell.clone(),
                };
                said.insert((of.clone(), Slot::of(role)), last);
            }
            spoken_of.insert(of);
        }
        Self {
            book,
            with,
            resolver,
            who: with.by.who(marker),
            base,
            drafts,
            said,
            spoken_of,
            collected: Collected::default(),
        }
    }

    fn refuse(&mut self, cell: &EntryCell, why: impl Into<String>) {
        let of = cell.target.as_ref().map(|target| self.named(target));
        self.collected.refusals.push(Refusal {
            place: cell.place.clone(),
            of: of.unwrap_or_default(),
            stands: cell.value.as_ref().map(values::shown).unwrap_or_default(),
            why: why.into(),
        });
    }

    /// What a cell is of, as the course calls it: `P09, Testing design`.
    fn named(&self, target: &Target) -> String {
        let title = |id: &str| {
            let criterion = self.with.rubric.criterion(id);
            criterion.map_or_else(|| id.to_owned(), |criterion| criterion.title.clone())
        };
        let what = match &target.subject {
            Subject::Mark(id) => title(id),
            Subject::Judged(id, part) => format!("{}, {part}", title(id)),
            Subject::Comment(id) if id == "overall" => String::from("comment on the whole"),
            Subject::Comment(id) => format!("comment on {}", title(id)),
            Subject::Decision(id) | Subject::Note(id) => format!("finding {id}"),
            Subject::DecisionForAll(id) => format!("all of {id}"),
            Subject::Proposal(_) => String::from("proposal"),
            _ => String::new(),
        };
        // A finding is named without its pair until it is looked up.
        let of_finding = match &target.subject {
            Subject::Decision(id) | Subject::Note(id) if target.pair.is_empty() => {
                self.with.identities.finding(id)
            }
            _ => None,
        };
        let pair = of_finding.as_deref().unwrap_or(&target.pair);
        let parts = [pair, what.as_str()];
        let parts: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
        parts.join(", ")
    }

    /// What a cell is of, in which role it was entered, and what it says; none where that is refused, or the cell is empty and of nothing.
    fn read(&mut self, cell: &EntryCell) -> Option<(Target, Role, Typed)> {
        let resolved = match &cell.target {
            Some(target) => self.resolver.resolve(target.clone()),
            None => Err(String::from(
                "stands in a row without the id that it would be of; type the pair's id in its column, or clear the cell",
            )),
        };
        let target = match (resolved, &cell.value) {
            (Ok(target), _) => target,
            // An empty cell of something that isn't there says nothing.
            (Err(_), None) => return None,
            (Err(why), Some(_)) => {
                self.refuse(cell, why);
                return None;
            }
        };
        let value = match &cell.value {
            None => String::new(),
            Some(value) => match self.resolver.value(&target, value) {
                Ok(value) => value,
                Err(why) => {
                    self.refuse(cell, why);
                    return None;
                }
            },
        };
        let role = self.resolver.role(&target, &cell.role);
        let of_pair = matches!(
            target.subject,
            Subject::Mark(_) | Subject::Judged(..) | Subject::Comment(_)
        );
        let target = if of_pair && cell.role.trim() == COMMON {
            let marker = if self.book.marker.is_empty() {
                self.who
            } else {
                &self.book.marker
            };
            target.common(marker)
        } else {
            target
        };
        let typed = Typed {
            value,
            place: cell.place.clone(),
        };
        Some((target, role, typed))
    }

    /// Takes what stands in the cells of one thing; there are several where a row was copied.
    fn settle(&mut self, target: &Target, role: Role, typed: &[Typed]) {
        let mut distinct: Vec<&Typed> = Vec::new();
        for one in typed.iter().filter(|one| !one.value.is_empty()) {
            if distinct.iter().all(|other| other.value != one.value) {
                distinct.push(one);
            }
        }
        match distinct.as_slice() {
            [] => {
                if let Some(empty) = typed.first() {
                    self.compare(target, role, empty);
                }
            }
            [only] => self.compare(target, role, only),
            several => {
                let cells: Vec<String> = several
                    .iter()
                    .filter_map(|one| one.place.cell_name())
                    .collect();
                let why = format!(
                    "is one of {} different values for the same thing ({}); keep one of them",
                    several.len(),
                    cells.join(", ")
                );
                let of = self.named(target);
                let refusals = several.iter().map(|one| Refusal {
                    place: one.place.clone(),
                    of: of.clone(),
                    stands: one.value.clone(),
                    why: why.clone(),
                });
                self.collected.refusals.extend(refusals);
            }
        }
    }

    /// Compares a value with what its cell held, and with what the ledger holds now.
    fn compare(&mut self, target: &Target, role: Role, typed: &Typed) {
        let of = of(target);
        let held = self.held(&of, role);
        let now = held.as_ref().map_or("", |held| held.value.as_str());
        let said = self.said.get(&(of.clone(), Slot::of(role)));
        let base = match said {
            Some(said) => said.value.as_str(),
            None => self.base.get(&of).copied().unwrap_or(""),
        };
        let disagreed = said.is_some_and(|said| said.conflicting);
        let value = typed.value.as_str();
        if said.is_none() && self.drafts.get(&of).is_some_and(|draft| same(value, draft)) {
            return;
        }
        if same(value, base) {
            // Written, and yet never on the ledger: the ledger was lost, and the workbook still has it.
            if value.is_empty() || self.spoken_of.contains(&of) {
                return;
            }
        }
        let agrees = same(value, now);
        if agrees && !disagreed {
            return;
        }
        let conflict = !agrees && !now.is_empty() && (disagreed || !same(now, base));
        let subject = if conflict {
            Subject::Conflict(Box::new(target.subject.clone()))
        } else {
            target.subject.clone()
        };
        // Emptying a cell that shows another role's value withdraws it where it stands.
        let role = match &held {
            Some(held) if value.is_empty() && !conflict => held.role,
            _ => role,
        };
        let (pair, student, _) = of;
        let entry = Entry {
            role: role.name().into(),
            student,
            what: subject.to_string(),
            old: now.to_owned(),
            new: typed.value.clone(),
            ..self.line(&pair, &typed.place)
        };
        let shift = self.shift(&subject, &entry);
        self.collected.entries.push(entry);
        self.collected.entries.extend(shift);
    }

    /// The line by which an accepted proposal to shift a marker takes force, or by which a refused or withdrawn one loses it.
    fn shift(&self, subject: &Subject, entry: &Entry) -> Option<Entry> {
        let Subject::Proposal(id) = subject else {
            return None;
        };
        let (of, value) = proposed_shift(id)?;
        let held = self.with.state.cohort.standing(&of, "");
        let now = held.map_or("", |held| held.value.as_str());
        let new = match entry.new.as_str() {
            "accept" => value,
            // Refusing one proposal leaves another's shift in force.
            _ if same(now, &value) => String::new(),
            _ => return None,
        };
        (!same(now, &new)).then(|| Entry {
            what: of.to_string(),
            old: now.to_owned(),
            new,
            why: format!("proposal {id}"),
            ..entry.clone()
        })
    }

    /// A line with everything that all lines about a pair have.
    fn line(&self, pair: &str, place: &Place) -> Entry {
        let hand_in = self.book.pairs.get(pair);
        let hand_in = hand_in.map(|written| written.hand_in.clone());
        Entry {
            time: self.with.time.to_owned(),
            who: self.who.to_owned(),
            pair: pair.to_owned(),
            file: self.book.file.clone(),
            cell: cell_text(place),
            rubric: self.book.rubric.clone(),
            hand_in: hand_in.unwrap_or_default(),
            ..Entry::default()
        }
    }

    /// What the ledger holds now of what this role's cells show.
    fn held(&self, (pair, student, subject): &Of, role: Role) -> Option<Held> {
        let state = if pair.is_empty() {
            &self.with.state.cohort
        } else {
            self.with.state.pair(pair)?
        };
        match Slot::of(role) {
            Slot::Deciding => {
                let out_of = match subject {
                    Subject::Mark(id) => self.with.rubric.criterion(id).map(|c| c.marks),
                    _ => None,
                };
                shown_value(
                    state,
                    subject,
                    student,
                    out_of.unwrap_or(0.0),
                    self.with.moderation,
                )
            }
            slot => state.in_slot(subject, student, slot).cloned(),
        }
    }
}

/// The shift that a proposal with this id is about: `shift total/Ann = -2.5`.
fn proposed_shift(id: &str) -> Option<(Subject, String)> {
    let (of, value) = id.rsplit_once(" = ")?;
    let subject = Subject::from(of);
    let number = value.parse::<f64>().ok().filter(|n| n.is_finite())?;
    matches!(subject, Subject::Shift(..)).then(|| (subject, values::canonical(number)))
}

/// How the ledger names what a resolved target is of.
fn of(target: &Target) -> Of {
    let student = match &target.student {
        Whose::Student(id) => id.clone(),
        Whose::Pair | Whose::Place(_) => String::new(),
    };
    (target.pair.clone(), student, target.subject.clone())
}

/// A place without its file, as the ledger's column `cell` has it.
fn cell_text(place: &Place) -> String {
    if let (Some(sheet), Some(cell)) = (place.sheet(), place.cell_name()) {
        return format!("{}!{cell}", quoted(sheet));
    }
    let text = place.to_string();
    let file = quoted(&place.file);
    text.strip_prefix(&file).unwrap_or(&text).trim().to_owned()
}

/// Whether two values are one; numbers at fifteen digits.
fn same(a: &str, b: &str) -> bool {
    let number = |text: &str| text.parse::<f64>().ok().map(values::canonical);
    a == b
        || values::tidy(a) == values::tidy(b)
        || matches!((number(a), number(b)), (Some(a), Some(b)) if a == b)
}

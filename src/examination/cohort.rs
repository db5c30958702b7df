//! A whole cohort: every hand-in read and examined in parallel, then what only the whole cohort shows, then the suggestions.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use rayon::prelude::*;

use super::course::Course;
use super::kept::{Kept, KeptResult};
use super::outline::Outline;
use super::packed::{CohortPair, Packer};
use super::pair::{examine, suggest_to};
use super::result::{CohortResult, HandIn, NotRead, PairResult};
use crate::checks::{self, CohortSeen, Finding, HandInNote, PairTrace};
use crate::cohort::Roster;
use crate::cohort::matching::{Identity, Match, Matcher};
use crate::cohort::roster::compared;
use crate::cohort::version::version;
use crate::logbook::model::Sourced;
use crate::logbook::open::{Limits, Notice, Noticed, OpenError};
use crate::logbook::problem::{Problem, ProblemKind};
use crate::logbook::submissions::{self, Submissions};
use crate::logbook::typed::{TakenClaim, add_typed};
use crate::logbook::{Logbook, read};
use crate::natural_order;
use crate::place::Place;

/// Where the hand-ins are and whose they are.
pub struct HandedIn<'a> {
    /// The hand-ins.
    pub submissions: &'a Submissions,
    /// The folder of the submissions from the cohort's folder, for links; none where they are inside a zip.
    pub link_base: Option<Arc<str>>,
    /// The roster, where there is one.
    pub roster: Option<&'a Roster>,
    /// Matches hand-ins to pairs.
    pub matcher: &'a Matcher<'a>,
    /// Numbers that markers read in the reports and typed, by the pair's id as compared.
    pub typed: &'a BTreeMap<String, Vec<TakenClaim>>,
    /// Results of earlier runs, where they may be used.
    pub kept: Option<&'a Kept>,
}

/// What became of one hand-in.
struct Examined {
    hand_in: HandIn,
    digest: blake3::Hash,
    /// What examining it gave; only whose it is where no file of it could be read.
    outcome: Result<KeptResult, Match>,
    not_read: Vec<NotRead>,
}

/// The pair's result under its id, with what of it the cohort is compared by.
struct Chosen {
    pair: CohortPair,
    trace: Option<PairTrace>,
}

impl Chosen {
    /// Nothing was handed in, or nothing could be read.
    fn nothing(pair: Arc<str>) -> Self {
        let result = PairResult {
            pair,
            ..PairResult::default()
        };
        Self {
            pair: result.into(),
            trace: None,
        }
    }
}

/// Examines a cohort. `done` is told of every hand-in that is through, from any thread.
pub fn examine_cohort(
    handed_in: &HandedIn<'_>,
    course: &Course,
    done: &(dyn Fn() + Sync),
) -> CohortResult {
    let packer = handed_in.kept.map_or_else(Packer::default, Kept::packer);
    let examine = |hand_in| {
        let examined = examine_hand_in(handed_in, hand_in, course, &packer);
        done();
        examined
    };
    let mut left = handed_in.submissions.hand_ins.iter();
    let mut examined = Vec::new();
    // The first result, in every run the same, is what all others are packed against.
    while packer.sample().is_none()
        && let Some(hand_in) = left.next()
    {
        examined.push(examine(hand_in));
    }
    examined.par_extend(left.as_slice().par_iter().map(examine));
    if let Some(kept) = handed_in.kept {
        kept.replace(&packer, examined.iter().filter_map(Examined::to_keep));
    }
    let count = examined.len();
    let mut notes = Vec::new();
    let mut not_read = Vec::new();
    let mut chosen = choose(examined, &mut notes, &mut not_read);
    note_what_is_no_hand_in(handed_in, &mut notes, &mut not_read);
    add_missing(handed_in.roster, &mut chosen, &mut notes);
    put_in_order(handed_in.roster, &mut chosen);
    let (pairs, traces): (Vec<_>, Vec<_>) = chosen
        .into_iter()
        .map(|chosen| (chosen.pair, chosen.trace))
        .unzip();
    let traces: Vec<PairTrace> = traces.into_iter().flatten().collect();
    let mut result = CohortResult::new(pairs, Vec::new(), not_read, count);
    add_cohort_findings(&mut result, course, &notes, &traces);
    result
}

fn examine_hand_in(
    handed_in: &HandedIn<'_>,
    hand_in: &submissions::HandIn,
    course: &Course,
    packer: &Packer,
) -> Examined {
    let files = handed_in.submissions.read(hand_in);
    let digest = submissions::digest(&files);
    let summary = HandIn {
        name: hand_in.name.clone(),
        digest: digest.to_hex().get(..16).unwrap_or_default().to_owned(),
        link_base: handed_in.link_base.clone(),
    };
    if let Some(found) = handed_in.kept.and_then(|kept| kept.find(&digest, packer)) {
        return Examined {
            hand_in: summary,
            digest,
            outcome: Ok(found),
            not_read: Vec::new(),
        };
    }
    let mut grids = Vec::new();
    let mut notices = Vec::new();
    let mut not_read = Vec::new();
    // What one file takes, the others of the hand-in may not take again.
    let mut limits = course.limits.clone();
    for file in &files {
        match file
            .open(&limits)
            .map_err(|error| as_limited(error, &course.limits))
        {
            Ok(opened) => {
                for grid in &opened.grids {
                    limits.cells = limits.cells.saturating_sub(grid.cells.len() as u64);
                }
                grids.extend(opened.grids);
                notices.extend(opened.notices);
            }
            Err(error) => not_read.push(NotRead {
                file: file.name.to_string(),
                why: error.to_string(),
                out_of_time: matches!(error, OpenError::TooSlow { .. }),
            }),
        }
    }
    if grids.is_empty() {
        let identity = Identity {
            name: &hand_in.name,
            ..Identity::default()
        };
        return Examined {
            hand_in: summary,
            digest,
            outcome: Err(handed_in.matcher.find(&identity)),
            not_read,
        };
    }
    let mut logbook = read(&hand_in.name, &grids, &course.reading);
    logbook.problems.extend(notices.into_iter().map(problem));
    let whose = handed_in.matcher.find(&identity(&hand_in.name, &logbook));
    // An unmatched hand-in is examined under its own name: nothing is dropped, and its findings can be looked at.
    let pair = match &whose {
        Match::Pair(pair) => pair.clone(),
        Match::Open { .. } => hand_in.name.clone(),
    };
    if let Some(typed) = handed_in.typed.get(&compared(&pair)) {
        add_typed(&mut logbook, &grids, typed, &course.reading);
    }
    let (result, trace) = examine(&pair, logbook, course);
    let result = KeptResult {
        whose,
        outline: Outline::of(&result),
        packed: packer.pack(&result),
        trace,
    };
    Examined {
        hand_in: summary,
        digest,
        outcome: Ok(result),
        not_read,
    }
}

impl Examined {
    fn whose(&self) -> &Match {
        match &self.outcome {
            Ok(result) => &result.whose,
            Err(whose) => whose,
        }
    }

    /// Its result for later runs. What could not be read may be readable then: time may have run out.
    fn to_keep(&self) -> Option<(&blake3::Hash, &KeptResult)> {
        let result = self.outcome.as_ref().ok()?;
        self.not_read.is_empty().then_some((&self.digest, result))
    }

    fn place(&self) -> Place {
        Place::file(self.hand_in.name.clone())
    }

    /// As the hand-in of this pair that counts.
    fn chosen(self, pair: Arc<str>) -> Chosen {
        let Ok(result) = self.outcome else {
            return Chosen::nothing(pair);
        };
        let trace = PairTrace {
            pair: pair.clone(),
            ..result.trace
        };
        Chosen {
            pair: CohortPair::of_packed(pair, self.hand_in, result.outline, result.packed),
            trace: Some(trace),
        }
    }
}

/// The error by the limit that the course has set, where only what was left of it was passed.
fn as_limited(error: OpenError, limits: &Limits) -> OpenError {
    match error {
        OpenError::TooManyCells { .. } => OpenError::TooManyCells {
            limit: limits.cells,
        },
        error => error,
    }
}

fn identity<'a>(name: &'a str, logbook: &'a Logbook) -> Identity<'a> {
    fn text(value: Option<&Sourced<Arc<str>>>) -> Option<&str> {
        value.map(|value| &*value.value)
    }
    Identity {
        name,
        pair: text(logbook.about.pair.as_ref()),
        coach: text(logbook.about.coach.as_ref()),
        learner: text(logbook.about.learner.as_ref()),
    }
}

/// What opening a file noticed, as reading reports it.
fn problem(notice: Notice) -> Problem {
    let kind = match &notice.what {
        Noticed::WrongEnding { .. } => ProblemKind::WrongEnding,
        Noticed::SheetNotRead { .. } => ProblemKind::HiddenData,
        Noticed::EncodingGuessed { .. }
        | Noticed::UnreadableCharacters
        | Noticed::StrayQuote
        | Noticed::ControlCharacters
        | Noticed::MisleadingName
        | Noticed::UnsafeName { .. } => ProblemKind::AmbiguousValue,
    };
    let says = notice.what.to_string();
    Problem::at(kind, notice.place, says.clone(), says, "")
}

/// What lies among the submissions and was not taken: work that could not be reached, names that mislead, and what holds no table.
fn note_what_is_no_hand_in(
    handed_in: &HandedIn<'_>,
    notes: &mut Vec<HandInNote>,
    not_read: &mut Vec<NotRead>,
) {
    let mut without_table = Vec::new();
    for file in &handed_in.submissions.passed_over {
        if !file.why.may_be_work() {
            without_table.push(Place::file(file.name.clone()));
            continue;
        }
        let whose = handed_in.matcher.find(&Identity {
            name: &file.name,
            ..Identity::default()
        });
        let says = format!(
            "the file was not read: {}; ask the pair for the file itself",
            file.why.text()
        );
        notes.push(HandInNote::Unreadable {
            pair: match whose {
                Match::Pair(pair) => Some(pair.to_string()),
                Match::Open { .. } => None,
            },
            file: Place::file(file.name.clone()),
            says: says.clone(),
        });
        not_read.push(NotRead {
            file: file.name.to_string(),
            why: says,
            out_of_time: false,
        });
    }
    if !without_table.is_empty() {
        notes.push(HandInNote::WithoutTable {
            files: without_table,
        });
    }
    for notice in &handed_in.submissions.notices {
        notes.push(HandInNote::Noticed {
            file: notice.place.clone(),
            says: notice.what.to_string(),
        });
    }
}

/// One result a pair: of several hand-ins the newest by its name, else the first in natural order; what is left over is noted.
fn choose(
    examined: Vec<Examined>,
    notes: &mut Vec<HandInNote>,
    not_read: &mut Vec<NotRead>,
) -> Vec<Chosen> {
    let mut of_pair: HashMap<String, Vec<Examined>> = HashMap::new();
    let mut order = Vec::new();
    for one in examined {
        let pair = match one.whose() {
            Match::Pair(pair) => Some(pair.clone()),
            Match::Open { could_be, .. } => {
                notes.push(HandInNote::Unmatched {
                    hand_in: one.place(),
                    could_be: could_be.iter().map(ToString::to_string).collect(),
                });
                None
            }
        };
        for file in &one.not_read {
            notes.push(HandInNote::Unreadable {
                pair: pair.as_ref().map(ToString::to_string),
                file: Place::file(file.file.as_str()),
                says: file.why.clone(),
            });
        }
        not_read.extend(one.not_read.iter().cloned());
        if let Some(pair) = pair {
            let key = compared(&pair);
            let list = of_pair.entry(key.clone()).or_default();
            if list.is_empty() {
                order.push((key, pair));
            }
            list.push(one);
        }
    }
    let mut results = Vec::new();
    for (key, pair) in order {
        let Some(list) = of_pair.remove(&key) else {
            continue;
        };
        results.push(match newest(list, &pair, notes) {
            Some(one) => one.chosen(pair),
            None => Chosen::nothing(pair),
        });
    }
    results
}

/// The hand-in of a pair that counts.
fn newest(
    mut list: Vec<Examined>,
    pair: &Arc<str>,
    notes: &mut Vec<HandInNote>,
) -> Option<Examined> {
    if list.len() > 1 {
        list.sort_by(|a, b| natural_order::compare(&a.hand_in.name, &b.hand_in.name));
        // The first of those with the latest version: without versions, the first in natural order.
        let version = |one: &Examined| version(&one.hand_in.name);
        let latest = list.iter().map(version).max();
        let at = list
            .iter()
            .position(|one| Some(version(one)) == latest)
            .unwrap_or(0);
        let versions_differ = list.iter().any(|one| Some(version(one)) != latest);
        let counts = list.remove(at);
        let because = if versions_differ {
            "its name carries the latest version or time"
        } else {
            "it comes first by name; [assign] in cohort.toml can name another"
        };
        notes.push(HandInNote::Duplicate {
            pair: pair.to_string(),
            counts: counts.place(),
            others: list.iter().map(Examined::place).collect(),
            because: because.to_owned(),
        });
        return Some(counts);
    }
    list.pop()
}

/// Pairs of the roster that handed nothing in; a pair of which nobody takes part is not missed.
fn add_missing(roster: Option<&Roster>, chosen: &mut Vec<Chosen>, notes: &mut Vec<HandInNote>) {
    let Some(roster) = roster else {
        return;
    };
    let there: std::collections::HashSet<String> =
        chosen.iter().map(|one| compared(&one.pair.pair)).collect();
    for pair in &roster.pairs {
        if there.contains(&compared(pair)) || !roster.takes_part(pair) {
            continue;
        }
        notes.push(HandInNote::Missing {
            pair: pair.to_string(),
            roster: roster
                .of_pair(pair)
                .next()
                .map(|student| student.place.clone()),
        });
        chosen.push(Chosen::nothing(pair.clone()));
    }
}

/// The order of the roster; what is not on it after that, and everything without a roster, in natural order.
fn put_in_order(roster: Option<&Roster>, chosen: &mut [Chosen]) {
    let rank: HashMap<String, usize> = roster
        .map(|roster| {
            let ids = roster.pairs.iter().enumerate();
            ids.map(|(rank, id)| (compared(id), rank)).collect()
        })
        .unwrap_or_default();
    chosen.sort_by(|a, b| {
        let (a, b) = (&*a.pair.pair, &*b.pair.pair);
        let rank_of = |pair: &str| rank.get(&compared(pair)).copied().unwrap_or(usize::MAX);
        rank_of(a)
            .cmp(&rank_of(b))
            .then_with(|| natural_order::compare(a, b))
    });
}

/// What only the whole cohort shows, given to the pairs it concerns.
fn add_cohort_findings(
    cohort: &mut CohortResult,
    course: &Course,
    notes: &[HandInNote],
    traces: &[PairTrace],
) {
    let placed = checks::run_cohort(
        &CohortSeen::new(&course.thresholds, notes, traces),
        &course.policy,
    );
    cohort.not_checked = placed.not_checked;
    let mut of_pair: BTreeMap<usize, Vec<Finding>> = BTreeMap::new();
    for placed in placed.found {
        let owner = placed.pair.as_deref();
        match owner.and_then(|pair| cohort.position(pair)) {
            Some(index) => of_pair.entry(index).or_default().push(placed.finding),
            None => cohort.without_pair.push(placed.finding),
        }
    }
    for (index, findings) in of_pair {
        if let Some(pair) = cohort.pairs.get_mut(index) {
            pair.replace(&with_findings(pair.result(), findings, course));
        }
    }
}

/// A result with findings more, on which suggestions may rest too.
fn with_findings(mut result: PairResult, findings: Vec<Finding>, course: &Course) -> PairResult {
    result.findings.extend(findings);
    result.put_findings_in_order();
    if result.hand_in.is_some() {
        suggest_to(&mut result, course);
    }
    result
}

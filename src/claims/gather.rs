//! Gathers the numbers of a selection, each selection once.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use super::computation::{
    Add, Also, BestBy, Keep, OutlierRule, Ratings, Selection, Source, Transform, small,
};
use super::material::{Blank, Material, PhaseMaterial, Scale, SessionMaterial, TrialMaterial};
use super::verdict::NoValue;
use crate::logbook::model::{Better, MeasureKind};
use crate::number::{EXACT, close};
use crate::phase::{BlockName, Phase, PhaseKind};
use crate::stats::Undefined;
use crate::stats::moments::Moments;

/// The numbers of a selection with where they come from.
#[derive(Debug, Clone, Default)]
pub struct Gathered {
    /// The numbers.
    pub values: Vec<f64>,
    /// Where each comes from.
    pub from: Vec<Origin>,
    /// Count, mean and squared deviations; why there are none.
    pub moments: Option<Moments>,
    /// How many sessions they come from.
    pub sessions: usize,
}

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Origin {
    /// Which session, counted over all phases: for telling sessions apart.
    pub session: usize,
    /// The trial's number.
    pub number: u32,
    /// The rater, where every rating is a number of its own.
    pub rater: usize,
    /// The row in the logbook's trials; none for what is no trial.
    pub row: Option<usize>,
}

/// Quick and good enough for keys of our own making.
#[derive(Default)]
pub struct KeyHasher(u64);

impl Hasher for KeyHasher {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u8(&mut self, value: u8) {
        self.write_u64(u64::from(value));
    }

    fn write_u16(&mut self, value: u16) {
        self.write_u64(u64::from(value));
    }

    fn write_u32(&mut self, value: u32) {
        self.write_u64(u64::from(value));
    }

    fn write_u64(&mut self, value: u64) {
        // Knuth's multiplicative hashing by the golden ratio.
        self.0 = (self.0.rotate_left(5) ^ value).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }

    fn write_usize(&mut self, value: usize) {
        self.write_u64(value as u64);
    }

    fn write_isize(&mut self, value: isize) {
        self.write_u64(value.unsigned_abs() as u64);
    }
}

/// A map with the quick hasher.
pub type QuickMap<K, V> = HashMap<K, V, BuildHasherDefault<KeyHasher>>;

/// Gathers selections, and keeps what was gathered.
#[derive(Debug)]
pub struct Gatherer<'a> {
    /// The numbers there are.
    pub material: &'a Material<'a>,
    kept: QuickMap<Selection, usize>,
    gathered: Vec<Gathered>,
}

impl<'a> Gatherer<'a> {
    /// Nothing gathered yet.
    pub fn new(material: &'a Material<'a>) -> Self {
        Self {
            material,
            kept: QuickMap::default(),
            gathered: Vec::new(),
        }
    }

    /// The place of a selection's numbers, for [`Gatherer::at`].
    pub fn place(&mut self, selection: Selection) -> usize {
        if let Some(place) = self.kept.get(&selection) {
            return *place;
        }
        let gathered = gather(self.material, selection);
        let place = self.gathered.len();
        self.gathered.push(gathered);
        self.kept.insert(selection, place);
        place
    }

    /// What was gathered at a place.
    pub fn at(&self, place: usize) -> &Gathered {
        // A place is only ever made by `place`.
        self.gathered.get(place).unwrap_or(&NOTHING)
    }

    /// A selection's numbers.
    pub fn numbers(&mut self, selection: Selection) -> &Gathered {
        let place = self.place(selection);
        self.at(place)
    }
}

static NOTHING: Gathered = Gathered {
    values: Vec::new(),
    from: Vec::new(),
    moments: None,
    sessions: 0,
};

impl Gathered {
    /// Count, mean and squared deviations.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] where there are no numbers.
    pub fn moments(&self) -> Result<Moments, Undefined> {
        self.moments.ok_or(Undefined::TooFew {
            needed: 1,
            given: self.values.len(),
        })
    }
}

/// Why a selection has no numbers at all.
pub fn why_empty(material: &Material<'_>, selection: Selection) -> NoValue {
    let landing = matches!(
        selection.of,
        Transform::Radial | Transform::X | Transform::Y | Transform::SizeOfX | Transform::SizeOfY
    );
    let recorded = selection.taking(Transform::AsRecorded);
    if landing && !gather(material, recorded).values.is_empty() {
        return NoValue::NoLandingPoints;
    }
    match selection.block {
        Source::Named(block) => NoValue::NoScores(block),
        Source::SessionOf(phase, _) => NoValue::NoScores(BlockName::Phase(phase)),
        Source::AllTests => NoValue::NoTests,
    }
}

/// A number on its way into a selection.
#[derive(Clone, Copy)]
struct Item {
    value: f64,
    /// The score that it is taken of.
    recorded: f64,
    /// How good it is: the higher, the better.
    goodness: f64,
    from: Origin,
    off_step: bool,
    hidden: bool,
}

fn gather(material: &Material<'_>, selection: Selection) -> Gathered {
    let Some(measure) = material.measures.get(selection.measure) else {
        return Gathered::default();
    };
    let mut items = Collector {
        material,
        selection,
        scale: &measure.scale,
        items: Vec::new(),
    };
    items.collect();
    items.add_cells();
    items.keep();
    let items = items.items;
    let mut sessions: Vec<usize> = Vec::new();
    for item in &items {
        if item.from.row.is_some() && !sessions.contains(&item.from.session) {
            sessions.push(item.from.session);
        }
    }
    let values: Vec<f64> = items.iter().map(|item| item.value).collect();
    Gathered {
        moments: Moments::of(&values).ok(),
        values,
        from: items.iter().map(|item| item.from).collect(),
        sessions: sessions.len(),
    }
}

/// The numbers of one selection, as they come together.
struct Collector<'a> {
    material: &'a Material<'a>,
    selection: Selection,
    scale: &'a Scale,
    items: Vec<Item>,
}

impl<'a> Collector<'a> {
    fn collect(&mut self) {
        let measure = self.selection.measure;
        let material = self.material;
        if matches!(
            self.selection.also,
            Also::Familiarisation | Also::FamiliarisationOfSession
        ) {
            // Tries before a test come before it.
            self.familiarisation();
        }
        match self.selection.block {
            Source::Named(name) => {
                let phase = match name {
                    BlockName::Phase(phase) => phase,
                    BlockName::PracticeSession(_) => Phase::PRACTICE,
                };
                for (place, session) in material.sessions(measure, name) {
                    self.take_session(phase, place, session);
                }
            }
            Source::SessionOf(phase, place) => {
                if let Some(session) = material
                    .phase(measure, phase)
                    .and_then(|block| block.sessions.get(usize::from(place)))
                {
                    self.take_session(phase, usize::from(place), session);
                }
            }
            Source::AllTests => self.take_phases(|phase| phase.kind.is_test()),
        }
        match self.selection.also {
            Also::Nothing | Also::Familiarisation | Also::FamiliarisationOfSession => {}
            Also::Practice => self.take_phases(|phase| phase == Phase::PRACTICE),
            Also::PracticeSession(place) => {
                if let Some(session) = material
                    .phase(measure, Phase::PRACTICE)
                    .and_then(|block| block.sessions.get(usize::from(place)))
                {
                    self.take_session(Phase::PRACTICE, usize::from(place), session);
                }
            }
            Also::Tests => {
                let own = self.own_phase();
                self.take_phases(|phase| phase.kind.is_test() && Some(phase) != own);
            }
            Also::Test(test) => self.take_phases(|phase| phase == test),
            Also::PreAndPost => {
                self.take_phases(|phase| phase == Phase::PRE || phase == Phase::POST);
            }
        }
    }

    fn own_phase(&self) -> Option<Phase> {
        match self.selection.block {
            Source::Named(BlockName::Phase(phase)) | Source::SessionOf(phase, _) => Some(phase),
            _ => None,
        }
    }

    fn take_phases(&mut self, fits: impl Fn(Phase) -> bool) {
        let phases: &'a [PhaseMaterial] = self
            .material
            .measures
            .get(self.selection.measure)
            .map(|measure| measure.phases.as_slice())
            .unwrap_or_default();
        for block in phases.iter().filter(|block| fits(block.phase)) {
            for (place, session) in block.sessions.iter().enumerate() {
                self.take_session(block.phase, place, session);
            }
        }
    }

    fn familiarisation(&mut self) {
        let of_session = self.selection.also == Also::FamiliarisationOfSession;
        let own: Vec<Option<u32>> = match self.selection.block {
            Source::Named(name) => self
                .material
                .sessions(self.selection.measure, name)
                .map(|(_, session)| session.recorded_number)
                .collect(),
            _ => Vec::new(),
        };
        let phases: &'a [PhaseMaterial] = self
            .material
            .measures
            .get(self.selection.measure)
            .map(|measure| measure.phases.as_slice())
            .unwrap_or_default();
        for block in phases
            .iter()
            .filter(|block| block.phase.kind == PhaseKind::Familiarisation)
        {
            for (place, session) in block.sessions.iter().enumerate() {
                if !of_session || own.contains(&session.recorded_number) {
                    self.take_session(block.phase, place, session);
                }
            }
        }
    }

    fn take_session(&mut self, phase: Phase, place: usize, session: &SessionMaterial) {
        // Sessions of different phases are told apart; no logbook has a million sessions.
        let id = (phase.kind as usize * 1_000 + usize::from(phase.number)) * 1_000_000 + place;
        for trial in &session.trials {
            self.take_trial(id, trial);
        }
    }

    fn take_trial(&mut self, session: usize, trial: &TrialMaterial) {
        let from = Origin {
            session,
            number: trial.number,
            rater: 0,
            row: Some(trial.row),
        };
        match (self.selection.ratings, trial.ratings.is_empty()) {
            (Ratings::Averaged, _) | (Ratings::Pooled, true) => {
                if let Some(score) = trial.score {
                    self.push(score, from, trial);
                }
            }
            (Ratings::Of(rater), _) => {
                for (by, score) in &trial.ratings {
                    if small(*by) == rater {
                        self.push(*score, from, trial);
                    }
                }
            }
            (Ratings::Pooled, false) => {
                for (by, score) in &trial.ratings {
                    self.push(*score, Origin { rater: *by, ..from }, trial);
                }
            }
        }
        let add = self.selection.add;
        match trial.blank {
            Blank::Empty if matches!(add, Add::BlanksAsZeros | Add::UnreadableAsZeros) => {
                self.push(0.0, from, trial);
            }
            Blank::Unreadable if add == Add::UnreadableAsZeros => self.push(0.0, from, trial),
            Blank::OutOfScale(value) if matches!(add, Add::OutOfScale | Add::AllBadRows) => {
                self.push(value, from, trial);
            }
            _ => {}
        }
        if matches!(add, Add::SecondRecords | Add::AllBadRows) {
            self.push_second_records(from, trial);
        }
    }

    fn push_second_records(&mut self, from: Origin, trial: &TrialMaterial) {
        let Some(measure) = self.material.measures.get(self.selection.measure) else {
            return;
        };
        for (first, score) in &measure.second_records {
            if *first == trial.row {
                self.push(*score, from, trial);
            }
        }
    }

    fn push(&mut self, score: f64, from: Origin, trial: &TrialMaterial) {
        if let Some(value) = transformed(self.selection.of, score, trial.landing, self.scale) {
            let goodness = match (self.selection.of, trial.landing) {
                // A coordinate alone doesn't say how near the target it was.
                (Transform::X | Transform::Y, Some((x, y))) => -x.hypot(y),
                _ => goodness(value, self.selection.of, self.scale),
            };
            self.items.push(Item {
                value,
                recorded: score,
                goodness,
                from,
                off_step: trial.off_step,
                hidden: trial.hidden,
            });
        }
    }

    /// Cells that are no trials.
    fn add_cells(&mut self) {
        let numbers: Vec<f64> = match self.selection.add {
            Add::LastTrialNumber => self
                .items
                .iter()
                .map(|item| f64::from(item.from.number))
                .next_back()
                .into_iter()
                .collect(),
            Add::Total => vec![self.items.iter().map(|item| item.value).sum()],
            Add::Target => self.scale.target.into_iter().collect(),
            Add::FormulaExtras(claim) => self
                .material
                .logbook
                .claims
                .get(claim as usize)
                .and_then(|claim| claim.formula.as_ref())
                .map(|range| range.extra.iter().map(|cell| cell.value).collect())
                .unwrap_or_default(),
            _ => return,
        };
        if self.items.is_empty() {
            return;
        }
        for value in numbers {
            self.items.push(Item {
                value,
                recorded: value,
                goodness: goodness(value, self.selection.of, self.scale),
                from: Origin {
                    session: usize::MAX,
                    number: 0,
                    rater: 0,
                    row: None,
                },
                off_step: false,
                hidden: false,
            });
        }
    }

    fn keep(&mut self) {
        let n = self.items.len();
        match self.selection.keep {
            Keep::All => {}
            Keep::First(k) => self.items.truncate(usize::from(k)),
            Keep::Last(k) => {
                self.items.drain(..n.saturating_sub(usize::from(k)));
            }
            Keep::WithoutFirst(k) => {
                self.items.drain(..usize::from(k).min(n));
            }
            Keep::WithoutLast(k) => self.items.truncate(n.saturating_sub(usize::from(k))),
            Keep::WithoutFirstOfEach => {
                let mut last = None;
                self.items.retain(|item| {
                    let first = last != Some(item.from.session);
                    last = Some(item.from.session);
                    !first
                });
            }
            Keep::WithoutLastOfEach => {
                let mut last = None;
                self.items.reverse();
                self.items.retain(|item| {
                    let first = last != Some(item.from.session);
                    last = Some(item.from.session);
                    !first
                });
                self.items.reverse();
            }
            Keep::WithoutWorst(k) => {
                for _ in 0..k {
                    self.drop_extreme(|item| -item.goodness);
                }
            }
            Keep::WithoutLastWorst => {
                self.items.reverse();
                self.drop_extreme(|item| -item.goodness);
                self.items.reverse();
            }
            Keep::WithoutBestAndWorst(k) => {
                for _ in 0..k {
                    self.drop_extreme(|item| -item.goodness);
                    self.drop_extreme(|item| item.goodness);
                }
            }
            Keep::WithoutExtremes => {
                self.drop_extreme(|item| -item.recorded);
                self.drop_extreme(|item| item.recorded);
            }
            Keep::WithoutOutliers(rule) => self.drop_outliers(rule),
            Keep::Best => {
                let best = self.items.iter().copied().reduce(|best, item| {
                    if item.goodness > best.goodness {
                        item
                    } else {
                        best
                    }
                });
                self.items = best.into_iter().collect();
            }
            Keep::BestSession(by) => self.keep_best_session(by),
            Keep::WithoutZeros => self.items.retain(|item| item.value != 0.0),
            Keep::WithoutOffStep => self.items.retain(|item| !item.off_step),
            Keep::WithoutHidden => self.items.retain(|item| !item.hidden),
            Keep::WithoutRepeated => {
                let repeated = self
                    .material
                    .measures
                    .get(self.selection.measure)
                    .map(|measure| measure.second_records.as_slice())
                    .unwrap_or_default();
                self.items.retain(|item| {
                    !repeated
                        .iter()
                        .any(|(first, _)| Some(*first) == item.from.row)
                });
            }
            Keep::WithinFormula(claim) => {
                let left_out = self
                    .material
                    .logbook
                    .claims
                    .get(claim as usize)
                    .and_then(|claim| claim.formula.as_ref())
                    .map(|range| range.left_out.as_slice())
                    .unwrap_or_default();
                self.items
                    .retain(|item| item.from.row.is_none_or(|row| !left_out.contains(&row)));
            }
        }
    }

    /// Leaves out the first of the numbers for which the measure is largest.
    fn drop_extreme(&mut self, measure: impl Fn(&Item) -> f64) {
        let mut extreme: Option<(usize, f64)> = None;
        for (at, item) in self.items.iter().enumerate() {
            let size = measure(item);
            if extreme.is_none_or(|(_, largest)| size > largest) {
                extreme = Some((at, size));
            }
        }
        if let Some((at, _)) = extreme {
            self.items.remove(at);
        }
    }

    fn drop_outliers(&mut self, rule: OutlierRule) {
        let values: Vec<f64> = self.items.iter().map(|item| item.recorded).collect();
        if let Some((low, high)) = bounds(&values, rule) {
            // A value on the bound by its last bit is on it.
            let slack = 1e-12 * low.abs().max(high.abs());
            self.items
                .retain(|item| low - slack <= item.recorded && item.recorded <= high + slack);
        }
    }

    fn keep_best_session(&mut self, by: BestBy) {
        // Session, sum of scores, sum of how good they are, number.
        let mut sums: Vec<(usize, f64, f64, f64)> = Vec::new();
        for item in &self.items {
            match sums
                .iter_mut()
                .find(|(session, ..)| *session == item.from.session)
            {
                Some((_, value, good, n)) => {
                    *value += item.recorded;
                    *good += item.goodness;
                    *n += 1.0;
                }
                None => sums.push((item.from.session, item.recorded, item.goodness, 1.0)),
            }
        }
        let mut best: Option<(usize, f64)> = None;
        for (session, value, good, n) in sums {
            let good = match by {
                BestBy::Mean => goodness(value / n, Transform::AsRecorded, self.scale),
                BestBy::Trials | BestBy::TrialsLast => good / n,
            };
            let better = best.is_none_or(|(_, known)| {
                if by == BestBy::TrialsLast {
                    good >= known || close(good, known)
                } else {
                    good > known && !close(good, known)
                }
            });
            if better {
                best = Some((session, good));
            }
        }
        self.items
            .retain(|item| best.is_some_and(|(session, _)| item.from.session == session));
    }
}

/// How good a number is: the higher, the better.
pub fn goodness(value: f64, of: Transform, scale: &Scale) -> f64 {
    match of {
        Transform::AsRecorded => match scale.better {
            Better::Higher => value,
            Better::Lower => -value,
            Better::Target => -(value - scale.target.unwrap_or(0.0)).abs(),
        },
        Transform::Success | Transform::SuccessReversed => value,
        _ => -value.abs(),
    }
}

fn transformed(
    of: Transform,
    score: f64,
    landing: Option<(f64, f64)>,
    scale: &Scale,
) -> Option<f64> {
    Some(match of {
        Transform::AsRecorded => score,
        Transform::Signed => score - scale.error_target?,
        Transform::Distance => (score - scale.error_target.unwrap_or(0.0)).abs(),
        Transform::Radial => landing.map(|(x, y)| x.hypot(y))?,
        Transform::X => landing?.0,
        Transform::Y => landing?.1,
        Transform::SizeOfX => landing?.0.abs(),
        Transform::SizeOfY => landing?.1.abs(),
        Transform::Success | Transform::SuccessReversed => {
            let reversed = of == Transform::SuccessReversed;
            let success = match (scale.kind, scale.target) {
                (MeasureKind::Success, _) => ((score - 1.0).abs() < EXACT) != reversed,
                (_, None) => return None,
                (_, Some(target)) if (scale.better == Better::Lower) != reversed => score <= target,
                (_, Some(target)) => score >= target,
            };
            f64::from(u8::from(success))
        }
    })
}

/// Within which bounds a number is not far from the rest; none where the rule has nothing to go by.
fn bounds(values: &[f64], rule: OutlierRule) -> Option<(f64, f64)> {
    if let OutlierRule::TenthsOfSd(tenths) = rule {
        let moments = Moments::of(values).ok()?;
        let reach = f64::from(tenths) / 10.0 * moments.sd().ok()?;
        return Some((moments.mean - reach, moments.mean + reach));
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    if n < 4 {
        return None;
    }
    let (lower, upper) = match rule {
        OutlierRule::InclusiveQuartiles => {
            let at = |share: f64| between(&sorted, (n - 1) as f64 * share);
            (at(0.25)?, at(0.75)?)
        }
        OutlierRule::ExclusiveQuartiles => {
            let at = |share: f64| between(&sorted, (n + 1) as f64 * share - 1.0);
            (at(0.25)?, at(0.75)?)
        }
        _ => {
            let half = n / 2;
            let middle = (half - 1) as f64 / 2.0;
            (
                between(&sorted, middle)?,
                between(&sorted, (n - half) as f64 + middle)?,
            )
        }
    };
    let reach = 1.5 * (upper - lower);
    Some((lower - reach, upper + reach))
}

/// The value at a place between two of a sorted list.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a place in a list of trials: small, and checked not to be below 0"
)]
fn between(sorted: &[f64], place: f64) -> Option<f64> {
    if place < 0.0 {
        return None;
    }
    let low = place.floor();
    let a = sorted.get(low as usize)?;
    let share = place - low;
    if share == 0.0 {
        return Some(*a);
    }
    let b = sorted.get(low as usize + 1)?;
    Some(a + share * (b - a))
}

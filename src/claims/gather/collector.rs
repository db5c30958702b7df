//! The numbers of one selection, as they come together.

use super::{Origin, goodness};
use crate::claims::computation::{Add, Also, Ratings, Selection, Source, Transform, small};
use crate::claims::material::{
    Blank, Material, PhaseMaterial, Scale, SessionMaterial, TrialMaterial,
};
use crate::logbook::model::{Better, MeasureKind};
use crate::number::EXACT;
use crate::phase::{BlockName, Phase, PhaseKind};

/// A number on its way into a selection.
#[derive(Debug, Clone, Copy)]
pub(super) struct Item {
    pub(super) value: f64,
    /// The score that it is taken of.
    pub(super) recorded: f64,
    /// How good it is: the higher, the better.
    pub(super) goodness: f64,
    pub(super) from: Origin,
    pub(super) off_step: bool,
    pub(super) hidden: bool,
}

/// All numbers of a selection, whatever it keeps of them.
pub(super) fn collect(material: &Material<'_>, selection: Selection) -> Vec<Item> {
    let Some(mut collector) = Collector::of(material, selection, Vec::new()) else {
        return Vec::new();
    };
    collector.collect();
    collector.add_cells();
    collector.items
}

/// Those of all its numbers that a selection keeps.
pub(super) fn keep(material: &Material<'_>, selection: Selection, items: &[Item]) -> Vec<Item> {
    let Some(mut collector) = Collector::of(material, selection, items.to_vec()) else {
        return Vec::new();
    };
    collector.keep();
    collector.items
}

/// The numbers of one selection, as they come together.
pub(super) struct Collector<'a> {
    pub(super) material: &'a Material<'a>,
    pub(super) selection: Selection,
    pub(super) scale: &'a Scale,
    pub(super) items: Vec<Item>,
}

impl<'a> Collector<'a> {
    /// None where there is no such measure.
    fn of(material: &'a Material<'a>, selection: Selection, items: Vec<Item>) -> Option<Self> {
        let measure = material.measures.get(selection.measure)?;
        Some(Self {
            material,
            selection,
            scale: &measure.scale,
            items,
        })
    }

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
        self.items.reserve(session.trials.len());
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

//! What is kept of a pair for looking at the cohort as a whole: its scores in order, and where they stand.
//!
//! Some two kilobytes a pair, so that ten thousand pairs fit beside everything else.

use std::sync::Arc;

use crate::facts::Record;
use crate::facts::record::SessionTrials;
use crate::logbook::Logbook;
use crate::logbook::model::{Better, Measure, MeasureKind};
use crate::phase::{Phase, PhaseKind};
use crate::place::{Place, Places};
use crate::stats::effect_size;

/// A pair's scores.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PairTrace {
    /// The pair's id.
    pub pair: Arc<str>,
    /// Its measures that have scores, in the order of its logbook.
    pub measures: Box<[MeasureTrace]>,
    /// Change from pre-test to post-test of the primary measure.
    pub gain: Option<Gain>,
}

/// A standardised change.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Gain {
    /// In pooled standard deviations, positive where it is better.
    pub d: f64,
    /// Trials of a test: the harmonic mean of the two tests' numbers.
    pub trials: f64,
}

/// The scores of one measure.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct MeasureTrace {
    /// Its name.
    pub name: Arc<str>,
    /// What makes its scores comparable with those of other pairs.
    pub scale: Scale,
    /// Its sessions with scores, in the order of phases and sessions.
    pub sessions: Box<[SessionTrace]>,
}

/// Kind, direction and scale: measures that share them are looked at together, whatever they are called.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub struct Scale {
    kind: MeasureKind,
    better: Better,
    lowest: Option<u64>,
    highest: Option<u64>,
    step: Option<u64>,
}

/// The scores of one session of one phase.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SessionTrace {
    /// The phase.
    pub phase: Phase,
    /// Which of the phase's sessions, from 0.
    pub ordinal: u16,
    /// The scores that count, in order of trials.
    pub scores: Box<[f64]>,
    /// Where they stand.
    cells: Places,
}

impl Scale {
    fn of(measure: &Measure) -> Self {
        let bits = |end: Option<f64>| end.map(|end| (end + 0.0).to_bits());
        Self {
            kind: measure.kind,
            better: measure.better,
            lowest: bits(measure.lowest),
            highest: bits(measure.highest),
            step: bits(measure.step),
        }
    }

    /// The smallest step between two scores, where there is one.
    pub fn step(&self) -> Option<f64> {
        self.step.map(f64::from_bits).filter(|step| *step > 0.0)
    }
}

impl PairTrace {
    /// The trace of a pair.
    pub fn new(pair: &str, logbook: &Logbook, record: &Record) -> Self {
        let mut measures = Vec::new();
        for (measure, blocks) in logbook.measures.iter().zip(&record.measures) {
            let mut sessions = Vec::new();
            for block in &blocks.blocks {
                if block.phase.kind == PhaseKind::Familiarisation {
                    continue;
                }
                for (ordinal, session) in (0_u16..).zip(&block.sessions) {
                    sessions.extend(SessionTrace::new(logbook, block.phase, ordinal, session));
                }
            }
            if !sessions.is_empty() {
                measures.push(MeasureTrace {
                    name: measure.name.clone(),
                    scale: Scale::of(measure),
                    sessions: sessions.into(),
                });
            }
        }
        Self {
            pair: pair.into(),
            measures: measures.into(),
            gain: gain(logbook, record),
        }
    }
}

/// The standardised change of the primary measure.
fn gain(logbook: &Logbook, record: &Record) -> Option<Gain> {
    let (measure, blocks) = (logbook.measures.first()?, record.measures.first()?);
    let comparable = |phase| -> Option<Vec<f64>> {
        let scores = blocks.block(phase)?.scores();
        Some(
            scores
                .into_iter()
                .map(|score| measure.comparable(score))
                .collect(),
        )
    };
    let (pre, post) = (comparable(Phase::PRE)?, comparable(Phase::POST)?);
    let d = effect_size::d(&pre, &post).ok()?;
    Some(Gain {
        d: if measure.higher_is_better() { d } else { -d },
        trials: 2.0 / (1.0 / pre.len() as f64 + 1.0 / post.len() as f64),
    })
}

impl SessionTrace {
    fn new(logbook: &Logbook, phase: Phase, ordinal: u16, session: &SessionTrials) -> Option<Self> {
        let mut scores = Vec::new();
        let mut places = Vec::new();
        for trial in &session.trials {
            if let (Some(score), Some(row)) =
                (trial.score, trial.ratings.first().map(|rating| rating.row))
            {
                scores.push(score);
                places.push(&logbook.trials.get(row)?.place);
            }
        }
        (!scores.is_empty()).then(|| Self {
            phase,
            ordinal,
            scores: scores.into(),
            cells: places.into_iter().collect(),
        })
    }

    /// The cells of some of its scores, by their positions.
    pub fn places(&self, positions: std::ops::Range<usize>) -> Vec<Place> {
        positions
            .filter_map(|position| self.cells.get(position))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::Sample;

    #[test]
    fn every_score_keeps_its_cell_though_second_ratings_stand_between() {
        let sample = Sample::sound();
        let record = Record::new(&sample.logbook);
        let trace = PairTrace::new("P07", &sample.logbook, &record);
        let sessions = &trace.measures[0].sessions;
        assert_eq!(sessions.len(), 12);
        for session in sessions {
            let block = record.measures[0].block(session.phase).unwrap();
            let trials = &block.sessions[usize::from(session.ordinal)].trials;
            let places: Vec<Place> = trials
                .iter()
                .map(|trial| sample.logbook.trials[trial.row].place.clone())
                .collect();
            assert_eq!(session.places(0..trials.len()), places);
        }
        // NumPy: (b.mean() - a.mean()) / sqrt((a.var(ddof=1) + b.var(ddof=1)) / 2).
        assert!((trace.gain.unwrap().d - 1.937_925_580_499_818).abs() < 1e-12);
    }
}

//! The numbers of one logbook, laid out so that any selection of them is gathered quickly: counted trials, and beside them what a slip
//! may count by mistake.

use std::sync::Arc;

use crate::claims::computation::Add;
use crate::facts::record::{Block, Record, ScoredTrial, Why};
use crate::logbook::model::{Better, Logbook, Measure, MeasureKind, Score};
use crate::phase::{BlockName, Phase, PhaseKind};

/// The numbers of one logbook.
#[derive(Debug)]
pub struct Material<'a> {
    /// What was handed in.
    pub logbook: &'a Logbook,
    /// The logbook's measures, then the technique checklist as one more, where there is one.
    pub measures: Vec<MeasureMaterial>,
}

/// The numbers of one measure.
#[derive(Debug)]
pub struct MeasureMaterial {
    /// Its scale.
    pub scale: Scale,
    /// Its blocks in phase order, familiarisation among them.
    pub phases: Vec<PhaseMaterial>,
    /// Its raters, in order of appearance; unnamed ones are one rater.
    pub raters: Vec<Option<Arc<str>>>,
    /// Later records of a trial: the first record's row, the score.
    pub second_records: Vec<(usize, f64)>,
    /// Whether any trial has a landing point.
    pub has_landing_points: bool,
    /// Why trials have no score, each reason once.
    pub blanks: Vec<Blank>,
}

/// What of a measure enters computations.
#[derive(Debug, Clone, Copy)]
pub struct Scale {
    /// What it measures.
    pub kind: MeasureKind,
    /// Which way is better.
    pub better: Better,
    /// Lowest score.
    pub lowest: Option<f64>,
    /// Highest score.
    pub highest: Option<f64>,
    /// Step.
    pub step: Option<f64>,
    /// The target as recorded.
    pub target: Option<f64>,
    /// From where errors are measured.
    pub error_target: Option<f64>,
}

/// The numbers of one phase.
#[derive(Debug)]
pub struct PhaseMaterial {
    /// The phase.
    pub phase: Phase,
    /// Its sessions in order.
    pub sessions: Vec<SessionMaterial>,
}

/// The numbers of one session of a phase.
#[derive(Debug)]
pub struct SessionMaterial {
    /// The number by which it is named; none where others of its phase have one and it has not.
    pub number: Option<u32>,
    /// Its number as recorded.
    pub recorded_number: Option<u32>,
    /// Its trials in order.
    pub trials: Vec<TrialMaterial>,
}

/// One recorded trial.
#[derive(Debug)]
pub struct TrialMaterial {
    /// Its number, counted where none is recorded.
    pub number: u32,
    /// The score that counts.
    pub score: Option<f64>,
    /// Why there is none.
    pub blank: Blank,
    /// Landing point.
    pub landing: Option<(f64, f64)>,
    /// Its first row in the logbook's trials; of technique, in the checklist.
    pub row: usize,
    /// It stands in a hidden row.
    pub hidden: bool,
    /// Its score lies between the steps of the scale.
    pub off_step: bool,
    /// Its ratings, by rater, where the measure has more than one rater.
    pub ratings: Vec<(usize, f64)>,
}

/// Why a trial has no score that counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Blank {
    /// It has one.
    No,
    /// Nothing recorded.
    Empty,
    /// The cell is no number.
    Unreadable,
    /// Outside the scale.
    OutOfScale(f64),
}

impl Scale {
    fn of(measure: &Measure) -> Self {
        Self {
            kind: measure.kind,
            better: measure.better,
            lowest: measure.lowest,
            highest: measure.highest,
            step: measure.step,
            target: measure.target,
            error_target: measure.error_target(),
        }
    }

    fn of_technique() -> Self {
        Self {
            kind: MeasureKind::Rating,
            better: Better::Higher,
            lowest: None,
            highest: None,
            step: None,
            target: None,
            error_target: None,
        }
    }
}

impl<'a> Material<'a> {
    /// Lays out a logbook's numbers.
    pub fn new(logbook: &'a Logbook, record: &Record) -> Self {
        let mut measures: Vec<MeasureMaterial> = record
            .measures
            .iter()
            .zip(&logbook.measures)
            .map(|(recorded, measure)| MeasureMaterial {
                scale: Scale::of(measure),
                phases: Vec::with_capacity(recorded.blocks.len()),
                raters: Vec::new(),
                second_records: Vec::new(),
                has_landing_points: recorded
                    .blocks
                    .iter()
                    .flat_map(Block::trials)
                    .any(|trial| trial.landing.is_some()),
                blanks: Vec::new(),
            })
            .collect();
        for aside in &record.set_aside {
            let Why::DuplicateOf(first) = aside.why else {
                continue;
            };
            if let Some(trial) = logbook.trials.get(aside.row)
                && let Score::Number(score) = trial.score
                && score.is_finite()
                && let Some(measure) = measures.get_mut(trial.measure)
            {
                measure.second_records.push((first, score));
            }
        }
        for (measure, recorded) in measures.iter_mut().zip(&record.measures) {
            measure.raters = raters_of(&recorded.blocks);
            let several = measure.raters.len() > 1;
            for block in &recorded.blocks {
                let phase =
                    phase_material(block, logbook, record, several.then_some(&measure.raters));
                measure.phases.push(phase);
            }
            measure.blanks = blanks_of(&measure.phases);
        }
        if !logbook.technique.is_empty() {
            measures.push(technique(logbook));
        }
        Self { logbook, measures }
    }

    /// The index at which the technique checklist stands, there or not.
    pub fn technique_index(&self) -> usize {
        self.logbook.measures.len()
    }

    /// The sessions that a name speaks of: of its phase, with their places in it.
    pub fn sessions(
        &self,
        measure: usize,
        name: BlockName,
    ) -> impl Iterator<Item = (usize, &SessionMaterial)> {
        let (phase, number) = match name {
            BlockName::Phase(phase) => (phase, None),
            BlockName::PracticeSession(number) => (Phase::PRACTICE, Some(number)),
        };
        self.phase(measure, phase)
            .map(|phase| phase.sessions.as_slice())
            .unwrap_or_default()
            .iter()
            .enumerate()
            .filter(move |(_, session)| number.is_none_or(|number| session.number == Some(number)))
    }

    /// The numbers of a phase.
    pub fn phase(&self, measure: usize, phase: Phase) -> Option<&PhaseMaterial> {
        self.measures
            .get(measure)?
            .phases
            .iter()
            .find(|block| block.phase == phase)
    }

    /// The tests of a measure that have usable scores, in order.
    pub fn tests(&self, measure: usize) -> impl Iterator<Item = Phase> {
        self.phases_with_scores(measure)
            .filter(|phase| phase.kind.is_test())
    }

    /// The phases of a measure that have usable scores, in order, familiarisation left out.
    pub fn phases_with_scores(&self, measure: usize) -> impl Iterator<Item = Phase> {
        self.measures
            .get(measure)
            .map(|measure| measure.phases.as_slice())
            .unwrap_or_default()
            .iter()
            .filter(|block| block.phase.kind != PhaseKind::Familiarisation && block.has_scores())
            .map(|block| block.phase)
    }

    /// The scale of a measure.
    pub fn scale(&self, measure: usize) -> Option<&Scale> {
        self.measures.get(measure).map(|measure| &measure.scale)
    }
}

impl MeasureMaterial {
    /// Whether there are no rows of the kind that would be added.
    pub fn has_none_of(&self, add: Add) -> bool {
        let no_blank = |kind: fn(&Blank) -> bool| !self.blanks.iter().any(kind);
        match add {
            Add::Nothing => true,
            Add::BlanksAsZeros => no_blank(|blank| *blank == Blank::Empty),
            Add::UnreadableAsZeros => {
                no_blank(|blank| matches!(blank, Blank::Empty | Blank::Unreadable))
            }
            Add::SecondRecords => self.second_records.is_empty(),
            Add::OutOfScale => no_blank(|blank| matches!(blank, Blank::OutOfScale(_))),
            Add::AllBadRows => {
                self.has_none_of(Add::SecondRecords) && self.has_none_of(Add::OutOfScale)
            }
            Add::LastTrialNumber | Add::Total | Add::Target | Add::FormulaExtras(_) => false,
        }
    }
}

impl PhaseMaterial {
    /// Whether any trial has a usable score.
    pub fn has_scores(&self) -> bool {
        self.sessions.iter().any(SessionMaterial::has_scores)
    }
}

impl SessionMaterial {
    /// Whether any trial has a usable score.
    pub fn has_scores(&self) -> bool {
        self.trials.iter().any(|trial| trial.score.is_some())
    }
}

/// Why trials have no score, each reason once.
fn blanks_of(phases: &[PhaseMaterial]) -> Vec<Blank> {
    let mut blanks = Vec::new();
    for trial in phases
        .iter()
        .flat_map(|phase| &phase.sessions)
        .flat_map(|session| &session.trials)
    {
        if trial.blank != Blank::No && !blanks.contains(&trial.blank) {
            blanks.push(trial.blank);
        }
    }
    blanks
}

/// The raters of a measure's trials by their first rows.
fn raters_of(blocks: &[Block]) -> Vec<Option<Arc<str>>> {
    let mut first_rows: Vec<(usize, &Option<Arc<str>>)> = Vec::new();
    for rating in blocks
        .iter()
        .flat_map(Block::trials)
        .flat_map(|trial| &trial.ratings)
    {
        match first_rows
            .iter_mut()
            .find(|(_, rater)| *rater == &rating.rater)
        {
            Some(known) => known.0 = known.0.min(rating.row),
            None => first_rows.push((rating.row, &rating.rater)),
        }
    }
    first_rows.sort_by_key(|(row, _)| *row);
    first_rows
        .into_iter()
        .map(|(_, rater)| rater.clone())
        .collect()
}

fn phase_material(
    block: &Block,
    logbook: &Logbook,
    record: &Record,
    raters: Option<&Vec<Option<Arc<str>>>>,
) -> PhaseMaterial {
    let numbered = block
        .sessions
        .iter()
        .any(|session| session.number.is_some());
    let sessions = block
        .sessions
        .iter()
        .map(|session| SessionMaterial {
            number: (session.number.is_some() || !numbered).then_some(session.practice_number),
            recorded_number: session.number,
            trials: session
                .trials
                .iter()
                .map(|trial| trial_material(trial, logbook, record, raters))
                .collect(),
        })
        .collect();
    PhaseMaterial {
        phase: block.phase,
        sessions,
    }
}

fn trial_material(
    trial: &ScoredTrial,
    logbook: &Logbook,
    record: &Record,
    raters: Option<&Vec<Option<Arc<str>>>>,
) -> TrialMaterial {
    let row = logbook.trials.get(trial.row);
    let blank = match (trial.score, row.map(|row| &row.score)) {
        (Some(_), _) => Blank::No,
        (None, Some(Score::Number(value))) if value.is_finite() => Blank::OutOfScale(*value),
        (None, Some(Score::Unreadable(_) | Score::Number(_))) => Blank::Unreadable,
        (None, _) => Blank::Empty,
    };
    let ratings = raters.map_or_else(Vec::new, |raters| {
        trial
            .ratings
            .iter()
            .filter_map(|rating| {
                let rater = raters.iter().position(|rater| *rater == rating.rater)?;
                Some((rater, rating.score))
            })
            .collect()
    });
    TrialMaterial {
        number: trial.number,
        score: trial.score,
        blank,
        landing: trial.landing,
        row: trial.row,
        hidden: row.is_some_and(|row| row.hidden),
        off_step: !record.off_step.is_empty()
            && (record.off_step.contains(&trial.row)
                || trial
                    .ratings
                    .iter()
                    .any(|rating| record.off_step.contains(&rating.row))),
        ratings,
    }
}

/// The technique checklist as one more measure: an element is a trial, an observer a rater.
fn technique(logbook: &Logbook) -> MeasureMaterial {
    let mut raters: Vec<Option<Arc<str>>> = Vec::new();
    let mut elements: Vec<&str> = Vec::new();
    let mut phases: Vec<PhaseMaterial> = Vec::new();
    for (row, rating) in logbook.technique.iter().enumerate() {
        let (Some(phase), Some(score)) = (rating.phase, rating.rating) else {
            continue;
        };
        if !score.is_finite() {
            continue;
        }
        let rater = index_of(&mut raters, &rating.observer);
        let element = index_of(&mut elements, &&*rating.element);
        let number = u32::try_from(element + 1).unwrap_or(u32::MAX);
        let at = phases
            .iter()
            .position(|block| block.phase == phase)
            .unwrap_or_else(|| {
                phases.push(PhaseMaterial {
                    phase,
                    sessions: vec![SessionMaterial {
                        number: None,
                        recorded_number: None,
                        trials: Vec::new(),
                    }],
                });
                phases.len() - 1
            });
        let Some(session) = phases
            .get_mut(at)
            .and_then(|block| block.sessions.first_mut())
        else {
            continue;
        };
        match session
            .trials
            .iter_mut()
            .find(|trial| trial.number == number)
        {
            Some(trial) if trial.ratings.iter().all(|(known, _)| *known != rater) => {
                trial.ratings.push((rater, score));
            }
            Some(_) => {}
            None => session.trials.push(TrialMaterial {
                number,
                score: None,
                blank: Blank::No,
                landing: None,
                row,
                hidden: false,
                off_step: false,
                ratings: vec![(rater, score)],
            }),
        }
    }
    for trial in phases
        .iter_mut()
        .flat_map(|block| &mut block.sessions)
        .flat_map(|session| &mut session.trials)
    {
        let n = trial.ratings.len();
        trial.score =
            (n > 0).then(|| trial.ratings.iter().map(|(_, score)| score).sum::<f64>() / n as f64);
    }
    phases.sort_by_key(|block| block.phase);
    MeasureMaterial {
        scale: Scale::of_technique(),
        phases,
        raters,
        second_records: Vec::new(),
        has_landing_points: false,
        blanks: Vec::new(),
    }
}

fn index_of<T: PartialEq + Clone>(items: &mut Vec<T>, item: &T) -> usize {
    items
        .iter()
        .position(|known| known == item)
        .unwrap_or_else(|| {
            items.push(item.clone());
            items.len() - 1
        })
}

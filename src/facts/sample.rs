//! Small invented logbooks for tests.

use std::sync::Arc;

use jiff::civil::date;

use crate::logbook::model::{
    About, Better, Logbook, Measure, MeasureKind, Score, Session, Tables, Trial,
};
use crate::phase::{Phase, PhaseKind};
use crate::place::Place;

/// A measure of some kind with the defaults of that kind.
pub(crate) fn measure(name: &str, kind: MeasureKind) -> Measure {
    let better = match kind {
        MeasureKind::Error => Better::Lower,
        MeasureKind::SignedError => Better::Target,
        _ => Better::Higher,
    };
    let lowest = matches!(
        kind,
        MeasureKind::Error | MeasureKind::Count | MeasureKind::Success
    )
    .then_some(0.0);
    Measure {
        name: name.into(),
        kind,
        better,
        lowest,
        ..Measure::undescribed()
    }
}

/// A row of the Trials table.
#[derive(Clone)]
pub(crate) struct Row(pub(crate) Trial);

impl Row {
    pub(crate) fn new(phase: Phase, session: Option<u32>, number: u32, score: f64) -> Self {
        Self(Trial {
            measure: 0,
            phase: Some(phase),
            session,
            date: None,
            number: Some(number),
            score: Score::Number(score),
            landing: None,
            condition: None,
            rater: None,
            estimate: None,
            hidden: false,
            place: Place::file("invented.csv"),
        })
    }

    pub(crate) fn pre(number: u32, score: f64) -> Self {
        Self::new(Phase::PRE, None, number, score)
    }

    pub(crate) fn practice(session: u32, number: u32, score: f64) -> Self {
        Self::new(Phase::PRACTICE, Some(session), number, score)
    }

    pub(crate) fn scored(mut self, score: Score) -> Self {
        self.0.score = score;
        self
    }

    pub(crate) fn by(mut self, rater: &str) -> Self {
        self.0.rater = Some(rater.into());
        self
    }

    pub(crate) fn under(mut self, condition: &str) -> Self {
        self.0.condition = Some(condition.into());
        self
    }

    pub(crate) fn guessed(mut self, estimate: f64) -> Self {
        self.0.estimate = Some(estimate);
        self
    }

    pub(crate) fn landing(mut self, x: f64, y: f64) -> Self {
        self.0.landing = Some((x, y));
        self
    }

    pub(crate) fn on(mut self, year: i16, month: i8, day: i8) -> Self {
        self.0.date = Some(date(year, month, day));
        self
    }

    pub(crate) fn in_session(mut self, session: u32) -> Self {
        self.0.session = Some(session);
        self
    }

    pub(crate) fn unnumbered(mut self) -> Self {
        self.0.number = None;
        self
    }

    pub(crate) fn unnumbered_session(mut self) -> Self {
        self.0.session = None;
        self
    }

    pub(crate) fn without_phase(mut self) -> Self {
        self.0.phase = None;
        self
    }
}

/// A test's trials, all in one session without a number, under one condition, on one day of March 2026.
pub(crate) fn test(kind: PhaseKind, day: i8, condition: &str, scores: &[f64]) -> Vec<Row> {
    (1..)
        .zip(scores)
        .map(|(number, score)| {
            Row::new(Phase::first(kind), None, number, *score)
                .on(2026, 3, day)
                .under(condition)
        })
        .collect()
}

/// One practice session's trials, on one day of March 2026.
pub(crate) fn practice(session: u32, day: i8, scores: &[f64]) -> Vec<Row> {
    (1..)
        .zip(scores)
        .map(|(number, score)| Row::practice(session, number, *score).on(2026, 3, day))
        .collect()
}

/// A row of the Sessions table that records nothing but its number, day and phase.
pub(crate) fn session(number: u32, day: i8, phase: Phase) -> Session {
    Session {
        number: Some(number),
        date: Some(date(2026, 3, day)),
        week: None,
        phase: Some(phase),
        minutes: None,
        order: None,
        variety: None,
        part: None,
        feedback: None,
        feedback_percent: None,
        content: None,
        notes: None,
        place: Place::file("invented.csv"),
        date_place: None,
        feedback_place: None,
    }
}

/// A logbook with nothing but these measures and trials.
pub(crate) fn logbook(measures: Vec<Measure>, rows: Vec<Row>) -> Logbook {
    Logbook {
        name: Arc::from("invented"),
        files: Vec::new(),
        about: About::default(),
        measures,
        sessions: Vec::new(),
        trials: rows.into_iter().map(|row| row.0).collect(),
        technique: Vec::new(),
        claims: Vec::new(),
        tables: Tables::default(),
        problems: Vec::new(),
    }
}

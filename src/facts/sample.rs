//! Small invented logbooks for tests.

use std::sync::Arc;

use jiff::civil::date;

use crate::logbook::model::{
    About, Better, Feedback, Logbook, Measure, MeasureKind, Order, Recorded, Score, Session,
    Sourced, Tables, TechniqueRating, Trial, Variety,
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

    pub(crate) fn of(mut self, measure: usize) -> Self {
        self.0.measure = measure;
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

/// Scores of the tests of [`programme`], on a scale of 1 to 4.
pub(crate) const PRE: [f64; 10] = [2.0, 1.0, 2.0, 3.0, 1.0, 2.0, 2.0, 1.0, 3.0, 2.0];
pub(crate) const POST: [f64; 10] = [3.0, 3.0, 2.0, 4.0, 3.0, 3.0, 4.0, 2.0, 3.0, 3.0];
pub(crate) const RETENTION: [f64; 10] = [3.0, 2.0, 3.0, 3.0, 2.0, 3.0, 4.0, 2.0, 3.0, 3.0];
pub(crate) const TRANSFER: [f64; 10] = [2.0, 2.0, 3.0, 2.0, 1.0, 3.0, 2.0, 2.0, 3.0, 2.0];
/// Scores of its practice sessions.
pub(crate) const PRACTICE: [[f64; 6]; 8] = [
    [1.0, 2.0, 1.0, 2.0, 2.0, 1.0],
    [2.0, 1.0, 2.0, 2.0, 1.0, 2.0],
    [2.0, 2.0, 1.0, 3.0, 2.0, 2.0],
    [2.0, 2.0, 2.0, 3.0, 2.0, 3.0],
    [1.0, 2.0, 2.0, 2.0, 3.0, 1.0],
    [3.0, 3.0, 4.0, 2.0, 3.0, 3.0],
    [3.0, 4.0, 3.0, 3.0, 2.0, 4.0],
    [4.0, 3.0, 3.0, 4.0, 3.0, 3.0],
];

/// A whole programme with everything recorded: four tests of ten trials rated 1 to 4, eight practice sessions of six in March 2026.
pub(crate) fn programme() -> Logbook {
    let mut rows = test(PhaseKind::Pre, 1, "3 m", &PRE);
    let second: Vec<Row> = rows.iter().map(|row| row.clone().by("B")).collect();
    rows = rows.into_iter().map(|row| row.by("A")).collect();
    rows.extend(second);
    rows.extend(test(PhaseKind::Mid, 9, "3 m", &PRE));
    for (number, scores) in (1..).zip(PRACTICE) {
        let day = i8::try_from(number).unwrap_or(0) * 2 + 1;
        let session = practice(number, day, &scores).into_iter();
        rows.extend(session.map(|row| row.under("3 m").guessed(2.0)));
    }
    rows.extend(test(PhaseKind::Post, 18, "3 m", &POST));
    rows.extend(test(PhaseKind::Retention, 25, "3 m", &RETENTION));
    rows.extend(test(PhaseKind::Transfer, 26, "5 m", &TRANSFER));
    let score = Measure {
        lowest: Some(1.0),
        highest: Some(4.0),
        step: Some(1.0),
        target: Some(3.0),
        ..measure("score", MeasureKind::Rating)
    };
    let mut logbook = logbook(vec![score], rows);
    logbook.tables.about = Some(Place::file("invented.csv"));
    logbook.about = about();
    logbook.sessions = (1..=8_u8)
        .map(|number| Session {
            minutes: Some(40.0),
            order: Some(Order::Random),
            variety: Some(Variety::Variable),
            part: Some("whole".into()),
            feedback: Some(Feedback::Results),
            feedback_percent: Some(100.0 - 10.0 * f64::from(number)),
            ..session(
                number.into(),
                i8::try_from(number).unwrap_or(0) * 2 + 1,
                Phase::PRACTICE,
            )
        })
        .collect();
    logbook.sessions.push(Session {
        feedback: Some(Feedback::None),
        ..session(9, 18, Phase::POST)
    });
    let elements = ["stance", "elbow", "follow-through"];
    for phase in PhaseKind::ALL.into_iter().filter(|kind| kind.is_test()) {
        for (observer, rating) in [("A", 1.0), ("B", 0.0)] {
            for (element, more) in elements.into_iter().zip([0.0, 1.0, 0.0]) {
                logbook.technique.push(TechniqueRating {
                    phase: Some(Phase::first(phase)),
                    element: element.into(),
                    rating: Some(rating + more),
                    observer: Some(observer.into()),
                    place: Place::file("invented.csv"),
                });
            }
        }
    }
    logbook
}

fn about() -> About {
    fn sourced<T>(value: T) -> Sourced<T> {
        let place = Place::file("invented.csv");
        Sourced { value, place }
    }
    let text = |text: &str| Some(sourced(Arc::<str>::from(text)));
    About {
        pair: text("P1"),
        coach: text("Ada"),
        learner: text("Ben"),
        skill: text("free throw"),
        start: Some(sourced(date(2026, 3, 1))),
        end: Some(sourced(date(2026, 3, 26))),
        stage_before: text("cognitive"),
        stage_after: text("associative"),
        stage_reason: text("fewer misses"),
        theory: text("schema"),
        theory_reason: text("variable practice"),
        experience: text("none"),
        novel_context: text("5 m"),
        learning_claimed: Some(sourced(true)),
        consent: Some(sourced(Recorded::On(date(2026, 2, 28)))),
        screening: Some(sourced(Recorded::On(date(2026, 2, 28)))),
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

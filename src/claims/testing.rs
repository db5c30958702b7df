//! Small logbooks for tests.

use super::{ClaimSettings, RecomputedClaim, recompute};
use crate::facts::Record;
use crate::logbook::Logbook;
use crate::logbook::model::{
    About, Better, Claim, ClaimMeasure, ClaimOrigin, Measure, MeasureKind, Score, Tables,
    TechniqueRating, Trial,
};
use crate::number::Stated;
use crate::phase::{BlockName, Phase, PhaseKind};
use crate::place::Place;
use crate::statistic::{Shape, Statistic};

/// A logbook in the making.
pub struct Made {
    /// The logbook.
    pub logbook: Logbook,
}

/// The name of a phase or practice session, as in logbooks.
pub fn block(name: &str) -> BlockName {
    if let Some(number) = name.strip_prefix("practice ") {
        return BlockName::PracticeSession(number.parse().unwrap());
    }
    let (kind, number) = name
        .rsplit_once(' ')
        .map_or((name, 1), |(kind, number)| (kind, number.parse().unwrap()));
    let kind = PhaseKind::ALL
        .into_iter()
        .find(|known| known.name() == kind)
        .unwrap();
    BlockName::Phase(Phase { kind, number })
}

pub fn phase(name: &str) -> Phase {
    match block(name) {
        BlockName::Phase(phase) => phase,
        BlockName::PracticeSession(_) => Phase::PRACTICE,
    }
}

impl Made {
    /// One measure of ratings 1 to 4.
    pub fn ratings() -> Self {
        Self::of(Measure {
            name: "rating".into(),
            kind: MeasureKind::Rating,
            better: Better::Higher,
            lowest: Some(1.0),
            highest: Some(4.0),
            step: Some(1.0),
            ..Measure::undescribed()
        })
    }

    /// One measure of signed errors.
    pub fn signed_errors() -> Self {
        Self::of(Measure {
            name: "error".into(),
            kind: MeasureKind::SignedError,
            better: Better::Target,
            target: Some(0.0),
            ..Measure::undescribed()
        })
    }

    /// One measure of times, lower is better.
    pub fn times() -> Self {
        Self::of(Measure {
            name: "time".into(),
            better: Better::Lower,
            lowest: Some(0.0),
            ..Measure::undescribed()
        })
    }

    /// One measure.
    pub fn of(measure: Measure) -> Self {
        Self {
            logbook: Logbook {
                name: "P01.xlsx".into(),
                files: vec!["P01.xlsx".into()],
                about: About::default(),
                measures: vec![measure],
                sessions: Vec::new(),
                trials: Vec::new(),
                technique: Vec::new(),
                claims: Vec::new(),
                tables: Tables::default(),
                problems: Vec::new(),
            },
        }
    }

    /// A further measure.
    pub fn measure(mut self, measure: Measure) -> Self {
        self.logbook.measures.push(measure);
        self
    }

    /// One row of the trials.
    pub fn row(&mut self, measure: usize, phase: &str, session: u32, number: u32) -> &mut Trial {
        let row = u32::try_from(self.logbook.trials.len()).unwrap();
        self.logbook.trials.push(Trial {
            measure,
            phase: Some(self::phase(phase)),
            session: Some(session),
            date: None,
            number: Some(number),
            score: Score::Missing,
            landing: None,
            condition: None,
            rater: None,
            estimate: None,
            hidden: false,
            place: Place::cell("P01.xlsx".into(), "Trials".into(), row + 1, 5),
        });
        self.logbook.trials.last_mut().unwrap()
    }

    /// The trials of one session of the first measure; NaN is an empty cell.
    pub fn trials(self, phase: &str, session: u32, scores: &[f64]) -> Self {
        self.trials_of(0, phase, session, scores)
    }

    /// The trials of one session of a measure.
    pub fn trials_of(mut self, measure: usize, phase: &str, session: u32, scores: &[f64]) -> Self {
        for (number, score) in (1..).zip(scores) {
            let row = self.row(measure, phase, session, number);
            if !score.is_nan() {
                row.score = Score::Number(*score);
            }
        }
        self
    }

    /// Ratings of the same trials by a named rater.
    pub fn rated(mut self, rater: &str, phase: &str, session: u32, scores: &[f64]) -> Self {
        for (number, score) in (1..).zip(scores) {
            let row = self.row(0, phase, session, number);
            row.score = Score::Number(*score);
            row.rater = Some(rater.into());
        }
        self
    }

    /// Landing points of one session.
    pub fn landings(mut self, phase: &str, session: u32, points: &[(f64, f64)]) -> Self {
        for (number, (x, y)) in (1..).zip(points) {
            let row = self.row(0, phase, session, number);
            row.score = Score::Number(x.hypot(*y));
            row.landing = Some((*x, *y));
        }
        self
    }

    /// Ratings of technique.
    pub fn technique(mut self, observer: &str, phase: &str, ratings: &[f64]) -> Self {
        for (element, rating) in ratings.iter().enumerate() {
            let row = u32::try_from(self.logbook.technique.len()).unwrap();
            self.logbook.technique.push(TechniqueRating {
                phase: Some(self::phase(phase)),
                element: format!("element {element}").into(),
                rating: Some(*rating),
                observer: Some(observer.into()),
                place: Place::cell("P01.xlsx".into(), "Technique".into(), row + 1, 2),
            });
        }
        self
    }

    /// A claim of the first measure: `mean post 3.40`, `change post vs pre 0.5`.
    pub fn claims(self, statistic: &str, of: &str, value: &str) -> Self {
        self.claims_of(0, statistic, of, value)
    }

    /// A claim of a measure.
    pub fn claims_of(mut self, measure: usize, statistic: &str, of: &str, value: &str) -> Self {
        let known = Statistic::from_name(statistic);
        let (later, earlier) = of
            .split_once(" vs ")
            .map_or((of, None), |(later, earlier)| (later, Some(earlier)));
        let shape = known.map(Statistic::shape);
        let default = |shape: Option<Shape>| match shape {
            Some(Shape::Comparison) => Some(block("pre")),
            _ => None,
        };
        let row = u32::try_from(self.logbook.claims.len()).unwrap();
        self.logbook.claims.push(Claim {
            id: format!("c{}", row + 1).into(),
            statistic: known,
            statistic_text: statistic.into(),
            measure: if measure < self.logbook.measures.len() {
                ClaimMeasure::Known(measure)
            } else {
                ClaimMeasure::Technique
            },
            phase: (!later.is_empty()).then(|| block(later)),
            phase_text: (!later.is_empty()).then(|| later.into()),
            versus: earlier.map(block).or_else(|| default(shape)),
            versus_text: None,
            value: Some(stated(value)),
            value_text: value.into(),
            unit: None,
            location: None,
            place: Place::cell("P01.xlsx".into(), "Claims".into(), row + 1, 4),
            origin: ClaimOrigin::Table,
            formula: None,
        });
        self
    }

    /// Everything recomputed.
    pub fn recomputed(&self) -> Vec<RecomputedClaim> {
        self.recomputed_accepting(&[])
    }

    /// Everything recomputed where the course accepts some slips.
    pub fn recomputed_accepting(&self, accept: &[&str]) -> Vec<RecomputedClaim> {
        let record = Record::new(&self.logbook);
        let settings = ClaimSettings {
            accept: accept.iter().map(|code| (*code).to_owned()).collect(),
        };
        recompute(&self.logbook, &record, &settings)
    }

    /// What the last claim is recomputed as.
    pub fn last(&self) -> RecomputedClaim {
        self.recomputed().pop().unwrap()
    }
}

/// A number as typed.
pub fn stated(text: &str) -> Stated {
    let decimals = text.split_once('.').map_or(0, |(_, after)| after.len());
    Stated::new(text.parse().unwrap(), u8::try_from(decimals).unwrap())
}

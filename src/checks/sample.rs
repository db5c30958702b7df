//! A sound pair for the checks' tests, to be spoilt in one respect at a time.

use std::sync::Arc;

use jiff::civil::{Date, date};

use super::finding::{Finding, Findings};
use super::policy::Policy;
use super::seen::{CohortSeen, HandInNote, Seen, TableName};
use super::{Check, Placed, PlacedFindings, Run, run_all};
use crate::claims::{ClaimSettings, recompute};
use crate::facts::{FactSettings, FactValue, Record, compute};
use crate::judgement::{
    Judgements, Ladder, Pattern, PredictionReading, SignReading, Speaks, StageVerdict,
    TheoryReading, TheoryVerdict, Verdict,
};
use crate::logbook::Logbook;
use crate::logbook::model::{
    About, Better, Claim, ClaimMeasure, ClaimOrigin, Feedback, Measure, MeasureKind, Order,
    Recorded, Score, Session, Sourced, Tables, TechniqueRating, Trial, Variety,
};
use crate::number::Stated;
use crate::phase::{BlockName, Phase, PhaseKind};
use crate::place::Place;
use crate::statistic::Statistic;
use crate::thresholds::Thresholds;

/// A logbook with the facts that a test sets over the computed ones.
pub(in crate::checks) struct Sample {
    pub logbook: Logbook,
    pub thresholds: Thresholds,
    /// What is said of stages and theory: the stages borne out, the theory as predicted.
    pub judgements: Judgements,
    set: Vec<(&'static str, FactValue)>,
    absent: Vec<&'static str>,
    needed: Vec<TableName>,
}

const FILE: &str = "P07.xlsx";
const PRE: [u8; 10] = [1, 2, 2, 1, 3, 2, 1, 2, 2, 1];
const POST: [u8; 10] = [3, 2, 3, 4, 3, 3, 2, 3, 4, 3];

impl Sample {
    /// Eight practice sessions over four weeks, four tests of ten rated trials, two raters, everything recorded.
    pub fn sound() -> Self {
        let mut builder = Builder::default();
        let first = date(2026, 3, 2);
        builder.session(1, first, Phase::PRE, &PRE, "3 m");
        for practice in 0..8_u32 {
            let day = plus(first, 2 + 3 * i64::from(practice));
            let scores: Vec<u8> = (0..6)
                .map(|trial| 2 + u8::from(trial * 3 + 2 * practice > 16))
                .collect();
            builder.session(2 + practice, day, Phase::PRACTICE, &scores, "3 m");
        }
        builder.session(10, plus(first, 26), Phase::POST, &POST, "3 m");
        builder.session(11, plus(first, 33), Phase::RETENTION, &POST, "3 m");
        builder.session(12, plus(first, 34), Phase::TRANSFER, &PRE, "5 m");
        builder.technique();
        Self {
            logbook: builder.logbook(first),
            thresholds: Thresholds::default(),
            judgements: Judgements {
                start: stage(Verdict::Supported),
                end: stage(Verdict::Supported),
                went_backwards: None,
                theory: theory(),
            },
            set: Vec::new(),
            absent: Vec::new(),
            needed: TableName::ALWAYS.to_vec(),
        }
    }

    /// Without any trial.
    pub fn without_trials(mut self) -> Self {
        self.logbook.trials.clear();
        self
    }

    /// Without the trials of a phase.
    pub fn without(mut self, phase: Phase) -> Self {
        self.logbook
            .trials
            .retain(|trial| trial.phase != Some(phase));
        self
    }

    /// The same with the first `n` trials of a phase alone.
    pub fn with_first(mut self, phase: Phase, n: u32) -> Self {
        self.logbook
            .trials
            .retain(|trial| trial.phase != Some(phase) || trial.number <= Some(n));
        self
    }

    /// With a fact at this number.
    pub fn with_number(mut self, fact: &'static str, number: f64) -> Self {
        self.set.push((fact, FactValue::Number(number)));
        self
    }

    /// Without a fact.
    pub fn without_fact(mut self, fact: &'static str) -> Self {
        self.absent.push(fact);
        self
    }

    /// With one more table that the rubric needs.
    pub fn needing(mut self, table: TableName) -> Self {
        self.needed.push(table);
        self
    }

    /// The trials of a phase, to change.
    pub fn trials(&mut self, phase: Phase) -> impl Iterator<Item = &mut Trial> {
        self.logbook
            .trials
            .iter_mut()
            .filter(move |trial| trial.phase == Some(phase))
    }

    /// The sessions of a phase, to change.
    pub fn sessions(&mut self, phase: Phase) -> impl Iterator<Item = &mut Session> {
        self.logbook
            .sessions
            .iter_mut()
            .filter(move |session| session.phase == Some(phase))
    }

    /// Gives every trial of a session, and its row of the Sessions table, another date.
    pub fn redate(&mut self, number: u32, to: Date) {
        for session in &mut self.logbook.sessions {
            if session.number == Some(number) {
                session.date = Some(to);
            }
        }
        for trial in &mut self.logbook.trials {
            if trial.session == Some(number) {
                trial.date = Some(to);
            }
        }
    }

    /// With one more claim, of the primary measure's post-test.
    pub fn claim(&mut self, statistic: &str, typed: &str, value: f64) {
        let index = self.logbook.claims.len();
        let row = u32::try_from(index).unwrap() + 1;
        self.logbook.claims.push(Claim {
            id: format!("c{}", index + 1).into(),
            statistic: Statistic::from_name(statistic),
            statistic_text: statistic.into(),
            measure: ClaimMeasure::Known(0),
            phase: Some(BlockName::Phase(Phase::POST)),
            phase_text: Some("post".into()),
            versus: None,
            versus_text: None,
            value: Some(Stated::from_stored(value)),
            value_text: typed.into(),
            unit: None,
            location: None,
            place: cell("Claims", row, 4),
            origin: ClaimOrigin::Table,
            formula: None,
        });
    }

    /// With one more claim, of the primary measure's post-test against its pre-test.
    pub fn comparison(&mut self, statistic: &str, typed: &str, value: f64) {
        self.claim(statistic, typed, value);
        if let Some(claim) = self.logbook.claims.last_mut() {
            claim.versus = Some(BlockName::Phase(Phase::PRE));
        }
    }

    /// What one check finds, and what it says it could not look at.
    pub fn run(&self, check: &Check) -> Findings {
        let mut findings = Findings::default();
        self.seen(|seen| match check.run {
            Run::Pair(run) | Run::PairAndCohort(run, _) => run(seen, &mut findings),
            Run::Cohort(_) | Run::Marks(_) => panic!("{} does not look at one pair", check.id),
        });
        findings
    }

    /// What one check finds.
    pub fn found(&self, check: &Check) -> Vec<Finding> {
        self.run(check).found
    }

    /// What all checks find.
    pub fn run_all(&self, policy: &Policy) -> Findings {
        self.seen(|seen| run_all(seen, policy))
    }

    fn seen<T>(&self, look: impl FnOnce(&Seen) -> T) -> T {
        let record = Record::new(&self.logbook);
        let claims = recompute(&self.logbook, &record, &ClaimSettings::default());
        // The checks read no fact that is simulated.
        let settings = FactSettings {
            simulate: false,
            ..FactSettings::default()
        };
        let mut facts = compute("P07", &self.logbook, &record, &settings);
        for (name, value) in &self.set {
            facts.set(*name, value.clone());
        }
        for name in &self.absent {
            facts.leave_out(*name, "is not recorded");
        }
        look(&Seen {
            pair: "P07",
            logbook: &self.logbook,
            record: &record,
            facts: &facts,
            thresholds: &self.thresholds,
            needed_tables: &self.needed,
            claims: &claims,
            judgements: &self.judgements,
        })
    }
}

/// Asserts that a check finds one thing, and gives it.
#[track_caller]
pub(in crate::checks) fn only(mut found: Vec<Finding>) -> Finding {
    assert_eq!(found.len(), 1, "{found:#?}");
    let finding = found.remove(0);
    assert!(finding.comment.ends_with('.'), "{}", finding.comment);
    assert!(!finding.message.is_empty());
    finding
}

/// Asserts that a check finds nothing but says that it could not look.
#[track_caller]
pub(in crate::checks) fn not_checked(findings: &Findings) {
    assert_eq!(findings.found, Vec::new());
    assert_eq!(findings.not_checked.len(), 1, "{findings:#?}");
}

fn plus(day: Date, days: i64) -> Date {
    day.checked_add(jiff::Span::new().days(days)).unwrap()
}

fn cell(sheet: &str, row: u32, column: u32) -> Place {
    Place::cell(FILE.into(), sheet.into(), row, column)
}

#[derive(Default)]
struct Builder {
    trials: Vec<Trial>,
    sessions: Vec<Session>,
    technique: Vec<TechniqueRating>,
}

impl Builder {
    /// One session, its row and its trials; of a test the first three trials are rated by two.
    fn session(&mut self, number: u32, day: Date, phase: Phase, scores: &[u8], condition: &str) {
        let row = u32::try_from(self.sessions.len()).unwrap() + 1;
        let practice = phase.kind == PhaseKind::Practice;
        self.sessions.push(Session {
            number: Some(number),
            date: Some(day),
            week: None,
            phase: Some(phase),
            minutes: Some(40.0),
            order: practice.then_some(Order::Random),
            variety: practice.then_some(Variety::Variable),
            part: None,
            feedback: Some(if practice {
                Feedback::Both
            } else {
                Feedback::None
            }),
            feedback_percent: None,
            content: None,
            notes: None,
            place: cell("Sessions", row, 0),
            date_place: Some(cell("Sessions", row, 1)),
            feedback_place: Some(cell("Sessions", row, 8)),
        });
        let raters = |trial: usize| if practice || trial > 2 { 1 } else { 2 };
        for (index, score) in scores.iter().enumerate() {
            for rater in ["coach", "second"].into_iter().take(raters(index)) {
                let row = u32::try_from(self.trials.len()).unwrap() + 1;
                self.trials.push(Trial {
                    measure: 0,
                    phase: Some(phase),
                    session: Some(number),
                    date: Some(day),
                    number: Some(u32::try_from(index).unwrap() + 1),
                    score: Score::Number(f64::from(*score)),
                    landing: None,
                    condition: Some(condition.into()),
                    rater: Some(rater.into()),
                    estimate: None,
                    hidden: false,
                    place: cell("Trials", row, 5),
                });
            }
        }
    }

    fn technique(&mut self) {
        for (phase, rating) in [(Phase::PRE, 1.0), (Phase::POST, 3.0)] {
            for element in ["stance", "release"] {
                for observer in ["coach", "second"] {
                    let row = u32::try_from(self.technique.len()).unwrap() + 1;
                    self.technique.push(TechniqueRating {
                        phase: Some(phase),
                        element: element.into(),
                        rating: Some(rating),
                        observer: Some(observer.into()),
                        place: cell("Technique", row, 2),
                    });
                }
            }
        }
    }

    fn logbook(self, first: Date) -> Logbook {
        let text = |row, text: &str| {
            Some(Sourced {
                value: Arc::<str>::from(text),
                place: cell("About", row, 1),
            })
        };
        let day = |row, days| {
            Some(Sourced {
                value: plus(first, days),
                place: cell("About", row, 1),
            })
        };
        let recorded = |row| {
            Some(Sourced {
                value: Recorded::Yes,
                place: cell("About", row, 1),
            })
        };
        Logbook {
            name: FILE.into(),
            files: vec![FILE.into()],
            about: About {
                pair: text(0, "P07"),
                skill: text(3, "disc throw"),
                start: day(4, 0),
                end: day(5, 34),
                stage_before: text(6, "cognitive"),
                stage_after: text(7, "associative"),
                theory: text(9, "power law of practice"),
                novel_context: text(12, "5 m instead of 3 m"),
                learning_claimed: Some(Sourced {
                    value: true,
                    place: cell("About", 13, 1),
                }),
                consent: recorded(14),
                screening: recorded(15),
                ..About::default()
            },
            measures: vec![Measure {
                name: "form".into(),
                kind: MeasureKind::Rating,
                unit: None,
                better: Better::Higher,
                lowest: Some(1.0),
                highest: Some(4.0),
                step: Some(1.0),
                target: None,
                place: Some(cell("Measures", 1, 0)),
            }],
            sessions: self.sessions,
            trials: self.trials,
            technique: self.technique,
            claims: Vec::new(),
            tables: Tables {
                about: Some(cell("About", 0, 0)),
                measures: Some(cell("Measures", 0, 0)),
                sessions: Some(cell("Sessions", 0, 0)),
                trials: Some(cell("Trials", 0, 0)),
                technique: Some(cell("Technique", 0, 0)),
                claims: Some(cell("Claims", 0, 0)),
            },
            problems: Vec::new(),
        }
    }
}

/// What one check finds in the notes on hand-ins.
pub(in crate::checks) fn cohort_found(check: &Check, hand_ins: &[HandInNote]) -> Vec<Placed> {
    let mut findings = PlacedFindings::default();
    let thresholds = Thresholds::default();
    let seen = CohortSeen::new(&thresholds, hand_ins, &[]);
    match check.run {
        Run::Cohort(run) | Run::PairAndCohort(_, run) => run(&seen, &mut findings),
        Run::Pair(_) | Run::Marks(_) => panic!("{} does not look at the cohort", check.id),
    }
    findings.found
}

/// What the record says of a stage: two signs, one against it and one not recorded.
pub(in crate::checks) fn stage(verdict: Verdict) -> StageVerdict {
    let sign = |id: &str, looks_at: &str, shows: Option<&str>, speaks| SignReading {
        id: id.into(),
        looks_at: looks_at.into(),
        shows: shows.map(str::to_owned),
        speaks,
        speaks_for: Vec::new(),
        because: "it does".into(),
        source: "common practice".into(),
    };
    StageVerdict {
        verdict,
        model: None,
        stages: Vec::new(),
        signs: vec![
            sign(
                "spread",
                "spread of trials",
                Some("Spread 1.2"),
                Speaks::Against,
            ),
            sign("attention", "attention", None, Speaks::NotRecorded),
        ],
        not_shown: Vec::new(),
        sentence: "The record says this of the stage.".into(),
    }
}

/// A theory with one prediction, which shows.
fn theory() -> TheoryVerdict {
    TheoryVerdict {
        ladder: Ladder::AsPredicted,
        theories: vec![TheoryReading {
            id: "power-law".into(),
            title: "power law of practice".into(),
            predictions: vec![PredictionReading {
                id: "smooth".into(),
                states: "Progress slows down as practice goes on".into(),
                pattern: Pattern::AsPredicted,
                shows: Some("Slope 0.2".into()),
                chance: None,
                rivals: Vec::new(),
                design: "More sessions".into(),
                because: "it does".into(),
                source: "common practice".into(),
            }],
        }],
        contradictions: Vec::new(),
        testable: 1,
        met: 1,
        contradicted: 0,
        sentence: "The data say this of the theory.".into(),
    }
}

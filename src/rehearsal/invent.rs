//! One pair's sound logbook: a learner with a smooth practice curve, a programme that a course would accept, and claims that follow.

use jiff::ToSpan as _;
use jiff::civil::Date;

use super::skill::{Measured, SKILLS, Skill};
use super::table::{Cell, Table, Tables};
use crate::logbook::model::MeasureKind;
use crate::stats::change::percent_change;
use crate::stats::random::Stream;
use crate::stats::summary::{mean, sd};

/// A pair whose logbook is sound.
#[derive(Debug, Clone)]
pub struct Sound {
    /// The pair's id.
    pub pair: String,
    /// The coach's id and name.
    pub coach_id: String,
    /// The coach's name.
    pub coach: String,
    /// The learner's id.
    pub learner_id: String,
    /// The learner's name.
    pub learner: String,
    /// What they hand in.
    pub logbook: Tables,
}

/// Practice sessions of a programme.
pub const PRACTICE: usize = 8;
/// Trials of a test.
pub const TEST_TRIALS: usize = 12;
/// Trials of a practice session.
const PRACTICE_TRIALS: usize = 10;
/// The first of so many trials of each test that a second rater scores, where trials are rated.
const RATED_TWICE: usize = 4;

const FIRST_NAMES: [&str; 16] = [
    "Amara", "Bela", "Cosmo", "Dilys", "Emre", "Fenna", "Gwion", "Hana", "Idris", "Juno", "Kofi",
    "Lisbet", "Marek", "Nia", "Oisin", "Petra",
];
const LAST_NAMES: [&str; 16] = [
    "Abernathy",
    "Boateng",
    "Carvalho",
    "Dunmore",
    "Eriksen",
    "Farouk",
    "Gillespie",
    "Hollander",
    "Ibsen",
    "Jurado",
    "Kowalska",
    "Lindqvist",
    "Mbeki",
    "Novotny",
    "Okafor",
    "Pellegrini",
];

/// One session of the programme.
struct Session {
    number: usize,
    day: Date,
    phase: &'static str,
    /// How far the learner has come, 0 at the start, 1 at the end of practice.
    progress: f64,
    trials: usize,
}

/// Invents a pair. `index` turns skills and formats over, the stream does the rest.
pub fn invent(pair: &str, index: usize, stream: &mut Stream) -> Sound {
    let Some(skill) = SKILLS.get(index % SKILLS.len()) else {
        return Sound::empty(pair);
    };
    let first = |stream: &mut Stream| pick(&FIRST_NAMES, stream);
    let coach = format!("{} {}", first(stream), pick(&LAST_NAMES, stream));
    let mut learner = format!("{} {}", first(stream), pick(&LAST_NAMES, stream));
    if learner == coach {
        // Nobody could tell the two apart on a page; nothing more is drawn, so that all else stays as it was.
        learner = with_another_last_name(&learner);
    }
    let (coach_id, learner_id) = (
        format!("s{}", 2 * index + 1001),
        format!("s{}", 2 * index + 1002),
    );
    let sessions = programme(index);
    let scores = Scores::draw(skill, &sessions, stream);
    let logbook = Tables {
        about: about(pair, &coach_id, &learner_id, skill, &sessions),
        measures: measures(skill),
        sessions: sessions_table(&sessions),
        trials: scores.table,
        technique: technique(skill),
        claims: claims(skill, &scores.primary),
    };
    Sound {
        pair: pair.to_owned(),
        coach_id,
        coach,
        learner_id,
        learner,
        logbook,
    }
}

impl Sound {
    fn empty(pair: &str) -> Self {
        Self {
            pair: pair.to_owned(),
            coach_id: String::new(),
            coach: String::new(),
            learner_id: String::new(),
            learner: String::new(),
            logbook: Tables::default(),
        }
    }
}

fn pick(names: &[&'static str], stream: &mut Stream) -> &'static str {
    names
        .get(stream.index(names.len()))
        .copied()
        .unwrap_or_default()
}

fn with_another_last_name(name: &str) -> String {
    let (first, last) = name.split_once(' ').unwrap_or((name, ""));
    let at = LAST_NAMES.iter().position(|known| *known == last);
    let next = at.map_or(0, |at| (at + 1) % LAST_NAMES.len());
    format!(
        "{first} {}",
        LAST_NAMES.get(next).copied().unwrap_or_default()
    )
}

/// Pre-test, practice twice a week, post-test, and nine days later retention and transfer on one day.
fn programme(index: usize) -> Vec<Session> {
    let begin = Date::constant(2026, 2, 2);
    let day =
        |offset: usize| begin.saturating_add(i64::try_from(offset + index % 3).unwrap_or(0).days());
    let mut sessions = vec![Session {
        number: 1,
        day: day(0),
        phase: "pre",
        progress: 0.0,
        trials: TEST_TRIALS,
    }];
    for practice in 0..PRACTICE {
        sessions.push(Session {
            number: practice + 2,
            day: day(2 + practice / 2 * 7 + practice % 2 * 3),
            phase: "practice",
            progress: (practice + 1) as f64 / PRACTICE as f64,
            trials: PRACTICE_TRIALS,
        });
    }
    for (number, offset, phase, progress) in [
        (PRACTICE + 2, 29, "post", 1.0),
        (PRACTICE + 3, 38, "retention", 1.0),
        (PRACTICE + 4, 38, "transfer", 0.9),
    ] {
        sessions.push(Session {
            number,
            day: day(offset),
            phase,
            progress,
            trials: TEST_TRIALS,
        });
    }
    sessions
}

/// The scores of a learner: the table, and the primary measure's by phase.
struct Scores {
    table: Table,
    primary: Vec<(&'static str, usize, f64)>,
}

impl Scores {
    fn draw(skill: &Skill, sessions: &[Session], stream: &mut Stream) -> Self {
        let header = [
            "session",
            "date",
            "phase",
            "trial",
            "measure",
            "score",
            "x",
            "y",
            "condition",
            "rater",
            "estimate",
            "notes",
        ];
        let mut scores = Self {
            table: Table::new("Trials", &header),
            primary: Vec::new(),
        };
        for session in sessions {
            for trial in 1..=session.trials {
                for (index, measured) in skill.measures.iter().enumerate() {
                    scores.trial(skill, session, trial, (index == 0, measured), stream);
                }
            }
        }
        scores
    }

    fn trial(
        &mut self,
        skill: &Skill,
        session: &Session,
        trial: usize,
        (is_primary, measured): (bool, &Measured),
        stream: &mut Stream,
    ) {
        // Most of the gain comes early: the curve of a learner whose practice works.
        let (from, to) = measured.from_to;
        let level =
            from + (to - from) * (1.0 - (-2.2 * session.progress).exp()) / (1.0 - (-2.2_f64).exp());
        let (score, landing) = draw_score(measured, level, stream);
        let is_test = session.phase != "practice";
        let condition = if session.phase == "transfer" {
            skill.novel
        } else {
            skill.condition
        };
        let mut row = |score: Cell, rater: &str, estimate: Cell| {
            let (x, y) = landing.map_or((Cell::Empty, Cell::Empty), |(x, y)| {
                (
                    Cell::Number(x, measured.decimals),
                    Cell::Number(y, measured.decimals),
                )
            });
            self.table.rows.push(vec![
                Cell::whole(session.number),
                Cell::Day(session.day),
                Cell::text(session.phase),
                Cell::whole(trial),
                Cell::text(measured.name),
                score,
                x,
                y,
                Cell::text(condition),
                Cell::text(rater),
                estimate,
                Cell::Empty,
            ]);
        };
        let shown = if landing.is_some() {
            Cell::Empty
        } else {
            Cell::Number(score, measured.decimals)
        };
        row(shown, "R1", Cell::Empty);
        let mut counted = score;
        if measured.kind == MeasureKind::Rating && is_test && trial <= RATED_TWICE {
            // Two raters who mostly agree.
            let second = if stream.uniform() < 0.85 {
                score
            } else {
                neighbour(score, measured)
            };
            row(Cell::Number(second, measured.decimals), "R2", Cell::Empty);
            counted = f64::midpoint(score, second);
        }
        if is_primary {
            self.primary.push((session.phase, session.number, counted));
        }
    }
}

/// A score at a level, as it would be recorded, with its landing point where that is what is recorded.
fn draw_score(measured: &Measured, level: f64, stream: &mut Stream) -> (f64, Option<(f64, f64)>) {
    if measured.kind == MeasureKind::Success {
        return (if stream.uniform() < level { 1.0 } else { 0.0 }, None);
    }
    if measured.landing {
        // Two independent directions whose mean distance is the level: for a circular normal that is s·√(π/2).
        let spread = level / (std::f64::consts::FRAC_PI_2).sqrt();
        let x = rounded(spread * stream.normal(), measured.decimals);
        let y = rounded(spread * stream.normal(), measured.decimals);
        return (x.hypot(y), Some((x, y)));
    }
    let mut score = level + measured.spread * stream.normal();
    if let Some(step) = measured.step {
        score = (score / step).round() * step;
    }
    score = score.max(measured.ends.0.unwrap_or(f64::NEG_INFINITY));
    score = score.min(measured.ends.1.unwrap_or(f64::INFINITY));
    if measured.kind == MeasureKind::Quantity {
        score = score.max(0.5);
    }
    (rounded(score, measured.decimals), None)
}

/// The score beside, towards the middle of the scale.
fn neighbour(score: f64, measured: &Measured) -> f64 {
    let (low, high) = (
        measured.ends.0.unwrap_or(0.0),
        measured.ends.1.unwrap_or(f64::MAX),
    );
    if score > f64::midpoint(low, high) {
        score - 1.0
    } else {
        score + 1.0
    }
}

fn rounded(number: f64, decimals: u8) -> f64 {
    let scale = 10_f64.powi(i32::from(decimals));
    (number * scale).round() / scale
}

fn about(pair: &str, coach: &str, learner: &str, skill: &Skill, sessions: &[Session]) -> Table {
    let day =
        |session: Option<&Session>| session.map_or(Cell::Empty, |session| Cell::Day(session.day));
    let mut table = Table::new("About", &["key", "value"]);
    let rows = [
        ("pair", Cell::text(pair)),
        ("coach", Cell::text(coach)),
        ("learner", Cell::text(learner)),
        ("skill", Cell::text(skill.name)),
        ("start", day(sessions.first())),
        ("end", day(sessions.last())),
        ("stage before", Cell::text("cognitive")),
        ("stage after", Cell::text("associative")),
        (
            "stage reason",
            Cell::text(
                "Large and scattered errors at the start; fewer and smaller ones, and steadier, at the end.",
            ),
        ),
        ("theory", Cell::text("guidance hypothesis")),
        (
            "theory reason",
            Cell::text(
                "Feedback was given less and less often, and what was learned held without it.",
            ),
        ),
        ("experience", Cell::text("none")),
        ("novel context", Cell::text(skill.novel)),
        ("learning claimed", Cell::text("yes")),
        ("consent", Cell::text("yes")),
        ("screening", Cell::text("yes")),
    ];
    for (key, value) in rows {
        table.rows.push(vec![Cell::text(key), value]);
    }
    table
}

fn measures(skill: &Skill) -> Table {
    let header = [
        "measure", "kind", "unit", "better", "lowest", "highest", "step", "target",
    ];
    let mut table = Table::new("Measures", &header);
    let number = |number: Option<f64>| number.map_or(Cell::Empty, |number| Cell::Number(number, 0));
    for measured in skill.measures {
        table.rows.push(vec![
            Cell::text(measured.name),
            Cell::text(measured.kind.name()),
            Cell::text(measured.unit),
            Cell::text(measured.better),
            number(measured.ends.0),
            number(measured.ends.1),
            number(measured.step),
            number(measured.target),
        ]);
    }
    table
}

fn sessions_table(sessions: &[Session]) -> Table {
    let header = [
        "session",
        "date",
        "week",
        "phase",
        "minutes",
        "order",
        "variety",
        "part",
        "feedback",
        "feedback %",
        "content",
        "notes",
    ];
    let mut table = Table::new("Sessions", &header);
    let first = sessions.first().map(|session| session.day);
    for session in sessions {
        let is_practice = session.phase == "practice";
        let week = first
            .and_then(|first| session.day.since(first).ok())
            .map_or(1, |span| span.get_days() / 7 + 1);
        // Feedback fades from every trial to one in four.
        let share = (100.0 - 75.0 * session.progress).round();
        let only_practice = |cell: Cell| if is_practice { cell } else { Cell::Empty };
        table.rows.push(vec![
            Cell::whole(session.number),
            Cell::Day(session.day),
            Cell::Number(f64::from(week), 0),
            Cell::text(session.phase),
            Cell::Number(if is_practice { 40.0 } else { 25.0 }, 0),
            only_practice(Cell::text("random")),
            only_practice(Cell::text("variable")),
            only_practice(Cell::text("whole")),
            Cell::text(if is_practice { "both" } else { "none" }),
            only_practice(Cell::Number(share, 0)),
            Cell::text(if is_practice {
                "warm-up, practice, review"
            } else {
                "warm-up, test"
            }),
            Cell::Empty,
        ]);
    }
    table
}

fn technique(skill: &Skill) -> Table {
    let mut table = Table::new("Technique", &["phase", "element", "rating", "observer"]);
    for (phase, shown) in [("pre", 1), ("post", skill.elements.len())] {
        for (index, element) in skill.elements.iter().enumerate() {
            for observer in ["coach", "peer"] {
                table.rows.push(vec![
                    Cell::text(phase),
                    Cell::text(*element),
                    Cell::whole(usize::from(index < shown)),
                    Cell::text(observer),
                ]);
            }
        }
    }
    table
}

/// Claims that follow from the scores, each at the decimals that a student would state.
fn claims(skill: &Skill, primary: &[(&'static str, usize, f64)]) -> Table {
    let header = [
        "statistic",
        "measure",
        "phase",
        "versus",
        "value",
        "unit",
        "where",
    ];
    let mut table = Table::new("Claims", &header);
    let Some(measured) = skill.measures.first() else {
        return table;
    };
    let block = |phase: &str| -> Vec<f64> {
        primary
            .iter()
            .filter(|(of, _, _)| *of == phase)
            .map(|(_, _, score)| *score)
            .collect()
    };
    let comparable = |phase: &str| -> Vec<f64> {
        let target = if measured.better == "target" {
            measured.target
        } else {
            None
        };
        block(phase)
            .into_iter()
            .map(|score| target.map_or(score, |target: f64| (score - target).abs()))
            .collect()
    };
    let mut claim =
        |statistic: &str, phase: &str, versus: &str, value: f64, decimals: u8, page: usize| {
            let versus = if versus.is_empty() {
                Cell::Empty
            } else {
                Cell::text(versus)
            };
            table.rows.push(vec![
                Cell::text(statistic),
                Cell::text(measured.name),
                Cell::text(phase),
                versus,
                Cell::Number(rounded(value, decimals), decimals),
                Cell::text(measured.unit),
                Cell::text(format!("p. {page}")),
            ]);
        };
    for phase in ["pre", "post", "retention", "transfer"] {
        let scores = block(phase);
        if let (Ok(mean), Ok(sd)) = (mean(&scores), sd(&scores)) {
            claim("mean", phase, "", mean, 2, 4);
            claim("sd", phase, "", sd, 2, 4);
        }
    }
    let sign = if measured.better == "higher" {
        1.0
    } else {
        -1.0
    };
    for phase in ["post", "retention"] {
        if let Ok(percent) = percent_change(&comparable("pre"), &comparable(phase)) {
            claim("percent improvement", phase, "pre", sign * percent, 1, 5);
        }
    }
    let means = |phase: &str| mean(&comparable(phase));
    if let (Ok(pre), Ok(post), Ok(retention)) = (means("pre"), means("post"), means("retention")) {
        claim(
            "retained gain",
            "retention",
            "",
            100.0 * (retention - pre) / (post - pre),
            0,
            6,
        );
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_two_of_a_pair_never_bear_one_name() {
        for seed in 0..2_000 {
            let sound = invent("P01", 0, &mut Stream::new(seed, "names"));
            assert_ne!(sound.coach, sound.learner, "{seed}");
        }
        assert_eq!(with_another_last_name("Nia Pellegrini"), "Nia Abernathy");
    }
}

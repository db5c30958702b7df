//! Whole hand-ins, from grids to logbooks, in every layout.

mod doubts;
mod long;
mod tables;
mod unnamed;
mod wide;

use crate::logbook::grid::Grid;
use crate::logbook::model::{Logbook, Score};
use crate::logbook::problem::ProblemKind;
use crate::logbook::read;
use crate::logbook::settings::ReadingSettings;
use crate::phase::BlockName;
use crate::statistic::Statistic;

fn logbook(grids: &[Grid]) -> Logbook {
    read("P07.xlsx", grids, &ReadingSettings::default())
}

/// Trials as (phase, session, number, score), `-` for what is open or missing.
fn trials(logbook: &Logbook) -> Vec<String> {
    logbook
        .trials
        .iter()
        .map(|trial| {
            let or_dash = |text: Option<String>| text.unwrap_or_else(|| "-".into());
            format!(
                "{} {} {} {}",
                or_dash(trial.phase.map(|phase| phase.to_string())),
                or_dash(trial.session.map(|n| n.to_string())),
                or_dash(trial.number.map(|n| n.to_string())),
                match &trial.score {
                    Score::Number(number) => number.to_string(),
                    Score::Missing => "-".into(),
                    Score::Unreadable(text) => format!("?{text}"),
                }
            )
        })
        .collect()
}

/// Claims as (statistic, phase, versus, value).
fn claims(logbook: &Logbook) -> Vec<String> {
    logbook
        .claims
        .iter()
        .map(|claim| {
            let block =
                |block: Option<BlockName>| block.map_or("-".to_owned(), |block| block.to_string());
            format!(
                "{} {} {} {} {}",
                claim.id,
                claim.statistic.map_or("?", Statistic::name),
                block(claim.phase),
                block(claim.versus),
                claim
                    .value
                    .map_or("-".to_owned(), |value| value.to_string())
            )
        })
        .collect()
}

fn problems(logbook: &Logbook) -> Vec<(ProblemKind, String)> {
    logbook
        .problems
        .iter()
        .map(|problem| (problem.kind, problem.text.clone()))
        .collect()
}

fn canonical() -> Vec<Grid> {
    vec![
        Grid::from_rows(
            "About",
            &[
                "key|value",
                "pair|P07",
                "coach|S01",
                "learner|S02",
                "skill|juggling",
                "start|@2026-03-02",
                "end|@2026-04-10",
                "stage before|cognitive",
                "stage after|associative",
                "stage reason|fewer drops",
                "theory|power law of practice",
                "theory reason|the curve flattens",
                "experience|none",
                "novel context|other balls",
                "learning claimed|yes",
                "consent|yes",
                "screening|@2026-03-01",
            ],
        ),
        Grid::from_rows(
            "Measures",
            &[
                "measure|kind|unit|better|lowest|highest|step|target",
                "accuracy|rating|points|higher|1|4|1",
                "distance|error|cm|lower",
            ],
        ),
        Grid::from_rows(
            "Sessions",
            &[
                "session|date|week|phase|minutes|order|variety|part|feedback|feedback %|content|notes",
                "1|@2026-03-02|1|pre|30||||none||test|",
                "2|@2026-03-04|1|practice|40|blocked|constant|whole|results|100|drills|",
                "3|@2026-03-11|2|practice|40|random|variable|part|both|50|drills|",
                "4|@2026-04-10|6|post|30||||none||test|",
            ],
        ),
        Grid::from_rows(
            "Trials",
            &[
                "session|date|phase|trial|measure|score|x|y|condition|rater|estimate|notes",
                "1|@2026-03-02|pre|1|accuracy|2|||5 m|S01|3|",
                "1|@2026-03-02|pre|2|accuracy|1|||5 m|S01|2|windy",
                "2|@2026-03-04|practice|1|accuracy|2|||5 m|S01||",
                "3||practice|1|accuracy|3|||5 m|S01||",
                "4|@2026-04-10||1|accuracy||||5 m|S01||",
                "4|@2026-04-10|post|1|distance||3|4|5 m|S01||",
                "4|@2026-04-10|post|2|accuracy|absent|||5 m|S01||",
            ],
        ),
        Grid::from_rows(
            "Technique",
            &[
                "phase|element|rating|observer",
                "pre|grip|no|S01",
                "post|grip|yes|S01",
                "post|stance|3|S01",
            ],
        ),
        Grid::from_rows(
            "Claims",
            &[
                "statistic|measure|phase|versus|value|unit|where",
                "mean|accuracy|pre||1.5|points|p. 3",
                "percent change||||'33,3|%|p. 4",
                "nap|accuracy|post|pre|'85%||p. 4",
                "sd|accuracy|practice 3||0.5||p. 5",
                "retained gain||||'80 %||p. 6",
                "flair|accuracy|post||7||p. 7",
                "p t|accuracy|||'p = .03||p. 7",
                "mean|poise|post||2||p. 8",
            ],
        ),
    ]
}

//! Stages of learning and theories: what a pair's data can bear of what it says about them.
//!
//! What the models and theories are is in `rubrics/stages.toml` and `rubrics/theories.toml`, which a course may replace. Nothing here names
//! a stage or a theory of its own: it takes what the pair named and sets the recorded signs, or the predictions, beside it.

#[cfg(test)]
mod calibration;
mod judgements;
mod naming;
mod preview;
mod schema;
mod stage_judging;
mod stage_models;
mod stage_verdict;
mod theories;
mod theory_judging;
mod theory_verdict;

pub use judgements::Judgements;
pub use naming::Spellings;
pub use schema::{stages_schema, theories_schema};
pub use stage_models::{SHIPPED_STAGES, Sign, Stage, StageModel, StageModels};
pub use stage_verdict::{Moment, SignReading, Speaks, StageVerdict, Verdict};
pub use theories::{Prediction, SHIPPED_THEORIES, Theories, Theory};
pub use theory_verdict::{
    Contradiction, Ladder, Pattern, PredictionReading, TheoryReading, TheoryVerdict,
};

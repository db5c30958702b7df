//! Everything that a pair says of stage and theory, judged at once.

use super::{Moment, StageModels, StageVerdict, Theories, TheoryVerdict};
use crate::expression::FactSource;
use crate::facts::{FactValue, Facts};
use crate::logbook::model::{About, Sourced};

/// What the data can bear of the stages and the theory that a pair names.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Judgements {
    /// The stage at the start.
    pub start: StageVerdict,
    /// The stage at the end.
    pub end: StageVerdict,
    /// Where the stage at the end comes before that at the start: that, in words.
    pub went_backwards: Option<String>,
    /// The theory.
    pub theory: TheoryVerdict,
}

impl Judgements {
    /// Judges what the pair names in its About table.
    pub fn of(
        about: &About,
        source: &dyn FactSource,
        stages: &StageModels,
        theories: &Theories,
    ) -> Self {
        let text = |value: &Option<Sourced<std::sync::Arc<str>>>| {
            value.as_ref().map(|value| value.value.clone())
        };
        let before = text(&about.stage_before);
        let after = text(&about.stage_after);
        let theory = text(&about.theory);
        Self {
            start: stages.judge(before.as_deref(), Moment::Start, source),
            end: stages.judge(after.as_deref(), Moment::End, source),
            went_backwards: before
                .as_deref()
                .zip(after.as_deref())
                .and_then(|(before, after)| stages.went_backwards(before, after)),
            theory: theories.judge(theory.as_deref(), source),
        }
    }

    /// Adds the facts `stage.*` and `theory.*`.
    pub fn record(&self, facts: &mut Facts) {
        let text = |text: &'static str| FactValue::Text(text.into());
        let count = |count: usize| FactValue::Number(count as f64);
        facts.set("stage.start_verdict", text(self.start.verdict.name()));
        facts.set("stage.end_verdict", text(self.end.verdict.name()));
        facts.set("theory.verdict", text(self.theory.ladder.name()));
        facts.set("theory.testable", count(self.theory.testable));
        facts.set("theory.met", count(self.theory.met));
        facts.set("theory.contradicted", count(self.theory.contradicted));
    }
}

//! Models of stages and theories in words, for whoever answers for them to proofread.

use std::fmt::Write as _;

use super::stage_models::{Sign, StageModel, StageModels};
use super::stage_verdict::Moment;
use super::theories::{Prediction, Theories, Theory};
use crate::configuration::wrapped;

impl StageModels {
    /// Every model with its stages and signs, in words.
    pub fn preview(&self) -> String {
        let mut out = String::new();
        for model in &self.models {
            let heading = format!("{} [{}],", model.title, model.id);
            wrapped(&mut out, &heading, &model.source, 0);
            if !model.spellings.texts().is_empty() {
                wrapped(
                    &mut out,
                    "named by:",
                    &model.spellings.texts().join(", "),
                    3,
                );
            }
            for stage in &model.stages {
                let label = format!("{} [{}], named by:", stage.title, stage.id);
                wrapped(&mut out, &label, &stage.spellings.texts().join(", "), 3);
                if !stage.requires.is_empty() {
                    wrapped(
                        &mut out,
                        "needs the support of:",
                        &stage.requires.join(", "),
                        6,
                    );
                }
            }
            for (moment, heading) in [
                (Moment::Start, "Signs for the diagnosis at the start"),
                (Moment::End, "Signs for the diagnosis at the end"),
            ] {
                let _ = writeln!(out, "   {heading}");
                for sign in model.signs.iter().filter(|sign| sign.at == moment) {
                    of_sign(&mut out, model, sign);
                }
            }
            out.push('\n');
        }
        out
    }
}

fn of_sign(out: &mut String, model: &StageModel, sign: &Sign) {
    let label = format!("{} [{}]:", sign.looks_at, sign.id);
    wrapped(out, &label, &format!("\"{}\"", sign.shows.text()), 6);
    wrapped(out, "recorded where", sign.needs.words(), 9);
    for (id, when) in &sign.speaks_for {
        let title = model
            .stages
            .iter()
            .find(|stage| stage.id == *id)
            .map_or(id.as_str(), |stage| stage.title.as_str());
        wrapped(
            out,
            &format!("speaks for the {title} where"),
            when.words(),
            9,
        );
    }
    wrapped(
        out,
        "because:",
        &format!("{} ({})", sign.because, sign.source),
        9,
    );
}

impl Theories {
    /// Every theory with its predictions, in words.
    pub fn preview(&self) -> String {
        let mut out = String::new();
        for theory in &self.theories {
            of_theory(&mut out, theory);
            out.push('\n');
        }
        out
    }
}

impl Theory {
    /// The theory with its predictions, in words.
    pub fn preview(&self) -> String {
        let mut out = String::new();
        of_theory(&mut out, self);
        out
    }
}

fn of_theory(out: &mut String, theory: &Theory) {
    let heading = format!("{} [{}],", theory.title, theory.id);
    wrapped(out, &heading, &theory.source, 0);
    wrapped(out, "named by:", &theory.spellings.texts().join(", "), 3);
    for (other, because) in &theory.contradicts {
        wrapped(out, &format!("not together with {other}:"), because, 3);
    }
    for prediction in &theory.predictions {
        of_prediction(out, prediction);
    }
}

fn of_prediction(out: &mut String, prediction: &Prediction) {
    wrapped(
        out,
        &format!("predicts [{}]:", prediction.id),
        &prediction.states,
        3,
    );
    match &prediction.test {
        None => wrapped(out, "never scored on one learner", "", 6),
        Some(test) => {
            wrapped(out, "testable where", test.needs.words(), 6);
            wrapped(out, "as predicted where", test.when.words(), 6);
            if let Some(unless) = &test.unless {
                wrapped(out, "opposite where", unless.words(), 6);
            }
            for (label, sentence) in [("shows:", &test.shows), ("by chance:", &test.chance)] {
                if let Some(sentence) = sentence {
                    wrapped(out, label, sentence.text(), 6);
                }
            }
        }
    }
    wrapped(out, "what would test it:", &prediction.design, 6);
    if !prediction.rivals.is_empty() {
        wrapped(out, "shows the same:", &prediction.rivals.join("; "), 6);
    }
    let because = format!("{} ({})", prediction.because, prediction.source);
    wrapped(out, "because:", &because, 6);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::WIDTH;
    use crate::expression::fixture;

    #[test]
    fn what_ships_reads_in_words() {
        let catalogue = fixture::catalogue();
        let stages = StageModels::shipped(&catalogue).unwrap().preview();
        assert!(
            stages.contains("speaks for the cognitive stage where pre.level is less than 0.55")
        );
        let theories = Theories::shipped(&catalogue).unwrap().preview();
        assert!(theories.contains("not together with motor-programme:"));
        assert!(theories.contains("never scored on one learner"));
        for line in stages.lines().chain(theories.lines()) {
            assert!(line.chars().count() <= WIDTH, "{line}");
        }
    }
}

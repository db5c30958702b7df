//! The predictions of the theories that a pair names, set against its record.

use std::fmt::Write as _;

use super::naming::Naming;
use super::theories::{Prediction, Theories, Theory};
use super::theory_verdict::{
    Contradiction, Ladder, Pattern, PredictionReading, TheoryReading, TheoryVerdict,
};
use crate::expression::{FactSource, Outcome};

impl Theories {
    /// What the data can say of the theory that the pair names.
    pub fn judge(&self, named: Option<&str>, source: &dyn FactSource) -> TheoryVerdict {
        let naming = Naming::of(named.unwrap_or_default());
        let theories: Vec<&Theory> = self
            .theories
            .iter()
            .filter(|theory| naming.names(&theory.spellings))
            .collect();
        let read: Vec<TheoryReading> = theories
            .iter()
            .map(|theory| TheoryReading {
                id: theory.id.clone(),
                title: theory.title.clone(),
                predictions: theory
                    .predictions
                    .iter()
                    .map(|prediction| set_against(prediction, source))
                    .collect(),
            })
            .collect();
        let patterns = || {
            read.iter()
                .flat_map(|theory| &theory.predictions)
                .map(|prediction| &prediction.pattern)
        };
        let count = |wanted: &Pattern| patterns().filter(|pattern| *pattern == wanted).count();
        let testable = patterns().filter(|pattern| pattern.is_testable()).count();
        let met = count(&Pattern::AsPredicted);
        let contradicted = count(&Pattern::Opposite);
        let ladder = if naming.is_empty() {
            Ladder::NotNamed
        } else if read.is_empty() {
            Ladder::Unknown
        } else if testable == 0 {
            Ladder::NotTestable
        } else if contradicted > 0 {
            Ladder::Contradicted
        } else if met > 0 {
            Ladder::AsPredicted
        } else if count(&Pattern::Undecided) > 0 {
            Ladder::Undecided
        } else {
            Ladder::NotBorneOut
        };
        let contradictions = contradictions(&theories);
        let mut verdict = TheoryVerdict {
            ladder,
            theories: read,
            contradictions,
            testable,
            met,
            contradicted,
            sentence: String::new(),
        };
        verdict.sentence = sentence(&verdict);
        verdict
    }
}

fn set_against(prediction: &Prediction, source: &dyn FactSource) -> PredictionReading {
    let pattern = pattern(prediction, source);
    let seen = prediction.test.as_ref().filter(|_| pattern.is_testable());
    PredictionReading {
        id: prediction.id.clone(),
        states: prediction.states.clone(),
        shows: seen
            .and_then(|test| test.shows.as_ref())
            .map(|shows| shows.fill(source)),
        // A chance that isn't known is none.
        chance: seen
            .and_then(|test| test.chance.as_ref())
            .filter(|chance| chance.facts().all(|fact| source.fact(fact).is_some()))
            .map(|chance| chance.fill(source)),
        pattern,
        rivals: prediction.rivals.clone(),
        design: prediction.design.clone(),
        because: prediction.because.clone(),
        source: prediction.source.clone(),
    }
}

fn pattern(prediction: &Prediction, source: &dyn FactSource) -> Pattern {
    let Some(test) = &prediction.test else {
        return Pattern::BeyondOneLearner;
    };
    match test.needs.evaluate(source) {
        Outcome::True => {}
        Outcome::False => {
            let absent = test
                .needs
                .facts()
                .iter()
                .filter(|fact| source.fact(fact).is_none())
                .cloned()
                .collect();
            return Pattern::NotTestable { absent };
        }
        Outcome::Undecided { absent } => return Pattern::NotTestable { absent },
    }
    let opposite = test.unless.as_ref().map(|unless| unless.evaluate(source));
    match (opposite, test.when.evaluate(source)) {
        (Some(Outcome::True), _) => Pattern::Opposite,
        (_, Outcome::True) => Pattern::AsPredicted,
        (None, Outcome::False) => Pattern::NotBorneOut,
        _ => Pattern::Undecided,
    }
}

/// Every pair of theories of which one's entry says that it contradicts the other.
fn contradictions(theories: &[&Theory]) -> Vec<Contradiction> {
    let mut found = Vec::new();
    for (at, one) in theories.iter().enumerate() {
        for other in theories.iter().skip(at + 1) {
            let because = one
                .contradicts
                .iter()
                .find(|(id, _)| *id == other.id)
                .or_else(|| other.contradicts.iter().find(|(id, _)| *id == one.id));
            if let Some((_, because)) = because {
                found.push(Contradiction {
                    one: one.title.clone(),
                    other: other.title.clone(),
                    because: because.clone(),
                });
            }
        }
    }
    found
}

/// What else shows the same as the predictions that were borne out: `what else shows the same: a good day; an easier transfer task`.
fn rivals(verdict: &TheoryVerdict) -> String {
    let mut rivals: Vec<&str> = Vec::new();
    let borne_out = verdict
        .theories
        .iter()
        .flat_map(|theory| &theory.predictions)
        .filter(|prediction| prediction.pattern == Pattern::AsPredicted);
    for rival in borne_out.flat_map(|prediction| &prediction.rivals) {
        if !rivals.contains(&rival.as_str()) {
            rivals.push(rival);
        }
    }
    if rivals.is_empty() {
        String::from("other explanations that nobody has ruled out")
    } else {
        format!("what else shows the same: {}", rivals.join("; "))
    }
}

fn sentence(verdict: &TheoryVerdict) -> String {
    let titles: Vec<&str> = verdict
        .theories
        .iter()
        .map(|theory| theory.title.as_str())
        .collect();
    let titles = titles.join(" and ");
    let number = |count: usize| match count {
        1 => "one".to_owned(),
        count => count.to_string(),
    };
    let tested = format!(
        "{titles}: {} {} could be tested with this record",
        number(verdict.testable),
        if verdict.testable == 1 {
            "prediction"
        } else {
            "predictions"
        }
    );
    let mut text = match verdict.ladder {
        Ladder::NotNamed => "No theory is named.".to_owned(),
        Ladder::Unknown => {
            "The theory named is not among those whose predictions are listed; a person has to read it.".to_owned()
        }
        Ladder::NotTestable => format!(
            "{titles}: this record can't test what it predicts, for or against. Saying so, and what would test it, is the right conclusion."
        ),
        Ladder::Contradicted => {
            format!("{tested}, and {} shows the opposite.", number(verdict.contradicted))
        }
        Ladder::NotBorneOut => format!("{tested}, and the pattern doesn't show."),
        Ladder::Undecided => format!(
            "{tested}, which leaves it open. Undecided is what data of this size can honestly say."
        ),
        Ladder::AsPredicted => format!(
            "{tested}; {} shows as predicted. That is consistent with the theory, and with {}.",
            number(verdict.met),
            rivals(verdict)
        ),
    };
    for contradiction in &verdict.contradictions {
        let _ = write!(
            text,
            " {} and {} can't both be right: {}",
            contradiction.one, contradiction.other, contradiction.because
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::expression::fixture;
    use crate::facts::FactValue::{self, Number, Text, Truth};

    fn judged(text: &str, facts: &[(&str, FactValue)]) -> TheoryVerdict {
        Theories::shipped(&fixture::catalogue())
            .unwrap()
            .judge(Some(text), &fixture::facts(facts))
    }

    fn jump(sessions: f64, sudden_p: f64, variability_p: f64) -> Vec<(&'static str, FactValue)> {
        vec![
            ("curve.sessions", Number(sessions)),
            ("curve.rise", Number(0.9)),
            ("curve.rise_session", Number(6.0)),
            ("curve.sudden_p", Number(sudden_p)),
            ("curve.variability_before", Number(1.1)),
            ("curve.variability_after", Number(0.6)),
            ("curve.variability_p", Number(variability_p)),
        ]
    }

    #[test]
    fn a_jump_that_a_smooth_learner_shows_nine_times_in_ten_leaves_the_theory_open() {
        let verdict = judged("Dynamic Systems Theory", &jump(10.0, 0.9, 0.4));
        assert_eq!(verdict.ladder, Ladder::Undecided);
        let shows = verdict.theories[0].predictions[0].shows.as_deref().unwrap();
        assert!(shows.contains("in 90 % of records"), "{shows}");
        assert!(
            verdict.sentence.contains("Undecided is what"),
            "{}",
            verdict.sentence
        );
    }

    #[test]
    fn the_pattern_and_its_opposite_are_told_apart() {
        let met = judged("dynamic systems", &jump(10.0, 0.01, 0.02));
        assert_eq!(
            (met.ladder, met.testable, met.met),
            (Ladder::AsPredicted, 1, 1)
        );
        assert!(
            met.sentence
                .contains("what else shows the same: a change of strategy"),
            "{}",
            met.sentence
        );
        let opposite = judged("dynamic systems", &jump(10.0, 0.01, 0.98));
        assert_eq!(
            (opposite.ladder, opposite.contradicted),
            (Ladder::Contradicted, 1)
        );
    }

    #[test]
    fn too_few_sessions_can_not_test_it_and_the_record_says_what_would() {
        let verdict = judged("dynamic systems", &jump(6.0, 0.01, 0.02));
        assert_eq!(verdict.ladder, Ladder::NotTestable);
        let reading = &verdict.theories[0].predictions[0];
        assert_eq!(reading.pattern, Pattern::NotTestable { absent: vec![] });
        assert!(reading.design.contains("Twelve sessions"));
        assert_eq!(reading.shows, None);
        let bare = judged("dynamic systems", &[]);
        assert!(matches!(&bare.theories[0].predictions[0].pattern,
            Pattern::NotTestable { absent } if absent.contains(&"curve.sessions".to_owned())));
    }

    #[test]
    fn a_comparison_is_never_scored_on_one_learner() {
        let verdict = judged("challenge point framework", &jump(20.0, 0.01, 0.01));
        assert_eq!(verdict.ladder, Ladder::NotTestable);
        assert_eq!(
            verdict.theories[0].predictions[0].pattern,
            Pattern::BeyondOneLearner
        );
    }

    #[test]
    fn variable_practice_that_carries_over_is_as_schema_theory_predicts() {
        let mut facts = vec![
            ("programme.variety", Text("variable".into())),
            ("tests.transfer_novel", Truth(true)),
            ("gain.transferred", Number(90.0)),
        ];
        // The gain itself can't be told from chance: no interval of a share of it.
        let open = judged("Schmidt's schema theory", &facts);
        assert_eq!(open.ladder, Ladder::Undecided);
        assert_eq!(open.theories[0].predictions[0].chance, None);
        for (share, low, high, ladder) in [
            (90.0, 30.0, 150.0, Ladder::AsPredicted),
            (90.0, -20.0, 200.0, Ladder::Undecided),
            (40.0, 10.0, 70.0, Ladder::Undecided),
            (5.0, -30.0, 40.0, Ladder::Contradicted),
        ] {
            facts.push(("gain.transferred", Number(share)));
            facts.push(("gain.transferred_low", Number(low)));
            facts.push(("gain.transferred_high", Number(high)));
            assert_eq!(judged("Schmidt's schema theory", &facts).ladder, ladder);
        }
        facts.push(("programme.variety", Text("constant".into())));
        assert_eq!(
            judged("Schmidt's schema theory", &facts).ladder,
            Ladder::NotTestable
        );
    }

    #[test]
    fn two_theories_that_contradict_each_other_are_said_to() {
        let verdict = judged("Schema theory and Adams' closed-loop theory", &[]);
        assert_eq!(verdict.theories.len(), 2);
        assert_eq!(verdict.contradictions.len(), 1);
        assert!(
            verdict.sentence.contains("can't both be right"),
            "{}",
            verdict.sentence
        );
        assert!(judged("schema theory", &[]).contradictions.is_empty());
    }

    #[test]
    fn none_named_and_none_known_are_told_apart() {
        assert_eq!(judged("", &[]).ladder, Ladder::NotNamed);
        assert_eq!(judged("chaos magic", &[]).ladder, Ladder::Unknown);
        let theories = Theories::shipped(&fixture::catalogue()).unwrap();
        let verdict = theories.judge(None, &fixture::facts(&[]));
        assert_eq!(verdict.ladder, Ladder::NotNamed);
    }

    #[test]
    fn without_an_opposite_a_pattern_that_does_not_show_is_not_borne_out() {
        let text = r#"
[[theory]]
id = "t"
title = "T"
spellings = ["tee"]
source = "s"
[[theory.prediction]]
id = "p"
states = "x"
needs = "has(pre.mean)"
when = "pre.mean > 3"
design = "d"
because = "b"
source = "s"
"#;
        let theories = Theories::read("t.toml", text, &fixture::catalogue()).unwrap();
        let verdict = theories.judge(Some("Tee"), &fixture::facts(&[("pre.mean", Number(2.0))]));
        assert_eq!(verdict.ladder, Ladder::NotBorneOut);
    }
}

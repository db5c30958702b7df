//! What one pair's facts say to a rubric: evidence points earned, out of how many, and what is left to the marker.

use super::Rubric;
use super::criterion::{Criterion, Evidence};
use crate::expression::{Condition, FactSource, Outcome};
use crate::facts::in_words;

/// What the data say to one criterion. `out_of` and `judged_out_of` sum to its marks.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct CriterionSuggestion {
    /// The criterion's id.
    pub criterion: String,
    /// The evidence points earned.
    pub suggested: f64,
    /// The evidence points that the data settle, earned or not.
    pub out_of: f64,
    /// The marks that a person gives: judged points, and evidence that the data don't settle.
    pub judged_out_of: f64,
    /// Each evidence point, in the rubric's order.
    pub evidence: Vec<EvidenceOutcome>,
}

/// What the data say to one evidence point.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct EvidenceOutcome {
    /// The evidence's id.
    pub id: String,
    /// What it is worth.
    pub points: f64,
    /// Whether it is met.
    pub settled: Settled,
    /// What is said about it, with the pair's numbers: to the pair where it is settled, to the marker otherwise. None where the rubric has
    /// no sentence for it.
    pub sentence: Option<String>,
    /// The facts that its conditions name, for the marker who wants to look.
    pub facts: Vec<String>,
}

/// Whether evidence is met.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Settled {
    /// All points.
    Met,
    /// Half of the points.
    Partly,
    /// No point.
    Unmet,
    /// The marker's: facts are absent.
    Undecided {
        /// Which.
        absent: Vec<String>,
    },
    /// The marker's: this design can't show it either way.
    Untestable,
}

impl EvidenceOutcome {
    /// The points earned; none where they are the marker's to give.
    pub fn earned(&self) -> Option<f64> {
        match self.settled {
            Settled::Met => Some(self.points),
            Settled::Partly => Some(self.points / 2.0),
            Settled::Unmet => Some(0.0),
            Settled::Undecided { .. } | Settled::Untestable => None,
        }
    }
}

/// What a pair's facts say to each criterion, in the rubric's order.
pub fn suggest(rubric: &Rubric, source: &dyn FactSource) -> Vec<CriterionSuggestion> {
    rubric
        .criteria
        .iter()
        .map(|criterion| of_criterion(criterion, source))
        .collect()
}

fn of_criterion(criterion: &Criterion, source: &dyn FactSource) -> CriterionSuggestion {
    let evidence: Vec<EvidenceOutcome> = criterion
        .evidence
        .iter()
        .map(|evidence| of_evidence(evidence, source))
        .collect();
    let mut suggested = 0.0;
    let mut out_of = 0.0;
    for outcome in &evidence {
        if let Some(earned) = outcome.earned() {
            suggested += earned;
            out_of += outcome.points;
        }
    }
    CriterionSuggestion {
        criterion: criterion.id.clone(),
        suggested,
        out_of,
        judged_out_of: criterion.marks - out_of,
        evidence,
    }
}

fn of_evidence(evidence: &Evidence, source: &dyn FactSource) -> EvidenceOutcome {
    let settled = settle(evidence, source);
    let sentence = match &settled {
        Settled::Met => evidence.met.as_ref(),
        Settled::Partly => evidence.partly_met.as_ref().or(evidence.unmet.as_ref()),
        Settled::Unmet => evidence.unmet.as_ref(),
        Settled::Undecided { .. } | Settled::Untestable => evidence.unsure.as_ref(),
    };
    let sentence = sentence
        .map(|sentence| sentence.fill(source))
        .or_else(|| left_to_the_marker(&settled));
    let mut facts: Vec<String> = Vec::new();
    let conditions = [
        Some(&evidence.when),
        evidence.partly.as_ref(),
        evidence.testable.as_ref(),
    ];
    for fact in conditions.into_iter().flatten().flat_map(Condition::facts) {
        if !facts.contains(fact) {
            facts.push(fact.clone());
        }
    }
    EvidenceOutcome {
        id: evidence.id.clone(),
        points: evidence.points,
        settled,
        sentence,
        facts,
    }
}

/// `testable` first; then `when`; `partly` only where `when` is false.
fn settle(evidence: &Evidence, source: &dyn FactSource) -> Settled {
    if let Some(testable) = &evidence.testable {
        match testable.evaluate(source) {
            Outcome::True => {}
            Outcome::False => return Settled::Untestable,
            Outcome::Undecided { absent } => return Settled::Undecided { absent },
        }
    }
    match evidence.when.evaluate(source) {
        Outcome::True => Settled::Met,
        Outcome::Undecided { absent } => Settled::Undecided { absent },
        Outcome::False => match evidence
            .partly
            .as_ref()
            .map(|partly| partly.evaluate(source))
        {
            Some(Outcome::True) => Settled::Partly,
            Some(Outcome::Undecided { absent }) => Settled::Undecided { absent },
            Some(Outcome::False) | None => Settled::Unmet,
        },
    }
}

/// What the marker reads where the data settle nothing and the rubric has no sentence for that.
fn left_to_the_marker(settled: &Settled) -> Option<String> {
    match settled {
        Settled::Undecided { absent } if absent.is_empty() => {
            Some("For the marker: the data don't settle this.".to_owned())
        }
        Settled::Undecided { absent } => {
            let words: Vec<String> = absent.iter().map(|fact| in_words(fact)).collect();
            Some(format!(
                "For the marker: the data don't settle this; not known: {}.",
                words.join(", ")
            ))
        }
        Settled::Untestable => {
            Some("For the marker: this design can't show it either way.".to_owned())
        }
        Settled::Met | Settled::Partly | Settled::Unmet => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::expression::fixture;
    use crate::facts::FactValue::{self, Number, Text, Truth};
    use crate::rubric::SHIPPED;
    use crate::rubric::tests_support::read;

    const RUBRIC: &str = r#"
title = "T"
out_of = 10
[[criterion]]
id = "testing"
title = "A"
marks = 10
[[criterion.evidence]]
id = "retention-test"
points = 4
when = "has(retention.mean) && retention.days_after >= 7"
partly = "has(retention.mean)"
testable = "programme.sessions > 0"
met = "Your retention test, {retention.days_after:day} after."
unmet = "Add one."
unsure = "Look."
[[criterion.evidence]]
id = "trials"
points = 3
when = "pre.n >= 10"
met = "{pre.n:trial}."
[[criterion.judged]]
id = "j"
points = 3
asks = "q?"
"#;

    fn suggested(facts: &[(&str, FactValue)]) -> CriterionSuggestion {
        let rubric = read(RUBRIC).unwrap();
        suggest(&rubric, &fixture::facts(facts)).remove(0)
    }

    #[test]
    fn points_are_earned_in_full_in_half_or_not() {
        let sessions = ("programme.sessions", Number(8.0));
        let full = suggested(&[
            sessions.clone(),
            ("retention.mean", Number(3.0)),
            ("retention.days_after", Number(7.0)),
            ("pre.n", Number(10.0)),
        ]);
        assert!((full.suggested - 7.0).abs() < 1e-12);
        assert!((full.out_of - 7.0).abs() < 1e-12);
        assert!((full.judged_out_of - 3.0).abs() < 1e-12);
        assert_eq!(
            full.evidence[0].sentence.as_deref(),
            Some("Your retention test, 7 days after.")
        );
        let half = suggested(&[
            sessions.clone(),
            ("retention.mean", Number(3.0)),
            ("retention.days_after", Number(2.0)),
            ("pre.n", Number(9.0)),
        ]);
        assert_eq!(half.evidence[0].settled, Settled::Partly);
        assert!((half.suggested - 2.0).abs() < 1e-12);
        assert_eq!(half.evidence[1].settled, Settled::Unmet);
        let none = suggested(&[sessions, ("pre.n", Number(10.0))]);
        assert_eq!(none.evidence[0].settled, Settled::Unmet);
        assert_eq!(none.evidence[0].sentence.as_deref(), Some("Add one."));
    }

    #[test]
    fn what_the_data_do_not_settle_is_the_markers_and_is_never_lost() {
        let undecided = suggested(&[
            ("programme.sessions", Number(8.0)),
            ("retention.mean", Number(3.0)),
        ]);
        let absent = vec!["retention.days_after".to_owned()];
        assert_eq!(undecided.evidence[0].settled, Settled::Undecided { absent });
        assert_eq!(undecided.evidence[0].sentence.as_deref(), Some("Look."));
        assert_eq!(
            undecided.evidence[1].sentence.as_deref(),
            Some(
                "For the marker: the data don't settle this; not known: scored trials of the pre-test."
            )
        );
        assert!(undecided.out_of.abs() < 1e-12);
        assert!((undecided.judged_out_of - 10.0).abs() < 1e-12);
        let untestable = suggested(&[("programme.sessions", Number(0.0)), ("pre.n", Number(12.0))]);
        assert_eq!(untestable.evidence[0].settled, Settled::Untestable);
        assert!((untestable.out_of - 3.0).abs() < 1e-12);
        assert!((untestable.judged_out_of - 7.0).abs() < 1e-12);
    }

    /// Facts of trials of which nobody knows, because their columns were not recognised.
    struct Unread;

    impl FactSource for Unread {
        fn fact(&self, name: &str) -> Option<FactValue> {
            (name == "programme.sessions").then_some(Number(8.0))
        }

        fn is_unread(&self, _name: &str) -> bool {
            true
        }
    }

    #[test]
    fn what_could_not_be_read_is_not_held_to_be_missing() {
        let suggestion = suggest(&read(RUBRIC).unwrap(), &Unread).remove(0);
        let absent = vec![
            "retention.mean".to_owned(),
            "retention.days_after".to_owned(),
        ];
        assert_eq!(
            suggestion.evidence[0].settled,
            Settled::Undecided { absent }
        );
        assert!((suggestion.judged_out_of - 10.0).abs() < 1e-12);
    }

    /// For every criterion of every rubric that ships, whatever is known: marks are neither lost nor made.
    #[test]
    fn points_settled_and_points_left_sum_to_the_marks() {
        let pairs: [Vec<(&str, FactValue)>; 3] = [
            vec![],
            vec![
                ("pre.mean", Number(2.0)),
                ("post.mean", Number(3.0)),
                ("pre.n", Number(8.0)),
                ("post.n", Number(12.0)),
            ],
            vec![
                ("claims.count", Number(5.0)),
                ("claims.agree", Number(4.0)),
                ("claims.differ", Number(1.0)),
                ("claims.impossible", Number(0.0)),
                ("stage.start_verdict", Text("supported".into())),
                ("about.learning_claimed", Truth(true)),
            ],
        ];
        for (name, text) in SHIPPED {
            let rubric = read(text).unwrap();
            for facts in &pairs {
                for (suggestion, criterion) in suggest(&rubric, &fixture::facts(facts))
                    .iter()
                    .zip(&rubric.criteria)
                {
                    let sum = suggestion.out_of + suggestion.judged_out_of;
                    assert!(
                        (sum - criterion.marks).abs() < 1e-9,
                        "{name} {}",
                        criterion.id
                    );
                    assert!((0.0..=suggestion.out_of).contains(&suggestion.suggested));
                    assert!(
                        suggestion
                            .evidence
                            .iter()
                            .all(|evidence| evidence.sentence.is_some())
                    );
                }
            }
        }
    }
}

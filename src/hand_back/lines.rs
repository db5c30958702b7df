//! The lines of one criterion on a pair's page: what is met, what is not yet, and what the marker judged below full points.

use super::by_check::ToldOf;
use super::candidate::{Candidate, Of};
use super::criteria::comment;
use super::told::Decided;
use crate::ledger::{PairState, Subject};
use crate::number::readable;
use crate::report::page::feedback::{CriterionFeedback, EvidenceLine, Met, Shown};
use crate::report::wording::id_in_words;
use crate::rubric::{Criterion, Evidence, EvidenceOutcome, Judged, Settled};
use crate::wording::capitalised;

/// The lines of one criterion as they are collected.
#[derive(Default)]
pub struct Lines {
    /// The criterion, by its place.
    index: usize,
    /// Marks lost in this criterion that no line accounts for yet.
    left: f64,
    /// Whether the pair's mark is known: without one, nothing is known to be lost.
    marked: bool,
    /// What is met, and its points.
    pub met: Vec<(Met, f64)>,
    not_met: Vec<EvidenceLine>,
    /// What could be changed first.
    pub candidates: Vec<Candidate>,
    any_judged: bool,
}

impl Lines {
    /// No line yet of a criterion in which so many marks were lost; none where its mark isn't known.
    pub fn of(index: usize, lost: Option<f64>) -> Self {
        Self {
            index,
            left: lost.unwrap_or(0.0),
            marked: lost.is_some(),
            ..Self::default()
        }
    }

    pub fn evidence(
        &mut self,
        outcome: &EvidenceOutcome,
        evidence: Option<&Evidence>,
        decided: Option<&Decided<'_>>,
        told: &mut Vec<ToldOf>,
    ) {
        let name = capitalised(&evidence.map_or_else(|| id_in_words(&outcome.id), Evidence::name));
        let (shown, lost) = match outcome.settled {
            Settled::Met => {
                if let Some(text) = &outcome.sentence {
                    let text = text.clone();
                    self.met.push((Met { name, text }, outcome.points));
                }
                return;
            }
            Settled::Partly => (Shown::Partly, outcome.points / 2.0),
            Settled::Unmet => (Shown::No, outcome.points),
            // What is left to the marker is said to the marker.
            Settled::Undecided { .. } | Settled::Untestable => return,
        };
        if let (Some(evidence), Some(decided)) = (evidence, decided)
            && decided.is_withdrawn(evidence)
        {
            return;
        }
        let (same, others): (Vec<ToldOf>, Vec<ToldOf>) = std::mem::take(told)
            .into_iter()
            .partition(|one| evidence.is_some_and(|evidence| evidence.is_said_by(one.check)));
        *told = others;
        let texts: Vec<&str> = same.iter().map(|one| one.text.as_str()).collect();
        let text = if texts.is_empty() {
            let Some(sentence) = &outcome.sentence else {
                return;
            };
            sentence.clone()
        } else {
            texts.join(" ")
        };
        // Which numbers they are is said instead of that there are some.
        let of_numbers = evidence.is_some_and(|evidence| evidence.is_said_by("numbers.differs"));
        let next = decided
            .filter(|_| of_numbers)
            .and_then(super::numbers::next)
            .unwrap_or_else(|| text.clone());
        self.push(
            EvidenceLine {
                shown,
                name,
                text,
                points: None,
            },
            next,
            lost,
        );
    }

    pub fn judged(&mut self, judged: &Judged, criterion: &Criterion, state: Option<&PairState>) {
        let subject = Subject::Judged(criterion.id.clone(), judged.id.clone());
        let Some(given) = state
            .and_then(|state| state.standing(&subject, ""))
            .filter(|held| held.conflicts.is_empty())
            .and_then(|held| held.value.parse::<f64>().ok())
            .filter(|given| given.is_finite())
        else {
            return;
        };
        self.any_judged = true;
        if given >= judged.points {
            return;
        }
        let shown = if given > 0.0 {
            Shown::Partly
        } else {
            Shown::No
        };
        let points = format!("{} of {}", readable(given), readable(judged.points));
        let asks = without_scale(&judged.asks);
        let next = format!("{}, {points}: {asks}", criterion.title);
        self.push(
            EvidenceLine {
                shown,
                name: capitalised(&id_in_words(&judged.id)),
                text: asks.to_owned(),
                points: Some(points),
            },
            next,
            judged.points - given,
        );
    }

    fn push(&mut self, line: EvidenceLine, text: String, lost: f64) {
        // No more is lost by a line than the criterion lost: a marker may have given the mark all the same.
        let lost = if self.marked {
            lost.min(self.left)
        } else {
            0.0
        };
        self.left -= lost;
        if lost > 0.0 {
            self.candidates.push(Candidate {
                text,
                lost,
                of: Of::Line(self.index, self.not_met.len()),
            });
        }
        self.not_met.push(line);
    }

    /// Marks lost that no line accounts for: what would lift the criterion, in general. It weighs less than a line, which is about this pair, and least
    /// where the marker's own points are there and don't explain it.
    pub fn unexplained(&mut self, criterion: &Criterion, mark: f64) {
        const SMALL: f64 = 1e-9;
        const UNJUDGED: f64 = 0.5;
        const JUDGED: f64 = 0.1;
        if self.left <= SMALL {
            return;
        }
        let of = format!(
            "{}, {} of {}",
            criterion.title,
            readable(mark),
            readable(criterion.marks)
        );
        let above = criterion
            .levels
            .iter()
            .rev()
            .find(|level| level.from > mark)
            .and_then(|level| Some((level, level.descriptor.as_ref()?)));
        let heaviest = criterion
            .judged
            .iter()
            .rev()
            .max_by(|a, b| a.points.total_cmp(&b.points));
        let text = match (above, heaviest) {
            (Some((level, descriptor)), _) => {
                format!(
                    "{of}. In general, “{}” means there: {descriptor}",
                    level.title
                )
            }
            (None, Some(judged)) if !self.any_judged => {
                format!(
                    "{of}. A question to look at it with once more: {}",
                    without_scale(&judged.asks)
                )
            }
            _ => format!("{of}: marks can be gained there."),
        };
        self.candidates.push(Candidate {
            text,
            lost: self.left * if self.any_judged { JUDGED } else { UNJUDGED },
            of: Of::Itself,
        });
    }

    pub fn criterion(
        self,
        criterion: &Criterion,
        mark: Option<(f64, f64)>,
        state: Option<&PairState>,
    ) -> CriterionFeedback {
        let level = mark.and_then(|(mark, _)| criterion.level(mark));
        let is_highest = level.is_some_and(|level| criterion.levels.first() == Some(level));
        let is_lowest = level.is_some_and(|level| criterion.levels.last() == Some(level));
        let (met, missing) = (
            self.met.len(),
            self.not_met
                .iter()
                .filter(|line| line.points.is_none())
                .count(),
        );
        // What a level means is general; where the page itself shows this report to be otherwise, it isn't said.
        let contradicted = (is_highest && missing > 0) || (is_lowest && met > missing);
        CriterionFeedback {
            title: criterion.title.clone(),
            mark: mark.map(|(mark, _)| mark),
            out_of: criterion.marks,
            shift: mark.map_or(0.0, |(_, shift)| shift),
            level: level.map(|level| level.title.clone()).unwrap_or_default(),
            general: level
                .filter(|_| !contradicted)
                .and_then(|level| level.descriptor.clone())
                .unwrap_or_default(),
            comment: comment(state, &criterion.id),
            met: self.met.into_iter().map(|(met, _)| met).collect(),
            evidence: self.not_met,
        }
    }
}

/// A question without the scale that it gives the marker at its end: `(2 yes, 1 in part)`.
pub(super) fn without_scale(asks: &str) -> &str {
    match asks.rsplit_once(" (") {
        Some((question, scale))
            if scale.ends_with(')') && scale.starts_with(|c: char| c.is_ascii_digit()) =>
        {
            question
        }
        _ => asks,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::{Entry, Role, State};

    #[test]
    fn what_is_left_to_the_marker_is_not_said_to_the_pair() {
        let outcome = |settled| EvidenceOutcome {
            id: "retention-test".into(),
            points: 1.0,
            settled,
            sentence: Some("For the marker: look.".into()),
            facts: Vec::new(),
        };
        let mut lines = Lines::default();
        lines.evidence(&outcome(Settled::Untestable), None, None, &mut Vec::new());
        assert!(lines.met.is_empty() && lines.not_met.is_empty());
        lines.evidence(&outcome(Settled::Met), None, None, &mut Vec::new());
        assert_eq!(lines.met[0].0.name, "Retention test");
    }

    #[test]
    fn the_scale_of_a_question_is_the_markers() {
        assert_eq!(without_scale("Is it? (2 yes, 1 in part)"), "Is it?");
        let with_meaning = "Is it used (for Gentile: open or closed)?";
        assert_eq!(without_scale(with_meaning), with_meaning);
    }

    #[test]
    fn what_the_marker_judged_below_full_points_is_said_with_its_question() {
        let entry = |part: &str, new: &str| Entry {
            who: "Noor".into(),
            role: Role::Marker.name().into(),
            pair: "P1".into(),
            what: format!("judged evaluation/{part}"),
            new: new.into(),
            ..Entry::default()
        };
        let state = State::from_entries(&[
            entry("limits", "1"),
            entry("next-session", "0"),
            entry("longer", "3"),
        ]);
        let judged = |id: &str| Judged {
            id: id.into(),
            points: 3.0,
            asks: format!("And {id}?"),
        };
        let criterion = Criterion {
            id: "evaluation".into(),
            title: "Evaluation".into(),
            marks: 9.0,
            each: crate::rubric::Each::Pair,
            evidence: Vec::new(),
            judged: ["limits", "next-session", "longer"].map(judged).to_vec(),
            levels: Vec::new(),
        };
        let mut lines = Lines::of(0, Some(5.0));
        for judged in &criterion.judged {
            lines.judged(judged, &criterion, state.pair("P1"));
        }
        let said: Vec<String> = lines
            .not_met
            .iter()
            .map(|line| format!("{}: {}", line.label(), line.text))
            .collect();
        assert_eq!(
            said,
            [
                "In part, 1 of 3: And limits?",
                "Not yet, 0 of 3: And next-session?"
            ]
        );
        let largest = lines
            .candidates
            .iter()
            .max_by(|a, b| a.lost.total_cmp(&b.lost));
        assert_eq!(
            largest.map(|one| one.text.as_str()),
            Some("Evaluation, 0 of 3: And next-session?")
        );
    }

    #[test]
    fn a_point_loses_no_more_than_its_criterion_did() {
        let outcome = |points| EvidenceOutcome {
            id: "a".into(),
            points,
            settled: Settled::Unmet,
            sentence: Some("Add one.".into()),
            facts: Vec::new(),
        };
        let mut lines = Lines::of(0, Some(1.5));
        for points in [1.0, 2.0, 2.0] {
            lines.evidence(&outcome(points), None, None, &mut Vec::new());
        }
        let lost: Vec<f64> = lines.candidates.iter().map(|one| one.lost).collect();
        assert_eq!(lost, [1.0, 0.5]);
        assert_eq!(lines.not_met.len(), 3);
    }
}

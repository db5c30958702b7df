//! The criteria on a pair's page: what is met, what is not yet, what the marker judged, and which of these the pair had best change first.

use super::told::{Decided, is_about_a_wrong_number};
use crate::checks::{Finding, Weight};
use crate::ledger::{PairState, Role, Subject};
use crate::marking::settle::SettledPair;
use crate::number::readable;
use crate::report::page::feedback::{CriterionFeedback, EvidenceLine, Met, Shown};
use crate::report::wording::id_in_words;
use crate::rubric::{Criterion, Evidence, EvidenceOutcome, Judged, Rubric, Settled};
use crate::wording::capitalised;

/// A finding weighs like so many of a hundred marks, where no point of the rubric speaks of the same thing.
const ERROR: f64 = 1.7;
const CONCERN: f64 = 1.25;
const ERROR_IN_A_CELL: f64 = 0.8;
const QUERY: f64 = 0.4;

/// A finding, or several of one check, as the pair is told it.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldOf {
    /// The check.
    pub check: &'static str,
    /// The heaviest weight of the findings.
    pub weight: Weight,
    /// Their comments, with what several say said once.
    pub text: String,
}

/// Something that could come first, and what changing it could gain.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What to say.
    pub text: String,
    /// Marks that went there, or what it weighs like.
    pub lost: f64,
    /// Where it stands on the page otherwise.
    pub of: Of,
}

/// Where a candidate stands on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// A line of a criterion: both by index.
    Line(usize, usize),
    /// A finding that no criterion speaks of, by index.
    Finding(usize),
    /// A criterion as a whole, or the list of numbers.
    Itself,
}

/// The criteria, what could be changed first, and the strength worth most.
pub struct Criteria {
    /// In the rubric's order.
    pub all: Vec<CriterionFeedback>,
    /// What could be changed first.
    pub candidates: Vec<Candidate>,
    /// The criterion and the met point worth most, where there is one.
    pub strength: Option<(usize, usize)>,
}

/// Collects the criteria; a finding that says what a point says goes with that point, and is taken from `told`.
pub fn criteria(
    pair: &SettledPair,
    rubric: &Rubric,
    decided: Option<&Decided<'_>>,
    state: Option<&PairState>,
    told: &mut Vec<ToldOf>,
) -> Criteria {
    let mut collected = Criteria {
        all: Vec::new(),
        candidates: Vec::new(),
        strength: None,
    };
    let mut best = 0.0;
    for (index, criterion) in rubric.criteria.iter().enumerate() {
        let mark = mark_of(pair, criterion);
        let mut lines = Lines {
            index,
            left: mark.map_or(0.0, |(mark, _)| (criterion.marks - mark).max(0.0)),
            marked: mark.is_some(),
            ..Lines::default()
        };
        if !is_in_the_markers_words(state, criterion) {
            for outcome in decided.into_iter().flat_map(|decided| {
                decided
                    .result
                    .suggestions
                    .iter()
                    .filter(|suggestion| suggestion.criterion == criterion.id)
                    .flat_map(|suggestion| &suggestion.evidence)
            }) {
                let evidence = criterion.evidence.iter().find(|one| one.id == outcome.id);
                lines.evidence(outcome, evidence, decided, told);
            }
        }
        for judged in &criterion.judged {
            lines.judged(judged, criterion, state);
        }
        for (met, (_, points)) in lines.met.iter().enumerate() {
            if *points > best {
                best = *points;
                collected.strength = Some((index, met));
            }
        }
        if let Some((mark, _)) = mark {
            lines.unexplained(criterion, mark);
        }
        collected.candidates.append(&mut lines.candidates);
        collected.all.push(lines.criterion(criterion, mark, state));
    }
    collected
}

/// What findings weigh that no point speaks of.
pub fn of_findings(told: &[ToldOf], out_of: f64) -> Vec<Candidate> {
    told.iter()
        .enumerate()
        .map(|(index, one)| Candidate {
            text: one.text.clone(),
            lost: weighs_like(one, out_of),
            of: Of::Finding(index),
        })
        .collect()
}

/// What a wrong number weighs where no point of the rubric speaks of it.
pub fn of_numbers(text: String, out_of: f64) -> Candidate {
    Candidate {
        text,
        lost: ERROR * out_of / 100.0,
        of: Of::Itself,
    }
}

fn weighs_like(told: &ToldOf, out_of: f64) -> f64 {
    let of_a_hundred = match told.weight {
        Weight::Error if told.check.starts_with("data.") => ERROR_IN_A_CELL,
        Weight::Error => ERROR,
        Weight::Concern => CONCERN,
        Weight::Query => QUERY,
    };
    of_a_hundred * out_of / 100.0
}

/// The findings by check, the heaviest first.
pub fn by_check<'a>(findings: impl Iterator<Item = &'a Finding>) -> Vec<ToldOf> {
    let mut all: Vec<(&'static str, Weight, Vec<&str>)> = Vec::new();
    for finding in findings {
        match all.iter_mut().find(|(check, ..)| *check == finding.check) {
            Some((_, weight, texts)) => {
                *weight = (*weight).max(finding.weight);
                texts.push(&finding.comment);
            }
            None => all.push((finding.check, finding.weight, vec![&finding.comment])),
        }
    }
    let mut told: Vec<ToldOf> = all
        .into_iter()
        .map(|(check, weight, texts)| ToldOf {
            check,
            weight,
            text: without_repeats(&texts),
        })
        .collect();
    told.sort_by_key(|one| std::cmp::Reverse(one.weight));
    told
}

/// Texts one after the other, each sentence said once: what differs first, then what they end on alike.
fn without_repeats(texts: &[&str]) -> String {
    let split: Vec<Vec<&str>> = texts.iter().map(|text| sentences(text)).collect();
    let in_several =
        |sentence: &&str| texts.len() > 1 && split.iter().all(|text| text.contains(sentence));
    let mut said: Vec<&str> = Vec::new();
    let (own, shared): (Vec<&str>, Vec<&str>) = split
        .iter()
        .flatten()
        .copied()
        .partition(|sentence| !in_several(sentence));
    for sentence in own.into_iter().chain(shared) {
        if !said.contains(&sentence) {
            said.push(sentence);
        }
    }
    said.join(" ")
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

/// The sentences of a text: each ends with a point, a colon's list with it, before a space and a capital letter.
fn sentences(text: &str) -> Vec<&str> {
    let mut all = Vec::new();
    let mut from = 0;
    for (at, _) in text.match_indices(". ") {
        let next = text.get(at + 2..).and_then(|rest| rest.chars().next());
        if next.is_some_and(|next| next.is_uppercase() || next == '“')
            && let Some(sentence) = text.get(from..=at)
        {
            all.push(sentence.trim());
            from = at + 2;
        }
    }
    all.extend(
        text.get(from..)
            .map(str::trim)
            .filter(|rest| !rest.is_empty()),
    );
    all
}

/// The pair's mark of a criterion, and what an accepted shift put into it; none where it is each student's own.
fn mark_of(pair: &SettledPair, criterion: &Criterion) -> Option<(f64, f64)> {
    let settled = pair.criteria.iter().find(|one| one.id == criterion.id)?;
    match settled.marks.as_slice() {
        [only] if only.student.is_none() => Some((only.mark()?, only.shift)),
        _ => None,
    }
}

/// A marker's comment begins as the evidence's own sentences: what the marker made of them stands instead of them.
fn is_in_the_markers_words(state: Option<&PairState>, criterion: &Criterion) -> bool {
    let subject = Subject::Comment(criterion.id.clone());
    state
        .and_then(|state| state.standing(&subject, ""))
        .is_some_and(|held| {
            matches!(held.role, Role::Marker | Role::SecondMarker) && !held.value.is_empty()
        })
}

/// What a person wrote about a criterion, or overall.
pub fn comment(state: Option<&PairState>, of: &str) -> String {
    state
        .and_then(|state| state.standing(&Subject::Comment(of.to_owned()), ""))
        .map(|held| held.value.clone())
        .unwrap_or_default()
}

/// The lines of one criterion as they are collected.
#[derive(Default)]
struct Lines {
    index: usize,
    /// Marks lost in this criterion that no line accounts for yet.
    left: f64,
    /// Whether the pair's mark is known: without one, nothing is known to be lost.
    marked: bool,
    met: Vec<(Met, f64)>,
    not_met: Vec<EvidenceLine>,
    candidates: Vec<Candidate>,
    any_judged: bool,
}

impl Lines {
    fn evidence(
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

    fn judged(&mut self, judged: &Judged, criterion: &Criterion, state: Option<&PairState>) {
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
    fn unexplained(&mut self, criterion: &Criterion, mark: f64) {
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

    fn criterion(
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

/// Whether a finding says nothing that the page doesn't say elsewhere: it is about a number of the list, or about two that the list has one of.
pub fn is_in_the_list(finding: &Finding, decided: &Decided<'_>) -> bool {
    let wrong = decided.wrong_claims();
    if is_about_a_wrong_number(finding) {
        return finding
            .claim
            .is_some_and(|index| wrong.iter().any(|(at, _)| *at == index));
    }
    finding.check == "numbers.inconsistent"
        && wrong
            .iter()
            .any(|(_, claim)| finding.places.contains(&claim.claim.place))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::{Entry, State};

    #[test]
    fn comments_of_one_check_are_said_once_with_what_differs() {
        let texts = [
            "The pre-test has 6.5 of 10. Plan more of them. “Few” is few.",
            "The post-test has 7 of 10. Plan more of them. “Few” is few.",
        ];
        assert_eq!(
            without_repeats(&texts),
            "The pre-test has 6.5 of 10. The post-test has 7 of 10. Plan more of them. “Few” is few."
        );
        assert_eq!(without_repeats(&["One. Two."]), "One. Two.");
    }

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
        let mut lines = Lines {
            left: 5.0,
            marked: true,
            ..Lines::default()
        };
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
        let mut lines = Lines {
            left: 1.5,
            marked: true,
            ..Lines::default()
        };
        for points in [1.0, 2.0, 2.0] {
            lines.evidence(&outcome(points), None, None, &mut Vec::new());
        }
        let lost: Vec<f64> = lines.candidates.iter().map(|one| one.lost).collect();
        assert_eq!(lost, [1.0, 0.5]);
        assert_eq!(lines.not_met.len(), 3);
    }
}

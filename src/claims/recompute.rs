//! Recomputes every claim of a logbook.

use super::computation::{Computation, Sides, Trials};
use super::definition;
use super::evaluate::{Evaluator, StatedInput};
use super::impossible::is_impossible;
use super::material::Material;
use super::roots::{self, Root};
use super::search::{self, Question, Way};
use super::slips::{self, Telling};
use super::unread_scores;
use super::verdict::{Confidence, Explanation, NoValue, RecomputedClaim, Verdict, agrees};
use crate::facts::Record;
use crate::logbook::Logbook;
use crate::logbook::model::{Claim, ClaimMeasure};
use crate::number::Bound;
use crate::place::Place;
use crate::statistic::Statistic;

/// What a course settles about claims.
#[derive(Debug, Clone, Default)]
pub struct ClaimSettings {
    /// Slips that the course's brief allows, by code: a claim that one of them gives agrees.
    pub accept: Vec<String>,
}

/// Explanations for which the cells that they count otherwise are listed.
const MOST_PLACED: usize = 3;

/// Every claim of the logbook, recomputed, in the order of the claims.
pub fn recompute(
    logbook: &Logbook,
    record: &Record,
    settings: &ClaimSettings,
) -> Vec<RecomputedClaim> {
    let material = Material::new(logbook, record);
    let mut evaluator = Evaluator::new(&material);
    let accept: Vec<usize> = settings
        .accept
        .iter()
        .filter_map(|code| slips::ALL.iter().position(|slip| slip.code == code))
        .collect();
    let mut recomputed: Vec<RecomputedClaim> = Vec::with_capacity(logbook.claims.len());
    let mut questions: Vec<Question> = Vec::new();
    for (index, claim) in logbook.claims.iter().enumerate() {
        let (result, question) = plainly(index, claim, &mut evaluator);
        recomputed.push(result);
        questions.extend(question);
    }
    evaluator.stated = logbook
        .claims
        .iter()
        .zip(&recomputed)
        .filter_map(|(claim, recomputed)| stated_input(claim, recomputed))
        .collect();
    if !questions.is_empty() {
        evaluator.gatherer.make_room();
    }
    let mut searched = Vec::with_capacity(questions.len());
    for question in &questions {
        let ways = explain(question, &accept, &mut evaluator, &mut recomputed);
        searched.push(ways);
    }
    hang_on_roots(&questions, &searched, &mut evaluator, &mut recomputed);
    unread_scores::mark(logbook, record, &mut recomputed);
    recomputed
}

/// One claim against its definition; what there is to search for where it doesn't follow.
pub(super) fn plainly(
    index: usize,
    claim: &Claim,
    evaluator: &mut Evaluator<'_>,
) -> (RecomputedClaim, Option<Question>) {
    let definition = definition::of_claim(claim, evaluator.material())
        .map(|definition| evaluator.gathered(definition));
    let value = definition.and_then(|computation| evaluator.value(&computation));
    let mut question = None;
    let verdict = match (&value, &definition, &claim.value) {
        (Ok(_), Ok(_), None) => Verdict::NotRecomputable,
        (Ok(value), Ok(computation), Some(stated)) => {
            if follows(claim, computation, *value, evaluator) {
                Verdict::Agrees
            } else {
                question = claim.statistic.map(|statistic| Question {
                    claim: index,
                    statistic,
                    stated: *stated,
                    definition: *computation,
                    right: *value,
                });
                Verdict::Differs
            }
        }
        // Without trials a number may still be one that no trials give.
        _ if is_impossible(claim, evaluator.material()) => Verdict::Impossible,
        _ => Verdict::NotRecomputable,
    };
    let value = match (value, &claim.value) {
        (Err(why), _) => Err(why),
        (Ok(_), None) => Err(NoValue::UnreadableValue),
        (Ok(value), Some(_)) => Ok(value),
    };
    let (places, scores) = match &definition {
        Ok(computation) => (
            places(claim, computation, evaluator),
            evaluator.count(computation),
        ),
        Err(_) => (vec![claim.place.clone()], 0),
    };
    let recomputed = RecomputedClaim {
        claim: index,
        value,
        verdict,
        explanations: Vec::new(),
        confidence: None,
        consequence_of: None,
        unread: 0,
        places: places.iter().collect(),
        scores,
    };
    (recomputed, question)
}

/// Whether the claim is what the computation gives.
fn follows(
    claim: &Claim,
    computation: &Computation,
    value: f64,
    evaluator: &mut Evaluator<'_>,
) -> bool {
    let (Some(stated), Some(statistic)) = (&claim.value, claim.statistic) else {
        return false;
    };
    let other = evaluator.other_side(computation, value);
    agrees(stated, statistic, value, other)
        || evaluator
            .tied_modes(computation)
            .iter()
            .any(|mode| stated.agrees(*mode))
}

/// A stated level or spread from which the pair may have gone on.
fn stated_input(claim: &Claim, recomputed: &RecomputedClaim) -> Option<StatedInput> {
    let statistic = claim
        .statistic
        .filter(|statistic| roots::is_input(*statistic))?;
    let ClaimMeasure::Known(measure) = claim.measure else {
        return None;
    };
    let stated = claim
        .value
        .filter(|stated| stated.bound == Bound::Exactly)?;
    recomputed.value.ok()?;
    Some(StatedInput {
        measure,
        block: claim.phase?,
        statistic,
        value: stated.value,
        wrong: recomputed.verdict != Verdict::Agrees,
    })
}

/// Searches for what gives a wrong number, and settles its verdict.
fn explain(
    question: &Question,
    accept: &[usize],
    evaluator: &mut Evaluator<'_>,
    recomputed: &mut [RecomputedClaim],
) -> Vec<Way> {
    let Some(result) = recomputed.get_mut(question.claim) else {
        return Vec::new();
    };
    if let Some(way) = search::accepted(question, accept, evaluator) {
        result.verdict = Verdict::Agrees;
        result.explanations = vec![explanation(&way, 1.0, question, evaluator, true)];
        return Vec::new();
    }
    let ranked = search::search(question, evaluator);
    let material = evaluator.material();
    if ranked.ways.is_empty() {
        let claim = material.logbook.claims.get(question.claim);
        if claim.is_some_and(|claim| is_impossible(claim, material)) {
            result.verdict = Verdict::Impossible;
        }
        return Vec::new();
    }
    result.confidence = Some(if ranked.likely {
        Confidence::Likely
    } else {
        Confidence::Possible
    });
    result.explanations = ranked
        .ways
        .iter()
        .enumerate()
        .map(|(place, (way, weight))| {
            explanation(way, *weight, question, evaluator, place < MOST_PLACED)
        })
        .collect();
    ranked.ways.into_iter().map(|(way, _)| way).collect()
}

/// What is said of one way that gives the number.
fn explanation(
    way: &Way,
    weight: f64,
    question: &Question,
    evaluator: &Evaluator<'_>,
    with_places: bool,
) -> Explanation {
    let mut slips = Vec::with_capacity(2);
    let mut clauses = Vec::with_capacity(2);
    let variants = std::iter::once((way.slip, way.variant)).chain(way.second);
    for (slip, variant) in variants {
        if let Some(slip) = slips::ALL.get(slip) {
            slips.push(*slip);
            clauses.push((slip.when)(&Telling {
                evaluator,
                computation: &question.definition,
                changed: &variant.computation,
                detail: variant.detail,
            }));
        }
    }
    let places = if with_places {
        changed_cells(&question.definition, way.computation(), evaluator)
    } else {
        Vec::new()
    };
    Explanation {
        slips,
        when: clauses.join(" and "),
        by_formula: evaluator.is_by_formula(way.computation()),
        places,
        weight,
    }
}

/// The cells that a computation counts otherwise than the definition does.
fn changed_cells(
    definition: &Computation,
    changed: &Computation,
    evaluator: &Evaluator<'_>,
) -> Vec<Place> {
    let mut cells: Vec<Cell> = Vec::new();
    for (before, after) in [
        (definition.later, changed.later),
        (definition.earlier, changed.earlier),
        (definition.between, changed.between),
    ] {
        if before.trials == after.trials {
            continue;
        }
        let before: Vec<Cell> = cells_of(evaluator, before.trials).collect();
        let after: Vec<Cell> = cells_of(evaluator, after.trials).collect();
        let left_out = before.iter().filter(|cell| !after.contains(cell));
        let added = after.iter().filter(|cell| !before.contains(cell));
        for cell in left_out.chain(added) {
            if !cells.contains(cell) {
                cells.push(*cell);
            }
        }
    }
    cells
        .iter()
        .filter_map(|cell| cell.place(evaluator.material()))
        .collect()
}

/// Hangs each wrong claim that comes out of another wrong claim on that one.
fn hang_on_roots(
    questions: &[Question],
    searched: &[Vec<Way>],
    evaluator: &mut Evaluator<'_>,
    recomputed: &mut [RecomputedClaim],
) {
    let claims = &evaluator.material().logbook.claims;
    let roots: Vec<Root> = questions
        .iter()
        .zip(searched)
        .filter(|(question, _)| {
            recomputed
                .get(question.claim)
                .is_some_and(|result| result.verdict != Verdict::Agrees)
        })
        .filter_map(|(question, ways)| {
            let claim = claims.get(question.claim)?;
            let ClaimMeasure::Known(measure) = claim.measure else {
                return None;
            };
            Some(Root {
                claim: question.claim,
                measure,
                block: claim.phase?,
                statistic: claim.statistic.filter(|known| roots::is_input(*known))?,
                value: question.stated.value,
                ways: ways.iter().map(|way| *way.computation()).collect(),
            })
        })
        .collect();
    if roots.is_empty() {
        return;
    }
    for (question, ways) in questions.iter().zip(searched) {
        let differs = recomputed
            .get(question.claim)
            .is_some_and(|result| result.verdict != Verdict::Agrees);
        if !differs {
            continue;
        }
        let ways: Vec<Computation> = ways.iter().map(|way| *way.computation()).collect();
        let Some(root) = roots::root_of(question, &ways, &roots, evaluator) else {
            continue;
        };
        let of_root = recomputed
            .get(root)
            .and_then(|root| root.explanations.first())
            .map(|first| first.slips.clone());
        let told = told_by_root(root, claims);
        if let Some(result) = recomputed.get_mut(question.claim) {
            result.consequence_of = Some(root);
            result.verdict = Verdict::Differs;
            if result.explanations.is_empty()
                && let (Some(slips), Some(when)) = (of_root, told)
            {
                result.explanations.push(Explanation {
                    slips,
                    when,
                    by_formula: false,
                    places: Vec::new(),
                    weight: 1.0,
                });
                result.confidence = Some(Confidence::Likely);
            }
        }
    }
}

/// "it is computed from the mean of the post-test that the report states, 3.40".
fn told_by_root(root: usize, claims: &[Claim]) -> Option<String> {
    let claim = claims.get(root)?;
    let name = claim.statistic.map(Statistic::name)?;
    let block = claim.phase.map(super::with_article)?;
    Some(format!(
        "it is computed from the {name} of {block} that the report states, {}",
        claim.value_text
    ))
}

/// The claim's cell, then the cells of the trials that it speaks of: the earlier block's first.
fn places(claim: &Claim, computation: &Computation, evaluator: &Evaluator<'_>) -> Vec<Place> {
    let mut places = vec![claim.place.clone()];
    let sides = match computation.formula.sides() {
        Sides::One => vec![computation.later],
        Sides::Two => vec![computation.earlier, computation.later],
        Sides::Three => vec![computation.earlier, computation.between, computation.later],
    };
    for side in sides {
        let cells = cells_of(evaluator, side.trials);
        places.extend(cells.filter_map(|cell| cell.place(evaluator.material())));
    }
    places
}

/// A cell that holds a trial's score or a rating.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Cell {
    /// A rating of the technique checklist.
    technique: bool,
    row: usize,
}

impl Cell {
    fn place(self, material: &Material<'_>) -> Option<Place> {
        let logbook = material.logbook;
        Some(if self.technique {
            logbook.technique.get(self.row)?.place.clone()
        } else {
            logbook.trials.get(self.row)?.place.clone()
        })
    }
}

/// The cells that a selection's numbers come from.
fn cells_of(evaluator: &Evaluator<'_>, trials: Trials) -> impl Iterator<Item = Cell> {
    let technique = evaluator.selection(trials).measure == evaluator.material().technique_index();
    let rows = evaluator.numbers(trials).from.iter();
    rows.filter_map(move |origin| {
        let row = origin.row?;
        Some(Cell { technique, row })
    })
}

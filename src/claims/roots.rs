//! Which wrong claims come out of another wrong claim of the same report.
//!
//! A percent change of a wrong mean is wrong as well, without a slip of its own: it hangs on that mean, its root.

use super::computation::{Computation, EarlyRounding, Formula, Side, Sides, Source};
use super::evaluate::{Evaluator, StatedInput};
use super::search::Question;
use crate::phase::BlockName;
use crate::statistic::Statistic;

/// A wrong claim of a block's level or spread.
#[derive(Debug, Clone)]
pub struct Root {
    /// Index of the claim.
    pub claim: usize,
    /// Of which measure.
    pub measure: usize,
    /// Of which block.
    pub block: BlockName,
    /// Which statistic.
    pub statistic: Statistic,
    /// The number stated.
    pub value: f64,
    /// The computations that give it.
    pub ways: Vec<Computation>,
}

/// Statistics of one block from which others are computed.
pub fn is_input(statistic: Statistic) -> bool {
    matches!(
        statistic,
        Statistic::Mean | Statistic::Sd | Statistic::AbsoluteError
    )
}

/// The root of which a wrong claim is a consequence: it is what comes out of the root's stated number, or of the root's own slip.
pub fn root_of(
    question: &Question,
    ways: &[Computation],
    roots: &[Root],
    evaluator: &mut Evaluator<'_>,
) -> Option<usize> {
    let concerned: Vec<&Root> = roots
        .iter()
        .filter(|root| root.claim != question.claim && concerns(root, question, evaluator))
        .collect();
    for root in &concerned {
        for early in [EarlyRounding::StatedWrong, EarlyRounding::StatedAll] {
            // This root alone stands for its block; what else is stated wrongly is another's root.
            let kept = std::mem::take(&mut evaluator.stated);
            evaluator.stated = kept
                .iter()
                .filter(|input| !input.wrong)
                .copied()
                .chain([input_of(root)])
                .collect();
            let from_stated = Computation {
                early,
                ..question.definition
            };
            let value = evaluator.value(&from_stated);
            evaluator.stated = kept;
            if value.is_ok_and(|value| question.stated.agrees(value)) {
                return Some(root.claim);
            }
        }
    }
    for root in &concerned {
        if ways
            .iter()
            .any(|way| has_same_slip(way, root, question, evaluator))
        {
            return Some(root.claim);
        }
    }
    // Two wrong numbers together: the first of them is the root.
    let all = Computation {
        early: EarlyRounding::StatedAll,
        ..question.definition
    };
    let from_all = evaluator.value(&all);
    (concerned.len() > 1 && from_all.is_ok_and(|value| question.stated.agrees(value)))
        .then(|| concerned.first().map(|root| root.claim))
        .flatten()
}

/// A root as an input of other computations.
pub fn input_of(root: &Root) -> StatedInput {
    StatedInput {
        measure: root.measure,
        block: root.block,
        statistic: root.statistic,
        value: root.value,
        wrong: true,
    }
}

/// Whether the root's number enters the claim's definition.
fn concerns(root: &Root, question: &Question, evaluator: &Evaluator<'_>) -> bool {
    let definition = &question.definition;
    let enters = match root.statistic {
        Statistic::Sd => definition.formula.uses_spread(),
        _ => definition.formula.uses_levels(),
    };
    let is_input = definition.formula == Formula::Level || question.statistic == Statistic::Sd;
    enters
        && !is_input
        && sides(definition)
            .iter()
            .any(|side| is_of(side, root, evaluator))
}

fn sides(computation: &Computation) -> Vec<Side> {
    match computation.formula.sides() {
        Sides::One => vec![computation.later],
        Sides::Two => vec![computation.later, computation.earlier],
        Sides::Three => vec![computation.later, computation.earlier, computation.between],
    }
}

fn is_of(side: &Side, root: &Root, evaluator: &Evaluator<'_>) -> bool {
    let selection = evaluator.selection(side.trials);
    selection.measure == root.measure && selection.block == Source::Named(root.block)
}

/// Whether a way in which the claim comes out holds the very change by which the root came about.
fn has_same_slip(
    way: &Computation,
    root: &Root,
    question: &Question,
    evaluator: &Evaluator<'_>,
) -> bool {
    let defined = sides(&question.definition);
    let changed = sides(way);
    root.ways.iter().any(|root_way| {
        let of_root = root_way.later;
        let same_side = defined.iter().zip(&changed).any(|(before, after)| {
            is_of(before, root, evaluator) && after != before && *after == of_root
        });
        let same_spread = root.statistic == Statistic::Sd
            && way.spread != question.definition.spread
            && way.spread == root_way.spread;
        same_side || same_spread
    })
}

//! Cells that are no scores, and a number of trials that was not made.

use super::blanks::adding;
use super::slip::{Particular, Slip, Variations, Which};
use crate::claims::computation::{Add, Centre, Formula, Side, Source, SpreadForm, Transform};
use crate::claims::material::SessionMaterial;

pub(super) static EXTRA_CELL: Slip = Slip {
    code: "extra-cell",
    convention: false,
    title: "A cell that is no score in the average",
    explanation: "A trial number, a target or a total stands in the range that is averaged.",
    matters: "A cell that is no score moves the mean by as much as a trial would.",
    remedy: "Check that the range holds scores only.",
    vary: |v| {
        if !v.is_of_blocks() {
            return;
        }
        let claim = v.claim;
        let formula = v
            .material()
            .logbook
            .claims
            .get(claim as usize)
            .and_then(|claim| claim.formula.as_ref());
        if let Some(range) = formula
            && !range.extra.is_empty()
        {
            let of = Particular::Words(
                "cells of the formula's range that are no trials of the block are",
            );
            adding(v, Add::FormulaExtras(claim), of, 1.0);
            return;
        }
        if v.taken() != Transform::AsRecorded {
            return;
        }
        // Without a formula, an average is what a stray cell gets into.
        let usual = match v.from.formula {
            Formula::Level if v.from.later.centre == Centre::Mean => 1.0,
            _ => 0.3,
        };
        for (add, words) in [
            (Add::LastTrialNumber, "the last trial's number is"),
            (Add::Total, "the total of the scores is"),
            (Add::Target, "the target is"),
        ] {
            adding(v, add, Particular::Words(words), usual);
        }
    },
    when: |t| {
        format!(
            "{} counted as a score{}",
            t.words("a cell that is no score is"),
            t.where_alone()
        )
    },
};

pub(super) static PLANNED_N: Slip = Slip {
    code: "planned-n",
    convention: false,
    title: "Divided by the planned number of trials",
    explanation: "The number of trials that was planned stands for the number that was recorded.",
    matters: "Trials that were not made then count as scores of 0.",
    remedy: "Divide by the number of recorded trials, and say how many are missing.",
    vary: |v| {
        let from = v.from;
        let enters = match from.formula {
            Formula::Count => true,
            Formula::Spread => from.spread.form == SpreadForm::StandardError,
            _ => from.formula.uses_levels() && !matches!(from.formula, Formula::Line(..)),
        };
        if !enters || from.later.centre != Centre::Mean {
            return;
        }
        for which in v.used() {
            for (n, weight) in planned(v, *which) {
                let side = Side {
                    planned: Some(n),
                    ..v.side(*which)
                };
                v.one_side(*which, Particular::Number(f64::from(n)), weight, side);
            }
        }
    },
    when: |t| format!("n is taken to be {}{}", t.number(), t.where_alone()),
};

/// Numbers of trials that may have been planned for a block, and how usual each is: its own scheduled ones, then those of other blocks.
fn planned(v: &Variations<'_, '_>, which: Which) -> Vec<(u32, f64)> {
    let selection = v.selection(which);
    let recorded = v.evaluator.numbers(v.side(which).trials).values.len();
    let Source::Named(block) = selection.block else {
        return Vec::new();
    };
    let material = v.material();
    let mut numbers: Vec<(u32, f64)> = Vec::new();
    let mut add = |n: u32, weight: f64| {
        if n > 0 && n as usize != recorded && !numbers.iter().any(|(known, _)| *known == n) {
            numbers.push((n, weight));
        }
    };
    let trials = |session: &SessionMaterial| session.trials.len();
    let own: usize = material
        .sessions(selection.measure, block)
        .map(|(_, session)| trials(session))
        .sum();
    add(u32::try_from(own).unwrap_or(0), 1.0);
    // Trial numbers that run past what was recorded.
    let scheduled: u32 = material
        .sessions(selection.measure, block)
        .filter_map(|(_, session)| session.trials.iter().map(|trial| trial.number).max())
        .fold(0, u32::saturating_add);
    add(scheduled, 1.0);
    let highest = material
        .sessions(selection.measure, block)
        .flat_map(|(_, session)| session.trials.iter().map(|trial| trial.number))
        .max()
        .unwrap_or(0);
    add(highest, 0.5);
    if let Some(measure) = material.measures.get(selection.measure) {
        for block in &measure.phases {
            let weight = if block.phase.kind.is_test() { 0.7 } else { 0.2 };
            let all: usize = block.sessions.iter().map(trials).sum();
            add(u32::try_from(all).unwrap_or(0), weight);
            let scored = block
                .sessions
                .iter()
                .flat_map(|session| &session.trials)
                .filter(|trial| trial.score.is_some())
                .count();
            add(u32::try_from(scored).unwrap_or(0), weight * 0.5);
        }
    }
    numbers
}

//! One pair's logbook, the whole way: which trials count, facts, claims, checks.

use std::sync::Arc;

use super::course::Course;
use super::result::{ExaminedClaim, PairResult};
use crate::checks::{self, PairTrace, Seen};
use crate::claims::{self, Verdict};
use crate::expression::WithThresholds;
use crate::facts::{Coverage, FactValue, Facts, Record, UNREAD, block_rows, compute};
use crate::judgement::{Judgements, Ladder};
use crate::logbook::Logbook;
use crate::rubric::suggest;

/// Examines a pair's logbook. Gives its result, and its scores for the checks that see the whole cohort, which come later.
pub fn examine(pair: &Arc<str>, logbook: Logbook, course: &Course) -> (PairResult, PairTrace) {
    let record = Record::new(&logbook);
    let mut facts = compute(pair, &logbook, &record, &course.facts);
    let recomputed = claims::recompute(&logbook, &record, &course.claims);
    count_claims(&mut facts, &recomputed);
    let known = WithThresholds {
        facts: &facts,
        thresholds: &course.thresholds,
    };
    let judgements = Judgements::of(&logbook.about, &known, &course.stages, &course.theories);
    judgements.record(&mut facts);
    if (record.unread || record.partly_unread) && judgements.theory.ladder == Ladder::NotTestable {
        for fact in ["testable", "met", "contradicted"] {
            facts.leave_out(format!("theory.{fact}"), UNREAD);
        }
    }
    let findings = checks::run_all(
        &Seen {
            pair,
            logbook: &logbook,
            record: &record,
            facts: &facts,
            thresholds: &course.thresholds,
            needed_tables: course.needed_tables,
            claims: &recomputed,
            judgements: &judgements,
        },
        &course.policy,
    );
    let coverage = Coverage::of(&logbook, &record, &facts);
    let blocks = block_rows(&logbook, &record);
    let trace = PairTrace::new(pair, &logbook, &record);
    let mut result = PairResult {
        unnamed: logbook.unnamed_columns(),
        pair: pair.clone(),
        skill: logbook.about.skill.map(|skill| skill.value),
        measures: logbook.measures,
        blocks,
        facts,
        claims: logbook
            .claims
            .into_iter()
            .zip(recomputed)
            .map(|(claim, recomputed)| ExaminedClaim { claim, recomputed })
            .collect(),
        findings: findings.found,
        not_checked: findings.not_checked,
        coverage,
        judgements: Some(judgements),
        ..PairResult::default()
    };
    result.put_findings_in_order();
    suggest_to(&mut result, course);
    (result, trace)
}

/// Fills in what the evidence says to each criterion, by the findings there are.
pub fn suggest_to(result: &mut PairResult, course: &Course) {
    let known = WithThresholds {
        facts: &*result,
        thresholds: &course.thresholds,
    };
    result.suggestions = suggest(&course.rubric, &known);
}

/// The facts `claims.*`.
fn count_claims(facts: &mut Facts, claims: &[claims::RecomputedClaim]) {
    let with = |verdict: Verdict| {
        claims
            .iter()
            .filter(|claim| claim.verdict == verdict)
            .count()
    };
    let asks_for_a_convention = |claim: &&claims::RecomputedClaim| {
        let root = claim.consequence_of.and_then(|root| claims.get(root));
        claim.verdict == Verdict::Differs && root.unwrap_or(claim).is_question()
    };
    let counts = [
        ("claims.count", claims.len()),
        ("claims.agree", with(Verdict::Agrees)),
        ("claims.differ", with(Verdict::Differs)),
        (
            "claims.conventions",
            claims.iter().filter(asks_for_a_convention).count(),
        ),
        ("claims.impossible", with(Verdict::Impossible)),
        ("claims.not_recomputable", with(Verdict::NotRecomputable)),
    ];
    for (name, count) in counts {
        facts.set(name, FactValue::Number(count as f64));
    }
}

//! One pair's logbook, the whole way: which trials count, facts, claims, checks.

use std::sync::Arc;

use super::course::Course;
use super::result::{ExaminedClaim, HandIn, PairResult};
use crate::checks::{self, PairTrace, Seen};
use crate::claims::{self, Verdict};
use crate::expression::WithThresholds;
use crate::facts::{Coverage, FactValue, Facts, Record, block_rows, compute};
use crate::judgement::Judgements;
use crate::logbook::Logbook;

/// Examines a pair's logbook. The checks that see more than one pair, and the suggestions that rest on them, come later.
pub fn examine(pair: &Arc<str>, logbook: Logbook, hand_in: HandIn, course: &Course) -> PairResult {
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
    // What stays of ten thousand pairs is worth its room.
    facts.shrink_to_fit();
    PairResult {
        pair: pair.clone(),
        hand_in: Some(hand_in),
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
        trace: Some(trace),
        ..PairResult::default()
    }
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
        claim.verdict == Verdict::Differs && root.unwrap_or(claim).is_convention()
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

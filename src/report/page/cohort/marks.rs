//! What of the findings and claims is marked on a pair's curve, block by block.

use std::collections::BTreeMap;

use crate::checks::{Finding, Weight};
use crate::claims::Verdict;
use crate::examination::{ExaminedClaim, PairResult};
use crate::logbook::model::ClaimMeasure;
use crate::phase::{BlockName, Phase, PhaseKind};
use crate::statistic::Statistic;
use crate::wording::counted;

/// What is marked at one block.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct AtBlock {
    /// Findings, the claims' own not among them.
    pub findings: usize,
    /// The heaviest of them.
    pub heaviest: Option<Weight>,
    /// Claims about it that don't follow from the trials.
    pub claims: usize,
    /// Its mean as claimed, where that is such a claim.
    pub claimed_means: Vec<f64>,
}

/// What is marked on the curve of one measure.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Marks {
    blocks: BTreeMap<BlockName, AtBlock>,
}

/// A claim that does not follow from the trials.
pub(super) fn differs(claim: &ExaminedClaim) -> bool {
    matches!(
        claim.recomputed.verdict,
        Verdict::Differs | Verdict::Impossible
    )
}

impl Marks {
    /// Those of a measure of a pair.
    pub fn of(result: &PairResult, measure: usize) -> Self {
        let mut marks = Self::default();
        for finding in &result.findings {
            for block in blocks_of(finding, result, measure) {
                let at = marks.blocks.entry(block).or_default();
                at.findings += 1;
                at.heaviest = at.heaviest.max(Some(finding.weight));
            }
        }
        let known = ClaimMeasure::Known(measure);
        for examined in result.claims.iter().filter(|examined| differs(examined)) {
            let claim = &examined.claim;
            let Some(block) = claim.phase.filter(|_| claim.measure == known) else {
                continue;
            };
            let at = marks.blocks.entry(block).or_default();
            at.claims += 1;
            if claim.statistic == Some(Statistic::Mean) {
                at.claimed_means
                    .extend(claim.value.map(|stated| stated.value));
            }
        }
        marks
    }

    /// What is marked at a block.
    pub fn at(&self, block: BlockName) -> Option<&AtBlock> {
        self.blocks.get(&block)
    }

    /// What is marked at practice: the whole of it, and its sessions by number.
    pub fn practice(&self) -> Practice<'_> {
        Practice {
            whole: self.at(BlockName::Phase(Phase::PRACTICE)),
            sessions: self
                .blocks
                .iter()
                .filter_map(|(block, at)| match block {
                    BlockName::PracticeSession(number) => Some((*number, at)),
                    BlockName::Phase(_) => None,
                })
                .collect(),
        }
    }

    /// All of it in words; empty where nothing is marked.
    pub fn in_words(&self) -> String {
        let parts: Vec<String> = self
            .blocks
            .iter()
            .map(|(block, at)| format!("{}: {}", block.title(), at.in_words()))
            .collect();
        parts.join("; ")
    }
}

/// What is marked at practice.
pub(super) struct Practice<'a> {
    /// At all of practice.
    pub whole: Option<&'a AtBlock>,
    /// At its sessions.
    pub sessions: Vec<(u32, &'a AtBlock)>,
}

impl AtBlock {
    fn in_words(&self) -> String {
        let mut parts = Vec::new();
        if let Some(heaviest) = self.heaviest {
            parts.push(if self.findings == 1 {
                counted(1, heaviest.name())
            } else {
                format!(
                    "{}, the heaviest of weight {heaviest}",
                    counted(self.findings, "finding")
                )
            });
        }
        if self.claims > 0 {
            let verb = if self.claims == 1 {
                "differs"
            } else {
                "differ"
            };
            parts.push(format!("{} that {verb}", counted(self.claims, "claim")));
        }
        parts.join(", ")
    }
}

/// The blocks of a measure that a finding speaks of. One about a claim that differs is marked as the claim is; any other about a claim,
/// at the block of the claim.
fn blocks_of(finding: &Finding, result: &PairResult, measure: usize) -> Vec<BlockName> {
    if let Some(examined) = finding.claim.and_then(|index| result.claims.get(index)) {
        let claim = &examined.claim;
        let known = claim.measure == ClaimMeasure::Known(measure);
        return claim
            .phase
            .filter(|_| known && !differs(examined))
            .into_iter()
            .collect();
    }
    finding
        .blocks
        .iter()
        .filter(|concerned| concerned.measure.is_none_or(|index| index == measure))
        .map(|concerned| concerned.block)
        .filter(|block| is_drawn(*block))
        .collect()
}

fn is_drawn(block: BlockName) -> bool {
    !matches!(block, BlockName::Phase(phase) if phase.kind == PhaseKind::Familiarisation)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_is_marked_at_its_blocks_of_that_measure_alone() {
        let post = BlockName::Phase(Phase::POST);
        let finding = |weight, measure| {
            Finding::new("testing.few-trials", weight, "m", "c").about(measure, post)
        };
        let result = PairResult {
            findings: vec![
                finding(Weight::Query, Some(0)),
                finding(Weight::Concern, None),
                finding(Weight::Error, Some(1)),
            ],
            ..PairResult::default()
        };
        let marks = Marks::of(&result, 0);
        let at = marks.at(post).unwrap();
        assert_eq!((at.findings, at.heaviest), (2, Some(Weight::Concern)));
        assert_eq!(
            marks.in_words(),
            "post-test: 2 findings, the heaviest of weight concern"
        );
        assert_eq!(
            Marks::of(&result, 1).at(post).map(|at| at.findings),
            Some(2)
        );
        assert_eq!(Marks::of(&PairResult::default(), 0).in_words(), "");
    }

    #[test]
    fn sessions_are_told_from_all_of_practice() {
        let at =
            |block| Finding::new("data.off-step", Weight::Error, "m", "c").about(Some(0), block);
        let result = PairResult {
            findings: vec![
                at(BlockName::PracticeSession(12)),
                at(BlockName::PracticeSession(3)),
            ],
            ..PairResult::default()
        };
        let marks = Marks::of(&result, 0);
        let practice = marks.practice();
        assert!(practice.whole.is_none());
        let numbers: Vec<u32> = practice
            .sessions
            .iter()
            .map(|(number, _)| *number)
            .collect();
        assert_eq!(numbers, [3, 12]);
    }
}

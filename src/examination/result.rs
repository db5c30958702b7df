//! What examining a cohort gives: everything that reports show, and nothing that only the way there needed.

use std::collections::HashMap;
use std::sync::Arc;

use crate::checks::{Finding, NotChecked, PairTrace, Weight};
use crate::claims::{RecomputedClaim, Verdict};
use crate::cohort::roster::compared;
use crate::expression::FactSource;
use crate::facts::blocks::BlockRow;
use crate::facts::coverage::Coverage;
use crate::facts::{FactValue, Facts};
use crate::judgement::Judgements;
use crate::logbook::model::{Claim, Measure};
use crate::rubric::CriterionSuggestion;

/// A whole cohort, examined.
#[derive(Debug)]
pub struct CohortResult {
    /// The pairs, in the order of the roster, else of their ids.
    pub pairs: Vec<PairResult>,
    /// Findings that belong to no pair.
    pub without_pair: Vec<Finding>,
    /// What the checks that see the whole cohort could not look at.
    pub not_checked: Vec<NotChecked>,
    /// Hand-ins and files that could not be read, each with why.
    pub not_read: Vec<NotRead>,
    /// How many hand-ins there were.
    pub hand_ins: usize,
    /// Where each pair stands in `pairs`, by its id as compared.
    index: HashMap<String, usize>,
}

/// A file that could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotRead {
    /// The file, relative to the submissions.
    pub file: String,
    /// Why, in a sentence.
    pub why: String,
    /// Reading it was given up for time: the last resort, which another machine may not reach.
    pub out_of_time: bool,
}

/// One pair, examined.
#[derive(Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct PairResult {
    /// The pair's id.
    pub pair: Arc<str>,
    /// What it handed in; none where nothing was, or nothing could be read.
    #[serde(skip)]
    pub hand_in: Option<HandIn>,
    /// The target skill, where About says.
    pub skill: Option<Arc<str>>,
    /// The measures, the primary one first.
    pub measures: Vec<Measure>,
    /// The rows of blocks.csv.
    pub blocks: Vec<BlockRow>,
    /// The named facts; counts of findings are computed from `findings`.
    pub facts: Facts,
    /// Every claim, in reading order.
    pub claims: Vec<ExaminedClaim>,
    /// What the checks found, cohort.* included, in order of check and first cell.
    pub findings: Vec<Finding>,
    /// What they could not look at.
    pub not_checked: Vec<NotChecked>,
    /// How much was recomputed.
    pub coverage: Coverage,
    /// What the data can bear of the stages and the theory that it names; none where nothing was read.
    pub judgements: Option<Judgements>,
    /// Its scores, for the checks that see the whole cohort; taken when these have run.
    pub trace: Option<PairTrace>,
    /// What the evidence says to each criterion.
    #[serde(skip)]
    pub suggestions: Vec<CriterionSuggestion>,
}

/// What a pair handed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandIn {
    /// Its file or folder, relative to the submissions.
    pub name: Arc<str>,
    /// Digest of its bytes.
    pub digest: String,
    /// The folder of the submissions, from the cohort's folder and with a `/` at its end, before which links put `../`; none where the
    /// hand-in is inside a zip.
    pub link_base: Option<Arc<str>>,
}

/// A claim with what recomputing it came to.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct ExaminedClaim {
    /// The claim.
    pub claim: Claim,
    /// What recomputing it came to.
    pub recomputed: RecomputedClaim,
}

/// The number of findings of one check as a fact: `findings["testing.one-rater"]`.
fn finding_fact_check(name: &str) -> Option<&str> {
    name.strip_prefix("findings[\"")?.strip_suffix("\"]")
}

impl FactSource for PairResult {
    fn fact(&self, name: &str) -> Option<FactValue> {
        let Some(check) = finding_fact_check(name) else {
            return self.facts.get(name).cloned();
        };
        self.findings_of(check)
            .map(|count| FactValue::Number(count as f64))
    }
}

impl PairResult {
    /// How many findings of a check there are; none where it could not be checked.
    pub fn findings_of(&self, check: &str) -> Option<usize> {
        let found = self
            .findings
            .iter()
            .filter(|finding| finding.check == check)
            .count();
        let unchecked = self.not_checked.iter().any(|not| not.check == check);
        (found > 0 || !unchecked).then_some(found)
    }

    /// How many findings of a weight there are.
    pub fn count(&self, weight: Weight) -> usize {
        self.findings
            .iter()
            .filter(|finding| finding.weight == weight)
            .count()
    }

    /// How many claims have a verdict.
    pub fn claims_with(&self, verdict: Verdict) -> usize {
        self.claims
            .iter()
            .filter(|claim| claim.recomputed.verdict == verdict)
            .count()
    }
}

impl CohortResult {
    /// The result of these pairs, in the order in which reports list them.
    pub fn new(
        pairs: Vec<PairResult>,
        without_pair: Vec<Finding>,
        not_read: Vec<NotRead>,
        hand_ins: usize,
    ) -> Self {
        let index = pairs
            .iter()
            .enumerate()
            .map(|(index, result)| (compared(&result.pair), index))
            .collect();
        Self {
            pairs,
            without_pair,
            not_checked: Vec::new(),
            not_read,
            hand_ins,
            index,
        }
    }

    /// The pair with this id.
    pub fn pair(&self, id: &str) -> Option<&PairResult> {
        self.pairs.get(self.position(id)?)
    }

    /// Where the pair with this id stands in `pairs`.
    pub fn position(&self, id: &str) -> Option<usize> {
        self.index.get(&compared(id)).copied()
    }

    /// All findings with their pair's id (empty for what belongs to no pair): the pairs in order, then what belongs to none.
    pub fn findings(&self) -> impl Iterator<Item = (&str, &Finding)> {
        self.pairs
            .iter()
            .flat_map(|result| {
                result
                    .findings
                    .iter()
                    .map(move |finding| (&*result.pair, finding))
            })
            .chain(self.without_pair.iter().map(|finding| ("", finding)))
    }

    /// How many findings of a weight there are.
    pub fn count(&self, weight: Weight) -> usize {
        self.findings()
            .filter(|(_, finding)| finding.weight == weight)
            .count()
    }

    /// How many claims have a verdict.
    pub fn claims_with(&self, verdict: Verdict) -> usize {
        self.pairs
            .iter()
            .map(|result| result.claims_with(verdict))
            .sum()
    }
}

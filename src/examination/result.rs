//! What examining a cohort gives: everything that reports show, and nothing that only the way there needed.

use std::collections::HashMap;
use std::sync::Arc;

use rayon::prelude::*;

use super::outline::Outline;
use super::packed::CohortPair;
use crate::checks::{self, Finding, NotChecked, Weight};
use crate::claims::{RecomputedClaim, Verdict};
use crate::cohort::roster::compared;
use crate::expression::FactSource;
use crate::facts::blocks::BlockRow;
use crate::facts::coverage::Coverage;
use crate::facts::{FactValue, Facts, NameSet};
use crate::judgement::Judgements;
use crate::logbook::model::{Claim, Measure};
use crate::logbook::problem::UnnamedColumn;
use crate::rubric::CriterionSuggestion;

/// A whole cohort, examined. The pairs' results are packed: whoever looks at all of them takes some at once.
#[derive(Debug)]
pub struct CohortResult {
    /// The pairs, in the order of the roster, else of their ids.
    pub pairs: Vec<CohortPair>,
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
    /// The columns that were not recognised.
    pub unnamed: Vec<UnnamedColumn>,
    /// What the checks found, cohort.* included, in order of check and first cell.
    pub findings: Vec<Finding>,
    /// What they could not look at.
    pub not_checked: Vec<NotChecked>,
    /// How much was recomputed.
    pub coverage: Coverage,
    /// What the data can bear of the stages and the theory that it names; none where nothing was read.
    pub judgements: Option<Judgements>,
    /// What the evidence says to each criterion.
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

    fn is_unread(&self, name: &str) -> bool {
        self.facts.is_unread(name)
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

    /// Puts the findings in order of check and first cell.
    pub fn put_findings_in_order(&mut self) {
        self.findings.sort_by(|a, b| {
            (checks::rank(a.check), &a.places).cmp(&(checks::rank(b.check), &b.places))
        });
    }

    /// The practice sessions of a measure, in order.
    pub fn practice<'a>(&'a self, measure: &'a Measure) -> impl Iterator<Item = &'a BlockRow> {
        self.blocks
            .iter()
            .filter(move |row| row.measure == measure.name && row.session.is_some())
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

/// Pairs that are unpacked at once: enough to keep every core busy, few enough to keep memory flat.
const AT_ONCE: usize = 128;

impl CohortResult {
    /// The result of these pairs, in the order in which reports list them.
    pub fn new(
        pairs: Vec<CohortPair>,
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

    /// The result of the pair with this id.
    pub fn pair(&self, id: &str) -> Option<PairResult> {
        self.pairs.get(self.position(id)?).map(CohortPair::result)
    }

    /// Where the pair with this id stands in `pairs`.
    pub fn position(&self, id: &str) -> Option<usize> {
        self.index.get(&compared(id)).copied()
    }

    /// The results of all pairs in their order, one after the other.
    pub fn results(&self) -> impl Iterator<Item = PairResult> {
        self.pairs.iter().map(CohortPair::result)
    }

    /// Shows the results of all pairs in their order, some at once, until one showing fails. The next are unpacked meanwhile.
    ///
    /// # Errors
    /// What the first showing that fails says.
    pub fn in_parts<E: Send>(
        &self,
        mut show: impl FnMut(&[PairResult]) -> Result<(), E> + Send,
    ) -> Result<(), E> {
        let mut parts = self.pairs.chunks(AT_ONCE);
        let mut unpack = || -> Option<Vec<PairResult>> {
            let part = parts.next()?;
            Some(part.par_iter().map(CohortPair::result).collect())
        };
        let mut next = unpack();
        while let Some(some) = next {
            let (shown, after) = rayon::join(|| show(&some), &mut unpack);
            shown?;
            next = after;
        }
        Ok(())
    }

    /// How many hand-ins were read.
    pub fn read(&self) -> usize {
        self.pairs
            .iter()
            .filter(|pair| pair.hand_in.is_some())
            .count()
    }

    /// A count over all pairs.
    pub fn sum(&self, of: impl Fn(&Outline) -> usize) -> usize {
        self.pairs.iter().map(|pair| of(&pair.outline)).sum()
    }

    /// How many findings of a weight there are.
    pub fn count(&self, weight: Weight) -> usize {
        let without_pair = self.without_pair.iter();
        self.sum(|outline| outline.count(weight))
            + without_pair
                .filter(|finding| finding.weight == weight)
                .count()
    }

    /// How many claims have a verdict.
    pub fn claims_with(&self, verdict: Verdict) -> usize {
        self.sum(|outline| outline.claims_with(verdict))
    }

    /// The facts that any pair has.
    pub fn facts(&self) -> NameSet {
        let mut names = NameSet::default();
        for pair in &self.pairs {
            names.add(&pair.outline.facts);
        }
        names
    }
}

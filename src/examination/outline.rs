//! What a pair's result comes to in a few numbers: what is at hand without unpacking it.

use super::result::PairResult;
use crate::checks::Weight;
use crate::checks::data::unrecognised_column;
use crate::claims::Verdict;
use crate::facts::NameSet;
use crate::logbook::problem::UnnamedColumn;

/// A pair's result in a few numbers.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Outline {
    /// Its findings by weight: queries, concerns, errors.
    findings: [usize; 3],
    /// Its claims by verdict, in the order of [`Verdict`].
    claims: [usize; 4],
    /// Numbers that were computed.
    pub numbers: usize,
    /// Cells that they rest on.
    pub cells: usize,
    /// Checks that lacked what they look at.
    pub not_checked: usize,
    /// The numbers of the practice sessions, of all measures, ascending.
    pub sessions: Vec<u32>,
    /// The facts that have a value.
    pub facts: NameSet,
    /// The columns that were not recognised.
    pub unrecognised: Vec<UnnamedColumn>,
}

impl Outline {
    /// The outline of a result.
    pub fn of(result: &PairResult) -> Self {
        let practice = result
            .measures
            .iter()
            .flat_map(|measure| result.practice(measure));
        let mut sessions: Vec<u32> = practice.filter_map(|row| row.session).collect();
        sessions.sort_unstable();
        sessions.dedup();
        Self {
            findings: [Weight::Query, Weight::Concern, Weight::Error]
                .map(|weight| result.count(weight)),
            claims: [
                Verdict::Agrees,
                Verdict::Differs,
                Verdict::Impossible,
                Verdict::NotRecomputable,
            ]
            .map(|verdict| result.claims_with(verdict)),
            numbers: result.coverage.numbers,
            cells: result.coverage.cells,
            not_checked: result.not_checked.len(),
            sessions,
            facts: NameSet::of(&result.facts),
            // Where a course switched the check off, they are not told.
            unrecognised: if result
                .findings
                .iter()
                .any(|finding| finding.check == unrecognised_column::CHECK.id)
            {
                result.unnamed.clone()
            } else {
                Vec::new()
            },
        }
    }

    /// How many findings of a weight there are.
    pub fn count(&self, weight: Weight) -> usize {
        let [queries, concerns, errors] = self.findings;
        match weight {
            Weight::Query => queries,
            Weight::Concern => concerns,
            Weight::Error => errors,
        }
    }

    /// How many findings there are.
    pub fn findings(&self) -> usize {
        self.findings.iter().sum()
    }

    /// How many claims have a verdict.
    pub fn claims_with(&self, verdict: Verdict) -> usize {
        let [agree, differ, impossible, not_recomputable] = self.claims;
        match verdict {
            Verdict::Agrees => agree,
            Verdict::Differs => differ,
            Verdict::Impossible => impossible,
            Verdict::NotRecomputable => not_recomputable,
        }
    }
}

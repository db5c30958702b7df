//! A finding: what a check saw, in which cells, and what a pair can do about it.

use std::fmt;

use super::check::CheckId;
use crate::phase::BlockName;
use crate::place::{Place, evidence};

/// How much a finding weighs.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum Weight {
    /// A person should look.
    Query,
    /// Design or interpretation is not supported.
    Concern,
    /// Contradicted by the pair's own data.
    Error,
}

impl Weight {
    /// The name in files and on screens.
    pub fn name(self) -> &'static str {
        match self {
            Self::Query => "query",
            Self::Concern => "concern",
            Self::Error => "error",
        }
    }

    /// The weight with this name.
    pub fn from_name(name: &str) -> Option<Self> {
        [Self::Query, Self::Concern, Self::Error]
            .into_iter()
            .find(|weight| weight.name() == name)
    }
}

impl fmt::Display for Weight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// What a check saw. Neutral throughout: a finding is a place to look, never an accusation.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Finding {
    /// The check's id.
    #[serde(deserialize_with = "super::check::id")]
    pub check: CheckId,
    /// Its own weight: at most the check's listed one, unless the course set another.
    pub weight: Weight,
    /// What was found, with the numbers and the threshold in force.
    pub message: String,
    /// The cells, the one to look at first.
    pub places: Vec<Place>,
    /// What stands in them, or what is missing: with the cells it identifies the finding between runs.
    pub stands: String,
    /// The claimed number as typed, for findings about a claim.
    pub claimed: Option<String>,
    /// The recomputed number, for findings about a claim.
    pub recomputed: Option<f64>,
    /// What the pair can do, in words that can be handed back as they are.
    pub comment: String,
    /// Index of the claim, for findings about a claim.
    pub claim: Option<usize>,
    /// The blocks of which it speaks, in order: those that its cells belong to, or that it misses.
    pub blocks: Vec<Concerned>,
}

/// A block of which a finding speaks.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub struct Concerned {
    /// Index of the measure; none for all of them.
    pub measure: Option<usize>,
    /// The block: a practice session rather than all of practice, where it is known which.
    pub block: BlockName,
}

impl Finding {
    /// A finding of a check, at its listed weight; the rest is filled in by `with_…`.
    pub fn new(
        check: &'static str,
        weight: Weight,
        message: impl Into<String>,
        comment: impl Into<String>,
    ) -> Self {
        Self {
            check,
            weight,
            message: message.into(),
            places: Vec::new(),
            stands: String::new(),
            claimed: None,
            recomputed: None,
            comment: comment.into(),
            claim: None,
            blocks: Vec::new(),
        }
    }

    /// Adds the cells, the one to look at first, and what stands in them.
    #[must_use]
    pub fn at(mut self, places: Vec<Place>, stands: impl Into<String>) -> Self {
        self.places = places;
        self.stands = stands.into();
        self
    }

    /// Names the block of which it speaks, where its cells don't tell.
    #[must_use]
    pub fn about(mut self, measure: Option<usize>, block: BlockName) -> Self {
        self.blocks.push(Concerned { measure, block });
        self
    }

    /// Gives it a lighter weight than its check's listed one.
    #[must_use]
    pub fn weighing(mut self, weight: Weight) -> Self {
        self.weight = weight;
        self
    }

    /// The id, `F-` and ten hex digits: the same between runs as long as pair, check, cells and what stands in them are.
    pub fn id(&self, pair: &str) -> String {
        let mut hasher = blake3::Hasher::new();
        for part in [pair, self.check, &evidence(&self.places), &self.stands] {
            // The length first, so that no two different lists of parts run together.
            hasher.update(&(part.len() as u64).to_le_bytes());
            hasher.update(part.as_bytes());
        }
        let hex = hasher.finalize().to_hex();
        format!("F-{}", hex.get(..10).unwrap_or_default())
    }
}

/// What a check could not look at, and why: said as openly as what was found.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct NotChecked {
    /// The check's id.
    #[serde(deserialize_with = "super::check::id")]
    pub check: CheckId,
    /// Why.
    pub why: String,
}

/// What the checks of one pair (or of the cohort) found.
#[derive(Debug, Clone, Default)]
pub struct Findings {
    /// The findings, in the order of the checks.
    pub found: Vec<Finding>,
    /// What could not be checked.
    pub not_checked: Vec<NotChecked>,
}

impl Findings {
    /// Adds a finding.
    pub fn add(&mut self, mut finding: Finding) {
        // Findings stay as long as the cohort does.
        finding.places.shrink_to_fit();
        self.found.push(finding);
    }

    /// Says that a check's inputs are absent.
    pub fn could_not(&mut self, check: &'static str, why: impl Into<String>) {
        self.not_checked.push(NotChecked {
            check,
            why: why.into(),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_depends_on_pair_check_cells_and_contents_alone() {
        let place = Place::cell("P07.xlsx".into(), "Trials".into(), 3, 5);
        let finding = |stands: &str, message: &str| {
            Finding::new("data.out-of-scale", Weight::Error, message, "")
                .at(vec![place.clone()], stands)
        };
        let id = finding("5", "a").id("P07");
        assert_eq!(id.len(), 12);
        assert_eq!(id, finding("5", "other words").id("P07"));
        assert_ne!(id, finding("6", "a").id("P07"));
        assert_ne!(id, finding("5", "a").id("P08"));
    }
}

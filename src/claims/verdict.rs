//! What recomputing a claim comes to: its value or why there is none, the verdict, and which slips give the claimed number.

use std::fmt;

use super::slips::Slip;
use crate::number::Stated;
use crate::phase::BlockName;
use crate::place::{Place, Places};
use crate::statistic::Statistic;
use crate::stats::Undefined;

/// One claim, recomputed.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct RecomputedClaim {
    /// Index into the logbook's claims.
    pub claim: usize,
    /// What the trials give, unrounded; or why they give nothing.
    pub value: Result<f64, NoValue>,
    /// Whether the claim follows.
    pub verdict: Verdict,
    /// What gives the claimed number, most plausible first; for an accepted slip that alone.
    pub explanations: Vec<Explanation>,
    /// How sure the first explanation is; none where there is none.
    pub confidence: Option<Confidence>,
    /// The wrong claim of which this one is a consequence, as an index into the logbook's claims.
    pub consequence_of: Option<usize>,
    /// The claim's cell, then the cells of the trials that it speaks of.
    pub places: Places,
    /// How many scores the value was computed from.
    pub scores: usize,
    /// Where the claim would be right had they counted: how many scores could not be read. Else 0.
    pub unread: usize,
}

/// Whether a claim follows from the trials.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum Verdict {
    /// It is what the trials give at its own decimals, or what an accepted slip gives.
    Agrees,
    /// It isn't.
    Differs,
    /// No scores of that scale and number have it, and no slip gives it.
    Impossible,
    /// There is nothing to recompute it from.
    NotRecomputable,
}

impl Verdict {
    /// The word in claims.csv.
    pub fn name(self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::Differs => "differs",
            Self::Impossible => "impossible",
            Self::NotRecomputable => "not recomputable",
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// How sure the first explanation is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum Confidence {
    /// Another slip, or none, may as well be behind the number.
    Possible,
    /// A match by accident is improbable, and nothing else that is as common gives the number.
    Likely,
}

impl Confidence {
    /// The word in claims.csv.
    pub fn name(self) -> &'static str {
        match self {
            Self::Possible => "possible",
            Self::Likely => "likely",
        }
    }
}

impl fmt::Display for Confidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// One slip, or two together, that give the claimed number.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct Explanation {
    /// The slips: one, or two in the order in which they act.
    #[serde(with = "super::slips::codes")]
    pub slips: Vec<&'static Slip>,
    /// What the number comes out of, to follow "is what comes out when": `the first 3 trials alone are averaged`.
    pub when: String,
    /// The cells of trials that it counts otherwise than the definition does.
    pub places: Vec<Place>,
    /// The range of the claim's own formula shows it.
    pub by_formula: bool,
    /// How plausible it is beside the other explanations of the same claim: their sum, and that of an unknown cause, is 1.
    pub weight: f64,
}

impl Explanation {
    /// The code as claims.csv writes it: `best-trial`, `practice-included+population-sd`.
    pub fn code(&self) -> String {
        let codes: Vec<&str> = self.slips.iter().map(|slip| slip.code).collect();
        codes.join("+")
    }

    /// A convention or a matter of rounding, to be named rather than put right.
    pub fn is_convention(&self) -> bool {
        self.slips.iter().all(|slip| slip.convention)
    }
}

impl RecomputedClaim {
    /// The codes as claims.csv writes them, most plausible first, separated by `; `.
    pub fn explained_by(&self) -> String {
        let codes: Vec<String> = self.explanations.iter().map(Explanation::code).collect();
        codes.join("; ")
    }

    /// Whether it asks the pair something rather than naming an error: where a convention or rounding comes first, and where scores that
    /// could not be read may make it right.
    pub fn is_question(&self) -> bool {
        self.unread > 0 || self.is_convention()
    }

    /// Where a convention or rounding comes first.
    pub fn is_convention(&self) -> bool {
        self.explanations
            .first()
            .is_some_and(Explanation::is_convention)
    }

    /// Where its formula's own range explains it: that is a finding of its own.
    pub fn is_formula_range(&self) -> bool {
        self.explanations
            .first()
            .is_some_and(|first| first.by_formula)
    }
}

/// Why a claim has no value to set beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum NoValue {
    /// The statistic's name is none that is known.
    UnknownStatistic,
    /// The measure's name is none of the logbook's.
    UnknownMeasure,
    /// The phase can't be read.
    UnknownPhase,
    /// The earlier block of the comparison can't be read.
    UnknownEarlierPhase,
    /// The claimed value can't be read as a number.
    UnreadableValue,
    /// No trial of this block has a usable score.
    NoScores(BlockName),
    /// There are no tests.
    NoTests,
    /// Fewer than three practice sessions.
    FewSessions(usize),
    /// The measure has no target.
    NoTarget,
    /// The scores are unsigned distances, from which bias and spread about the mean can't be told.
    UnsignedErrors,
    /// No landing points.
    NoLandingPoints,
    /// Neither a measure of successes nor a target.
    NoSuccess,
    /// Trials can be paired only within blocks of one session each.
    SeveralSessions,
    /// No trial was rated by two raters.
    OneRater,
    /// The pre- and post-test don't differ.
    NoGain,
    /// The statistic makes no sense for the technique checklist.
    NotForTechnique,
    /// The measure has no scale of the kind that is asked for.
    NoScale,
    /// Numbers of a kind that the statistic can't use.
    Undefined(Undefined),
}

impl From<Undefined> for NoValue {
    fn from(undefined: Undefined) -> Self {
        Self::Undefined(undefined)
    }
}

impl NoValue {
    /// Whether it is the claim itself that can't be followed, whatever trials there are.
    pub fn is_unreadable_claim(&self) -> bool {
        matches!(
            self,
            Self::UnknownStatistic
                | Self::UnknownMeasure
                | Self::UnknownPhase
                | Self::UnknownEarlierPhase
                | Self::UnreadableValue
        )
    }
}

/// A plain clause: "the logbook has no usable scores of the post-test".
impl fmt::Display for NoValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = match self {
            Self::UnknownStatistic => "this statistic is not one of those that are recomputed",
            Self::UnknownMeasure => "the logbook has no measure of this name",
            Self::UnknownPhase => "the phase can't be read",
            Self::UnknownEarlierPhase => "the earlier phase can't be read",
            Self::UnreadableValue => "the claimed value can't be read as a number",
            Self::NoScores(block) => {
                return write!(
                    f,
                    "the logbook has no usable scores of {}",
                    with_article(*block)
                );
            }
            Self::NoTests => "the logbook has no tests with usable scores",
            Self::FewSessions(given) => {
                return write!(
                    f,
                    "it needs three numbered practice sessions, and the logbook has {given}"
                );
            }
            Self::NoTarget => "the measure has no target",
            Self::UnsignedErrors => {
                "the scores are distances without a direction, from which bias and variable error can't be told"
            }
            Self::NoLandingPoints => "no landing points (x, y) are recorded",
            Self::NoSuccess => "the measure neither records successes nor has a target",
            Self::SeveralSessions => "trials can be paired only where each block is one session",
            Self::OneRater => "no trials were scored by two raters",
            Self::NoGain => {
                "pre-test and post-test have the same mean, so there is no gain to keep"
            }
            Self::NotForTechnique => "it is not defined for the technique checklist",
            Self::NoScale => "the measure has no scale with ends",
            Self::Undefined(undefined) => return undefined.fmt(f),
        };
        f.write_str(text)
    }
}

/// A block in a sentence: `the post-test`, `practice`, `practice session 3`.
pub fn with_article(block: BlockName) -> String {
    match block {
        BlockName::Phase(phase) if phase.kind.is_test() => format!("the {}", phase.title()),
        other => other.title(),
    }
}

/// Whether the recomputed value is the claimed one. For `u` and `wilcoxon` the count from the other side agrees too.
pub(super) fn agrees(stated: &Stated, statistic: Statistic, value: f64, also: Option<f64>) -> bool {
    let other_side = matches!(statistic, Statistic::U | Statistic::Wilcoxon)
        .then_some(also)
        .flatten();
    stated.agrees(value) || other_side.is_some_and(|other| stated.agrees(other))
}

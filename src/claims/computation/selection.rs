//! Which numbers of the record enter a computation: of which block, what is counted beside it, and which of them stay.

use crate::phase::{BlockName, Phase};

/// A [`Selection`] whose numbers were gathered, by its place among all of one logbook: two are equal where their selections are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trials(pub(in crate::claims) u32);

/// Which numbers of the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Selection {
    /// Index of the measure; one past the last for the technique checklist.
    pub measure: usize,
    /// From which block.
    pub block: Source,
    /// What is put together with it.
    pub also: Also,
    /// What the score is before anything is done with it.
    pub ratings: Ratings,
    /// Rows that don't count, counted.
    pub add: Add,
    /// What is taken of each score.
    pub of: Transform,
    /// Which of the numbers stay.
    pub keep: Keep,
}

impl Selection {
    /// A block as it is defined: every trial that counts.
    pub fn of(measure: usize, block: Source) -> Self {
        Self {
            measure,
            block,
            also: Also::Nothing,
            ratings: Ratings::Averaged,
            add: Add::Nothing,
            of: Transform::AsRecorded,
            keep: Keep::All,
        }
    }

    /// The same trials, with something else taken of each.
    #[must_use]
    pub fn taking(self, of: Transform) -> Self {
        Self { of, ..self }
    }

    /// Whether the range of the claim's own formula decides which numbers enter.
    pub fn is_by_formula(&self) -> bool {
        matches!(self.keep, Keep::WithinFormula(_)) || matches!(self.add, Add::FormulaExtras(_))
    }
}

/// A block, or a part or union of blocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Source {
    /// What a claim can name.
    Named(BlockName),
    /// One session of a phase, by its place in the phase.
    SessionOf(Phase, u16),
    /// All tests together.
    AllTests,
}

/// What is put together with a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Also {
    /// Nothing.
    Nothing,
    /// Practice.
    Practice,
    /// One practice session, by its place.
    PracticeSession(u16),
    /// All tests.
    Tests,
    /// One test.
    Test(Phase),
    /// Pre- and post-test.
    PreAndPost,
    /// Familiarisation.
    Familiarisation,
    /// Familiarisation of the same sessions.
    FamiliarisationOfSession,
}

/// What the score of a trial with several ratings is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ratings {
    /// The mean of its ratings.
    Averaged,
    /// One rater's alone, by index.
    Of(u16),
    /// Every rating a trial of its own.
    Pooled,
}

/// Rows that don't count, or cells that are no trials, counted as trials.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Add {
    /// Nothing.
    Nothing,
    /// Trials without a score, as zeros.
    BlanksAsZeros,
    /// Trials whose cell is no number, as zeros, and the empty ones too.
    UnreadableAsZeros,
    /// The later records of trials recorded twice.
    SecondRecords,
    /// Scores outside the scale.
    OutOfScale,
    /// All rows that findings name.
    AllBadRows,
    /// The number of the last trial.
    LastTrialNumber,
    /// The sum of the scores.
    Total,
    /// The target.
    Target,
    /// The numbers that the range of this claim's formula takes in beside the block's own.
    FormulaExtras(u32),
}

/// What is taken of each score or landing point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Transform {
    /// The score as recorded.
    AsRecorded,
    /// The signed distance from the target.
    Signed,
    /// The distance from the target.
    Distance,
    /// The distance of the landing point from the target.
    Radial,
    /// The landing point's x.
    X,
    /// The landing point's y.
    Y,
    /// The size of x.
    SizeOfX,
    /// The size of y.
    SizeOfY,
    /// 1 for a success, 0 for none.
    Success,
    /// The same where success lies on the other side of the target.
    SuccessReversed,
}

/// Which of the numbers stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Keep {
    /// All.
    All,
    /// The first so many.
    First(u16),
    /// The last so many.
    Last(u16),
    /// All but the first so many.
    WithoutFirst(u16),
    /// All but the last so many.
    WithoutLast(u16),
    /// All but the first of each session.
    WithoutFirstOfEach,
    /// All but the last of each session.
    WithoutLastOfEach,
    /// All but the worst so many.
    WithoutWorst(u16),
    /// All but the last of several equally bad ones.
    WithoutLastWorst,
    /// All but the best so many and the worst so many.
    WithoutBestAndWorst(u16),
    /// All but the smallest and the largest.
    WithoutExtremes,
    /// All but those far from the rest.
    WithoutOutliers(OutlierRule),
    /// The best alone.
    Best,
    /// Those of the best session.
    BestSession(BestBy),
    /// All but zeros.
    WithoutZeros,
    /// All but those between the steps of the scale.
    WithoutOffStep,
    /// All but those in hidden rows.
    WithoutHidden,
    /// All but trials that were recorded more than once.
    WithoutRepeated,
    /// All but those that the range of this claim's formula leaves out.
    WithinFormula(u32),
}

/// By what a session is the best.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BestBy {
    /// How good its trials are on average; of several as good the first.
    Trials,
    /// The same; of several as good the last.
    TrialsLast,
    /// How good its mean is: another thing where the best is nearest to a target.
    Mean,
}

/// When a score counts as far from the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum OutlierRule {
    /// More than this many tenths of a sample sd from the mean (20: two sds).
    TenthsOfSd(u8),
    /// More than 1.5 interquartile ranges outside the quartiles, those of the inclusive spreadsheet function.
    InclusiveQuartiles,
    /// The same with the exclusive spreadsheet function.
    ExclusiveQuartiles,
    /// The same with the medians of the halves.
    Hinges,
}

/// A place or number in a list of trials, sessions or raters: no logbook has more than 65,535 of them in a block.
pub fn small(place: usize) -> u16 {
    u16::try_from(place).unwrap_or(u16::MAX)
}

//! A computation described as data: which trials, which reduction, which comparison, which last step.
//!
//! The value that a claim should have is its definition ([`super::definition`]) put through [`super::evaluate`]. A slip is a small change
//! to that description, so that its value comes out of the same arithmetic, and two slips compose by changing the description twice.

use crate::phase::{BlockName, Phase};

/// One number's computation. Its trials stand as [`Selection`]s in a definition, and as what was gathered of them in what is worked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Computation<T = Trials> {
    /// What is done with the blocks.
    pub formula: Formula,
    /// The block it speaks of: the only one, or the later one, or the test whose gain is a share.
    pub later: Side<T>,
    /// The block it is compared with: the earlier one of a comparison, the pre-test of a gain.
    pub earlier: Side<T>,
    /// The end of the gain (the post-test), for a share of the gain.
    pub between: Side<T>,
    /// The kind of spread, in the result or in its denominator.
    pub spread: Spread,
    /// Rounding of what goes into the last step.
    pub early: EarlyRounding,
    /// What the result is multiplied by: 1, −1 for a fall that counts as a gain, 0.01 for a fraction instead of percent.
    pub factor: f64,
    /// What happens to the result on the way into the report.
    pub ending: Ending,
}

/// One block and how it is brought down to its level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side<T = Trials> {
    /// Which numbers.
    pub trials: T,
    /// What stands for the block.
    pub centre: Centre,
    /// The number of trials that was divided by, where it is not the number there are.
    pub planned: Option<u32>,
}

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

/// What stands for a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Centre {
    /// The mean.
    Mean,
    /// The median.
    Median,
    /// One of the most frequent scores, in ascending order.
    Mode(u8),
    /// The sum.
    Sum,
    /// The best; of several as good the first.
    Best,
    /// The last of several as good.
    LastBest,
    /// Each session reduced for itself, then the mean over sessions.
    BySession,
    /// Each rater's mean, then the mean over raters.
    ByRater,
}

/// Spread of a block about its own mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Spread {
    /// n or n − 1.
    pub divisor: Divisor,
    /// sd, variance or standard error.
    pub form: SpreadForm,
}

/// What squared deviations are divided by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Divisor {
    /// n: of these trials alone.
    N,
    /// n − 1: an estimate from these trials.
    NMinusOne,
}

/// In which form a spread is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SpreadForm {
    /// The standard deviation.
    Sd,
    /// Its square.
    Variance,
    /// Over √n.
    StandardError,
}

impl Spread {
    /// The sample standard deviation.
    pub const SAMPLE: Self = Self {
        divisor: Divisor::NMinusOne,
        form: SpreadForm::Sd,
    };
    /// The standard deviation with n in the denominator.
    pub const POPULATION: Self = Self {
        divisor: Divisor::N,
        form: SpreadForm::Sd,
    };
}

/// What is done with the blocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Formula {
    /// How many.
    Count,
    /// The block's level, by its centre.
    Level,
    /// 100 times the block's level (a share of successes).
    LevelInPercent,
    /// The size of the block's level.
    SizeOfLevel,
    /// The smallest.
    Smallest,
    /// The largest.
    Largest,
    /// The largest less the smallest.
    Range,
    /// The spread.
    Spread,
    /// The spread in percent of the level.
    RelativeSpread,
    /// The root of the mean of squares, with this divisor.
    RootMeanSquare(Divisor),
    /// The mean of squares.
    MeanSquare,
    /// The distance of the landing points' centroid from the target.
    Centroid,
    /// The spread of the landing points about their centroid.
    BivariateSpread,
    /// Later less earlier level.
    Change,
    /// In percent of a base.
    Percent(Base),
    /// Later level in percent of the earlier.
    PercentRatio,
    /// Later level over the earlier.
    Ratio,
    /// The change in units of a spread; with the small-sample factor where true.
    Standardised(Yardstick, bool),
    /// Share of pairs of trials in which the later is better.
    Nonoverlap {
        /// 2·nap − 1.
        tau: bool,
        /// Which is better.
        higher_is_better: bool,
    },
    /// A t test.
    TTest(Design, Report),
    /// Mann–Whitney.
    MannWhitney(Report),
    /// Wilcoxon signed ranks.
    Wilcoxon(Report),
    /// A later test's share of the gain.
    Gain(GainForm),
    /// The line of session levels on session number.
    Line(LineValue, Points),
    /// Agreement between two raters.
    Agreement(AgreementKind),
}

impl Formula {
    /// Whether the numbers of the sides alone enter: not those of single sessions, of the other axis or of single raters beside them.
    pub fn is_of_the_sides_alone(self) -> bool {
        !matches!(
            self,
            Self::Line(..) | Self::Agreement(_) | Self::Centroid | Self::BivariateSpread
        )
    }
}

/// What a change is a percentage of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Base {
    /// The size of the earlier level.
    Earlier,
    /// The size of the later level.
    Later,
    /// The scale's range.
    ScaleRange,
    /// The scale's top.
    ScaleTop,
}

/// Of which a standardised change is a multiple.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Yardstick {
    /// Both blocks' spread, weighted by degrees of freedom.
    Pooled,
    /// The same with both counts in full in the denominator.
    PooledOverN,
    /// The earlier block's spread.
    Earlier,
    /// The later block's spread.
    Later,
    /// The root of the mean of both variances.
    RootMeanVariance,
    /// The mean of both spreads.
    MeanSpread,
    /// The spread of the trial-by-trial differences.
    Differences,
    /// The spread of all trials of both blocks together.
    Together,
}

/// Which t test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Design {
    /// Of trial-by-trial differences.
    Paired,
    /// Independent, pooled variance.
    Pooled,
    /// Independent, unequal variances.
    Welch,
}

/// What of a test is reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Report {
    /// The statistic.
    Statistic,
    /// Its p.
    P(Tails),
}

/// Which tails a p counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tails {
    /// Both.
    Two,
    /// One, on the side of the difference.
    One,
    /// One, on the other side.
    OtherOne,
    /// Twice both.
    TwiceTwo,
}

/// Which share of a gain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GainForm {
    /// Kept share of the gain.
    Kept,
    /// Lost share of the gain.
    Lost,
    /// The later test's level in percent of the post-test's.
    OfPost,
    /// What the later test lost in percent of the post-test's level.
    LostOfPost,
    /// What was kept, in points.
    Points,
}

/// What of a line is reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineValue {
    /// Its slope.
    Slope,
    /// The correlation.
    R,
    /// Its square.
    R2,
}

/// Which points a line goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Points {
    /// A point a practice session.
    Sessions,
    /// The tests' sessions too.
    WithTests,
    /// Every trial a point.
    Trials,
    /// Sessions numbered through from 1.
    InOrder,
}

/// Which coefficient of agreement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AgreementKind {
    /// Share of equal ratings, in percent.
    Percent,
    /// Cohen's kappa.
    Kappa,
    /// Quadratic weighted kappa.
    WeightedKappa,
    /// Intraclass correlation, two-way random, single rater, absolute agreement.
    Icc,
}

/// Rounding of what goes into the last step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EarlyRounding {
    /// None.
    None,
    /// Levels and spreads to so many decimals.
    To(u8),
    /// Levels alone to so many decimals.
    LevelsTo(u8),
    /// Levels and spreads as the report states them, where it states them rightly.
    StatedRight,
    /// Those that the report states wrongly, the others unrounded.
    StatedWrong,
    /// All levels and spreads as the report states them.
    StatedAll,
    /// The change, ratio, pooled spread or effect that the last step starts from, to so many decimals.
    LastInputTo(u8),
    /// The result to so many decimals before it is rounded to its own.
    ResultTo(u8),
}

/// What happens to the result on the way into the report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// It is rounded.
    Rounded,
    /// It is cut off.
    Truncated,
    /// Two neighbouring digits change places.
    DigitsSwapped,
    /// The decimal point moves by so many places.
    PointMoved(i8),
    /// One digit is another.
    OneDigitWrong,
}

/// A place or number in a list of trials, sessions or raters: no logbook has more than 65,535 of them in a block.
pub fn small(place: usize) -> u16 {
    u16::try_from(place).unwrap_or(u16::MAX)
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

impl<T> Side<T> {
    /// Trials that their mean stands for.
    pub fn mean_of(trials: T) -> Self {
        Self {
            trials,
            centre: Centre::Mean,
            planned: None,
        }
    }
}

impl<T: Copy> Computation<T> {
    /// A statistic of one block, by its sample spread and unrounded; the other sides are unused copies.
    pub fn of_block(formula: Formula, block: T) -> Self {
        let side = Side::mean_of(block);
        Self {
            formula,
            later: side,
            earlier: side,
            between: side,
            spread: Spread::SAMPLE,
            early: EarlyRounding::None,
            factor: 1.0,
            ending: Ending::Rounded,
        }
    }

    /// The same computation with its trials told in another way.
    pub fn with_trials<U>(self, mut told: impl FnMut(T) -> U) -> Computation<U> {
        let mut side = |side: Side<T>| Side {
            trials: told(side.trials),
            centre: side.centre,
            planned: side.planned,
        };
        Computation {
            later: side(self.later),
            earlier: side(self.earlier),
            between: side(self.between),
            formula: self.formula,
            spread: self.spread,
            early: self.early,
            factor: self.factor,
            ending: self.ending,
        }
    }

    /// Whether nothing differs, whatever trials the two are of.
    #[expect(
        clippy::float_cmp,
        reason = "factors are set and not computed: the same one or another"
    )]
    pub fn is_same_but_for_trials(&self, other: &Self) -> bool {
        let same_reduction =
            |a: &Side<T>, b: &Side<T>| a.centre == b.centre && a.planned == b.planned;
        self.formula == other.formula
            && self.factor == other.factor
            && self.early == other.early
            && self.ending == other.ending
            && self.spread == other.spread
            && same_reduction(&self.later, &other.later)
            && same_reduction(&self.earlier, &other.earlier)
            && same_reduction(&self.between, &other.between)
    }

    /// Which sides the formula uses.
    pub fn uses(&self) -> Sides {
        match self.formula {
            Formula::Gain(_) => Sides::Three,
            Formula::Change
            | Formula::Percent(_)
            | Formula::PercentRatio
            | Formula::Ratio
            | Formula::Standardised(..)
            | Formula::Nonoverlap { .. }
            | Formula::TTest(..)
            | Formula::MannWhitney(_)
            | Formula::Wilcoxon(_) => Sides::Two,
            _ => Sides::One,
        }
    }

    /// Whether the level of a block enters, so that another centre gives another number.
    pub fn uses_levels(&self) -> bool {
        matches!(
            self.formula,
            Formula::Level
                | Formula::LevelInPercent
                | Formula::SizeOfLevel
                | Formula::RelativeSpread
                | Formula::Change
                | Formula::Percent(_)
                | Formula::PercentRatio
                | Formula::Ratio
                | Formula::Standardised(..)
                | Formula::Gain(_)
                | Formula::Line(..)
        )
    }

    /// Whether a spread of one block enters.
    pub fn uses_spread(&self) -> bool {
        matches!(
            self.formula,
            Formula::Spread
                | Formula::RelativeSpread
                | Formula::BivariateSpread
                | Formula::Standardised(..)
                | Formula::TTest(..)
        )
    }
}

/// How many blocks a formula uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sides {
    /// The later alone.
    One,
    /// Later and earlier.
    Two,
    /// Later, earlier and the one between.
    Three,
}

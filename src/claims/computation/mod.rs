//! A computation described as data: which trials, which reduction, which comparison, which last step.
//!
//! The value that a claim should have is its definition ([`super::definition`]) put through [`super::evaluate`]. A slip is a small change
//! to that description, so that its value comes out of the same arithmetic, and two slips compose by changing the description twice.

mod formula;
mod selection;

pub use formula::{
    AgreementKind, Base, Design, Formula, GainForm, LineValue, Points, Report, Sides, Tails,
    Yardstick,
};
pub use selection::{
    Add, Also, BestBy, Keep, OutlierRule, Ratings, Selection, Source, Transform, Trials, small,
};

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

//! What is done with the blocks of a computation.

use super::Divisor;

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

    /// How many blocks it uses.
    pub fn sides(self) -> Sides {
        match self {
            Self::Gain(_) => Sides::Three,
            Self::Change
            | Self::Percent(_)
            | Self::PercentRatio
            | Self::Ratio
            | Self::Standardised(..)
            | Self::Nonoverlap { .. }
            | Self::TTest(..)
            | Self::MannWhitney(_)
            | Self::Wilcoxon(_) => Sides::Two,
            _ => Sides::One,
        }
    }

    /// Whether the level of a block enters, so that another centre gives another number.
    pub fn uses_levels(self) -> bool {
        matches!(
            self,
            Self::Level
                | Self::LevelInPercent
                | Self::SizeOfLevel
                | Self::RelativeSpread
                | Self::Change
                | Self::Percent(_)
                | Self::PercentRatio
                | Self::Ratio
                | Self::Standardised(..)
                | Self::Gain(_)
                | Self::Line(..)
        )
    }

    /// Whether a spread of one block enters.
    pub fn uses_spread(self) -> bool {
        matches!(
            self,
            Self::Spread
                | Self::RelativeSpread
                | Self::BivariateSpread
                | Self::Standardised(..)
                | Self::TTest(..)
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

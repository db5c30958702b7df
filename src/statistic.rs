//! The statistics that a claim can name. Their definitions are computed in `claims`; here are their names and kinds.

use std::fmt;

/// What a statistic is computed from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shape {
    /// The trials of one block.
    OneBlock,
    /// A later block against an earlier one.
    Comparison,
    /// A later test's share of the gain from pre- to post-test.
    Gain,
    /// The practice sessions' means.
    PracticeLine,
    /// Two raters of the same trials, or two observers of the same technique elements.
    Agreement,
}

/// In which unit a statistic is stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// The measure's own, or a pure number that nobody states in percent.
    Plain,
    /// Percent, 0–100: `35%` is 35.
    Percent,
    /// A share, 0–1: `85%` is 0.85.
    Share,
}

macro_rules! statistics {
    ($($(#[$doc:meta])* $variant:ident $name:literal $shape:ident $unit:ident;)*) => {
        /// A statistic that a claim can name.
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
        )]
        pub enum Statistic { $($(#[$doc])* $variant,)* }

        impl Statistic {
            /// All statistics, in the order in which they are documented.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The canonical name, as claims.csv writes it.
            pub fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)* }
            }

            /// What it is computed from.
            pub fn shape(self) -> Shape {
                match self { $(Self::$variant => Shape::$shape,)* }
            }

            /// The unit in which it is stated.
            pub fn unit(self) -> Unit {
                match self { $(Self::$variant => Unit::$unit,)* }
            }
        }
    };
}

statistics! {
    /// Number of scored trials.
    N "n" OneBlock Plain;
    /// Sum of the scores.
    Sum "sum" OneBlock Plain;
    /// Mean of the scores.
    Mean "mean" OneBlock Plain;
    /// Median of the scores.
    Median "median" OneBlock Plain;
    /// Most frequent score; any of the tied.
    Mode "mode" OneBlock Plain;
    /// Smallest score.
    Minimum "minimum" OneBlock Plain;
    /// Largest score.
    Maximum "maximum" OneBlock Plain;
    /// Largest less smallest score.
    Range "range" OneBlock Plain;
    /// Sample standard deviation (n − 1).
    Sd "sd" OneBlock Plain;
    /// Sample variance (n − 1).
    Variance "variance" OneBlock Plain;
    /// Standard error of the mean, s/√n.
    Se "se" OneBlock Plain;
    /// Coefficient of variation, 100·s/m.
    Cv "cv" OneBlock Percent;
    /// Share of successful trials.
    SuccessRate "success rate" OneBlock Percent;
    /// Constant error: mean signed distance from the target.
    ConstantError "constant error" OneBlock Plain;
    /// Absolute error: mean distance from the target.
    AbsoluteError "absolute error" OneBlock Plain;
    /// Variable error: spread about the own mean, n in the denominator.
    VariableError "variable error" OneBlock Plain;
    /// Total error: root mean square distance from the target.
    TotalError "total error" OneBlock Plain;
    /// Mean radial error of landing points.
    RadialError "radial error" OneBlock Plain;
    /// Distance of the landing points' centroid from the target.
    CentroidError "centroid error" OneBlock Plain;
    /// Spread of the landing points about their centroid.
    BivariateVariableError "bivariate variable error" OneBlock Plain;
    /// Later mean less earlier mean.
    Change "change" Comparison Plain;
    /// Change in percent of the earlier mean's size.
    PercentChange "percent change" Comparison Percent;
    /// Percent change, signed so that positive is better.
    PercentImprovement "percent improvement" Comparison Percent;
    /// Change in pooled standard deviations.
    D "d" Comparison Plain;
    /// d with Hedges' small-sample factor.
    G "g" Comparison Plain;
    /// Change in standard deviations of the earlier block.
    GlassDelta "glass delta" Comparison Plain;
    /// Mean of the trial-by-trial differences over their standard deviation.
    DPaired "d paired" Comparison Plain;
    /// Share of all pairs of trials in which the later is better.
    Nap "nap" Comparison Share;
    /// 2·nap − 1.
    Tau "tau" Comparison Share;
    /// t of the trial-by-trial differences.
    TPaired "t paired" Comparison Plain;
    /// t with pooled variance.
    T "t" Comparison Plain;
    /// t without equal variances.
    TWelch "t welch" Comparison Plain;
    /// Two-sided p of `t paired`.
    PTPaired "p t paired" Comparison Share;
    /// Two-sided p of `t`.
    PT "p t" Comparison Share;
    /// Two-sided p of `t welch`.
    PTWelch "p t welch" Comparison Share;
    /// Mann–Whitney U: pairs with the later above the earlier, ties half.
    U "u" Comparison Plain;
    /// Wilcoxon signed-rank sum of positive ranks.
    Wilcoxon "wilcoxon" Comparison Plain;
    /// Two-sided p of `u`.
    PU "p u" Comparison Share;
    /// Two-sided p of `wilcoxon`.
    PWilcoxon "p wilcoxon" Comparison Share;
    /// Share of the gain that the retention test kept.
    RetainedGain "retained gain" Gain Percent;
    /// Share of the gain that the transfer test showed.
    TransferredGain "transferred gain" Gain Percent;
    /// Slope of the practice sessions' means on session number.
    Slope "slope" PracticeLine Plain;
    /// Correlation of the practice sessions' means with session number.
    R "r" PracticeLine Share;
    /// Square of r.
    R2 "r2" PracticeLine Share;
    /// Share of trials on which two raters agree.
    Agreement "agreement" Agreement Percent;
    /// Cohen's kappa.
    Kappa "kappa" Agreement Share;
    /// Quadratic weighted kappa.
    WeightedKappa "weighted kappa" Agreement Share;
    /// Intraclass correlation: two-way random, single rater, absolute agreement.
    Icc "icc" Agreement Share;
}

impl Statistic {
    /// The statistic with this canonical name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|s| s.name() == name)
    }
}

impl fmt::Display for Statistic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_read_back() {
        for statistic in Statistic::ALL {
            assert_eq!(Statistic::from_name(statistic.name()), Some(*statistic));
        }
    }
}

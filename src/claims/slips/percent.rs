//! A change in percent of the wrong thing, or not in percent at all.

use super::slip::{Particular, Slip};
use crate::claims::computation::{Base, Computation, Formula, GainForm, Yardstick};
use crate::logbook::model::MeasureKind;
use crate::statistic::Unit;

pub(super) static DIVIDED_BY_LATER: Slip = Slip {
    code: "divided-by-later",
    convention: false,
    title: "Divided by the later value",
    explanation: "The change is divided by the later block's mean instead of the earlier one's.",
    matters: "A percent change says how far the learner has come from where they began; by the later mean it is another question.",
    remedy: "Divide the change by the mean of the earlier block.",
    vary: |v| match v.from.formula {
        Formula::Percent(Base::Earlier) => v.formula(Formula::Percent(Base::Later)),
        Formula::Standardised(Yardstick::Earlier, corrected) => {
            v.formula(Formula::Standardised(Yardstick::Later, corrected));
        }
        _ => {}
    },
    when: |t| match t.computation.formula {
        Formula::Standardised(..) => {
            String::from("the change is divided by the later block's standard deviation")
        }
        _ => String::from("the change is divided by the later mean instead of the earlier one"),
    },
};

pub(super) static DIVIDED_BY_SCALE: Slip = Slip {
    code: "divided-by-scale",
    convention: false,
    title: "In percent of the scale",
    explanation: "The change is divided by the range or the top of the scale instead of the earlier mean.",
    matters: "Points gained as a share of the scale can be the better figure for ratings, but it is not a percent change.",
    remedy: "Call it percent of the scale, or divide by the mean of the earlier block.",
    vary: |v| {
        if v.from.formula == Formula::Percent(Base::Earlier) {
            let from = v.from;
            for (base, words) in [
                (Base::ScaleRange, "the scale's range"),
                (Base::ScaleTop, "the scale's highest score"),
            ] {
                let formula = Formula::Percent(base);
                v.push_as(
                    Computation { formula, ..from },
                    Particular::Words(words),
                    1.0,
                );
            }
        }
    },
    when: |t| {
        format!(
            "the change is divided by {} instead of the earlier mean",
            t.words("the scale")
        )
    },
};

pub(super) static POINTS_FOR_PERCENT: Slip = Slip {
    code: "points-for-percent",
    convention: false,
    title: "Points given as percent",
    explanation: "The change in points stands where a percentage is named.",
    matters: "A change of 1.2 points is not a change of 1.2 %.",
    remedy: "Give the change with its unit, or divide it by the earlier mean and say percent.",
    vary: |v| {
        let from = v.from;
        match from.formula {
            Formula::Percent(Base::Earlier) => {
                v.formula(Formula::Change);
                if v.scale()
                    .is_some_and(|scale| scale.kind == MeasureKind::Success)
                {
                    // Of successes the means are shares: 40 % to 60 % are 20 percentage points.
                    let points = Computation {
                        formula: Formula::Change,
                        factor: 100.0 * from.factor,
                        ..from
                    };
                    v.push_as(points, Particular::Words("percentage points"), 1.0);
                }
            }
            Formula::Gain(GainForm::Kept) => {
                let formula = Formula::Gain(GainForm::Points);
                v.push_as(Computation { formula, ..from }, Particular::Nothing, 0.5);
            }
            _ => {}
        }
    },
    when: |t| {
        format!(
            "the change in {} is given where percent is named",
            t.words("points")
        )
    },
};

pub(super) static FRACTION_FOR_PERCENT: Slip = Slip {
    code: "fraction-for-percent",
    convention: false,
    title: "A fraction given as percent",
    explanation: "The share stands where a percentage is named: 0.35 for 35 %.",
    matters: "Read as percent the figure is a hundred times too small.",
    remedy: "Multiply by 100, or leave out the percent sign and say that it is a share.",
    vary: |v| {
        if v.statistic.unit() == Unit::Percent {
            let factor = v.from.factor * 0.01;
            v.push(Computation { factor, ..v.from });
        }
    },
    when: |_| String::from("the share is given without being multiplied by 100"),
};

pub(super) static RATIO_FOR_CHANGE: Slip = Slip {
    code: "ratio-for-change",
    convention: false,
    title: "The ratio instead of the change",
    explanation: "The later value in percent of the earlier one (135 %) stands where the change (35 %) is named.",
    matters: "A ratio of 100 % is no change at all; read as a change it would be a doubling.",
    remedy: "Subtract 100, or say that the figure is the later value in percent of the earlier one.",
    vary: |v| {
        let from = Computation {
            factor: v.from.factor.abs(),
            ..v.from
        };
        match from.formula {
            Formula::Percent(Base::Earlier) => {
                let percent = Computation {
                    formula: Formula::PercentRatio,
                    ..from
                };
                v.push(percent);
                let ratio = Computation {
                    formula: Formula::Ratio,
                    ..from
                };
                v.push_as(ratio, Particular::Words("as a plain number"), 0.5);
                if v.from.factor < 0.0 {
                    // Where lower is better the earlier over the later is the improvement's ratio.
                    let reversed = Computation {
                        earlier: from.later,
                        later: from.earlier,
                        ..percent
                    };
                    v.push_as(
                        reversed,
                        Particular::Words("the earlier over the later"),
                        0.3,
                    );
                }
            }
            Formula::Change => {
                let ratio = Computation {
                    formula: Formula::Ratio,
                    ..from
                };
                v.push_as(ratio, Particular::Nothing, 0.5);
            }
            _ => {}
        }
    },
    when: |t| match t.detail.of {
        Particular::Words("the earlier over the later") => String::from(
            "the earlier mean is given in percent of the later one, instead of the change",
        ),
        _ => String::from(
            "the later mean is given as a ratio to the earlier one, instead of the change",
        ),
    },
};

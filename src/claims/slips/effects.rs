//! Another effect size.

use super::slip::{Particular, Slip, Variations};
use crate::claims::computation::{Computation, Formula, Yardstick};

const MATTERS: &str = "Effect sizes of different kinds can't be set beside each other.";
const REMEDY: &str =
    "Name which effect size you used, and by which standard deviation the change is divided.";

fn yardstick(v: &mut Variations<'_, '_>, to: Yardstick, weight: f64) {
    if let Formula::Standardised(Yardstick::Pooled, corrected) = v.from.formula {
        let formula = Formula::Standardised(to, corrected);
        v.push_as(
            Computation { formula, ..v.from },
            Particular::Nothing,
            weight,
        );
        if corrected {
            // Without the small-sample factor as well: the other effect size as it is usually given.
            let formula = Formula::Standardised(to, false);
            v.push_as(
                Computation { formula, ..v.from },
                Particular::Nothing,
                weight,
            );
        }
    }
}

pub(super) static D_FOR_G: Slip = Slip {
    code: "d-for-g",
    convention: true,
    title: "d given for g",
    explanation: "The effect size is given without the small-sample factor that g has.",
    matters: MATTERS,
    remedy: "Name which you used; for few trials g is the less optimistic.",
    vary: |v| {
        if let Formula::Standardised(yardstick, true) = v.from.formula {
            v.formula(Formula::Standardised(yardstick, false));
        }
    },
    when: |_| String::from("the small-sample factor is left out: it is d"),
};

pub(super) static G_FOR_D: Slip = Slip {
    code: "g-for-d",
    convention: true,
    title: "g given for d",
    explanation: "The effect size is given with the small-sample factor that makes it g.",
    matters: MATTERS,
    remedy: "Name which you used; for few trials g is the less optimistic.",
    vary: |v| {
        if let Formula::Standardised(Yardstick::Pooled, false) = v.from.formula {
            v.formula(Formula::Standardised(Yardstick::Pooled, true));
        }
    },
    when: |_| String::from("the small-sample factor is applied: it is g"),
};

pub(super) static GLASS_FOR_D: Slip = Slip {
    code: "glass-for-d",
    convention: true,
    title: "Glass's delta given for d",
    explanation: "The change is divided by the earlier block's standard deviation instead of the pooled one.",
    matters: MATTERS,
    remedy: REMEDY,
    vary: |v| yardstick(v, Yardstick::Earlier, 1.0),
    when: |_| String::from("the change is divided by the earlier block's standard deviation alone"),
};

pub(super) static D_AVERAGE_SD: Slip = Slip {
    code: "d-average-sd",
    convention: true,
    title: "d by the average standard deviation",
    explanation: "The change is divided by the average of both standard deviations instead of the pooled one.",
    matters: MATTERS,
    remedy: REMEDY,
    vary: |v| {
        yardstick(v, Yardstick::RootMeanVariance, 1.0);
        yardstick(v, Yardstick::MeanSpread, 1.0);
    },
    when: |_| String::from("the change is divided by the average of both standard deviations"),
};

pub(super) static D_PAIRED_FOR_D: Slip = Slip {
    code: "d-paired-for-d",
    convention: true,
    title: "d of paired differences given for d",
    explanation: "The mean trial-by-trial difference is divided by the standard deviation of the differences.",
    matters: MATTERS,
    remedy: REMEDY,
    vary: |v| yardstick(v, Yardstick::Differences, 1.0),
    when: |_| {
        String::from(
            "the change is divided by the standard deviation of the trial-by-trial differences",
        )
    },
};

//! The other kind of spread.

use super::slip::{Particular, Slip, Variations};
use crate::claims::computation::{Computation, Divisor, Formula, Spread, SpreadForm, Yardstick};

fn with_divisor(v: &mut Variations<'_, '_>, from: Divisor, to: Divisor) {
    let c = v.from;
    if c.formula.uses_spread() && c.spread.divisor == from {
        let spread = Spread {
            divisor: to,
            ..c.spread
        };
        v.push(Computation { spread, ..c });
    }
}

/// The spread given in another form. Within an effect size or cv this is rarer than in the figure itself.
fn with_form(v: &mut Variations<'_, '_>, from: SpreadForm, to: SpreadForm) {
    let c = v.from;
    if c.spread.form != from {
        return;
    }
    let spread = Spread {
        form: to,
        ..c.spread
    };
    match c.formula {
        Formula::Spread | Formula::BivariateSpread => v.push(Computation { spread, ..c }),
        Formula::RelativeSpread
        | Formula::Standardised(
            Yardstick::Earlier | Yardstick::Later | Yardstick::Differences,
            _,
        ) => {
            v.push_as(Computation { spread, ..c }, Particular::Nothing, 0.5);
        }
        _ => {}
    }
}

pub(super) static POPULATION_SD: Slip = Slip {
    code: "population-sd",
    convention: true,
    title: "n in the denominator of the standard deviation",
    explanation: "The spread is divided by n (STDEV.P) where the sample's n − 1 (STDEV.S) is meant.",
    matters: "Both exist; with few trials they differ visibly.",
    remedy: "Name which one you used; for an estimate from a sample of trials it is n − 1.",
    vary: |v| {
        with_divisor(v, Divisor::NMinusOne, Divisor::N);
        if let Formula::Standardised(Yardstick::Pooled, corrected) = v.from.formula {
            let formula = Formula::Standardised(Yardstick::PooledOverN, corrected);
            v.push(Computation { formula, ..v.from });
        }
    },
    when: |_| String::from("the standard deviation is taken with n in the denominator"),
};

pub(super) static SAMPLE_SD: Slip = Slip {
    code: "sample-sd",
    convention: true,
    title: "n − 1 in the denominator of variable error",
    explanation: "The spread is divided by n − 1 where variable error by convention takes n.",
    matters: "Both exist; with n, total error squared is constant error squared plus variable error squared.",
    remedy: "Name which one you used; variable error takes n.",
    vary: |v| {
        with_divisor(v, Divisor::N, Divisor::NMinusOne);
        if v.from.formula == Formula::RootMeanSquare(Divisor::N) {
            let formula = Formula::RootMeanSquare(Divisor::NMinusOne);
            v.push_as(Computation { formula, ..v.from }, Particular::Nothing, 1.0);
        }
    },
    when: |_| String::from("n − 1 is taken in the denominator"),
};

pub(super) static VARIANCE_FOR_SD: Slip = Slip {
    code: "variance-for-sd",
    convention: false,
    title: "The variance instead of its root",
    explanation: "The variance stands where the standard deviation is named.",
    matters: "A variance is in squared units and can't be set beside the mean.",
    remedy: "Take the square root, or call it the variance.",
    vary: |v| {
        with_form(v, SpreadForm::Sd, SpreadForm::Variance);
        if v.from.formula == Formula::RootMeanSquare(Divisor::N) {
            v.formula(Formula::MeanSquare);
        }
    },
    when: |_| String::from("the square root is left out: it is the variance"),
};

pub(super) static SD_FOR_VARIANCE: Slip = Slip {
    code: "sd-for-variance",
    convention: false,
    title: "The standard deviation instead of the variance",
    explanation: "The standard deviation stands where the variance is named.",
    matters: "The variance is its square.",
    remedy: "Square it, or call it the standard deviation.",
    vary: |v| {
        if v.from.formula == Formula::Spread {
            with_form(v, SpreadForm::Variance, SpreadForm::Sd);
        }
    },
    when: |_| String::from("the standard deviation is given for the variance"),
};

pub(super) static SE_FOR_SD: Slip = Slip {
    code: "se-for-sd",
    convention: false,
    title: "The standard error instead of the standard deviation",
    explanation: "The standard error of the mean (s/√n) stands where the standard deviation is named.",
    matters: "The standard error says how well the mean is known, not how much the trials vary; it shrinks with every trial added.",
    remedy: "Give the standard deviation, or call it the standard error.",
    vary: |v| with_form(v, SpreadForm::Sd, SpreadForm::StandardError),
    when: |_| String::from("the standard error of the mean is taken for the standard deviation"),
};

pub(super) static SD_FOR_SE: Slip = Slip {
    code: "sd-for-se",
    convention: false,
    title: "The standard deviation instead of the standard error",
    explanation: "The standard deviation stands where the standard error of the mean is named.",
    matters: "The standard deviation says how much the trials vary, not how well the mean is known.",
    remedy: "Divide by √n, or call it the standard deviation.",
    vary: |v| {
        if v.from.formula == Formula::Spread {
            with_form(v, SpreadForm::StandardError, SpreadForm::Sd);
        }
    },
    when: |_| String::from("the standard deviation is given for the standard error"),
};

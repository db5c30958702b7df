//! One kind of error for another.

use super::slip::{Particular, Slip, Variations};
use crate::claims::computation::{
    Centre, Computation, Divisor, Formula, Selection, Spread, Transform,
};
use crate::logbook::model::MeasureKind;

/// What is taken of each score changed, in all blocks.
fn taking(v: &mut Variations<'_, '_>, of: Transform, particular: Particular, weight: f64) {
    v.selections(particular, weight, |selection: Selection| {
        selection.taking(of)
    });
}

fn is_signed(v: &Variations<'_, '_>) -> bool {
    v.scale()
        .is_some_and(|scale| scale.kind != MeasureKind::Error && scale.error_target.is_some())
}

pub(super) static BIAS_FOR_ACCURACY: Slip = Slip {
    code: "bias-for-accuracy",
    convention: false,
    title: "Bias given as accuracy",
    explanation: "The errors are averaged with their signs where their sizes are meant: constant for absolute error, centroid for radial error.",
    matters: "Errors to either side cancel: a learner who misses widely on both sides looks accurate.",
    remedy: "Take the size of each error before averaging, or call it constant error.",
    vary: |v| {
        let from = v.from;
        match (from.formula, v.taken()) {
            (Formula::Level, Transform::Distance) if is_signed(v) => {
                taking(v, Transform::Signed, Particular::Nothing, 1.0);
                let size = Computation {
                    formula: Formula::SizeOfLevel,
                    ..from
                };
                let mut size = size;
                size.later = v.taking(size.later, Transform::Signed);
                v.push_as(size, Particular::Words(" and the sign is left off"), 0.7);
            }
            (Formula::Level, Transform::Radial) => {
                let mut centroid = from;
                centroid.formula = Formula::Centroid;
                centroid.later = v.taking(centroid.later, Transform::X);
                v.push(centroid);
            }
            (Formula::RootMeanSquare(_), Transform::Signed) if is_signed(v) => {
                let bias = Computation {
                    formula: Formula::Level,
                    ..from
                };
                v.push_as(bias, Particular::Nothing, 0.5);
            }
            (
                Formula::Percent(_) | Formula::Gain(_) | Formula::Nonoverlap { .. },
                Transform::Distance,
            ) if is_signed(v) => {
                taking(v, Transform::Signed, Particular::Nothing, 0.5);
            }
            _ => {}
        }
    },
    when: |t| match t.changed.formula {
        Formula::Centroid => {
            String::from("the landing points are averaged before their distance is taken")
        }
        _ => format!("the errors are averaged with their signs{}", t.words("")),
    },
};

pub(super) static ACCURACY_FOR_BIAS: Slip = Slip {
    code: "accuracy-for-bias",
    convention: false,
    title: "Accuracy given as bias",
    explanation: "The sizes of the errors are averaged where their signs are meant: absolute for constant error, radial for centroid error.",
    matters: "Without signs the number can't say to which side the learner misses.",
    remedy: "Average the errors with their signs, or call it absolute error.",
    vary: |v| {
        let from = v.from;
        match (from.formula, v.taken()) {
            (Formula::Level, Transform::Signed) => {
                taking(v, Transform::Distance, Particular::Nothing, 1.0);
            }
            (Formula::Centroid, _) => {
                let mut radial = from;
                radial.formula = Formula::Level;
                radial.later = v.taking(radial.later, Transform::Radial);
                v.push(radial);
            }
            (Formula::Level | Formula::Change | Formula::Percent(_), Transform::AsRecorded)
                if from.later.centre == Centre::Mean
                    && v.scale()
                        .is_some_and(|scale| scale.kind == MeasureKind::SignedError) =>
            {
                taking(v, Transform::Distance, Particular::Nothing, 0.6);
            }
            _ => {}
        }
    },
    when: |t| match t.evaluator.selection(t.changed.later.trials).of {
        Transform::Radial => String::from("the landing points' distances are averaged"),
        _ => String::from("the sizes of the errors are averaged without their signs"),
    },
};

pub(super) static TOTAL_FOR_VARIABLE: Slip = Slip {
    code: "total-for-variable",
    convention: false,
    title: "Total error given as variable error",
    explanation: "The spread is taken about the target instead of about the learner's own mean.",
    matters: "Variable error is consistency; about the target it holds the bias as well.",
    remedy: "Take the spread about the learner's own mean, or call it total error.",
    vary: |v| {
        let from = v.from;
        match from.formula {
            Formula::Spread if from.spread == Spread::POPULATION => {
                let mut total = from;
                total.formula = Formula::RootMeanSquare(Divisor::N);
                total.later = v.taking(total.later, Transform::Signed);
                v.push(total);
            }
            Formula::BivariateSpread => {
                let mut total = from;
                total.formula = Formula::RootMeanSquare(Divisor::N);
                total.later = v.taking(total.later, Transform::Radial);
                v.push(total);
            }
            _ => {}
        }
    },
    when: |_| {
        String::from("the spread is taken about the target instead of the learner's own mean")
    },
};

pub(super) static ONE_AXIS: Slip = Slip {
    code: "one-axis",
    convention: false,
    title: "One axis of a two-dimensional error",
    explanation: "Only x or only y of the landing points is counted.",
    matters: "An error in the plane is hidden where it lies along the other axis.",
    remedy: "Use both coordinates: the distance for each trial is the root of x² + y².",
    vary: |v| {
        let from = v.from;
        let measure = v.material().measures.get(v.measure());
        if !measure.is_some_and(|measure| measure.has_landing_points) {
            return;
        }
        for (size, axis, words) in [
            (Transform::SizeOfX, Transform::X, "x"),
            (Transform::SizeOfY, Transform::Y, "y"),
        ] {
            let of = Particular::Words(words);
            match (from.formula, v.taken()) {
                (Formula::Level, Transform::Radial) => taking(v, size, of, 1.0),
                (Formula::Centroid, _) => {
                    let mut one = from;
                    one.formula = Formula::SizeOfLevel;
                    one.later = v.taking(one.later, axis);
                    v.push_as(one, of, 1.0);
                    one.formula = Formula::Level;
                    v.push_as(one, of, 0.5);
                }
                (Formula::BivariateSpread, _) => {
                    let mut one = from;
                    one.formula = Formula::Spread;
                    one.later = v.taking(one.later, axis);
                    v.push_as(one, of, 1.0);
                }
                // A score that is the distance of a landing point.
                (
                    Formula::Level | Formula::Change | Formula::Percent(_),
                    Transform::AsRecorded | Transform::Distance,
                ) if from.later.centre == Centre::Mean => {
                    taking(v, size, of, 0.5);
                }
                _ => {}
            }
        }
    },
    when: |t| {
        format!(
            "only {} of the landing points is counted",
            t.words("one axis")
        )
    },
};

//! The right number, copied wrongly.

use super::slip::{Particular, Slip};
use crate::claims::computation::Ending;

const MATTERS: &str = "The figure that the reader sees is not the one that was computed.";
const REMEDY: &str = "Copy the number again from where it was computed.";

pub(super) static DIGITS_SWAPPED: Slip = Slip {
    code: "digits-swapped",
    convention: false,
    title: "Two digits swapped",
    explanation: "Two neighbouring digits of the right number change places.",
    matters: MATTERS,
    remedy: REMEDY,
    vary: |v| v.ending(Ending::DigitsSwapped, Particular::Nothing, 1.0),
    when: |_| String::from("two neighbouring digits change places"),
};

pub(super) static DECIMAL_MISPLACED: Slip = Slip {
    code: "decimal-misplaced",
    convention: false,
    title: "The decimal point misplaced",
    explanation: "The right number with its decimal point moved by one place or more.",
    matters: MATTERS,
    remedy: REMEDY,
    vary: |v| {
        for (places, weight) in [
            (1, 1.0),
            (-1, 1.0),
            (2, 0.5),
            (-2, 0.5),
            (3, 0.2),
            (-3, 0.2),
        ] {
            v.ending(
                Ending::PointMoved(places),
                Particular::Places(places),
                weight,
            );
        }
    },
    when: |t| match t.detail.of {
        Particular::Places(1 | -1) => String::from("the decimal point moves by 1 place"),
        _ => format!("the decimal point moves by {} places", t.number()),
    },
};

pub(super) static COPIED_WRONG_DIGIT: Slip = Slip {
    code: "copied-wrong-digit",
    convention: false,
    title: "One digit copied wrongly",
    explanation: "The right number with one digit other than it is.",
    matters: MATTERS,
    remedy: REMEDY,
    vary: |v| v.ending(Ending::OneDigitWrong, Particular::Nothing, 1.0),
    when: |_| String::from("one digit of the right number is another"),
};

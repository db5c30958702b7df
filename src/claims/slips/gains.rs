//! Another share of the gain.

use super::slip::{Particular, Slip};
use crate::claims::computation::{Computation, Formula, GainForm};

pub(super) static RETAINED_OF_POST: Slip = Slip {
    code: "retained-of-post",
    convention: true,
    title: "In percent of the post-test, not of the gain",
    explanation: "The later test is given in percent of the post-test instead of the share of the gain that it kept.",
    matters: "A learner who fell back to the pre-test keeps nothing of the gain and still a good part of the post-test's score.",
    remedy: "Say which you mean; the share of the gain is (later test − pre)/(post − pre).",
    vary: |v| {
        if v.from.formula == Formula::Gain(GainForm::Kept) {
            v.formula(Formula::Gain(GainForm::OfPost));
        }
    },
    when: |_| {
        String::from("the later test is given in percent of the post-test instead of the gain")
    },
};

pub(super) static LOST_FOR_RETAINED: Slip = Slip {
    code: "lost-for-retained",
    convention: false,
    title: "The share lost instead of the share kept",
    explanation: "The share of the gain that was lost stands where the share that was kept is named.",
    matters: "It says the opposite of what was meant.",
    remedy: "Subtract it from 100, or say that it is the share lost.",
    vary: |v| {
        if v.from.formula == Formula::Gain(GainForm::Kept) {
            v.formula(Formula::Gain(GainForm::Lost));
            let formula = Formula::Gain(GainForm::LostOfPost);
            v.push_as(Computation { formula, ..v.from }, Particular::Nothing, 0.4);
        }
    },
    when: |_| String::from("the share lost is given instead of the share kept"),
};

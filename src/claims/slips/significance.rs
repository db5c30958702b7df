//! Another test, or the other number of tails.

use super::slip::{Particular, Slip, Variations};
use crate::claims::computation::{Computation, Design, Formula, Report, Tails, Yardstick};

fn tails(v: &mut Variations<'_, '_>, tails: Tails, weight: f64) {
    let from = v.from;
    let formula = match from.formula {
        Formula::TTest(design, Report::P(Tails::Two)) => Formula::TTest(design, Report::P(tails)),
        Formula::MannWhitney(Report::P(Tails::Two)) => Formula::MannWhitney(Report::P(tails)),
        Formula::Wilcoxon(Report::P(Tails::Two)) => Formula::Wilcoxon(Report::P(tails)),
        _ => return,
    };
    v.push_as(Computation { formula, ..from }, Particular::Nothing, weight);
}

fn design(v: &mut Variations<'_, '_>, from: Design, to: Design, weight: f64) {
    if let Formula::TTest(known, report) = v.from.formula
        && known == from
    {
        let formula = Formula::TTest(to, report);
        v.push_as(
            Computation { formula, ..v.from },
            Particular::Nothing,
            weight,
        );
    }
}

pub(super) static ONE_TAILED: Slip = Slip {
    code: "one-tailed",
    convention: false,
    title: "A one-tailed p",
    explanation: "p counts one tail only, where two are meant.",
    matters: "One tail halves p; it is fair only where the direction was fixed before the data were seen.",
    remedy: "Give the two-sided p, or say that it is one-tailed and why.",
    vary: |v| {
        tails(v, Tails::One, 1.0);
        tails(v, Tails::OtherOne, 0.2);
    },
    when: |_| String::from("p is taken of one tail"),
};

pub(super) static TWO_TAILED: Slip = Slip {
    code: "two-tailed",
    convention: false,
    title: "A two-sided p doubled",
    explanation: "The p that already counts both tails is doubled.",
    matters: "Doubled once more, p overstates how well chance explains the difference.",
    remedy: "Check which p your program gives: spreadsheets ask for the number of tails.",
    vary: |v| tails(v, Tails::TwiceTwo, 1.0),
    when: |_| String::from("the two-sided p is doubled"),
};

pub(super) static PAIRED_FOR_INDEPENDENT: Slip = Slip {
    code: "paired-for-independent",
    convention: false,
    title: "A paired test for an independent one",
    explanation: "Trials are paired by their number where an independent comparison is named.",
    matters: "The third trial before and the third trial after have nothing in common that pairs them.",
    remedy: "Compare the two blocks as two samples (type 3 in a spreadsheet).",
    vary: |v| {
        design(v, Design::Pooled, Design::Paired, 1.0);
        design(v, Design::Welch, Design::Paired, 1.0);
        if let Formula::MannWhitney(report) = v.from.formula {
            v.formula(Formula::Wilcoxon(report));
        }
    },
    when: |_| String::from("the trials are paired by their number"),
};

pub(super) static INDEPENDENT_FOR_PAIRED: Slip = Slip {
    code: "independent-for-paired",
    convention: false,
    title: "An independent test for a paired one",
    explanation: "The two blocks are compared as independent samples where a paired comparison is named.",
    matters: "The two tests answer different questions and give different numbers.",
    remedy: "Name the test that you used.",
    vary: |v| {
        design(v, Design::Paired, Design::Pooled, 1.0);
        design(v, Design::Paired, Design::Welch, 0.7);
        match v.from.formula {
            Formula::Wilcoxon(report) => v.formula(Formula::MannWhitney(report)),
            Formula::Standardised(Yardstick::Differences, corrected) => {
                let formula = Formula::Standardised(Yardstick::Pooled, corrected);
                v.push_as(Computation { formula, ..v.from }, Particular::Nothing, 0.7);
            }
            _ => {}
        }
    },
    when: |_| String::from("the blocks are compared as independent samples"),
};

pub(super) static POOLED_FOR_WELCH: Slip = Slip {
    code: "pooled-for-welch",
    convention: false,
    title: "The pooled test for Welch's",
    explanation: "Both blocks are taken to vary equally, where Welch's test is named.",
    matters: "With unequal spreads and numbers the pooled test can mislead.",
    remedy: "Use Welch's test (type 3 in a spreadsheet), or name the pooled one.",
    vary: |v| design(v, Design::Welch, Design::Pooled, 1.0),
    when: |_| String::from("the variances are pooled"),
};

pub(super) static WELCH_FOR_POOLED: Slip = Slip {
    code: "welch-for-pooled",
    convention: false,
    title: "Welch's test for the pooled one",
    explanation: "The blocks may vary unequally (Welch), where the pooled test is named.",
    matters: "The two tests have different degrees of freedom.",
    remedy: "Name the test that you used; Welch's is a good choice.",
    vary: |v| design(v, Design::Pooled, Design::Welch, 1.0),
    when: |_| String::from("the variances are not pooled (Welch)"),
};

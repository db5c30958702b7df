//! Trials of another kind counted with the block.

use super::slip::{Particular, Slip, Variations, Which};
use crate::claims::computation::{Also, Computation, Formula, Points, Selection, Source, small};
use crate::phase::{BlockName, Phase, PhaseKind};

fn also(v: &mut Variations<'_, '_>, which: Which, also: Also, of: Particular, weight: f64) {
    v.one_selection(which, of, weight, |selection| Selection {
        also,
        ..selection
    });
}

/// The phase of a block as it is defined, with nothing put to it yet.
fn phase_of(selection: Selection) -> Option<BlockName> {
    match selection.block {
        Source::Named(block) if selection.also == Also::Nothing => Some(block),
        _ => None,
    }
}

fn is_of_test(selection: Selection) -> bool {
    matches!(phase_of(selection), Some(BlockName::Phase(phase)) if phase.kind.is_test())
}

/// The blocks of the computation that are tests.
fn tests(v: &Variations<'_, '_>) -> Vec<Which> {
    v.used()
        .iter()
        .copied()
        .filter(|which| is_of_test(v.selection(*which)))
        .collect()
}

pub(super) static PRACTICE_INCLUDED: Slip = Slip {
    code: "practice-included",
    convention: false,
    title: "Practice counted with a test",
    explanation: "The practice trials are put together with the test's.",
    matters: "A test shows what the learner can do under test conditions; practice trials were made under others.",
    remedy: "Count the test's own trials alone.",
    vary: |v| {
        if !v.is_of_blocks() {
            return;
        }
        let tests = tests(v);
        let measure = v.measure();
        let sessions = v
            .material()
            .phase(measure, Phase::PRACTICE)
            .map_or(0, |practice| practice.sessions.len());
        if sessions == 0 {
            return;
        }
        if tests.len() > 1 {
            v.selections(Particular::Nothing, 0.5, |selection| {
                if is_of_test(selection) {
                    Selection {
                        also: Also::Practice,
                        ..selection
                    }
                } else {
                    selection
                }
            });
        }
        for which in &tests {
            also(v, *which, Also::Practice, Particular::Nothing, 1.0);
        }
        if sessions > 1 {
            for which in tests {
                for (place, words) in [
                    (sessions - 1, "the last practice session's trials"),
                    (0, "the first practice session's trials"),
                ] {
                    let of = Particular::Words(words);
                    also(v, which, Also::PracticeSession(small(place)), of, 0.2);
                }
            }
        }
    },
    when: |t| {
        format!(
            "{} are counted with the test's{}",
            t.words("the practice trials"),
            t.where_alone()
        )
    },
};

pub(super) static TESTS_INCLUDED: Slip = Slip {
    code: "tests-included",
    convention: false,
    title: "Tests counted with practice",
    explanation: "The trials of tests are put together with practice (or with another test).",
    matters: "Tests were made under other conditions than practice.",
    remedy: "Count the block's own trials alone.",
    vary: |v| {
        if let Formula::Line(value, Points::Sessions) = v.from.formula {
            v.formula(Formula::Line(value, Points::WithTests));
            return;
        }
        if !v.is_of_blocks() {
            return;
        }
        let measure = v.measure();
        let tests: Vec<Phase> = v.material().tests(measure).collect();
        for which in v.used().iter().copied() {
            let Some(block) = phase_of(v.selection(which)) else {
                continue;
            };
            let practice = match block {
                BlockName::PracticeSession(_) => true,
                BlockName::Phase(phase) => phase.kind == PhaseKind::Practice,
            };
            let (all, single) = if practice { (1.0, 0.4) } else { (0.4, 0.3) };
            also(v, which, Also::Tests, Particular::Nothing, all);
            if practice {
                let of = Particular::Words("the pre-test's and post-test's trials");
                also(v, which, Also::PreAndPost, of, 0.5);
            }
            for test in &tests {
                if block != BlockName::Phase(*test) {
                    let of = Particular::Block(BlockName::Phase(*test));
                    also(v, which, Also::Test(*test), of, single);
                }
            }
        }
    },
    when: |t| {
        let trials = match t.detail.of {
            Particular::Block(_) => format!("the trials of {}", t.block()),
            _ if matches!(t.computation.formula, Formula::Line(..)) => {
                String::from("the tests' sessions")
            }
            _ => t.words("the trials of all tests").to_owned(),
        };
        format!("{trials} are counted as well{}", t.where_alone())
    },
};

pub(super) static FAMILIARISATION_INCLUDED: Slip = Slip {
    code: "familiarisation-included",
    convention: false,
    title: "Familiarisation counted",
    explanation: "The familiarisation trials are put together with the block's.",
    matters: "Familiarisation is there so that it need not count.",
    remedy: "Count the block's own trials alone.",
    vary: |v| {
        if !v.is_of_blocks() {
            return;
        }
        let measure = v.measure();
        let any = v.material().measures.get(measure).is_some_and(|measure| {
            measure
                .phases
                .iter()
                .any(|block| block.phase.kind == PhaseKind::Familiarisation && block.has_scores())
        });
        if !any {
            return;
        }
        for (kind, weight) in [
            (Also::Familiarisation, 1.0),
            (Also::FamiliarisationOfSession, 0.5),
        ] {
            for which in v.used() {
                if phase_of(v.selection(*which)).is_some() {
                    also(v, *which, kind, Particular::Nothing, weight);
                }
            }
        }
        if v.used().len() > 1 {
            let both = Computation {
                later: v.with_selection(v.from.later, with_familiarisation),
                earlier: v.with_selection(v.from.earlier, with_familiarisation),
                ..v.from
            };
            v.push_as(both, Particular::Nothing, 0.3);
        }
    },
    when: |t| {
        format!(
            "the familiarisation trials are counted as well{}",
            t.where_alone()
        )
    },
};

fn with_familiarisation(selection: Selection) -> Selection {
    Selection {
        also: Also::Familiarisation,
        ..selection
    }
}

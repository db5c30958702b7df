//! Facts in the words of people who mark: nobody should have to know how a rubric spells them.

mod together;

use super::catalogue;

pub use together::together;

/// What a fact is, to stand in a sentence or before its value: `mean of the retention test`, `transfer test in new conditions`. Counts of
/// findings are named by whoever knows the checks.
pub fn in_words(name: &str) -> String {
    let (measure, bare) = of_measure(name);
    let Named { fact, of } = named(bare);
    let words = match of {
        Some(of) => format!("{fact} {} {}", of.joined_by, of.title),
        None => fact,
    };
    match measure {
        Some(measure) => format!("{words} ({measure})"),
        None => words,
    }
}

/// A fact's name apart from that of the measure which it names, if any.
fn of_measure(name: &str) -> (Option<String>, &str) {
    match catalogue::split_measure(name) {
        Some((measure, bare)) => (Some(measure), bare),
        None => (None, name),
    }
}

/// What a fact is, and of what where that is said apart.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Named {
    fact: String,
    of: Option<OfWhat>,
}

/// What a fact is of: `of` `the post-test`.
#[derive(Debug, Clone, PartialEq, Eq)]
struct OfWhat {
    joined_by: &'static str,
    title: String,
}

fn named(bare: &str) -> Named {
    let whole = |fact: String| Named { fact, of: None };
    if let Some((_, words)) = KNOWN.iter().find(|(known, _)| *known == bare) {
        return whole((*words).to_owned());
    }
    let titled = |(found, number): (&catalogue::Namespace, u16)| {
        let own = TITLES.iter().find(|(name, _)| *name == found.name);
        let title = own.map_or(found.title, |(_, title)| title);
        match number {
            0 | 1 => title.to_owned(),
            _ => format!("{title} {number}"),
        }
    };
    if let Some(found) = catalogue::find_namespace(bare) {
        return whole(titled(found));
    }
    let spaced = || whole(bare.replace(['.', '_'], " "));
    let Some((namespace, fact)) = bare.rsplit_once('.') else {
        return spaced();
    };
    let Some(found) = catalogue::find_namespace(namespace) else {
        return spaced();
    };
    if found.0.name == "technique" {
        // Its tests are facts of the checklist.
        if let Some(test) = catalogue::find_namespace(fact) {
            return Named {
                fact: String::from("technique"),
                of: Some(OfWhat {
                    joined_by: "in",
                    title: titled(test),
                }),
            };
        }
        return whole(format!("technique, {}", fact.replace('_', " ")));
    }
    let words = WORDS.iter().find(|(known, _)| *known == fact);
    Named {
        fact: words.map_or_else(|| fact.replace('_', " "), |(_, words)| (*words).to_owned()),
        of: Some(OfWhat {
            joined_by: match (found.0.name, fact) {
                (_, "days_after") => "to",
                ("tests", _) => "in",
                _ => "of",
            },
            title: titled(found),
        }),
    }
}

/// What facts are said to be of, where the title of their namespace is a sentence of its own.
const TITLES: &[(&str, &str)] = &[
    ("change.post", "the post-test against the pre-test"),
    (
        "change.retention",
        "the retention test against the pre-test",
    ),
    ("change.transfer", "the transfer test against the pre-test"),
    ("gain", "the gain"),
    ("programme", "practice"),
    ("raters", "the raters"),
    ("tests", "the tests"),
];

/// What facts are called whose names don't read as words, whatever they are of.
const WORDS: &[(&str, &str)] = &[
    ("ae", "absolute error"),
    ("bve", "bivariate variable error"),
    ("ce", "constant error"),
    ("cv", "coefficient of variation"),
    ("days_after", "days from the last practice"),
    ("dip_p", "chance of such a dip"),
    ("level", "place on the scale"),
    ("mre", "mean radial error"),
    ("n", "scored trials"),
    ("rise_p", "chance of such a rise"),
    ("rmse", "total error"),
    ("sd", "standard deviation"),
    ("sre", "centroid error"),
    ("sudden_p", "chance of so sudden a rise"),
    ("tau_p", "p of the trend"),
    ("variability_p", "chance of such a variability"),
    ("ve", "variable error"),
];

/// The facts that rubrics ask for most, where their names don't read as words.
const KNOWN: &[(&str, &str)] = &[
    ("about.consent", "consent"),
    ("about.learning_claimed", "a lasting change is claimed"),
    ("about.screening", "screening"),
    ("about.stage_after", "stage named for the end"),
    ("about.stage_before", "stage named for the start"),
    ("about.theory", "theory named"),
    ("claims.agree", "numbers that agree"),
    (
        "claims.conventions",
        "of those that differ, by a convention or rounding or for want of a score",
    ),
    ("claims.count", "numbers stated"),
    ("claims.differ", "numbers that differ"),
    ("claims.impossible", "numbers that no scores can give"),
    (
        "claims.not_recomputable",
        "numbers that can't be recomputed",
    ),
    ("curve.sessions", "practice sessions with scores"),
    (
        "gain.lost_in_transfer",
        "share of the gain lost in transfer",
    ),
    (
        "gain.lost_in_transfer_high",
        "upper end of the share lost in transfer",
    ),
    (
        "gain.lost_in_transfer_low",
        "lower end of the share lost in transfer",
    ),
    ("gain.retained", "share of the gain retained"),
    ("gain.retained_high", "upper end of the share retained"),
    ("gain.retained_low", "lower end of the share retained"),
    ("gain.transferred", "share of the gain transferred"),
    (
        "gain.transferred_high",
        "upper end of the share transferred",
    ),
    ("gain.transferred_low", "lower end of the share transferred"),
    ("practice.n", "scored practice trials"),
    (
        "programme.feedback_recorded",
        "share of sessions that record their feedback",
    ),
    ("programme.longest_gap_days", "longest gap in days"),
    ("programme.part", "whole or part practice"),
    (
        "programme.schedule_recorded",
        "share of sessions that record their order or variety",
    ),
    ("programme.sessions", "practice sessions"),
    ("programme.weeks", "weeks"),
    ("raters.rated_twice", "test trials rated twice"),
    ("raters.weighted_kappa", "weighted kappa of the two raters"),
    ("stage.end_verdict", "stage at the end, by its signs"),
    ("stage.start_verdict", "stage at the start, by its signs"),
    ("tests.same_conditions", "tests under the same conditions"),
    ("tests.transfer_novel", "transfer test in new conditions"),
    ("theory.contradicted", "predictions contradicted"),
    ("theory.met", "predictions that show"),
    ("theory.testable", "predictions that can be tested"),
    ("theory.verdict", "the theory, by its predictions"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn facts_are_named_as_people_say_them() {
        assert_eq!(in_words("pre.mean"), "mean of the pre-test");
        assert_eq!(
            in_words("retention_2.n"),
            "scored trials of the retention test 2"
        );
        assert_eq!(
            in_words("retention.days_after"),
            "days from the last practice to the retention test"
        );
        assert_eq!(
            in_words("measure[\"distance\"].post.sd"),
            "standard deviation of the post-test (distance)"
        );
        assert_eq!(in_words("mid"), "the mid-test");
        assert_eq!(in_words("programme.minutes"), "minutes of practice");
        assert_eq!(
            in_words("change.post.difference"),
            "difference of the post-test against the pre-test"
        );
        assert_eq!(
            in_words("technique.retention"),
            "technique in the retention test"
        );
        assert_eq!(
            in_words("post.bve"),
            "bivariate variable error of the post-test"
        );
        assert_eq!(
            in_words("theory.testable"),
            "predictions that can be tested"
        );
    }

    /// A name that is none of a fact would never be asked for.
    #[test]
    fn what_has_words_of_its_own_is_a_fact() {
        for (name, _) in KNOWN {
            assert!(catalogue::describe(name).is_some(), "{name}");
        }
        let is_one = |name: &str| {
            let mut namespaces = catalogue::NAMESPACES.iter();
            namespaces.any(|namespace| namespace.entry(name).is_some())
        };
        for (name, _) in TITLES {
            assert!(catalogue::find_namespace(name).is_some(), "{name}");
        }
        for (name, _) in WORDS {
            assert!(is_one(name), "{name}");
        }
    }
}

//! Facts in the words of people who mark: nobody should have to know how a rubric spells them.

use super::catalogue;

/// What a fact is, to stand in a sentence or before its value: `mean of the retention test`, `transfer test in new conditions`. Counts of
/// findings are named by whoever knows the checks.
pub fn in_words(name: &str) -> String {
    if let Some((measure, bare)) = catalogue::split_measure(name) {
        return format!("{} ({measure})", in_words(bare));
    }
    if let Some((_, words)) = KNOWN.iter().find(|(known, _)| *known == name) {
        return (*words).to_owned();
    }
    let spaced = || name.replace(['.', '_'], " ");
    let Some((namespace, fact)) = name.rsplit_once('.') else {
        return spaced();
    };
    let Some((found, number)) = catalogue::find_namespace(namespace) else {
        return spaced();
    };
    let of = if number > 1 {
        format!("{} {number}", found.title)
    } else {
        found.title.to_owned()
    };
    let fact = match fact {
        "n" => String::from("scored trials"),
        "sd" => String::from("standard deviation"),
        "days_after" => return format!("days from the last practice to {of}"),
        other => other.replace('_', " "),
    };
    if matches!(found.name, "technique") {
        return format!("technique, {fact}");
    }
    format!("{fact} of {of}")
}

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
    ("practice.n", "scored practice trials"),
    (
        "programme.feedback_recorded",
        "share of sessions that record their feedback",
    ),
    ("programme.longest_gap_days", "longest gap in days"),
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
    ("technique.post", "technique in the post-test"),
    ("technique.pre", "technique in the pre-test"),
    ("technique.retention", "technique in the retention test"),
    ("technique.transfer", "technique in the transfer test"),
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
    }
}

//! Nothing records how the skill was performed.

use crate::checks::seen::TableName;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};

/// Nothing records how the skill was performed.
pub const CHECK: Check = Check {
    id: "testing.no-technique-record",
    weight: Weight::Concern,
    title: "no record of technique",
    explanation: Explanation {
        looks_at: "Whether the Technique table has any rating of an element.",
        matters: "A score says how well the goal was reached, not how: the same score can come from a better movement or from a detour, and stages of learning show in the movement.",
        example: "Distances of forty throws, and no word on the throw.",
        remedy: "Rate a few elements of the movement at pre-test and post-test, best from video.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let ratings = &seen.logbook.technique;
    if ratings.iter().any(|row| row.rating.is_some()) {
        return;
    }
    let mut places: Vec<_> = ratings.iter().map(|row| row.place.clone()).collect();
    if places.is_empty() {
        places.push(seen.where_missing(TableName::Technique));
    }
    findings.add(
        CHECK
            .finding(
                "No element of technique is rated.",
                "Your logbook records how well the goal was reached, but not how the movement was done. Rate a few elements of the technique at pre-test and post-test (from video, by someone besides the coach if you can): that shows what changed in the movement, which the score alone can't.",
            )
            .at(places, "no rating"),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, only};

    #[test]
    fn no_rating_is_found_and_one_is_enough() {
        let mut sample = Sample::sound();
        sample.logbook.technique.truncate(1);
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.logbook.technique[0].rating = None;
        assert_eq!(
            only(sample.found(&CHECK)).places,
            [sample.logbook.technique[0].place.clone()]
        );
        sample.logbook.technique.clear();
        assert_eq!(
            only(sample.found(&CHECK)).places,
            [sample.logbook.tables.technique.clone().unwrap()]
        );
    }
}

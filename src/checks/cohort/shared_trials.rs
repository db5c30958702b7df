//! A run of trials equal, in order, to another pair's, longer than chance allows across this cohort.

use super::likeness::{GOOD_REASON, Side, TwoAlike, chance};
use crate::checks::check::PlacedFindings;
use crate::checks::wording::in_force;
use crate::checks::{Check, CohortSeen, Explanation, Run, Weight};
use crate::place::Place;

/// A run of trials equal, in order, to another pair's.
pub const CHECK: Check = Check {
    id: "cohort.shared-trials",
    weight: Weight::Query,
    title: "a run of trials equal to another pair's",
    explanation: Explanation {
        looks_at: "Every run of scores in order against those of all other pairs with a like measure, wherever it stands. How probable a score is comes from sessions of like level of other pairs, so that short runs of whole numbers and runs at the end of a scale are no surprise; the expected number of runs as improbable over all comparisons of the cohort is stated.",
        matters: "Trials that two pairs have in common can't tell how two learners did. There are good reasons for it (recorded together, a shared template, one file handed in twice): only the pairs can say.",
        example: "Twelve distances of P03's post-test are those of P17's, in order and to the centimetre.",
        remedy: "Ask both pairs how these trials were recorded, and look at both files.",
        source: "Ville 1939 for the bound on the chance of a run; suffix arrays after Manber & Myers 1993",
    },
    thresholds: &["copied"],
    run: Run::Cohort(run),
};

fn run(seen: &CohortSeen, findings: &mut PlacedFindings) {
    if seen.traces.len() < 2 {
        findings.could_not(CHECK.id, "there are fewer than two pairs with scores");
        return;
    }
    let told = seen.told();
    // The runs of two pairs stand together, the least expected first: one finding for each of the two.
    let mut rest = told.equal.as_slice();
    while let Some(first) = rest.first() {
        let pairs = |alike: &TwoAlike| (alike.sides[0].pair.clone(), alike.sides[1].pair.clone());
        let n = rest
            .iter()
            .take_while(|alike| pairs(alike) == pairs(first))
            .count();
        let (runs, others) = rest.split_at(n);
        for side in [0, 1] {
            report(seen, findings, runs, side, &told.comparisons);
        }
        rest = others;
    }
}

fn report(
    seen: &CohortSeen,
    findings: &mut PlacedFindings,
    runs: &[TwoAlike],
    side: usize,
    comparisons: &str,
) {
    let Some(first) = runs.first() else { return };
    let views = first.views();
    let Some((own, other)) = views.get(side) else {
        return;
    };
    let all = |which: fn(&TwoAlike, usize) -> &Side| -> Vec<Place> {
        runs.iter()
            .flat_map(|alike| which(alike, side).places.clone())
            .collect()
    };
    let mut places = all(|alike, side| alike.views()[side].0);
    places.extend(all(|alike, side| alike.views()[side].1));
    let more = match runs.len() {
        1 => String::new(),
        2 => " A further run is equal too.".to_owned(),
        n => format!(" {} further runs are equal too.", n - 1),
    };
    let n = first.n;
    findings.add(
        Some(&own.pair),
        CHECK
            .finding(
                format!(
                    "{n} trials in a row of {} ({}) are equal to {} of {}.{more} Over the {comparisons} comparisons of this cohort chance would give {} runs like it ({}).",
                    own.of,
                    own.scores,
                    other.of,
                    other.pair,
                    chance(first.expected),
                    in_force(seen.thresholds, "copied")
                ),
                format!("{n} of your scores in a row ({}) are the same as another pair's, more than chance gives. {GOOD_REASON}", own.of),
            )
            .at(places, format!("{}: {}", other.pair, own.scores)),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::cohort::testing::Cohort;

    #[test]
    fn a_copied_block_of_distances_is_found_for_both_pairs() {
        let mut cohort = Cohort::of_distances(40);
        assert_eq!(cohort.found(&CHECK), Vec::new());
        cohort.copy(3, 17, 0..10);
        let found = cohort.found(&CHECK);
        let pairs: Vec<_> = found
            .iter()
            .map(|placed| placed.pair.as_deref().unwrap())
            .collect();
        assert_eq!(pairs, ["P03", "P17"]);
        assert!(
            found[0].finding.message.contains("of P17"),
            "{}",
            found[0].finding.message
        );
        assert!(
            found[0]
                .finding
                .message
                .starts_with("10 trials in a row of the pre-test")
        );
        let files: Vec<&str> = found[0]
            .finding
            .places
            .iter()
            .map(|place| &*place.file)
            .collect();
        assert_eq!(files[0], "P03.xlsx");
        assert_eq!(files[10], "P17.xlsx");
        assert!(
            !found[0].finding.comment.contains("P17"),
            "a pair is not told whose"
        );
    }

    #[test]
    fn ratings_need_a_longer_run_and_the_top_of_a_scale_is_understood() {
        let mut cohort = Cohort::of_ratings(60);
        cohort.copy(3, 17, 0..8);
        assert_eq!(cohort.found(&CHECK), Vec::new(), "eight ratings are chance");
        cohort.copy(5, 21, 10..50);
        assert_eq!(cohort.found(&CHECK).len(), 2, "forty are not");
        let mut top = Cohort::of_ratings(60);
        for pair in 0..30 {
            top.fill(pair, 60..90, 4.0);
        }
        assert_eq!(
            top.found(&CHECK),
            Vec::new(),
            "thirty fours in a row of many pairs"
        );
    }

    #[test]
    fn a_copy_in_another_place_is_found_too() {
        let mut cohort = Cohort::of_distances(40);
        cohort.copy_to(3, 20..32, 17, 50);
        assert_eq!(cohort.found(&CHECK).len(), 2);
    }

    #[test]
    fn one_pair_alone_is_not_compared() {
        let findings = Cohort::of_distances(1).run(&CHECK);
        assert!(findings.found.is_empty());
        assert_eq!(findings.not_checked.len(), 1);
    }
}

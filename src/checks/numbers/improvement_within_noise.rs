//! An improvement is claimed that the trials can't tell from none.

use super::improvement::{Change, Claimed, from_to, improvements};
use crate::checks::wording::{in_force, percent};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::number::readable;

/// An improvement is claimed that the trials can't tell from none.
pub const CHECK: Check = Check {
    id: "numbers.improvement-within-noise",
    weight: Weight::Concern,
    title: "an improvement within the noise",
    explanation: Explanation {
        looks_at: "Claims of a change, percentage, effect size, nap or tau whose value is on the better side, against the Welch interval of the difference of means of the two blocks: whether it includes no change.",
        matters: "Trials scatter: a learner who has not changed shows a better or worse mean by chance. What lies within the scatter can't be called an improvement, nor shown to be none.",
        example: "From 2.4 to 2.7 on ten ratings each, with an interval from −0.4 to 1.0.",
        remedy: "Report the interval beside the change, and say that it includes none; more trials on several days would narrow it.",
        source: "Welch 1947, Biometrika 34:28–35",
    },
    thresholds: &["beyond_noise"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut any = false;
    for improvement in improvements(seen, Claimed::Changes) {
        let Some(change) = Change::of(seen, improvement.before, improvement.after) else {
            continue;
        };
        let Ok((low, high)) = change.interval else {
            continue;
        };
        any = true;
        // What went the wrong way is another check's.
        if low > 0.0 || change.better_by < 0.0 {
            continue;
        }
        let stated = improvement.stated(seen);
        let of = seen.of_measure(improvement.before.measure);
        let from_to = from_to(improvement.after);
        let level = percent(seen.thresholds.beyond_noise);
        let (by, low_text, high_text) = (readable(change.better_by), readable(low), readable(high));
        // Half the interval is the smallest difference that would have left no change outside.
        let could = readable((high - low) / 2.0);
        let (n_before, n_after) = (improvement.before.n(), improvement.after.n());
        let one_day = improvement.one_day();
        let mut finding = CHECK
            .finding(
                format!("An improvement{of} {from_to} is claimed ({stated}). The mean is better by {by}, with a {level} interval from {low_text} to {high_text}, which includes no change ({}); with {n_before} and {n_after} trials of this spread, about {could} could have been told from none.{one_day}", in_force(seen.thresholds, "beyond_noise")),
                format!("You report an improvement{of} {from_to} ({stated}). Your trials give {by} for the better, but the interval runs from {low_text} to {high_text}: no change is still possible. With {n_before} and {n_after} trials that scatter as yours do, only a change of about {could} or more would have stood out.{one_day} Report the interval, write that the data leave it open, and plan more trials on several days."),
            )
            .at(improvement.places(seen), stated);
        super::of_claim(seen, &mut finding, improvement.claims.first().copied());
        findings.add(finding);
    }
    if !any {
        findings.could_not(
            CHECK.id,
            "no claim speaks of an improvement whose interval can be computed",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::Score;
    use crate::phase::Phase;

    /// The pre-test 1 2 2 1 3 2 1 2 2 1, the post-test the same but for as many trials one point better.
    fn better_by(trials: u32) -> Sample {
        let mut sample = Sample::sound();
        let before = [1.0, 2.0, 2.0, 1.0, 3.0, 2.0, 1.0, 2.0, 2.0, 1.0];
        for (trial, score) in (1..).zip(before) {
            let score = if trial <= trials { score + 1.0 } else { score };
            for row in sample
                .trials(Phase::POST)
                .filter(|row| row.number == Some(trial))
            {
                row.score = Score::Number(score);
            }
        }
        sample.comparison("change", &format!("0.{trials}"), f64::from(trials) / 10.0);
        sample
    }

    /// SciPy 1.17: `scipy.stats.ttest_ind(post, pre, equal_var=False).confidence_interval()` for three trials better: from −0.4056 to 1.0056;
    /// for ten: 0.3658 to 1.6342.
    #[test]
    fn an_interval_that_includes_none_is_found_with_what_could_have_been_seen() {
        let finding = only(better_by(3).found(&CHECK));
        assert!(
            finding
                .message
                .contains("better by 0.3, with a 95 % interval from -0.406"),
            "{}",
            finding.message
        );
        assert!(
            finding.message.contains("about 0.706 could have been told"),
            "{}",
            finding.message
        );
        assert!(finding.message.contains("days differ too"));
        let mut all_better = better_by(3);
        for row in all_better
            .trials(Phase::POST)
            .filter(|row| row.number > Some(3))
        {
            let Score::Number(score) = row.score else {
                continue;
            };
            row.score = Score::Number(score + 1.0);
        }
        assert_eq!(all_better.found(&CHECK), Vec::new());
    }

    #[test]
    fn what_got_worse_is_left_to_the_other_check() {
        let mut sample = better_by(3);
        sample.logbook.measures[0].better = crate::logbook::model::Better::Lower;
        sample.logbook.claims[0].value = Some(crate::number::Stated::new(-0.3, 1));
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn without_such_a_claim_or_an_interval_it_is_not_checked() {
        not_checked(&Sample::sound().run(&CHECK));
        let mut sample = better_by(3);
        for trial in sample.trials(Phase::POST) {
            if trial.number > Some(1) {
                trial.score = Score::Missing;
            }
        }
        not_checked(&sample.run(&CHECK));
    }
}

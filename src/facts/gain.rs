//! What later tests kept of the gain from pre- to post-test.

use std::borrow::Cow;

use super::catalogue::Entry;
use super::subject::{Subject, no_scores};
use super::value::Facts;
use super::writer::IntoReason;
use crate::phase::Phase;
use crate::stats::Undefined;
use crate::stats::change::lasting_gain;
use crate::stats::gain_interval::{of_difference, of_lasting_gain};

const INTERVAL: &str = "Fieller 1954, from the scatter of trials within the tests; days differ too";
const SOURCE: &str = "Schmidt & Lee 2019, percentage retention";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "retained",
        "%",
        "Gain from pre-test to retention test in percent of the gain from pre-test to post-test. Where nearest to a target is best, of mean distances from the target.",
        SOURCE,
    ),
    Entry::number(
        "transferred",
        "%",
        "Gain from pre-test to transfer test in percent of the gain from pre-test to post-test. Where nearest to a target is best, of mean distances from the target.",
        SOURCE,
    ),
    Entry::number(
        "retained_low",
        "%",
        "Lower end of the interval of the share retained (95 % by default). Absent where the gain itself can't be told from chance.",
        INTERVAL,
    ),
    Entry::number(
        "retained_high",
        "%",
        "Upper end of the interval of the share retained.",
        INTERVAL,
    ),
    Entry::number(
        "transferred_low",
        "%",
        "Lower end of the interval of the share transferred (95 % by default). Absent where the gain itself can't be told from chance.",
        INTERVAL,
    ),
    Entry::number(
        "transferred_high",
        "%",
        "Upper end of the interval of the share transferred.",
        INTERVAL,
    ),
    Entry::number(
        "lost_in_transfer",
        "%",
        "The share retained less the share transferred: how much lower the transfer test lies than the retention test, in percent of the gain.",
        SOURCE,
    ),
    Entry::number(
        "lost_in_transfer_low",
        "%",
        "Lower end of the interval of that difference (95 % by default).",
        INTERVAL,
    ),
    Entry::number(
        "lost_in_transfer_high",
        "%",
        "Upper end of the interval of that difference.",
        INTERVAL,
    ),
];

/// Records what retention and transfer test kept of the gain.
pub(super) fn record(facts: &mut Facts, subject: &Subject<'_>) {
    let Some(mut writer) = subject.writer(facts, "gain") else {
        return;
    };
    let scores = |phase| subject.comparable(&subject.scores(phase));
    let (before, after) = (scores(Phase::PRE), scores(Phase::POST));
    for (fact, phase) in [
        ("retained", Phase::RETENTION),
        ("transferred", Phase::TRANSFER),
    ] {
        let later = scores(phase);
        let of_three = [Phase::PRE, Phase::POST, phase]
            .into_iter()
            .zip([&before, &after, &later])
            .find(|(_, scores)| scores.is_empty());
        writer.number(
            fact,
            match of_three {
                Some((missing, _)) => Err(no_scores(missing)),
                None => {
                    lasting_gain(&before, &after, &later).map_err(|undefined| match undefined {
                        Undefined::ZeroDenominator => {
                            Cow::Borrowed("there is no change from pre-test to post-test to keep")
                        }
                        other => other.into_reason(),
                    })
                }
            },
        );
        let bounds = of_lasting_gain(&before, &after, &later, subject.settings.confidence)
            .map_err(why_unbounded);
        let [low, high] = match phase {
            Phase::RETENTION => ["retained_low", "retained_high"],
            _ => ["transferred_low", "transferred_high"],
        };
        writer.number(low, bounds.clone().map(|bounds| bounds.low));
        writer.number(high, bounds.map(|bounds| bounds.high));
    }
    let (retention, transfer) = (scores(Phase::RETENTION), scores(Phase::TRANSFER));
    let shares = lasting_gain(&before, &after, &retention)
        .and_then(|kept| Ok(kept - lasting_gain(&before, &after, &transfer)?));
    writer.number("lost_in_transfer", shares.map_err(why_unbounded));
    let level = subject.settings.confidence;
    let bounds =
        of_difference(&before, &after, &retention, &transfer, level).map_err(why_unbounded);
    writer.number(
        "lost_in_transfer_low",
        bounds.clone().map(|bounds| bounds.low),
    );
    writer.number("lost_in_transfer_high", bounds.map(|bounds| bounds.high));
}

fn why_unbounded(undefined: Undefined) -> Cow<'static, str> {
    match undefined {
        Undefined::ZeroDenominator => {
            Cow::Borrowed("the gain from pre-test to post-test can't be told from chance")
        }
        other => other.into_reason(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::sample::{logbook, measure, test};
    use crate::facts::{FactSettings, Record, compute};
    use crate::logbook::model::{Measure, MeasureKind};
    use crate::phase::PhaseKind;

    fn facts_of(measure: Measure, post: &[f64], retention: &[f64]) -> Facts {
        let mut rows = test(PhaseKind::Pre, 1, "", &[2.0, 4.0]);
        rows.extend(test(PhaseKind::Post, 20, "", post));
        rows.extend(test(PhaseKind::Retention, 27, "", retention));
        let logbook = logbook(vec![measure], rows);
        let settings = FactSettings {
            simulate: false,
            ..FactSettings::default()
        };
        compute("P1", &logbook, &Record::new(&logbook), &settings)
    }

    #[test]
    fn a_share_of_the_gain_in_percent() {
        // Pre 3, post 7, retention 6: 3 of 4 points kept.
        let facts = facts_of(Measure::undescribed(), &[6.0, 8.0], &[6.0]);
        assert_eq!(facts.number("gain.retained"), Some(75.0));
        assert_eq!(
            facts.why_absent("gain.transferred"),
            Some("no transfer test is recorded")
        );
    }

    #[test]
    fn distances_count_where_nearest_to_the_target_is_best() {
        // Distances from 0: pre 3, post 1, retention 2.
        let signed = measure("timing", MeasureKind::SignedError);
        let facts = facts_of(signed, &[-1.0, 1.0], &[-2.0, 2.0]);
        assert_eq!(facts.number("gain.retained"), Some(50.0));
    }

    #[test]
    fn no_gain_has_no_share() {
        let facts = facts_of(Measure::undescribed(), &[3.0, 3.0], &[6.0]);
        assert_eq!(
            facts.why_absent("gain.retained"),
            Some("there is no change from pre-test to post-test to keep")
        );
    }
}

//! Who scored the trials, and how far two of them agree.

use std::collections::HashSet;
use std::sync::Arc;

use super::catalogue::Entry;
use super::record::{Block, ScoredTrial};
use super::subject::Subject;
use super::two_ratings::TwoRatings;
use super::value::{FactValue, Facts};

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "count",
        "raters",
        "Raters named in the test trials that count.",
        "the logbook's Trials table",
    ),
    Entry::number(
        "share",
        "share",
        "Share of the scored test trials, 0 to 1, that have a second rating.",
        "the logbook's Trials table",
    ),
    Entry::number(
        "rated_twice",
        "trials",
        "Test trials that the first two raters both scored.",
        "the logbook's Trials table",
    ),
    Entry::number(
        "agreement",
        "%",
        "Share of trials, 0 to 100, to which both raters gave the same score: of all tests together, the first two raters by order of appearance.",
        "common practice",
    ),
    Entry::number(
        "kappa",
        "",
        "Cohen's kappa of the first two raters over the test trials that both scored; categories are the scores seen.",
        "Cohen 1960",
    ),
    Entry::number(
        "weighted_kappa",
        "",
        "Kappa weighted by the squared difference of the two scores, over the same trials.",
        "Cohen 1968",
    ),
    Entry::number(
        "icc",
        "",
        "Intraclass correlation over the same trials: two-way random, single rater, absolute agreement.",
        "Shrout & Fleiss 1979, ICC(2,1)",
    ),
];

/// Records who scored the test trials and how far two of them agree.
pub(super) fn record(facts: &mut Facts, subject: &Subject<'_>) {
    let Some(mut writer) = subject.writer(facts, "raters") else {
        return;
    };
    let scored: Vec<&ScoredTrial> = subject
        .tests()
        .flat_map(Block::trials)
        .filter(|trial| trial.score.is_some())
        .collect();
    if scored.is_empty() {
        writer.nothing_else("no test has a score that counts");
        return;
    }
    let rated_again = scored.iter().filter(|trial| trial.ratings.len() > 1);
    let named: HashSet<&str> = scored
        .iter()
        .flat_map(|trial| &trial.ratings)
        .filter_map(|rating| rating.rater.as_deref())
        .collect();
    // Beside a named rater of the same trial, one without a name is another person.
    let unnamed = rated_again
        .clone()
        .any(|trial| trial.ratings.iter().any(|rating| rating.rater.is_none()));
    let count = named.len() + usize::from(unnamed);
    if count == 0 {
        writer.absent("count", "test trials name no rater");
    } else {
        writer.count("count", count);
    }
    writer.value(
        "share",
        FactValue::Number(rated_again.count() as f64 / scored.len() as f64),
    );
    let both = of_both(&scored);
    writer.count("rated_twice", both.n());
    if both.n() == 0 {
        writer.nothing_else("no test trial was scored by two raters");
        return;
    }
    both.record_agreement(&mut writer);
    writer.number("icc", both.icc());
}

/// The ratings of the first two raters, of the trials that both scored.
fn of_both(trials: &[&ScoredTrial]) -> TwoRatings {
    type Ratings = Vec<(Option<Arc<str>>, f64, usize)>;
    let things: Vec<Ratings> = trials
        .iter()
        .map(|trial| {
            let ratings = trial.ratings.iter();
            ratings
                .map(|rating| (rating.rater.clone(), rating.score, rating.row))
                .collect()
        })
        .collect();
    TwoRatings::of_first_two(things.iter().map(Vec::as_slice))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::sample::{Row, logbook};
    use crate::facts::{FactSettings, Record, compute};
    use crate::logbook::model::Measure;
    use crate::number::close;

    fn facts_of(rows: Vec<Row>) -> Facts {
        let logbook = logbook(vec![Measure::undescribed()], rows);
        let record = Record::new(&logbook);
        compute("P1", &logbook, &record, &FactSettings::default())
    }

    #[test]
    fn two_raters_of_the_same_trials() {
        let first = [1.0, 2.0, 3.0, 4.0, 2.0, 3.0, 3.0, 1.0, 4.0, 2.0];
        let second = [1.0, 2.0, 3.0, 3.0, 2.0, 4.0, 3.0, 2.0, 4.0, 2.0];
        let mut rows = Vec::new();
        for (number, (one, other)) in (1..).zip(first.iter().zip(second)) {
            rows.push(Row::pre(number, *one).by("A"));
            rows.push(Row::pre(number, other).by("B"));
        }
        rows.push(Row::pre(11, 4.0).by("A"));
        rows.push(Row::pre(11, 1.0).by("C"));
        rows.push(Row::pre(12, 4.0).by("A"));
        rows.push(Row::practice(1, 1, 4.0).by("D"));
        let facts = facts_of(rows);
        assert_eq!(facts.number("raters.count"), Some(3.0));
        assert_eq!(facts.number("raters.share"), Some(11.0 / 12.0));
        assert_eq!(facts.number("raters.rated_twice"), Some(10.0));
        assert_eq!(facts.number("raters.agreement"), Some(70.0));
        // statsmodels 0.15: inter_rater.cohens_kappa, plain and quadratic; ICC(2,1) by the mean squares of Shrout & Fleiss 1979 in NumPy 2.
        let expected = [
            ("raters.kappa", 0.589_041_095_890_410_9),
            ("raters.weighted_kappa", 0.842_105_263_157_894_7),
            ("raters.icc", 0.855_614_973_262_032),
        ];
        for (fact, expected) in expected {
            let number = facts.number(fact);
            assert!(
                number.is_some_and(|n| close(n, expected)),
                "{fact}: {number:?}"
            );
        }
    }

    #[test]
    fn one_rater_agrees_with_nobody() {
        let facts = facts_of(vec![Row::pre(1, 1.0).by("A"), Row::pre(2, 2.0).by("A")]);
        assert_eq!(facts.number("raters.count"), Some(1.0));
        assert_eq!(facts.number("raters.share"), Some(0.0));
        assert_eq!(
            facts.why_absent("raters.kappa"),
            Some("no test trial was scored by two raters")
        );
        let facts = facts_of(vec![Row::pre(1, 1.0)]);
        assert_eq!(facts.number("raters.count"), None);
    }
}

//! All facts of one pair.

use super::calendar::Calendar;
use super::record::Record;
use super::settings::FactSettings;
use super::subject::Subject;
use super::value::{Facts, UNREAD};
use super::{
    about, catalogue, change, curve, estimate, gain, practice, programme, raters, technique,
    test_block, testing,
};
use crate::logbook::model::Logbook;

/// Measures that have facts. Nobody records more; a hostile file could claim as many as it has rows.
const MOST_MEASURES: usize = 40;

/// All facts of a pair that its own logbook gives: of the primary measure by their bare names, of the others through
/// `measure["name"].`. Facts of claims, stages, theories and findings are added by later steps.
///
/// The same pair, logbook and settings give the same facts: every random stream is keyed by seed, pair, measure and fact.
pub fn compute(pair: &str, logbook: &Logbook, record: &Record, settings: &FactSettings) -> Facts {
    let mut facts = logbook
        .measures
        .first()
        .map_or_else(Facts::default, |primary| {
            Facts::of_primary(primary.name.clone())
        });
    let calendar = Calendar::new(logbook, record);
    about::record(&mut facts, logbook);
    programme::record(&mut facts, logbook, &calendar);
    technique::record(&mut facts, logbook);
    if record.unread {
        leave_trials_open(&mut facts, &calendar);
        return facts;
    }
    if record.partly_unread {
        facts.leave_partly_open();
        leave_practice_open(&mut facts, &calendar);
    }
    let measures = logbook.measures.iter().zip(&record.measures);
    for (index, (measure, blocks)) in measures.take(MOST_MEASURES).enumerate() {
        let subject = Subject {
            pair,
            logbook,
            record,
            measure,
            blocks,
            is_primary: index == 0,
            calendar: &calendar,
            settings,
        };
        test_block::record(&mut facts, &subject);
        practice::record(&mut facts, &subject);
        testing::record(&mut facts, &subject);
        change::record(&mut facts, &subject);
        gain::record(&mut facts, &subject);
        curve::record(&mut facts, &subject);
        raters::record(&mut facts, &subject);
        estimate::record(&mut facts, &subject);
    }
    facts
}

/// Nothing is known of the trials: that is no fact about them. Practice is known where the Sessions table tells it.
fn leave_trials_open(facts: &mut Facts, calendar: &Calendar) {
    for namespace in catalogue::NAMESPACES {
        if namespace.scope == catalogue::Scope::Measure {
            facts.leave_out_namespace(namespace.name, UNREAD);
        }
    }
    leave_practice_open(facts, calendar);
}

/// How much practice there was is not known where neither the Sessions table nor a trial tells.
fn leave_practice_open(facts: &mut Facts, calendar: &Calendar) {
    if calendar.practice.is_empty() {
        facts.leave_out("programme.sessions", UNREAD);
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;
    use crate::facts::sample::{self, Row, logbook, measure, practice, programme};
    use crate::facts::{FactValue, catalogue};
    use crate::logbook::model::{Measure, MeasureKind};
    use crate::number::close;

    fn facts_of(logbook: &Logbook) -> Facts {
        compute(
            "P1",
            logbook,
            &Record::new(logbook),
            &FactSettings::default(),
        )
    }

    fn assert_numbers(facts: &Facts, expected: &[(&str, f64)]) {
        for (name, expected) in expected {
            let number = facts.number(name);
            assert!(
                number.is_some_and(|number| close(number, *expected)),
                "{name}: {number:?} for {expected}, {:?}",
                facts.why_absent(name)
            );
        }
    }

    /// Landing points, with a signed error beside them.
    fn landings() -> Logbook {
        let timing = Measure {
            target: Some(0.0),
            ..measure("timing", MeasureKind::SignedError)
        };
        let distance = measure("distance", MeasureKind::Error);
        let rows = [(3.0, 4.0), (-6.0, 8.0), (1.0, -1.0)];
        let rows = (1..).zip(rows).flat_map(|(number, (x, y))| {
            let landed = Row::pre(number, f64::hypot(x, y)).landing(x, y);
            [landed, Row::pre(number, x).of(1)]
        });
        logbook(vec![distance, timing], rows.collect())
    }

    #[test]
    fn every_fact_is_in_the_registry_and_every_one_there_is_computed() {
        // Two raters who differ, so that their agreement is defined.
        let mut rated = programme();
        if let Some(trial) = rated
            .trials
            .iter_mut()
            .find(|t| t.rater.as_deref() == Some("B"))
        {
            trial.score = crate::logbook::model::Score::Number(1.0);
        }
        let mut computed = HashSet::new();
        for logbook in [programme(), rated, landings()] {
            let facts = facts_of(&logbook);
            for (name, value) in facts.iter() {
                assert_eq!(catalogue::kind_of(name), Some(value.kind()), "{name}");
                let bare = catalogue::split_measure(name).map_or(name, |(_, bare)| bare);
                computed.insert(bare.to_owned());
            }
            for (name, _) in facts.absent() {
                let bare = catalogue::split_measure(name).map_or(name, |(_, bare)| bare);
                let known =
                    catalogue::kind_of(name).is_some() || catalogue::find_namespace(bare).is_some();
                assert!(known, "{name}");
            }
        }
        let later = ["claims", "stage", "theory", "thresholds"];
        let missing: Vec<_> = catalogue::all()
            .filter(|(_, namespace, _)| !later.contains(&namespace.name))
            .map(|(name, ..)| name)
            // A number of landing points is the same whichever test they belong to.
            .filter(|name| !computed.contains(*name))
            .filter(|name| {
                let (namespace, fact) = name.rsplit_once('.').unwrap_or_default();
                let of_any_test = format!("pre.{fact}");
                !(["mid", "post", "retention", "transfer"].contains(&namespace)
                    && computed.contains(&of_any_test))
            })
            .filter(|name| *name != "pre.days_after")
            .collect();
        assert_eq!(missing, Vec::<&str>::new());
    }

    #[test]
    fn a_whole_programme_by_another_computation() {
        let facts = facts_of(&programme());
        // NumPy 2.4 and SciPy 1.17 on the scores in `sample`: numpy.mean, std(ddof=1), median; stats.ttest_ind(equal_var=False) with its
        // confidence_interval; J by special.gamma; nap and the permutation p by counting all pairs and all arrangements.
        assert_numbers(
            &facts,
            &[
                ("pre.mean", 1.9),
                ("pre.sd", 0.737_864_787_372_621_8),
                ("pre.median", 2.0),
                ("pre.level", 0.3),
                ("post.success_rate", 80.0),
                ("post.days_after", 1.0),
                ("retention.days_after", 8.0),
                ("mid.days_after", 0.0),
                ("practice.n", 48.0),
                ("practice.mean", 2.354_166_666_666_666_5),
                ("practice.sd", 0.887_012_277_334_335_5),
                ("change.post.difference", 1.1),
                ("change.post.percent", 57.894_736_842_105_274),
                ("change.post.d", 1.564_350_028_361_925_2),
                ("change.post.g", 1.498_094_215_275_249_7),
                ("change.post.nap", 0.85),
                ("change.post.low", 0.438_846_771_807_486_55),
                ("change.post.high", 1.761_153_228_192_513_5),
                ("change.post.p", 0.007_393_535_257_312_347),
                ("change.retention.g", 1.254_222_223_606_845_7),
                ("change.retention.p", 0.021_899_153_478_100_848),
                ("change.transfer.low", -0.346_735_710_504_116_1),
                ("change.transfer.p", 0.518_218_623_481_781_4),
                ("gain.retained", 81.818_181_818_181_8),
                ("gain.transferred", 27.272_727_272_727_295),
            ],
        );
        assert_eq!(facts.truth("change.post.beyond_noise"), Some(true));
        assert_eq!(facts.truth("change.transfer.beyond_noise"), Some(false));
        assert_eq!(facts.truth("change.transfer.better"), Some(true));
        assert_eq!(facts.truth("change.post.one_day"), Some(true));
        // SciPy 1.17: stats.bootstrap(method="BCa", n_resamples=200000) gives 0.5 or 0.6 to 1.7, by the seed; these means move by tenths.
        let bootstrapped = |fact: &str| facts.number(fact).unwrap_or(f64::NAN);
        assert!((0.49..0.61).contains(&bootstrapped("change.post.boot_low")));
        assert!((1.59..1.81).contains(&bootstrapped("change.post.boot_high")));
        for chance in [
            "curve.dip_p",
            "curve.rise_p",
            "curve.sudden_p",
            "curve.variability_p",
        ] {
            assert!(
                (1.0 / 2_001.0..=1.0).contains(&bootstrapped(chance)),
                "{chance}"
            );
        }
        assert_eq!(facts.text("transfer.condition"), Some("5 m"));
        assert_eq!(facts.number("pre.days_after"), None);
    }

    #[test]
    fn a_practice_curve_by_another_computation() {
        let facts = facts_of(&programme());
        // SciPy 1.17: stats.kendalltau (exact p), stats.linregress; NumPy 2.4 for the rest.
        assert_numbers(
            &facts,
            &[
                ("curve.sessions", 8.0),
                ("curve.tau", 0.857_142_857_142_857_1),
                ("curve.tau_p", 0.001_736_111_111_111_111_2),
                ("curve.slope", 0.271_825_396_825_396_8),
                ("curve.lag1", 0.504_178_605_539_637),
                ("curve.sd_early", 0.553_243_412_131_871_7),
                ("curve.sd_late", 0.663_599_654_236_539_9),
                ("curve.gain_early", 0.283_333_333_333_333_3),
                ("curve.gain_late", 0.466_666_666_666_666_8),
                ("curve.dip", 0.5),
                ("curve.dip_session", 5.0),
                ("curve.rise", 7.0 / 6.0),
                ("curve.rise_session", 6.0),
            ],
        );
    }

    #[test]
    fn other_measures_have_their_own_names_and_the_primary_one_both() {
        let facts = facts_of(&landings());
        assert_eq!(
            facts.number("pre.mre"),
            facts.number("measure[\"distance\"].pre.mre")
        );
        assert_eq!(facts.number("measure[\"timing\"].pre.ce"), Some(-2.0 / 3.0));
        assert_eq!(facts.number("pre.ce"), None);
        assert_eq!(
            facts.why_absent("measure[\"timing\"].retention.mean"),
            Some("no retention test is recorded")
        );
    }

    #[test]
    fn a_second_retention_test_has_a_number() {
        let mut logbook = programme();
        let second = crate::phase::Phase {
            kind: crate::phase::PhaseKind::Retention,
            number: 2,
        };
        let rows = sample::RETENTION.iter().zip(1..);
        logbook
            .trials
            .extend(rows.map(|(score, number)| Row::new(second, None, number, *score).0));
        let facts = facts_of(&logbook);
        assert_eq!(
            facts.number("retention_2.mean"),
            facts.number("retention.mean")
        );
        assert_eq!(
            facts.number("change.retention_2.difference"),
            facts.number("change.retention.difference")
        );
    }

    #[test]
    fn the_same_pair_gives_the_same_facts_and_another_seed_others() {
        let logbook = programme();
        let all = |seed| {
            let settings = FactSettings {
                seed,
                ..FactSettings::default()
            };
            let facts = compute("P1", &logbook, &Record::new(&logbook), &settings);
            facts
                .iter()
                .map(|(name, value)| (name.to_owned(), value.clone()))
                .collect::<Vec<(String, FactValue)>>()
        };
        assert_eq!(all(1), all(1));
        assert!(all(1) != all(2));
    }

    #[test]
    fn an_empty_logbook_has_reasons_and_no_numbers_of_trials() {
        let facts = facts_of(&logbook(vec![Measure::undescribed()], Vec::new()));
        assert!(
            facts
                .iter()
                .all(|(_, value)| *value == FactValue::Number(0.0))
        );
        assert_eq!(
            facts.why_absent("change.post.g"),
            Some("no pre-test is recorded")
        );
        assert_eq!(
            facts.why_absent("curve.rise_p"),
            Some("no practice trial has a score that counts")
        );
    }

    #[test]
    fn five_sessions_are_too_few_for_a_shape() {
        let rows = (1..=5).flat_map(|session| practice(session, 2, &[f64::from(session), 2.0]));
        let facts = facts_of(&logbook(vec![Measure::undescribed()], rows.collect()));
        for fact in [
            "curve.shape",
            "curve.dip",
            "curve.rise_p",
            "curve.gain_late",
        ] {
            assert_eq!(
                facts.why_absent(fact),
                Some("needs six practice sessions"),
                "{fact}"
            );
        }
    }

    #[test]
    fn a_hostile_logbook_takes_time_in_proportion_to_its_rows() {
        // Thousands of measures, of retention tests and of conditions: more than squares of them could be worked through here.
        let measures = (0..5_000).map(|n| measure(&n.to_string(), MeasureKind::Quantity));
        let retention = (1..5_000).map(|number| {
            let phase = crate::phase::Phase {
                kind: crate::phase::PhaseKind::Retention,
                number,
            };
            Row::new(phase, None, 1, 1.0)
        });
        let practice = (1..5_000).map(|n| Row::practice(n, 1, 1.0).under(&n.to_string()));
        let elsewhere = (0..5_000).map(|n| Row::pre(1, 1.0).of(n));
        let rows = retention.chain(practice).chain(elsewhere).collect();
        let logbook = logbook(measures.collect(), rows);
        let record = Record::new(&logbook);
        let settings = FactSettings {
            simulate: false,
            ..FactSettings::default()
        };
        let started = std::time::Instant::now();
        let facts = compute("P1", &logbook, &record, &settings);
        assert!(started.elapsed().as_secs() < 30);
        assert_eq!(facts.number("practice.conditions"), Some(4_999.0));
        assert!(facts.iter().count() < 10_000);
    }
}

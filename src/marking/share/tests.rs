use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;

fn rules(markers: &[&str]) -> ShareRules {
    ShareRules {
        markers: markers.iter().map(ToString::to_string).collect(),
        sample: 6,
        all_twice: false,
        pass: Some(40.0),
        levels: vec![70.0, 60.0, 50.0, 40.0, 0.0],
        top_by_chance: false,
        near: 1.0,
        common: 0,
        seed: 7,
    }
}

fn cohort(totals: &[f64]) -> Vec<ToShare> {
    (1..)
        .zip(totals)
        .map(|(number, evidence)| ToShare {
            pair: format!("P{number:02}"),
            work: 10.0 + evidence / 10.0,
            evidence: Some(*evidence),
            ..ToShare::default()
        })
        .collect()
}

fn reason(sharing: &Sharing, pair: &str) -> Option<String> {
    let one = sharing.pairs.iter().find(|one| one.pair == pair)?;
    one.drawn.clone()
}

#[test]
fn strata_come_before_chance() {
    let totals = [30.0, 45.0, 55.5, 75.0, 59.5, 54.0, 46.0, 53.0, 66.0, 65.0];
    let sharing = share(&cohort(&totals), &rules(&["Ann", "Ben"])).unwrap();
    assert_eq!(
        reason(&sharing, "P01").as_deref(),
        Some("evidence under the pass mark")
    );
    assert_eq!(
        reason(&sharing, "P04").as_deref(),
        Some("evidence at the top level")
    );
    assert_eq!(
        reason(&sharing, "P05").as_deref(),
        Some("evidence near a boundary")
    );
    let sampled = sharing.pairs.iter().filter(|one| one.second.is_some());
    assert_eq!(sampled.count(), 6);
}

#[test]
fn a_cohort_at_the_top_is_drawn_by_chance_where_the_course_says_so() {
    let pairs = cohort(&[75.0; 40]);
    let mut rules = rules(&["Ann", "Ben"]);
    let all = share(&pairs, &rules).unwrap();
    assert!(all.pairs.iter().all(|one| one.second.is_some()));
    assert!(
        all.remarks[0].contains("40 of 40 pairs"),
        "{:?}",
        all.remarks
    );
    rules.top_by_chance = true;
    let some = share(&pairs, &rules).unwrap();
    assert_eq!(
        some.pairs.iter().filter(|one| one.second.is_some()).count(),
        6
    );
    assert!(some.remarks.is_empty());
}

#[test]
fn the_rosters_own_markers_stay_and_a_named_conflict_is_refused() {
    let mut pairs = cohort(&[45.0; 9]);
    for pair in &mut pairs[..5] {
        pair.named = Some(String::from("Ann"));
    }
    let sharing = share(&pairs, &rules(&["Ann", "Ben"])).unwrap();
    assert!(sharing.pairs[..5].iter().all(|one| one.first == "Ann"));
    assert!(sharing.pairs[5..].iter().all(|one| one.first == "Ben"));
    pairs[0].conflicts = vec![String::from("Ann")];
    assert!(matches!(
        share(&pairs, &rules(&["Ann", "Ben"])),
        Err(CannotShare::NamedInConflict { .. })
    ));
    assert_eq!(share(&pairs, &rules(&[])), Err(CannotShare::NoMarkers));
}

#[test]
fn one_marker_alone_has_no_second() {
    let sharing = share(&cohort(&[45.0; 4]), &rules(&["Ann"])).unwrap();
    assert!(sharing.pairs.iter().all(|one| one.second.is_none()));
    assert_eq!(sharing.remarks.len(), 1, "{:?}", sharing.remarks);
}

#[test]
fn common_pairs_spread_over_the_evidence() {
    let totals: Vec<f64> = (0..20).map(|n| 41.5 + f64::from(n)).collect();
    let mut rules = rules(&["Ann", "Ben", "Cara"]);
    rules.common = 4;
    let sharing = share(&cohort(&totals), &rules).unwrap();
    let common: Vec<&str> = sharing
        .pairs
        .iter()
        .filter(|one| one.drawn.as_deref() == Some(COMMON))
        .map(|one| one.pair.as_str())
        .collect();
    assert_eq!(common, ["P03", "P08", "P13", "P18"]);
}

fn any_cohort() -> impl Strategy<Value = (Vec<ToShare>, ShareRules)> {
    let pair = (
        0.0..100.0_f64,
        1.0..30.0_f64,
        proptest::option::weighted(0.2, 0_usize..4),
    );
    (
        proptest::collection::vec(pair, 1..40),
        2_usize..5,
        0_usize..12,
        any::<u64>(),
        0_usize..3,
    )
        .prop_map(|(drawn, markers, sample, seed, common)| {
            let names = ["Ann", "Ben", "Cara", "Dan"];
            let pairs = (1..)
                .zip(drawn)
                .map(|(number, (evidence, work, conflict))| ToShare {
                    pair: format!("P{number:02}"),
                    work,
                    evidence: Some(evidence),
                    conflicts: conflict
                        .and_then(|index| names.get(index))
                        .map(ToString::to_string)
                        .into_iter()
                        .collect(),
                    ..ToShare::default()
                })
                .collect();
            let mut rules = rules(&names[..markers]);
            rules.sample = sample;
            rules.seed = seed;
            rules.common = common;
            (pairs, rules)
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn nobody_marks_a_conflict_or_a_pair_twice((pairs, rules) in any_cohort()) {
        let sharing = share(&pairs, &rules).unwrap();
        prop_assert_eq!(sharing.pairs.len(), pairs.len());
        for (one, pair) in sharing.pairs.iter().zip(&pairs) {
            prop_assert!(pair.may(&one.first));
            prop_assert!(rules.markers.contains(&one.first));
            if let Some(second) = &one.second {
                prop_assert!(pair.may(second) && *second != one.first);
            }
            prop_assert_eq!(one.second.is_some(), one.drawn.is_some());
        }
    }

    #[test]
    fn work_is_balanced_to_within_one_pair((mut pairs, rules) in any_cohort()) {
        for pair in &mut pairs {
            pair.conflicts.clear();
        }
        let sharing = share(&pairs, &rules).unwrap();
        let mut loads: BTreeMap<&str, f64> = rules.markers.iter().map(|m| (m.as_str(), 0.0)).collect();
        for (one, pair) in sharing.pairs.iter().zip(&pairs) {
            *loads.get_mut(one.first.as_str()).unwrap() += pair.work;
        }
        let heaviest = pairs.iter().map(|pair| pair.work).fold(0.0, f64::max);
        let most = loads.values().copied().fold(0.0, f64::max);
        let least = loads.values().copied().fold(f64::INFINITY, f64::min);
        prop_assert!(most - least <= heaviest + 1e-9, "{loads:?}");
    }

    #[test]
    fn the_sample_meets_its_rule_and_links_all((mut pairs, rules) in any_cohort()) {
        for pair in &mut pairs {
            pair.conflicts.clear();
        }
        let sharing = share(&pairs, &rules).unwrap();
        let sampled = sharing.pairs.iter().filter(|one| one.second.is_some()).count();
        prop_assert!(sampled >= rules.sample.min(pairs.len()));
        // Every pair that the strata name is there.
        for (one, pair) in sharing.pairs.iter().zip(&pairs) {
            prop_assert!(pair.evidence.unwrap() >= 40.0 || one.second.is_some());
        }
        let mut links = linked::Links::none(rules.markers.iter());
        for one in &sharing.pairs {
            if let Some(second) = &one.second {
                links.link(&one.first, second);
            }
            if one.drawn.as_deref() == Some(COMMON) {
                for marker in &rules.markers {
                    links.link(&one.first, marker);
                }
            }
        }
        prop_assert!(links.all() || !sharing.remarks.is_empty());
    }

    #[test]
    fn a_second_run_moves_nothing((pairs, rules) in any_cohort()) {
        let first = share(&pairs, &rules).unwrap();
        let again: Vec<ToShare> = pairs
            .iter()
            .zip(&first.pairs)
            .map(|(pair, one)| ToShare {
                first: Some(one.first.clone()),
                second: one.second.clone(),
                drawn: one.drawn.clone(),
                first_began: true,
                second_began: one.second.is_some(),
                ..pair.clone()
            })
            .collect();
        let second = share(&again, &ShareRules { seed: rules.seed.wrapping_add(1), ..rules }).unwrap();
        for (before, after) in first.pairs.iter().zip(&second.pairs) {
            prop_assert_eq!(&before.first, &after.first);
            if before.second.is_some() {
                prop_assert_eq!(before, after);
            }
        }
    }
}

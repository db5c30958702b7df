//! The checks: each looks at what was read and computed, and says what it found. They are pure: no files, no printing, no marks.
//!
//! A check is one file in its family's folder: what it is called, what it looks at and why, the thresholds it uses, what it says, and its
//! tests. To add one, write such a file and give it a line in [`ALL`].

pub mod check;
mod concerned;
pub mod finding;
pub mod policy;
pub mod runner;
pub mod seen;
pub(crate) mod wording;

pub mod cohort;
pub mod data;
pub mod marks;
pub mod numbers;
pub mod programme;
pub mod stage;
pub mod testing;
pub mod theory;

#[cfg(test)]
mod sample;

pub use check::{Check, Explanation, Placed, PlacedFindings, Run};
pub use cohort::PairTrace;
pub use finding::{Concerned, Finding, Findings, NotChecked, Weight};
pub use marks::MarksSeen;
pub use policy::{Policy, Setting};
pub use runner::{rank, run_all, run_cohort, run_marks};
pub use seen::{CohortSeen, HandInNote, Seen, TableName};

/// Every check, in the order of the legend: findings are listed in it.
pub const ALL: &[&Check] = &[
    &data::unreadable_file::CHECK,
    &data::missing_submission::CHECK,
    &data::unmatched_submission::CHECK,
    &data::duplicate_submission::CHECK,
    &data::missing_table::CHECK,
    &data::unrecognised_column::CHECK,
    &data::ambiguous_column::CHECK,
    &data::not_a_number::CHECK,
    &data::unreadable_date::CHECK,
    &data::ambiguous_value::CHECK,
    &data::out_of_scale::CHECK,
    &data::off_step::CHECK,
    &data::duplicate_trial::CHECK,
    &data::missing_trial::CHECK,
    &data::date_order::CHECK,
    &data::hidden_data::CHECK,
    &data::formula_error::CHECK,
    &data::formula_range::CHECK,
    &testing::no_pre_test::CHECK,
    &testing::no_post_test::CHECK,
    &testing::no_retention_test::CHECK,
    &testing::no_transfer_test::CHECK,
    &testing::few_trials::CHECK,
    &testing::unequal_trials::CHECK,
    &testing::conditions_changed::CHECK,
    &testing::retention_too_soon::CHECK,
    &testing::transfer_not_novel::CHECK,
    &testing::feedback_in_test::CHECK,
    &testing::one_rater::CHECK,
    &testing::raters_disagree::CHECK,
    &testing::ceiling::CHECK,
    &testing::floor::CHECK,
    &testing::no_technique_record::CHECK,
    &testing::no_outcome_record::CHECK,
    &programme::too_short::CHECK,
    &programme::few_sessions::CHECK,
    &programme::long_gap::CHECK,
    &programme::no_practice_record::CHECK,
    &programme::feedback_not_recorded::CHECK,
    &programme::schedule_not_recorded::CHECK,
    &programme::safety_not_recorded::CHECK,
    &numbers::differs::CHECK,
    &numbers::impossible::CHECK,
    &numbers::inconsistent::CHECK,
    &numbers::not_recomputable::CHECK,
    &numbers::improvement_reversed::CHECK,
    &numbers::improvement_within_noise::CHECK,
    &numbers::learning_without_retention::CHECK,
    &numbers::unsuited_test::CHECK,
    &numbers::spurious_precision::CHECK,
    &stage::not_diagnosed::CHECK,
    &stage::unknown::CHECK,
    &stage::start_not_supported::CHECK,
    &stage::end_not_supported::CHECK,
    &stage::went_backwards::CHECK,
    &stage::no_evidence::CHECK,
    &theory::not_named::CHECK,
    &theory::unknown::CHECK,
    &theory::not_testable::CHECK,
    &theory::contradicted::CHECK,
    &theory::weak::CHECK,
    &cohort::shared_trials::CHECK,
    &cohort::near_copy::CHECK,
    &cohort::too_regular::CHECK,
    &cohort::unusual_gain::CHECK,
    &marks::missing::CHECK,
    &marks::out_of_range::CHECK,
    &marks::far_from_evidence::CHECK,
    &marks::near_boundary::CHECK,
    &marks::second_differs::CHECK,
    &marks::follow_gain::CHECK,
    &marks::marker_differs::CHECK,
];

/// The check with this id.
pub fn find(id: &str) -> Option<&'static Check> {
    ALL.iter().copied().find(|check| check.id == id)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::thresholds;

    #[test]
    fn ids_are_stable() {
        let ids: Vec<String> = ALL
            .iter()
            .map(|check| format!("{} {}", check.id, check.weight))
            .collect();
        insta::assert_snapshot!(ids.join("\n"));
    }

    #[test]
    fn ids_are_unique_and_families_stand_together() {
        let ids: BTreeSet<&str> = ALL.iter().map(|check| check.id).collect();
        assert_eq!(ids.len(), ALL.len());
        let mut families: Vec<&str> = ALL.iter().map(|check| check.family()).collect();
        families.dedup();
        let distinct: BTreeSet<&str> = families.iter().copied().collect();
        assert_eq!(distinct.len(), families.len(), "{families:?}");
        for check in ALL {
            let name = check
                .id
                .split_once('.')
                .map(|(_, name)| name)
                .unwrap_or_default();
            assert!(!name.is_empty(), "{}", check.id);
            assert!(
                name.chars()
                    .all(|letter| letter.is_ascii_lowercase() || letter == '-'),
                "{}",
                check.id
            );
        }
    }

    #[test]
    fn every_section_of_an_explanation_is_there_and_in_whole_sentences() {
        for check in ALL {
            let explanation = &check.explanation;
            for section in [
                explanation.looks_at,
                explanation.matters,
                explanation.example,
                explanation.remedy,
            ] {
                assert!(section.len() > 20, "{}: {section}", check.id);
                assert!(section.ends_with('.'), "{}: {section}", check.id);
            }
            assert!(!explanation.source.is_empty(), "{}", check.id);
            assert!(
                !check.title.is_empty() && !check.title.ends_with('.'),
                "{}",
                check.id
            );
            let first = check.title.chars().next();
            assert!(
                first.is_some_and(char::is_lowercase),
                "{}: {}",
                check.id,
                check.title
            );
        }
    }

    #[test]
    fn thresholds_exist_and_say_which_check_uses_them() {
        for check in ALL {
            for key in check.thresholds {
                let definition = thresholds::definition(key);
                assert!(definition.is_some(), "{}: {key}", check.id);
            }
        }
    }

    #[test]
    fn a_check_is_found_by_its_id() {
        for check in ALL {
            assert_eq!(find(check.id).map(|found| found.title), Some(check.title));
        }
        assert!(find("testing.nothing").is_none());
    }
}

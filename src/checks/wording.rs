//! Words that the findings share, so that one thing is said in one way.

use crate::number::plain;
use crate::phase::Phase;
use crate::thresholds::Thresholds;

/// A threshold as a message states it: `few_trials = 10`; with the file, where the course set it: `few_trials = 8, set in rubric.toml`.
pub fn in_force(thresholds: &Thresholds, key: &str) -> String {
    let value = thresholds.get(key).map_or_else(String::new, plain);
    match thresholds.origin(key) {
        Some(origin) if origin.file != crate::thresholds::DEFAULTS_FILE => {
            format!("{key} = {value}, set in {}", origin.file)
        }
        _ => format!("{key} = {value}"),
    }
}

/// A phase in a sentence: `the post-test`, `practice`.
pub fn the_phase(phase: Phase) -> String {
    if phase.kind.is_test() {
        format!("the {}", phase.title())
    } else {
        phase.title()
    }
}

/// A share as whole percent, which is all that a sentence needs: `75 %`.
pub fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_told_in_whole_percent() {
        assert_eq!(percent(0.754), "75 %");
    }

    #[test]
    fn a_threshold_says_who_set_it() {
        assert_eq!(
            in_force(&Thresholds::default(), "few_trials"),
            "few_trials = 10"
        );
    }
}

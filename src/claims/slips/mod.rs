//! The slips: each a small change to a computation that gives another number.
//!
//! To add one: write its entry beside its family (or in a file of its own), list it in [`ALL`] where the reference has it, give it a
//! plausibility in `claims/plausibility.toml`, and test it against a value that another program computed (`claims/slip_tests.rs`).

mod bad_rows;
mod best;
mod blanks;
mod cells;
mod centre;
mod direction;
mod dropped;
mod effects;
mod errors;
mod gains;
mod included;
mod other;
mod percent;
mod raters;
mod rounding;
mod rows;
mod sessions;
mod significance;
mod slip;
mod spread;
mod typing;

pub mod codes;

pub use slip::Slip;
pub(in crate::claims) use slip::{Detail, Telling, Variant, Variations};

/// Every slip, in the order in which the reference lists them: where a convention and another slip give one number, this order decides.
pub static ALL: &[&Slip] = &[
    &percent::DIVIDED_BY_LATER,
    &percent::DIVIDED_BY_SCALE,
    &percent::POINTS_FOR_PERCENT,
    &percent::FRACTION_FOR_PERCENT,
    &percent::RATIO_FOR_CHANGE,
    &direction::SIGN_REVERSED,
    &direction::PHASES_SWAPPED,
    &direction::DIRECTION_IGNORED,
    &spread::POPULATION_SD,
    &spread::SAMPLE_SD,
    &spread::VARIANCE_FOR_SD,
    &spread::SD_FOR_VARIANCE,
    &spread::SE_FOR_SD,
    &spread::SD_FOR_SE,
    &centre::MEDIAN_FOR_MEAN,
    &centre::MEAN_FOR_MEDIAN,
    &centre::SUM_FOR_MEAN,
    &centre::MODE_FOR_MEAN,
    &best::BEST_TRIAL,
    &best::BEST_SESSION,
    &dropped::WORST_DROPPED,
    &dropped::BEST_AND_WORST_DROPPED,
    &dropped::OUTLIER_DROPPED,
    &rows::FIRST_ROW_MISSED,
    &rows::LAST_ROW_MISSED,
    &rows::ROWS_MISSED,
    &rows::FIRST_TRIALS_ONLY,
    &rows::LAST_TRIALS_ONLY,
    &included::PRACTICE_INCLUDED,
    &included::TESTS_INCLUDED,
    &included::FAMILIARISATION_INCLUDED,
    &sessions::AVERAGED_AVERAGES,
    &blanks::BLANKS_AS_ZERO,
    &blanks::ZEROS_AS_BLANK,
    &bad_rows::BAD_ROWS_KEPT,
    &bad_rows::BAD_ROWS_DROPPED,
    &raters::ONE_RATER_ONLY,
    &raters::RATERS_POOLED,
    &cells::EXTRA_CELL,
    &cells::PLANNED_N,
    &errors::BIAS_FOR_ACCURACY,
    &errors::ACCURACY_FOR_BIAS,
    &errors::TOTAL_FOR_VARIABLE,
    &errors::ONE_AXIS,
    &other::OTHER_PHASE,
    &other::OTHER_MEASURE,
    &other::OTHER_SESSION,
    &rounding::ROUNDED_EARLY,
    &rounding::TRUNCATED,
    &typing::DIGITS_SWAPPED,
    &typing::DECIMAL_MISPLACED,
    &typing::COPIED_WRONG_DIGIT,
    &significance::ONE_TAILED,
    &significance::TWO_TAILED,
    &significance::PAIRED_FOR_INDEPENDENT,
    &significance::INDEPENDENT_FOR_PAIRED,
    &significance::POOLED_FOR_WELCH,
    &significance::WELCH_FOR_POOLED,
    &effects::D_FOR_G,
    &effects::G_FOR_D,
    &effects::GLASS_FOR_D,
    &effects::D_AVERAGE_SD,
    &effects::D_PAIRED_FOR_D,
    &gains::RETAINED_OF_POST,
    &gains::LOST_FOR_RETAINED,
];

/// The slip with this code.
pub fn by_code(code: &str) -> Option<&'static Slip> {
    ALL.iter().copied().find(|slip| slip.code == code)
}

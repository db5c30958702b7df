//! How tests of the statistics compare numbers, and the series they try laws on.

use proptest::prelude::*;

/// Asserts that `found` is within `tolerance` of `expected`, in their own units.
#[track_caller]
pub fn assert_close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected} ± {tolerance}"
    );
}

/// Asserts that `found` differs from `expected` by no more than `tolerance` times its size.
#[track_caller]
pub fn assert_relative(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance * expected.abs(),
        "found {found}, expected {expected}: relative difference {:e}",
        ((found - expected) / expected).abs()
    );
}

/// Series of scores as logbooks hold them: whole numbers with many ties, or decimals.
pub fn finite_series(shortest: usize, longest: usize) -> impl Strategy<Value = Vec<f64>> {
    prop_oneof![
        prop::collection::vec((-3..6_i32).prop_map(f64::from), shortest..=longest),
        prop::collection::vec(-1e3..1e3, shortest..=longest),
    ]
}

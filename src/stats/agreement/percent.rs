//! Percent agreement: how often two raters gave the same.

use crate::stats::Undefined;
use crate::stats::requirements::{all_finite, at_least, same_length};

/// The share of things that both raters rated alike, in percent (0–100).
///
/// # Errors
/// [`Undefined::UnequalLengths`], [`Undefined::TooFew`] without ratings, [`Undefined::NotFinite`].
pub fn percent_agreement(first: &[f64], second: &[f64]) -> Result<f64, Undefined> {
    same_length(first.len(), second.len())?;
    at_least(1, first.len())?;
    all_finite(first)?;
    all_finite(second)?;
    let alike = first
        .iter()
        .zip(second)
        .filter(|(a, b)| (*a - *b).abs() <= 0.0)
        .count();
    Ok(100.0 * alike as f64 / first.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::assert_close;

    #[test]
    fn counts_what_is_alike() {
        let agreement = percent_agreement(&[1.0, 2.0, 3.0, 0.0], &[1.0, 2.0, 4.0, -0.0]);
        assert_close(agreement.unwrap(), 75.0, 0.0);
        assert!(percent_agreement(&[], &[]).is_err());
        assert_eq!(
            percent_agreement(&[1.0], &[]),
            Err(Undefined::UnequalLengths)
        );
    }
}

//! What a procedure asks of its numbers before it begins: enough of them, all finite, series of one length.

use super::Undefined;

/// At least `needed` numbers.
///
/// # Errors
/// [`Undefined::TooFew`] where `given` is less.
pub fn at_least(needed: usize, given: usize) -> Result<(), Undefined> {
    if given < needed {
        return Err(Undefined::TooFew { needed, given });
    }
    Ok(())
}

/// Every number finite.
///
/// # Errors
/// [`Undefined::NotFinite`] where one is infinite or not a number.
pub fn all_finite(numbers: &[f64]) -> Result<(), Undefined> {
    if numbers.iter().all(|x| x.is_finite()) {
        Ok(())
    } else {
        Err(Undefined::NotFinite)
    }
}

/// At least `needed` numbers, all finite.
///
/// # Errors
/// [`Undefined::TooFew`], [`Undefined::NotFinite`].
pub fn finite_numbers(needed: usize, numbers: &[f64]) -> Result<(), Undefined> {
    at_least(needed, numbers.len())?;
    all_finite(numbers)
}

/// Two series of one length.
///
/// # Errors
/// [`Undefined::UnequalLengths`] where they differ.
pub fn same_length(first: usize, second: usize) -> Result<(), Undefined> {
    if first == second {
        Ok(())
    } else {
        Err(Undefined::UnequalLengths)
    }
}

/// A result that finite inputs may have driven past the largest double.
///
/// # Errors
/// [`Undefined::Overflow`] where `result` is infinite or not a number.
pub fn finite_result(result: f64) -> Result<f64, Undefined> {
    if result.is_finite() {
        Ok(result)
    } else {
        Err(Undefined::Overflow)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_requirement_names_what_is_missing() {
        assert_eq!(
            at_least(2, 1),
            Err(Undefined::TooFew {
                needed: 2,
                given: 1
            })
        );
        assert_eq!(at_least(2, 2), Ok(()));
        assert_eq!(all_finite(&[1.0, f64::NAN]), Err(Undefined::NotFinite));
        assert_eq!(same_length(1, 2), Err(Undefined::UnequalLengths));
        assert_eq!(finite_result(f64::INFINITY), Err(Undefined::Overflow));
        assert_eq!(finite_result(1.0), Ok(1.0));
    }
}

//! What a sample of this size could have seen.

use crate::number::readable;
use crate::stats::power::{detectable_standard_errors, power};

/// What so many shared pairs, their differences this scattered, could have seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Shared pairs.
    pub n: usize,
    /// The difference asked about, in marks.
    pub marks: f64,
    /// The chance that a two-sided test at 5 percent would have noticed it, 0–1.
    pub chance: f64,
    /// The difference that would be noticed 8 times in 10, in marks.
    pub seen: Option<f64>,
}

/// What `n` shared pairs whose differences scatter by `sd` could have seen of a marker who is `marks` off; none with fewer than two pairs or
/// without scatter.
pub fn sight(n: usize, sd: f64, marks: f64) -> Option<Sight> {
    if n < 2 || sd <= 0.0 {
        return None;
    }
    let error = sd / (n as f64).sqrt();
    let degrees = n as f64 - 1.0;
    // Beyond 37 standard errors nothing is missed.
    let chance = power((marks / error).min(37.0), degrees, 0.05).ok()?;
    let seen = detectable_standard_errors(degrees, 0.8, 0.05).ok();
    Some(Sight {
        n,
        marks,
        chance,
        seen: seen.map(|errors| errors * error),
    })
}

impl Sight {
    /// In a sentence: `With 6 shared pairs, a marker 5 marks lenient or severe would be noticed 4 times in 10.`
    pub fn in_words(&self) -> String {
        let times = (10.0 * self.chance).round();
        let often = if times <= 0.0 {
            String::from("hardly ever be noticed")
        } else if times >= 10.0 {
            String::from("almost always be noticed")
        } else {
            let word = if times <= 1.0 { "time" } else { "times" };
            format!("be noticed {} {word} in 10", readable(times))
        };
        let seen = self.seen.map_or_else(String::new, |marks| {
            format!(" Noticed 8 times in 10: {} marks.", readable(marks))
        });
        format!(
            "With {} shared pairs, a marker {} marks lenient or severe would {often}.{seen}",
            self.n,
            readable(self.marks)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn power_is_that_of_simulated_samples() {
        // Differences with sd 6, a marker 5 marks off; shares of simulated samples that a t test flagged (NumPy, 2 significant digits).
        for (n, flagged) in [
            (3, 0.14),
            (5, 0.31),
            (8, 0.52),
            (10, 0.67),
            (15, 0.87),
            (20, 0.94),
        ] {
            let found = sight(n, 6.0, 5.0).unwrap();
            assert!((found.chance - flagged).abs() < 0.03, "{n}: {found:?}");
        }
        assert_eq!(sight(1, 6.0, 5.0), None);
        assert_eq!(sight(4, 0.0, 5.0), None);
        let says = sight(8, 6.0, 5.0).unwrap().in_words();
        assert!(says.starts_with("With 8 shared pairs, a marker 5 marks lenient or severe would be noticed 5 times in 10."), "{says}");
    }
}

//! What a sample of this size could have seen.

use std::collections::BTreeMap;

use super::FEW;
use super::gather::{Gathered, Scale};
use crate::number::readable;
use crate::report::workbook::marker::MarkingAs;
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

/// How far two markers' marks of one report scatter around what lies between the two, in marks: the sd of the differences, where second
/// markers are first markers elsewhere each two markers' own, so that a marker who is severer than another is not taken for scatter.
pub fn scatter(gathered: &Gathered, differences: Option<f64>) -> Option<f64> {
    let mut groups: BTreeMap<(&str, &str), Vec<f64>> = BTreeMap::new();
    for one in gathered.twice(&Scale::Total) {
        let by = |wanted| {
            let mut markings = one.pair.markings.iter();
            markings.find(|marking| marking.marking_as == wanted)
        };
        let (first, second) = (by(MarkingAs::First)?, by(MarkingAs::Second)?);
        let (first, second) = (first.marker.as_str(), second.marker.as_str());
        let difference = one.difference();
        if first <= second {
            groups.entry((first, second)).or_default().push(difference);
        } else {
            groups.entry((second, first)).or_default().push(-difference);
        }
    }
    let mut squares = 0.0;
    let mut degrees = 0.0;
    for list in groups.values() {
        let n = list.len() as f64;
        let mean = list.iter().sum::<f64>() / n;
        squares += list.iter().map(|one| (one - mean).powi(2)).sum::<f64>();
        degrees += n - 1.0;
    }
    if gathered.is_crossed() && degrees + 1.0 >= FEW as f64 {
        Some((squares / degrees).sqrt())
    } else {
        differences
    }
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
        // Where it is these very marks that are noticed so often, a second figure would only differ by rounding.
        let further = self.seen.filter(|_| (times - 8.0).abs() > 0.5);
        let seen = further.map_or_else(String::new, |marks| {
            format!(" {} marks would be noticed 8 times in 10.", readable(marks))
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
        assert!(
            says.ends_with("marks would be noticed 8 times in 10."),
            "{says}"
        );
        // 6.9 marks are noticed with a power of 0.796 (SciPy 1.17: scipy.stats.nct).
        let once = sight(8, 6.0, 6.9).unwrap().in_words();
        assert!(once.ends_with("noticed 8 times in 10."), "{once}");
        assert_eq!(once.matches("8 times in 10").count(), 1, "{once}");
    }
}

//! An interval: a lower and an upper bound, both included.

/// A range from `low` to `high`, in the units of what it bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The lower bound.
    pub low: f64,
    /// The upper bound.
    pub high: f64,
}

impl Interval {
    /// The interval `centre ± half_width`.
    pub fn around(centre: f64, half_width: f64) -> Self {
        Self {
            low: centre - half_width,
            high: centre + half_width,
        }
    }

    /// Whether `value` lies within the bounds.
    pub fn contains(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// Both bounds mapped by an increasing function.
    #[must_use]
    pub fn map(self, increasing: impl Fn(f64) -> f64) -> Self {
        Self {
            low: increasing(self.low),
            high: increasing(self.high),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contains_its_bounds_and_nothing_outside() {
        let interval = Interval::around(2.0, 0.5);
        assert!(interval.contains(1.5) && interval.contains(2.5));
        assert!(!interval.contains(1.49) && !interval.contains(2.51));
    }

    #[test]
    fn maps_both_bounds() {
        let mapped = Interval::around(0.0, 1.0).map(|x| 2.0 * x + 1.0);
        assert_eq!(
            mapped,
            Interval {
                low: -1.0,
                high: 3.0
            }
        );
    }
}

//! The largest dip and rise from one practice session to the next, and the spread of scores about the rise.

use crate::stats::requirements::{all_finite, at_least};
use crate::stats::{Direction, Undefined};

/// Sessions without which no dip or rise is told from the wobble of a smooth curve.
pub const FEWEST_SESSIONS: usize = 6;

/// A change of the mean from one session to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// How large, in scale points, above 0.
    pub size: f64,
    /// The place of the later session in the series, from 0.
    pub session: usize,
}

/// What the sessions show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Changes {
    /// The largest change for the worse (the first of several alike); absent where no session was worse than the one before.
    pub dip: Option<Change>,
    /// The largest change for the better (the first of several alike); absent where no session was better than the one before.
    pub rise: Option<Change>,
    /// Spread before and after the largest rise.
    pub variability: Result<Variability, Undefined>,
}

/// Spread of scores about the largest rise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variability {
    /// Mean of the sds within the two sessions before the one that rose.
    pub before: f64,
    /// Mean of the sds within the session that rose and the one after.
    pub after: f64,
}

impl Variability {
    /// before/after: above 1 where scores spread more before the rise. Infinite where only `after` is 0.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] where neither has a spread.
    pub(super) fn ratio(self) -> Result<f64, Undefined> {
        if self.before <= 0.0 && self.after <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        Ok(self.before / self.after)
    }
}

/// The largest dip and rise of the session means, and the spread about the rise.
///
/// # Errors
/// [`Undefined::TooFew`] below six sessions or with an empty one, [`Undefined::NotFinite`].
pub fn changes(sessions: &[&[f64]], direction: Direction) -> Result<Changes, Undefined> {
    at_least(FEWEST_SESSIONS, sessions.len())?;
    let mut summaries = Vec::with_capacity(sessions.len());
    for scores in sessions {
        summaries.push(SessionSummary::of(scores)?);
    }
    let means: Vec<f64> = summaries
        .iter()
        .map(|summary| direction.orient(summary.mean))
        .collect();
    let (dip, rise) = extremes(&means);
    Ok(Changes {
        dip,
        rise,
        variability: match rise {
            None => Err(Undefined::NoSpread),
            Some(rise) => about(rise.session, summaries.len(), |session| {
                let summary = summaries.get(session)?;
                (summary.n > 1).then(|| summary.sd())
            }),
        },
    })
}

/// A session's scores summed up.
#[derive(Debug, Clone, Copy)]
pub(super) struct SessionSummary {
    pub(super) n: usize,
    pub(super) mean: f64,
    /// Squared deviations about the mean.
    pub(super) squares: f64,
}

impl SessionSummary {
    pub(super) fn of(scores: &[f64]) -> Result<Self, Undefined> {
        at_least(1, scores.len())?;
        all_finite(scores)?;
        let moments = crate::stats::moments::Moments::of(scores)?;
        Ok(Self {
            n: moments.n,
            mean: moments.mean,
            squares: moments.squared_deviations,
        })
    }

    fn sd(&self) -> f64 {
        (self.squares / (self.n as f64 - 1.0)).sqrt()
    }
}

/// What two means must differ by, as a share of their size, to differ by more than the rounding of their sums.
const ROUNDING: f64 = 1e-12;

/// The largest fall and rise of a series of which more is better.
pub(super) fn extremes(means: &[f64]) -> (Option<Change>, Option<Change>) {
    let fall = largest(means, |earlier, later| earlier - later);
    (fall, largest_rise(means))
}

/// The largest rise of a series.
#[inline]
pub(super) fn largest_rise(means: &[f64]) -> Option<Change> {
    largest(means, |earlier, later| later - earlier)
}

/// The largest change above 0; of several alike the first, whatever their last digits make of it.
#[inline]
fn largest(means: &[f64], size_of: impl Fn(f64, f64) -> f64) -> Option<Change> {
    let (mut largest, mut at) = (0.0, 0);
    for (session, pair) in (1..).zip(means.windows(2)) {
        let &[earlier, later] = pair else { continue };
        let size = size_of(earlier, later);
        if exceeds(size, largest, earlier, later) {
            (largest, at) = (size, session);
        }
    }
    (at > 0).then_some(Change {
        size: largest,
        session: at,
    })
}

/// Whether a change from one mean to another exceeds some size by more than rounding.
#[inline]
fn exceeds(size: f64, than: f64, earlier: f64, later: f64) -> bool {
    size - ROUNDING * (later.abs() + earlier.abs()) > than
}

/// Whether a series falls somewhere, and by at least so much.
#[inline]
pub(super) fn falls_by(means: &[f64], least: f64) -> bool {
    changes_by(means, least, |earlier, later| earlier - later)
}

/// Whether a series rises somewhere, and by at least so much.
#[inline]
pub(super) fn rises_by(means: &[f64], least: f64) -> bool {
    changes_by(means, least, |earlier, later| later - earlier)
}

#[inline]
fn changes_by(means: &[f64], least: f64, size_of: impl Fn(f64, f64) -> f64) -> bool {
    means.windows(2).any(|pair| {
        let &[earlier, later] = pair else {
            return false;
        };
        let size = size_of(earlier, later);
        size >= least && exceeds(size, 0.0, earlier, later)
    })
}

/// Mean sd of the two sessions before `session`, and of it and the next.
pub(super) fn about(
    session: usize,
    sessions: usize,
    mut sd: impl FnMut(usize) -> Option<f64>,
) -> Result<Variability, Undefined> {
    if session < 2 || session + 1 >= sessions {
        let given = session.min(2) + (sessions - session.min(sessions)).min(2);
        return Err(Undefined::TooFew { needed: 4, given });
    }
    let mut mean_of = |first: usize, second: usize| Some(f64::midpoint(sd(first)?, sd(second)?));
    let too_few_scores = Undefined::TooFew {
        needed: 2,
        given: 1,
    };
    Ok(Variability {
        before: mean_of(session - 2, session - 1).ok_or(too_few_scores)?,
        after: mean_of(session, session + 1).ok_or(too_few_scores)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::assert_close;

    #[test]
    fn a_series_falls_and_rises_by_no_more_than_its_largest_changes() {
        let means = [2.0, 3.5, 3.0, 3.0, 4.0, 2.5];
        for (least, falls, rises) in [(0.1, true, true), (1.5, true, true), (1.6, false, false)] {
            assert_eq!(falls_by(&means, least), falls, "{least}");
            assert_eq!(rises_by(&means, least), rises, "{least}");
        }
        // What doesn't change neither falls nor rises, however little is asked for.
        assert!(!falls_by(&[1.0, 1.0], -0.5) && !rises_by(&[1.0, 1.0], -0.5));
    }

    /// A third of a point twice, which doubles don't write alike at 1 and at 2.
    #[test]
    fn of_changes_alike_the_first_counts_whatever_their_last_digits() {
        let upwards = [1.0, 4.0 / 3.0, 1.6, 1.8, 2.0, 7.0 / 3.0];
        let turned = upwards.map(|mean| mean - 5.0);
        assert!(upwards[5] - upwards[4] > upwards[1] - upwards[0]);
        for means in [upwards, turned] {
            let (dip, rise) = extremes(&means);
            assert_eq!(dip, None);
            assert_eq!(rise.map(|rise| rise.session), Some(1));
        }
    }

    #[test]
    fn what_rounding_alone_moves_has_not_moved() {
        let sum = 0.1 + 0.2;
        assert_ne!(sum, 0.3);
        assert_eq!(extremes(&[0.3, sum, 0.3]), (None, None));
    }

    /// By hand: means 1, 2, 2, 5, 4, 4, 5; the rise of 3 comes to the fourth, the dip of 1 to the fifth.
    #[test]
    fn changes_by_hand() {
        let sessions: [&[f64]; 7] = [
            &[0.0, 2.0],
            &[0.0, 4.0],
            &[1.0, 3.0],
            &[4.0, 6.0],
            &[4.0, 4.0],
            &[4.0],
            &[5.0, 5.0],
        ];
        let found = changes(&sessions, Direction::Higher).unwrap();
        assert_eq!(
            found.rise,
            Some(Change {
                size: 3.0,
                session: 3
            })
        );
        assert_eq!(
            found.dip,
            Some(Change {
                size: 1.0,
                session: 4
            })
        );
        let variability = found.variability.unwrap();
        // sds √8 and √2 before, √2 and 0 from the rise on.
        assert_close(variability.before, 1.5 * 2.0_f64.sqrt(), 1e-15);
        assert_close(variability.after, 0.5 * 2.0_f64.sqrt(), 1e-15);
        let lower = changes(&sessions, Direction::Lower).unwrap();
        assert_eq!(lower.dip, found.rise);
        assert_eq!(lower.rise, found.dip);
    }
}

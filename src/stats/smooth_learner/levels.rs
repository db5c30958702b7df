//! A monotone fit calmed: levels that chance alone would tell apart become one.

/// Squared standard errors by which neighbouring levels of the fit must differ to stay apart where dips are counted. Chosen by simulation
/// (`calibration`): from 3 on, flat learners raise false alarms at the stated level; larger values only cost power.
const LEVEL_APART: f64 = 3.0;

/// A monotone fit without the rises that chance alone would have given it: neighbouring levels become one, the least different first, until
/// each differs from the next by more than √[`LEVEL_APART`] standard errors.
pub(super) fn levelled(fit: &[f64], trials: &[f64], variance: f64) -> Vec<f64> {
    let mut levels: Vec<Level> = fit
        .iter()
        .zip(trials)
        .map(|(&mean, &trials)| Level {
            mean,
            trials,
            sessions: 1,
        })
        .collect();
    // Of levels alike far apart the first are joined, whatever the last digits of their distances make of it.
    let nearer = |distance: f64, than: f64| distance < than * (1.0 - 1e-9);
    loop {
        let nearest = (0..)
            .zip(levels.windows(2))
            .filter_map(|(place, pair)| match pair {
                [low, high] => Some((place, low.distance(high, variance))),
                _ => None,
            })
            .reduce(|nearest, next| {
                if nearer(next.1, nearest.1) {
                    next
                } else {
                    nearest
                }
            });
        match nearest {
            Some((place, distance)) if nearer(distance, LEVEL_APART) => {
                let high = levels.remove(place + 1);
                if let Some(low) = levels.get_mut(place) {
                    low.join(&high);
                }
            }
            _ => break,
        }
    }
    levels
        .iter()
        .flat_map(|level| std::iter::repeat_n(level.mean, level.sessions))
        .collect()
}

/// Sessions of one expected mean.
struct Level {
    mean: f64,
    trials: f64,
    sessions: usize,
}

impl Level {
    /// The squared difference in squared standard errors.
    fn distance(&self, other: &Self, variance: f64) -> f64 {
        (other.mean - self.mean).powi(2)
            * self.trials
            * (other.trials / (self.trials + other.trials))
            / variance
    }

    fn join(&mut self, other: &Self) {
        let trials = self.trials + other.trials;
        self.mean = (self.mean * self.trials + other.mean * other.trials) / trials;
        self.trials = trials;
        self.sessions += other.sessions;
    }
}

//! Learners drawn from a fitted one, and how many of them show as much.

use super::Chances;
use super::changes::{Variability, about, falls_by, largest_rise, rises_by};
use super::learner::{Noise, SmoothLearner};
use super::rating_model::Sums;
use crate::stats::Undefined;
use crate::stats::random::Stream;
use crate::stats::requirements::at_least;

impl SmoothLearner {
    /// How many of so many drawn learners show as much as this one did.
    pub(super) fn simulate(&self, learners: usize, stream: &mut Stream) -> Chances {
        let observed_ratio = self.observed.variability.and_then(Variability::ratio);
        let dip = self
            .observed
            .dip
            .map(|dip| self.as_large(dip.size) - self.grace);
        let rise = self.observed.rise.map(|rise| match self.noise {
            Noise::Normal => self.as_large(rise.size) - self.grace,
            Noise::Ratings { .. } => self.as_large(rise.size),
        });
        let (mut dips, mut rises, mut ratios, mut defined) = (0_usize, 0_usize, 0_usize, 0_usize);
        let mut means = vec![0.0; self.fit.len()];
        let mut calm = means.clone();
        let mut drawn = vec![Sums::default(); self.fit.len()];
        for _ in 0..learners {
            let spread = self.draw_means(stream, &mut means, &mut drawn);
            if self.days > 0.0 {
                for mean in &mut means {
                    *mean = self.on_scale(*mean + self.days * stream.normal());
                }
            }
            if let Some(least) = dip {
                for ((calm, mean), calming) in calm.iter_mut().zip(&means).zip(&self.calming) {
                    *calm = self.on_scale(mean + calming);
                }
                dips += usize::from(falls_by(&calm, least));
            }
            rises += usize::from(rise.is_some_and(|least| rises_by(&means, least)));
            if let Ok(least) = observed_ratio
                && let Some(shown) = largest_rise(&means)
            {
                let variability = about(shown.session, self.fit.len(), |session| {
                    self.draw_sd(session, spread, stream, &drawn)
                });
                if let Ok(shown) = variability.and_then(Variability::ratio) {
                    defined += 1;
                    ratios += usize::from(shown >= least * (1.0 - 1e-9));
                }
            }
        }
        let share = |shown: usize, of: usize| (shown as f64 + 1.0) / (of as f64 + 1.0);
        Chances {
            dip: dip
                .map(|_| share(dips, learners))
                .ok_or(Undefined::NoSpread),
            rise: rise
                .map(|_| share(rises, learners))
                .ok_or(Undefined::NoSpread),
            variability: observed_ratio.and_then(|_| {
                at_least(1, defined)?;
                Ok(share(ratios, defined))
            }),
            learners,
        }
    }

    /// Draws a learner's session means; gives the learner's spread.
    #[inline]
    fn draw_means(&self, stream: &mut Stream, means: &mut [f64], drawn: &mut [Sums]) -> f64 {
        match &self.noise {
            Noise::Normal => {
                let spread = self.spread * (self.freedom / stream.chi_squared(self.freedom)).sqrt();
                for ((mean, expected), summary) in
                    means.iter_mut().zip(&self.fit).zip(&self.summaries)
                {
                    *mean = self
                        .on_scale(expected + stream.normal() * spread / (summary.n as f64).sqrt());
                }
                spread
            }
            Noise::Ratings {
                tables,
                origin,
                step,
            } => {
                for (((mean, drawn), table), summary) in
                    means.iter_mut().zip(drawn).zip(tables).zip(&self.summaries)
                {
                    *drawn = table.draw(stream);
                    *mean = origin + step * (f64::from(drawn.sum) / summary.n as f64);
                }
                self.spread
            }
        }
    }

    /// The sd within a session of the learner drawn last.
    #[inline]
    fn draw_sd(
        &self,
        session: usize,
        spread: f64,
        stream: &mut Stream,
        drawn: &[Sums],
    ) -> Option<f64> {
        let ratings = self.summaries.get(session)?.n;
        let n = ratings as f64;
        if n < 2.0 {
            return None;
        }
        match &self.noise {
            Noise::Normal => Some(spread * (stream.chi_squared(n - 1.0) / (n - 1.0)).sqrt()),
            Noise::Ratings { step, .. } => {
                let squares = drawn.get(session)?.squared_deviations_times(ratings);
                Some(step.abs() * (squares as f64 / (n * (n - 1.0))).sqrt())
            }
        }
    }
}

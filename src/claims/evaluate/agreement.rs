//! Agreement of two raters.

use super::Evaluator;
use crate::claims::computation::{AgreementKind, Computation, Ratings, Selection, Trials};
use crate::claims::verdict::NoValue;
use crate::stats::agreement::cohen::{Weights, cohen_kappa};
use crate::stats::agreement::percent::percent_agreement;
use crate::stats::icc;

/// All ratings of one trial, told by session and number.
struct RatedTrial {
    key: (usize, u32),
    ratings: Vec<(usize, f64)>,
}

impl Evaluator<'_> {
    /// The ratings of the first two raters, of all trials that both scored.
    pub(super) fn rated_twice(&mut self, trials: Trials) -> (Vec<f64>, Vec<f64>) {
        let pooled = self.gatherer.changed(trials, |selection| Selection {
            ratings: Ratings::Pooled,
            ..selection
        });
        let numbers = self.numbers(pooled);
        // By trial: session and number.
        let mut trials: Vec<RatedTrial> = Vec::new();
        let mut raters: Vec<(usize, usize)> = Vec::new();
        for (value, origin) in numbers.values.iter().zip(&numbers.from) {
            let key = (origin.session, origin.number);
            match trials.last_mut() {
                Some(trial) if trial.key == key => trial.ratings.push((origin.rater, *value)),
                _ => trials.push(RatedTrial {
                    key,
                    ratings: vec![(origin.rater, *value)],
                }),
            }
            let row = origin.row.unwrap_or(usize::MAX);
            match raters.iter_mut().find(|(rater, _)| *rater == origin.rater) {
                Some((_, first)) => *first = row.min(*first),
                None => raters.push((origin.rater, row)),
            }
        }
        // Raters are numbered in order of appearance over the whole measure; here the block's own counts.
        raters.sort_by_key(|(rater, row)| (*row, *rater));
        let (Some((a, _)), Some((b, _))) = (raters.first(), raters.get(1)) else {
            return (Vec::new(), Vec::new());
        };
        let by = |ratings: &[(usize, f64)], rater: usize| {
            ratings
                .iter()
                .find(|(by, _)| *by == rater)
                .map(|(_, value)| *value)
        };
        trials
            .iter()
            .filter_map(|trial| Some((by(&trial.ratings, *a)?, by(&trial.ratings, *b)?)))
            .unzip()
    }

    pub(super) fn agreement(
        &mut self,
        c: &Computation,
        kind: AgreementKind,
    ) -> Result<f64, NoValue> {
        self.some(&c.later)?;
        let (first, second) = self.rated_twice(c.later.trials);
        if first.is_empty() {
            return Err(NoValue::OneRater);
        }
        Ok(match kind {
            AgreementKind::Percent => percent_agreement(&first, &second)?,
            AgreementKind::Kappa => cohen_kappa(&first, &second, Weights::Plain)?.kappa,
            AgreementKind::WeightedKappa => cohen_kappa(&first, &second, Weights::Quadratic)?.kappa,
            AgreementKind::Icc => {
                let things: Vec<Vec<f64>> = first
                    .iter()
                    .zip(&second)
                    .map(|(a, b)| vec![*a, *b])
                    .collect();
                icc::absolute_agreement(&things)?
            }
        })
    }
}

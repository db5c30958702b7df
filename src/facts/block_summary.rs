//! One block in numbers: what a row of blocks.csv and a test's facts have in common.

use std::borrow::Cow;

use super::record::SessionTrials;
use super::value::Reason;
use crate::logbook::model::{Measure, MeasureKind};
use crate::stats::error_scores::{self, RadialErrors, radial_errors};
use crate::stats::{Undefined, summary};

/// One block's numbers, each with the reason where there is none; in the measure's unit.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockSummary {
    /// Scores that count.
    pub n: usize,
    /// Recorded trials without a usable score.
    pub missing: usize,
    /// Mean.
    pub mean: Result<f64, Reason>,
    /// Median.
    pub median: Result<f64, Reason>,
    /// Sample standard deviation.
    pub sd: Result<f64, Reason>,
    /// Smallest score.
    pub minimum: Result<f64, Reason>,
    /// Largest score.
    pub maximum: Result<f64, Reason>,
    /// Constant error.
    pub ce: Result<f64, Reason>,
    /// Absolute error.
    pub ae: Result<f64, Reason>,
    /// Variable error.
    pub ve: Result<f64, Reason>,
    /// Total error.
    pub rmse: Result<f64, Reason>,
    /// Mean radial error.
    pub mre: Result<f64, Reason>,
    /// Centroid error.
    pub sre: Result<f64, Reason>,
    /// Bivariate variable error.
    pub bve: Result<f64, Reason>,
}

impl BlockSummary {
    /// The numbers of some sessions' trials together.
    pub fn of(sessions: &[SessionTrials], measure: &Measure) -> Self {
        let trials = || sessions.iter().flat_map(|session| &session.trials);
        let scores: Vec<f64> = trials().filter_map(|trial| trial.score).collect();
        let (x, y): (Vec<f64>, Vec<f64>) = trials()
            .filter(|trial| trial.score.is_some())
            .filter_map(|trial| trial.landing)
            .unzip();
        let target = measure
            .error_target()
            .ok_or(Cow::Borrowed("the measure has no target"));
        let against_target = |error: fn(&[f64], f64) -> Result<f64, Undefined>| {
            target
                .clone()
                .and_then(|target| error(&scores, target).map_err(plain))
        };
        let unsigned = measure.kind == MeasureKind::Error;
        let signed_only = |error: Result<f64, Reason>| {
            if unsigned {
                Err(Cow::Borrowed("unsigned errors have lost their direction"))
            } else {
                error
            }
        };
        let landings: Result<RadialErrors, Reason> = if x.is_empty() {
            Err(Cow::Borrowed("no landing points are recorded"))
        } else {
            radial_errors(&x, &y).map_err(plain)
        };
        let of_landings =
            |number: fn(&RadialErrors) -> f64| landings.as_ref().map(number).map_err(Clone::clone);
        Self {
            n: scores.len(),
            missing: trials().filter(|trial| trial.score.is_none()).count(),
            mean: summary::mean(&scores).map_err(plain),
            median: summary::median(&scores).map_err(plain),
            sd: summary::sd(&scores).map_err(plain),
            minimum: summary::minimum(&scores).map_err(plain),
            maximum: summary::maximum(&scores).map_err(plain),
            ce: signed_only(against_target(error_scores::constant_error)),
            ae: against_target(error_scores::absolute_error),
            ve: signed_only(error_scores::variable_error(&scores).map_err(plain)),
            rmse: against_target(error_scores::total_error),
            mre: of_landings(|errors| errors.mean_radial_error),
            sre: of_landings(|errors| errors.subject_centroid_radial_error),
            bve: of_landings(|errors| errors.bivariate_variable_error),
        }
    }
}

fn plain(undefined: Undefined) -> Reason {
    Cow::Owned(undefined.to_string())
}

//! The least-squares line y = intercept + slope·x.

use super::{
    Undefined,
    distribution::f_upper_tail,
    moments::Moments,
    requirements::{finite_numbers, finite_result},
};

/// A fitted straight line and what is left over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// How many points.
    pub n: usize,
    /// y at x = 0, in the unit of y.
    pub intercept: f64,
    /// Change of y per unit of x.
    pub slope: f64,
    /// Pearson's correlation; absent where y doesn't vary.
    pub r: Option<f64>,
    /// Share of the squared deviations of y that the line explains, 0 to 1; absent where y doesn't vary.
    pub r2: Option<f64>,
    /// Squared deviations that the line explains (unit of y, squared).
    pub explained: f64,
    /// Squared deviations from the line (unit of y, squared).
    pub residual: f64,
    /// What n − 2 degrees of freedom allow to be estimated; absent for two points.
    pub precision: Option<Precision>,
}

/// How well a line is known: needs three points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Precision {
    /// √(residual / (n − 2)), in the unit of y.
    pub residual_sd: f64,
    /// Standard error of the intercept.
    pub intercept_error: f64,
    /// Standard error of the slope.
    pub slope_error: f64,
    /// F on 1 and n − 2 degrees of freedom; absent where the points lie on the line exactly.
    pub f: Option<f64>,
}

impl Line {
    /// The chance of an F as large where the slope is 0: the p value of the slope's t test, two-sided. Absent where there is no F.
    pub fn p(&self) -> Option<f64> {
        let f = self.precision?.f?;
        f_upper_tail(f, 1.0, self.n as f64 - 2.0).ok()
    }
}

/// Fits the line by least squares; accurate to at least 10 digits on NIST's Norris set.
///
/// Sources: Draper & Smith 1998, Applied Regression Analysis, chapter 1; NIST/ITL Statistical Reference Datasets, Norris.
///
/// # Errors
/// [`Undefined::UnequalLengths`]; [`Undefined::TooFew`] for fewer than two points; [`Undefined::NoSpread`] where all x are alike.
pub fn line(x: &[f64], y: &[f64]) -> Result<Line, Undefined> {
    if x.len() != y.len() {
        return Err(Undefined::UnequalLengths);
    }
    finite_numbers(2, x)?;
    finite_numbers(2, y)?;
    let (of_x, of_y) = (Moments::of(x)?, Moments::of(y)?);
    if of_x.squared_deviations <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let n = of_x.n as f64;
    // An error of the means enters this sum only squared.
    let cross: f64 = pairs(x, y)
        .map(|(x, y)| (x - of_x.mean) * (y - of_y.mean))
        .sum();
    let slope = finite_result(cross / of_x.squared_deviations)?;
    let intercept = finite_result(of_y.mean - slope * of_x.mean)?;
    let explained = finite_result(slope * cross)?;
    let residual = if of_y.squared_deviations <= 0.0 {
        0.0
    } else {
        finite_result(
            pairs(x, y)
                .map(|(x, y)| {
                    let expected = slope * (x - of_x.mean);
                    ((y - of_y.mean) - expected).powi(2)
                })
                .sum::<f64>(),
        )?
    };
    let varies = of_y.squared_deviations > 0.0;
    let r = varies.then(|| {
        let r = cross / of_x.squared_deviations.sqrt() / of_y.squared_deviations.sqrt();
        r.clamp(-1.0, 1.0)
    });
    let precision = (of_x.n > 2).then(|| {
        let variance = residual / (n - 2.0);
        let f =
            (residual > 0.0 && (explained / variance).is_finite()).then(|| explained / variance);
        Precision {
            residual_sd: variance.sqrt(),
            intercept_error: (variance
                * (1.0 / n + of_x.mean * of_x.mean / of_x.squared_deviations))
                .sqrt(),
            slope_error: (variance / of_x.squared_deviations).sqrt(),
            f,
        }
    });
    Ok(Line {
        n: of_x.n,
        intercept,
        slope,
        r,
        r2: varies.then(|| (1.0 - residual / of_y.squared_deviations).clamp(0.0, 1.0)),
        explained,
        residual,
        precision,
    })
}

fn pairs<'a>(x: &'a [f64], y: &'a [f64]) -> impl Iterator<Item = (f64, f64)> + 'a {
    x.iter().copied().zip(y.iter().copied())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        nist_sets::{NORRIS_X, NORRIS_Y},
        procedures::digits_agreed,
    };
    use proptest::prelude::*;

    /// Certified to 15 digits by NIST/ITL, Statistical Reference Datasets, Norris.
    #[test]
    fn nist_norris() {
        let line = line(&NORRIS_X, &NORRIS_Y).unwrap();
        let precision = line.precision.unwrap();
        for (name, computed, certified) in [
            ("intercept", line.intercept, -0.262_323_073_774_029),
            ("slope", line.slope, 1.002_116_818_020_45),
            ("r2", line.r2.unwrap(), 0.999_993_745_883_712),
            ("explained", line.explained, 4_255_954.132_323_69),
            ("residual", line.residual, 26.617_398_529_422_4),
            ("residual sd", precision.residual_sd, 0.884_796_396_144_373),
            (
                "intercept error",
                precision.intercept_error,
                0.232_818_234_301_152,
            ),
            (
                "slope error",
                precision.slope_error,
                0.429_796_848_199_937e-3,
            ),
            ("F", precision.f.unwrap(), 5_436_385.540_797_85),
        ] {
            let agreed = digits_agreed(computed, certified);
            assert!(
                agreed >= 12.0,
                "{name}: {computed} for {certified}, {agreed} digits"
            );
        }
    }

    /// One of the series of ten days' reaction times (Belenky et al. 2003, in R's lme4; values by SciPy 1.17.1, stats.linregress).
    #[test]
    fn sleepstudy_subject_308() {
        let days: Vec<f64> = (0..10).map(f64::from).collect();
        let reaction = [
            249.56, 258.7047, 250.8006, 321.4398, 356.8519, 414.6901, 382.2038, 290.1486, 430.5853,
            466.3535,
        ];
        let line = line(&days, &reaction).unwrap();
        for (computed, expected) in [
            (line.slope, 21.764_702_42),
            (line.intercept, 244.192_669_1),
            (line.precision.unwrap().slope_error, 5.260_370_364),
            (line.r2.unwrap(), 0.681_513_200_5),
            (
                crate::stats::summary::lag1_autocorrelation(&reaction).unwrap(),
                0.439_632_026_3,
            ),
        ] {
            assert!(
                digits_agreed(computed, expected) > 9.0,
                "{computed} for {expected}"
            );
        }
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert_eq!(line(&[1.0, 2.0], &[1.0]), Err(Undefined::UnequalLengths));
        assert_eq!(line(&[1.0, 1.0], &[1.0, 2.0]), Err(Undefined::NoSpread));
        assert!(line(&[1.0], &[1.0]).is_err());
        let flat = line(&[1.0, 2.0, 3.0], &[4.0, 4.0, 4.0]).unwrap();
        assert_eq!(
            (flat.slope, flat.intercept, flat.r, flat.r2),
            (0.0, 4.0, None, None)
        );
        let two = line(&[1.0, 2.0], &[4.0, 6.0]).unwrap();
        assert_eq!((two.slope, two.precision), (2.0, None));
    }

    proptest! {
        #[test]
        fn shift_and_scale(points in prop::collection::vec((-100_f64..100.0, -100_f64..100.0), 3..20), shift in -50_f64..50.0, scale in 0.1_f64..5.0) {
            let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
            let before = line(&x, &y)?;
            prop_assume!(before.precision.unwrap().slope_error < 100.0);
            let moved: Vec<f64> = y.iter().map(|y| y * scale + shift).collect();
            let after = line(&x, &moved)?;
            prop_assert!((after.slope - before.slope * scale).abs() < 1e-7);
            prop_assert!((after.r2.unwrap() - before.r2.unwrap()).abs() < 1e-7);
            prop_assert!((before.r.unwrap().powi(2) - before.r2.unwrap()).abs() < 1e-9);
            let p = before.p().unwrap();
            prop_assert!((0.0..=1.0).contains(&p));
        }

        #[test]
        fn no_numbers_panic_or_give_nan(points in prop::collection::vec((prop::num::f64::ANY, prop::num::f64::ANY), 0..6)) {
            let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
            if let Ok(line) = line(&x, &y) {
                prop_assert!(line.slope.is_finite() && line.intercept.is_finite() && line.residual.is_finite());
                prop_assert!(line.r.is_none_or(f64::is_finite) && line.r2.is_none_or(f64::is_finite));
                if let Some(precision) = line.precision {
                    prop_assert!(!precision.residual_sd.is_nan() && !precision.intercept_error.is_nan() && !precision.slope_error.is_nan());
                }
            }
        }
    }
}

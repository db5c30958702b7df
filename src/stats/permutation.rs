//! Permutation tests of a difference of means: had chance alone dealt these scores to the blocks, how often would the means differ as much?

use super::{
    Undefined,
    arrangements::{Method, share_of_choices, share_of_signs},
    distribution::normal_upper_tail,
    moments::{Moments, difference_of_means},
    random::Stream,
    requirements::{finite_numbers, finite_result, same_length},
    whole_steps::WholeSteps,
};

/// How many arrangements are drawn where not all can be counted.
const DRAWS: u32 = 9_999;
/// Trials above which even drawing takes too long.
const MOST_DRAWN: usize = 10_000;
/// A difference of means with its p.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Permutation {
    /// Mean of the later block minus mean of the earlier; of pairs the mean difference.
    pub difference: f64,
    /// The share of all arrangements whose means differ at least as much, to either side.
    pub p: f64,
    /// Whether all arrangements were counted.
    pub method: Method,
}

/// Two-sided permutation test of the difference of two means.
///
/// Exact where the sums' distribution can be built: scores on a grid (whole numbers, tenths …) whose sums are few enough, or up to 26 trials of any
/// scores. Else 9,999 seeded draws, (k + 1)/10,000; beyond 10,000 trials the normal approximation.
///
/// Source: Fisher 1935, The Design of Experiments, section 21; Pitman 1937, Supplement to the Journal of the Royal Statistical Society 4:119–130;
/// (k + 1)/(draws + 1): Phipson & Smyth 2010, Statistical Applications in Genetics and Molecular Biology 9(1):39.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::NotFinite`]; [`Undefined::Overflow`].
pub fn of_means(earlier: &[f64], later: &[f64], stream: Stream) -> Result<Permutation, Undefined> {
    let difference = difference_of_means(earlier, later)?;
    let both: Vec<f64> = later.iter().chain(earlier).copied().collect();
    let WholeSteps {
        mut steps, slack, ..
    } = WholeSteps::of(&both)?;
    let count = later.len();
    let sum: i64 = steps.iter().take(count).sum();
    let slack = slack * i64::try_from(steps.len()).unwrap_or(i64::MAX);
    if let Some(p) = share_of_choices(&steps, count, sum, slack) {
        return Ok(Permutation {
            difference,
            p,
            method: Method::Exact,
        });
    }
    let all = steps.len();
    if all > MOST_DRAWN {
        // The variance of the difference over all arrangements.
        let moments = Moments::of(&both)?;
        let n = moments.n as f64;
        let variance = moments.squared_deviations / (n - 1.0) * n
            / (earlier.len() as f64 * later.len() as f64);
        return by_normal(difference, variance);
    }
    let total: i128 = steps.iter().map(|&step| i128::from(step)).sum();
    let fewer = count.min(all - count);
    let far = |sum: i128, count: usize| (all as i128 * sum - count as i128 * total).abs();
    let observed = far(i128::from(sum), count) - all as i128 * i128::from(slack);
    let mut stream = stream;
    let extreme = (0..DRAWS)
        .filter(|_| {
            stream.choose(&mut steps, fewer);
            let sum: i64 = steps.iter().take(fewer).sum();
            far(i128::from(sum), fewer) >= observed
        })
        .count();
    Ok(by_draws(difference, extreme))
}

/// Two-sided test of the mean difference of pairs: each pair's later − earlier could as well have had the other sign.
///
/// Exact, drawn or approximated as for [`of_means`].
///
/// Source: Fisher 1935, The Design of Experiments, section 21.
///
/// # Errors
/// [`Undefined::UnequalLengths`]; [`Undefined::TooFew`] for no pair; [`Undefined::NotFinite`]; [`Undefined::Overflow`].
pub fn of_pairs(earlier: &[f64], later: &[f64], stream: Stream) -> Result<Permutation, Undefined> {
    same_length(earlier.len(), later.len())?;
    finite_numbers(1, earlier)?;
    finite_numbers(1, later)?;
    let gains = super::decimal_grid::differences(earlier, later);
    let difference = Moments::of(&gains)?.mean;
    let WholeSteps { steps, slack, .. } = WholeSteps::of(&gains)?;
    let sizes: Vec<i64> = steps.iter().map(|step| step.abs()).collect();
    let positive: i64 = steps.iter().filter(|&&step| step > 0).sum();
    let slack = slack * i64::try_from(steps.len()).unwrap_or(i64::MAX);
    if let Some(p) = share_of_signs(&sizes, positive, slack) {
        return Ok(Permutation {
            difference,
            p,
            method: Method::Exact,
        });
    }
    let n = gains.len() as f64;
    if gains.len() > MOST_DRAWN {
        let squares: f64 = gains.iter().map(|gain| gain * gain).sum();
        return by_normal(difference, squares / (n * n));
    }
    let observed = steps.iter().sum::<i64>().abs() - 2 * slack;
    let mut stream = stream;
    let extreme = (0..DRAWS)
        .filter(|_| {
            let sum: i64 = sizes
                .iter()
                .map(|&size| if stream.coin() { size } else { -size })
                .sum();
            sum.abs() >= observed
        })
        .count();
    Ok(by_draws(difference, extreme))
}

fn by_draws(difference: f64, extreme: usize) -> Permutation {
    Permutation {
        difference,
        p: (extreme as f64 + 1.0) / (f64::from(DRAWS) + 1.0),
        method: Method::MonteCarlo,
    }
}

fn by_normal(difference: f64, variance: f64) -> Result<Permutation, Undefined> {
    let p = if variance > 0.0 {
        2.0 * normal_upper_tail(finite_result(difference.abs() / variance.sqrt())?)
    } else {
        1.0
    };
    Ok(Permutation {
        difference,
        p,
        method: Method::Normal,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        published::{DARWIN, DRUG_1, DRUG_2, MICE_CONTROL, MICE_TREATED},
        testing::{assert_relative, finite_series},
    };
    use proptest::prelude::*;

    fn stream() -> Stream {
        Stream::new(1, "permutation")
    }

    /// All 11,440 splits listed (R's exactRankTests 0.8-35 `perm.test` agrees): 3,184 as far, and not twice the 1,613 of one side.
    #[test]
    fn mice() {
        let test = of_means(&MICE_CONTROL, &MICE_TREATED, stream()).unwrap();
        assert_eq!(test.method, Method::Exact);
        assert_relative(test.p, 3_184.0 / 11_440.0, 1e-14);
        let back = of_means(&MICE_TREATED, &MICE_CONTROL, stream()).unwrap();
        assert_relative(back.p, 3_184.0 / 11_440.0, 1e-14);
        assert_eq!(back.difference, -test.difference);
    }

    /// Fisher 1935, section 21: 863 of 32,768 in each tail.
    #[test]
    fn darwin() {
        let test = of_pairs(&[0.0; 15], &DARWIN, stream()).unwrap();
        assert_eq!((test.p, test.method), (1_726.0 / 32_768.0, Method::Exact));
        assert_relative(test.difference, 314.0 / 15.0, 1e-15);
    }

    /// Decimals, by listing all 184,756 splits in Python with whole tenths.
    #[test]
    fn sleep() {
        let test = of_means(&DRUG_1, &DRUG_2, stream()).unwrap();
        assert_relative(test.p, 15_048.0 / 184_756.0, 1e-14);
    }

    /// Thirds are no decimals, but ties of them are still ties: the same as whole numbers.
    #[test]
    fn scores_off_any_grid() {
        let thirds = |values: &[f64]| values.iter().map(|value| value / 3.0).collect::<Vec<f64>>();
        let exact = of_means(&[1.0, 2.0, 2.0, 3.0], &[3.0, 2.0, 4.0, 4.0], stream()).unwrap();
        let same = of_means(
            &thirds(&[1.0, 2.0, 2.0, 3.0]),
            &thirds(&[3.0, 2.0, 4.0, 4.0]),
            stream(),
        )
        .unwrap();
        assert_eq!((same.p, same.method), (exact.p, Method::Exact));
    }

    /// Where sums are too many to count, the draws come close to a p that a t test gives too, and are the same every time.
    #[test]
    fn by_drawing() {
        let a: Vec<f64> = (0..40).map(|i| f64::from(i * i % 97) * 1.000_01).collect();
        let b: Vec<f64> = (0..40)
            .map(|i| f64::from(i * i % 89) * 1.000_03 + 9.0)
            .collect();
        let test = of_means(&a, &b, stream()).unwrap();
        assert_eq!(test.method, Method::MonteCarlo);
        assert_eq!(test, of_means(&a, &b, stream()).unwrap());
        let by_t = crate::stats::t_test::pooled(&a, &b, 0.95).unwrap().p;
        let error = (by_t * (1.0 - by_t) / 9_999.0).sqrt();
        assert!(
            (test.p - by_t).abs() < 5.0 * error + 0.003,
            "{} for {by_t}",
            test.p
        );

        let pairs = of_pairs(&a, &b, stream()).unwrap();
        assert_eq!(pairs.method, Method::MonteCarlo);
        let by_t = crate::stats::t_test::paired(&a, &b, 0.95).unwrap().p;
        let error = (by_t * (1.0 - by_t) / 9_999.0).sqrt();
        assert!(
            (pairs.p - by_t).abs() < 5.0 * error + 0.003,
            "{} for {by_t}",
            pairs.p
        );
    }

    #[test]
    fn all_alike_or_none() {
        assert_eq!(of_means(&[2.0; 5], &[2.0; 4], stream()).unwrap().p, 1.0);
        assert_eq!(of_pairs(&[2.0; 5], &[2.0; 5], stream()).unwrap().p, 1.0);
        assert_eq!(
            of_means(&[1.0 / 3.0; 5], &[1.0 / 3.0; 4], stream())
                .unwrap()
                .p,
            1.0
        );
        assert!(of_means(&[], &[2.0], stream()).is_err());
        assert_eq!(
            of_pairs(&[1.0], &[], stream()),
            Err(Undefined::UnequalLengths)
        );
        let many = vec![1.0 / 3.0; 6_000];
        let others = vec![0.5; 6_000];
        let test = of_means(&many, &others, stream()).unwrap();
        assert!(test.p < 1e-9);
    }

    proptest! {
        #[test]
        fn laws(a in finite_series(1, 9), b in finite_series(1, 9), shift in -9..9_i32) {
            let (there, back) = (of_means(&a, &b, stream())?, of_means(&b, &a, stream())?);
            prop_assert_eq!(there.method, Method::Exact);
            prop_assert!((there.p - back.p).abs() < 1e-12);
            prop_assert!(there.p > 0.0 && there.p <= 1.0);
            let moved = |values: &[f64]| values.iter().map(|value| value * 2.0 + f64::from(shift)).collect::<Vec<f64>>();
            if a.iter().chain(&b).all(|value| value.fract() == 0.0) {
                prop_assert!((of_means(&moved(&a), &moved(&b), stream())?.p - there.p).abs() < 1e-12);
            }
        }

        #[test]
        fn no_numbers_panic_or_give_nan(a in prop::collection::vec(prop::num::f64::ANY, 0..6), b in prop::collection::vec(prop::num::f64::ANY, 0..6)) {
            for test in [of_means(&a, &b, stream()), of_pairs(&a, &b, stream())].into_iter().flatten() {
                prop_assert!((0.0..=1.0).contains(&test.p));
            }
        }
    }
}

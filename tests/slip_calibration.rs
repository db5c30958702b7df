//! How well slips are found on simulated cohorts, and whether `likely` is right as often as it says.
//!
//! Every slip is planted in equal number by plain arithmetic of its own, beside sound claims and wrong numbers without any slip. In the
//! normal run a bounded sample is drawn; for the full calibration and its table:
//!
//! ```text
//! EVENHAND_CALIBRATION=20000 cargo test --release --test slip_calibration -- --nocapture
//! ```

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::float_cmp,
    clippy::print_stdout,
    clippy::too_many_lines,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a simulation of small whole numbers that prints its table"
)]

use std::collections::BTreeMap;
use std::sync::Arc;

use evenhand::claims::{ClaimSettings, Confidence, Explanation, Verdict, recompute};
use evenhand::facts::Record;
use evenhand::logbook::Logbook;
use evenhand::logbook::model::{
    About, Better, Claim, ClaimMeasure, ClaimOrigin, Measure, MeasureKind, Score, Tables, Trial,
};
use evenhand::number::Stated;
use evenhand::phase::{BlockName, Phase, PhaseKind};
use evenhand::place::Place;
use evenhand::statistic::{Shape, Statistic};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// One simulated learner: scores by phase and session; none where a trial was not made.
struct Learner {
    measure: Measure,
    familiarisation: Vec<f64>,
    pre: Vec<Option<f64>>,
    practice: Vec<Vec<f64>>,
    post: Vec<Option<f64>>,
    retention: Vec<Vec<f64>>,
    transfer: Vec<f64>,
    other: Vec<f64>,
}

struct Dice(ChaCha8Rng);

impl Dice {
    fn uniform(&mut self) -> f64 {
        f64::from(self.0.next_u32()) / (f64::from(u32::MAX) + 1.0)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.uniform() * n as f64) as usize
    }

    fn between(&mut self, low: usize, high: usize) -> usize {
        low + self.below(high - low + 1)
    }

    /// About normal: the sum of twelve uniform numbers.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }

    fn score(&mut self, measure: &Measure, level: f64) -> f64 {
        let noise = self.normal();
        match measure.kind {
            MeasureKind::Rating => (1.0 + 3.0 * level + 0.8 * noise).round().clamp(1.0, 4.0),
            MeasureKind::Count => (10.0 * level + 1.6 * noise).round().clamp(0.0, 10.0),
            MeasureKind::SignedError => {
                ((3.0 * (1.0 - level) + (14.0 - 8.0 * level) * noise) * 2.0).round() / 2.0
            }
            MeasureKind::Error => ((30.0 - 20.0 * level + 6.0 * noise).abs() * 10.0).round() / 10.0,
            _ => ((12.0 - 4.0 * level + 0.8 * noise).max(1.0) * 100.0).round() / 100.0,
        }
    }

    fn learner(&mut self) -> Learner {
        let kinds = [
            (
                MeasureKind::Rating,
                Better::Higher,
                Some(1.0),
                Some(4.0),
                Some(1.0),
            ),
            (
                MeasureKind::Count,
                Better::Higher,
                Some(0.0),
                Some(10.0),
                Some(1.0),
            ),
            (MeasureKind::SignedError, Better::Target, None, None, None),
            (MeasureKind::Error, Better::Lower, Some(0.0), None, None),
            (MeasureKind::Quantity, Better::Lower, Some(0.0), None, None),
        ];
        let (kind, better, lowest, highest, step) = kinds[self.below(kinds.len())];
        let measure = Measure {
            name: "score".into(),
            kind,
            unit: None,
            better,
            lowest,
            highest,
            step,
            target: None,
            place: None,
        };
        let n = self.between(8, 12);
        let gap = |dice: &mut Self, score: f64| (dice.uniform() > 0.04).then_some(score);
        let start = 0.25 + 0.1 * self.uniform();
        let sessions = self.between(5, 8);
        let end = 0.6 + 0.15 * self.uniform();
        let block = |dice: &mut Self, n: usize, level: f64| -> Vec<f64> {
            (0..n).map(|_| dice.score(&measure, level)).collect()
        };
        let familiarisation = block(self, 3, start);
        let pre = block(self, n, start);
        let pre = pre.into_iter().map(|score| gap(self, score)).collect();
        let practice = (0..sessions)
            .map(|session| {
                let trials = self.between(6, 12);
                let level = start + (end - start) * session as f64 / sessions as f64;
                block(self, trials, level)
            })
            .collect();
        let post = block(self, n, end);
        let post = post.into_iter().map(|score| gap(self, score)).collect();
        let second = self.between(3, 5);
        let retention = vec![block(self, n, end - 0.05), block(self, second, end - 0.1)];
        let transfer = block(self, n, end - 0.15);
        let other = (0..n)
            .map(|_| ((20.0 + 3.0 * self.normal()) * 10.0).round() / 10.0)
            .collect();
        Learner {
            measure,
            familiarisation,
            pre,
            practice,
            post,
            retention,
            transfer,
            other,
        }
    }
}

fn some(scores: &[Option<f64>]) -> Vec<f64> {
    scores.iter().flatten().copied().collect()
}

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

fn squares(x: &[f64]) -> f64 {
    let m = mean(x);
    x.iter().map(|x| (x - m).powi(2)).sum()
}

fn sd(x: &[f64]) -> f64 {
    (squares(x) / (x.len() - 1) as f64).sqrt()
}

fn pooled(a: &[f64], b: &[f64]) -> f64 {
    ((squares(a) + squares(b)) / (a.len() + b.len() - 2) as f64).sqrt()
}

fn median(x: &[f64]) -> f64 {
    let mut x = x.to_vec();
    x.sort_by(f64::total_cmp);
    let n = x.len();
    f64::midpoint(x[(n - 1) / 2], x[n / 2])
}

fn joined(a: &[f64], b: &[f64]) -> Vec<f64> {
    [a, b].concat()
}

/// A planted claim: statistic, block, earlier block, value, decimals.
struct Planted {
    statistic: Statistic,
    phase: &'static str,
    value: f64,
    decimals: u8,
}

impl Learner {
    fn better_first(&self, x: &[f64]) -> Vec<f64> {
        let mut x = x.to_vec();
        let goodness = |v: f64| match self.measure.better {
            Better::Higher => v,
            Better::Lower => -v,
            Better::Target => -v.abs(),
        };
        x.sort_by(|a, b| goodness(*b).total_cmp(&goodness(*a)));
        x
    }

    /// What is compared for better and worse.
    fn comparable(&self, x: &[f64]) -> Vec<f64> {
        if self.measure.better == Better::Target {
            x.iter().map(|x| x.abs()).collect()
        } else {
            x.to_vec()
        }
    }

    /// The number that a slip gives, for a statistic in which it makes sense here; none where it makes none.
    fn plant(&self, code: &str, dice: &mut Dice) -> Option<Planted> {
        let (pre, post) = (some(&self.pre), some(&self.post));
        let retention: Vec<f64> = self.retention.concat();
        let practice: Vec<f64> = self.practice.concat();
        let d2 = 2;
        let of = |statistic, phase, value, decimals| {
            Some(Planted {
                statistic,
                phase,
                value,
                decimals,
            })
        };
        let mean_of = |x: &[f64]| of(Statistic::Mean, "post", mean(x), d2);
        let sd_of = |x: &[f64]| of(Statistic::Sd, "post", sd(x), d2);
        let change = mean(&post) - mean(&pre);
        let percent = |v: f64| of(Statistic::PercentChange, "post", v, 1);
        let n = post.len();
        let signed = self.measure.kind == MeasureKind::SignedError;
        let either = |dice: &mut Dice, x: &[f64]| {
            if dice.below(2) == 0 {
                mean_of(x)
            } else {
                sd_of(x)
            }
        };
        let (test, t_df) = {
            let s = pooled(&pre, &post);
            (
                change / (s * (1.0 / pre.len() as f64 + 1.0 / n as f64).sqrt()),
                (pre.len() + n - 2) as f64,
            )
        };
        let p = evenhand::stats::distribution::t_two_sided(test, t_df).ok()?;
        let j = evenhand::stats::effect_size::small_sample_factor(t_df).ok()?;
        let d = change / pooled(&pre, &post);
        let (welch, w_df) = {
            let (a, b) = (
                squares(&pre) / (pre.len() - 1) as f64 / pre.len() as f64,
                squares(&post) / (n - 1) as f64 / n as f64,
            );
            (
                change / (a + b).sqrt(),
                (a + b).powi(2) / (a * a / (pre.len() - 1) as f64 + b * b / (n - 1) as f64),
            )
        };
        let p_welch = evenhand::stats::distribution::t_two_sided(welch, w_df).ok()?;
        let differences: Vec<f64> = self
            .pre
            .iter()
            .zip(&self.post)
            .filter_map(|(a, b)| Some((*b)? - (*a)?))
            .collect();
        let paired = mean(&differences) / (sd(&differences) / (differences.len() as f64).sqrt());
        let (c_pre, c_post, c_retention) = (
            mean(&self.comparable(&pre)),
            mean(&self.comparable(&post)),
            mean(&self.comparable(&retention)),
        );
        let gain = |v: f64| of(Statistic::RetainedGain, "retention", v, 1);
        match code {
            "divided-by-later" => percent(100.0 * change / mean(&post).abs()),
            "divided-by-scale" => {
                let (low, high) = (self.measure.lowest?, self.measure.highest?);
                percent(100.0 * change / if dice.below(2) == 0 { high - low } else { high })
            }
            "points-for-percent" => of(Statistic::PercentChange, "post", change, d2),
            "fraction-for-percent" => of(
                Statistic::PercentChange,
                "post",
                change / mean(&pre).abs(),
                3,
            ),
            "ratio-for-change" => percent(100.0 * mean(&post) / mean(&pre)),
            "sign-reversed" => of(Statistic::Change, "post", -change, d2),
            "phases-swapped" => percent(-100.0 * change / mean(&post).abs()),
            "direction-ignored" => (self.measure.better == Better::Lower).then(|| {
                of(
                    Statistic::PercentImprovement,
                    "post",
                    100.0 * change / mean(&pre),
                    1,
                )
            })?,
            "population-sd" => of(
                Statistic::Sd,
                "post",
                (squares(&post) / n as f64).sqrt(),
                d2,
            ),
            "sample-sd" => signed.then(|| of(Statistic::VariableError, "post", sd(&post), d2))?,
            "variance-for-sd" => of(Statistic::Sd, "post", sd(&post).powi(2), d2),
            "sd-for-variance" => of(Statistic::Variance, "post", sd(&post), d2),
            "se-for-sd" => of(Statistic::Sd, "post", sd(&post) / (n as f64).sqrt(), d2),
            "sd-for-se" => of(Statistic::Se, "post", sd(&post), d2),
            "median-for-mean" => mean_of(&[median(&post)]),
            "mean-for-median" => of(Statistic::Median, "post", mean(&post), d2),
            "sum-for-mean" => mean_of(&[post.iter().sum()]),
            "mode-for-mean" => {
                let count = |v: f64| post.iter().filter(|x| **x == v).count();
                let most = post.iter().map(|v| count(*v)).max()?;
                (most > 1).then_some(())?;
                mean_of(&[*post.iter().find(|v| count(**v) == most)?])
            }
            "best-trial" => mean_of(&self.better_first(&post)[..1]),
            "best-session" => {
                let level = |x: &[f64]| mean(&self.comparable(x));
                let (a, b) = (&self.retention[0], &self.retention[1]);
                let first = (level(a) > level(b)) == (self.measure.better == Better::Higher);
                of(
                    Statistic::Mean,
                    "retention",
                    mean(if first { a } else { b }),
                    d2,
                )
            }
            "worst-dropped" => either(dice, &self.better_first(&post)[..n - 1]),
            "best-and-worst-dropped" => mean_of(&self.better_first(&post)[1..n - 1]),
            "outlier-dropped" => {
                let (m, s) = (mean(&post), sd(&post));
                let kept: Vec<f64> = post
                    .iter()
                    .copied()
                    .filter(|x| (x - m).abs() <= 2.0 * s)
                    .collect();
                either(dice, &kept)
            }
            "first-row-missed" => either(dice, &post[1..]),
            "last-row-missed" => either(dice, &post[..n - 1]),
            "first-trials-only" => either(dice, &post[..n / 2]),
            "last-trials-only" => either(dice, &post[n - n / 2..]),
            "practice-included" => either(dice, &joined(&post, &practice)),
            "tests-included" => {
                let all = joined(
                    &joined(&joined(&practice, &pre), &joined(&post, &retention)),
                    &self.transfer,
                );
                of(Statistic::Mean, "practice", mean(&all), d2)
            }
            "familiarisation-included" => of(
                Statistic::Mean,
                "pre",
                mean(&joined(&pre, &self.familiarisation)),
                d2,
            ),
            "averaged-averages" => {
                let means: Vec<f64> = self.practice.iter().map(|session| mean(session)).collect();
                of(Statistic::Mean, "practice", mean(&means), d2)
            }
            "blanks-as-zero" => {
                let zeros: Vec<f64> = self.post.iter().map(|score| score.unwrap_or(0.0)).collect();
                either(dice, &zeros)
            }
            "zeros-as-blank" => {
                let kept: Vec<f64> = post.iter().copied().filter(|x| *x != 0.0).collect();
                either(dice, &kept)
            }
            "extra-cell" => {
                let extra = if dice.below(2) == 0 {
                    self.post.len() as f64
                } else {
                    post.iter().sum()
                };
                self.post.last()?.as_ref()?;
                mean_of(&joined(&post, &[extra]))
            }
            "planned-n" => mean_of(&[post.iter().sum::<f64>() / self.post.len() as f64]),
            "bias-for-accuracy" => {
                signed.then(|| of(Statistic::AbsoluteError, "post", mean(&post), d2))?
            }
            "accuracy-for-bias" => {
                signed.then(|| of(Statistic::ConstantError, "post", c_post, d2))?
            }
            "total-for-variable" => signed.then(|| {
                let e = (post.iter().map(|x| x * x).sum::<f64>() / n as f64).sqrt();
                of(Statistic::VariableError, "post", e, d2)
            })?,
            "other-phase" => either(dice, &self.transfer),
            "other-measure" => either(dice, &self.other),
            "other-session" => of(Statistic::Mean, "practice 2", mean(&self.practice[2]), d2),
            "rounded-early" => {
                let round = |x: f64| (x * 10.0).round() / 10.0;
                percent(100.0 * (round(mean(&post)) - round(mean(&pre))) / round(mean(&pre)).abs())
            }
            "truncated" => mean_of(&[(mean(&post) * 100.0).trunc() / 100.0]),
            "digits-swapped" => {
                let text = format!("{:.2}", mean(&post).abs());
                let digits: Vec<usize> = text
                    .char_indices()
                    .filter(|(_, c)| c.is_ascii_digit())
                    .map(|(i, _)| i)
                    .collect();
                let at = dice.below(digits.len() - 1);
                let mut bytes = text.into_bytes();
                bytes.swap(digits[at], digits[at + 1]);
                let value: f64 = String::from_utf8(bytes).ok()?.parse().ok()?;
                mean_of(&[value.copysign(mean(&post))])
            }
            "decimal-misplaced" => mean_of(&[
                (mean(&post) * 100.0).round() / if dice.below(2) == 0 { 10.0 } else { 1000.0 }
            ])
            .map(|mut planted| {
                planted.decimals =
                    if (planted.value * 10.0 - (planted.value * 10.0).round()).abs() < 1e-9 {
                        1
                    } else {
                        3
                    };
                planted
            }),
            "copied-wrong-digit" => {
                let text = format!("{:.2}", mean(&post).abs());
                let digits: Vec<usize> = text
                    .char_indices()
                    .filter(|(_, c)| c.is_ascii_digit())
                    .map(|(i, _)| i)
                    .collect();
                let at = digits[1 + dice.below(digits.len() - 1)];
                let mut bytes = text.into_bytes();
                bytes[at] = b'0' + (bytes[at] - b'0' + 1 + dice.below(9) as u8) % 10;
                let value: f64 = String::from_utf8(bytes).ok()?.parse().ok()?;
                mean_of(&[value.copysign(mean(&post))])
            }
            "one-tailed" => of(Statistic::PT, "post", p / 2.0, 4),
            "two-tailed" => of(Statistic::PT, "post", p * 2.0, 4),
            "paired-for-independent" => of(Statistic::T, "post", paired, d2),
            "independent-for-paired" => of(Statistic::TPaired, "post", test, d2),
            "pooled-for-welch" => of(Statistic::PTWelch, "post", p, 4),
            "welch-for-pooled" => of(Statistic::PT, "post", p_welch, 4),
            "d-for-g" => of(Statistic::G, "post", d, d2),
            "g-for-d" => of(Statistic::D, "post", d * j, d2),
            "glass-for-d" => of(Statistic::D, "post", change / sd(&pre), d2),
            "d-average-sd" => of(
                Statistic::D,
                "post",
                change / f64::midpoint(sd(&pre).powi(2), sd(&post).powi(2)).sqrt(),
                d2,
            ),
            "d-paired-for-d" => of(
                Statistic::D,
                "post",
                mean(&differences) / sd(&differences),
                d2,
            ),
            "retained-of-post" => gain(100.0 * c_retention / c_post),
            "lost-for-retained" => gain(100.0 - 100.0 * (c_retention - c_pre) / (c_post - c_pre)),
            "practice-included+population-sd" => {
                let all = joined(&post, &practice);
                of(
                    Statistic::Sd,
                    "post",
                    (squares(&all) / all.len() as f64).sqrt(),
                    d2,
                )
            }
            // A wrong number without a slip of the list: near the right one, as wrong numbers are.
            "none" => match dice.below(3) {
                0 => mean_of(&[mean(&post) + sd(&post) * dice.normal()]),
                1 => of(
                    Statistic::Sd,
                    "post",
                    sd(&post) * (1.0 + 0.4 * dice.normal()).abs(),
                    d2,
                ),
                _ => percent(100.0 * change / mean(&pre).abs() * (1.0 + 0.5 * dice.normal())),
            },
            "sound" => {
                let claims = [
                    of(Statistic::Mean, "post", mean(&post), d2),
                    of(Statistic::Sd, "pre", sd(&pre), d2),
                    percent(100.0 * change / mean(&pre).abs()),
                    of(Statistic::D, "post", d, d2),
                    of(Statistic::PTWelch, "post", p_welch, 3),
                    gain(100.0 * (c_retention - c_pre) / (c_post - c_pre)),
                ];
                claims.into_iter().nth(dice.below(6))?
            }
            _ => None,
        }
    }

    fn logbook(&self, planted: &Planted) -> Logbook {
        let mut logbook = Logbook {
            name: "P01.xlsx".into(),
            files: Vec::new(),
            about: About::default(),
            measures: vec![
                self.measure.clone(),
                Measure {
                    name: "other".into(),
                    ..Measure::undescribed()
                },
            ],
            sessions: Vec::new(),
            trials: Vec::new(),
            technique: Vec::new(),
            claims: Vec::new(),
            tables: Tables::default(),
            problems: Vec::new(),
        };
        let full = |scores: &[f64]| scores.iter().copied().map(Some).collect::<Vec<_>>();
        add(
            &mut logbook,
            0,
            PhaseKind::Familiarisation,
            1,
            &full(&self.familiarisation),
        );
        add(&mut logbook, 0, PhaseKind::Pre, 1, &self.pre);
        for (session, scores) in (2..).zip(&self.practice) {
            add(&mut logbook, 0, PhaseKind::Practice, session, &full(scores));
        }
        add(&mut logbook, 0, PhaseKind::Post, 20, &self.post);
        for (session, scores) in (21..).zip(&self.retention) {
            add(
                &mut logbook,
                0,
                PhaseKind::Retention,
                session,
                &full(scores),
            );
        }
        add(
            &mut logbook,
            0,
            PhaseKind::Transfer,
            30,
            &full(&self.transfer),
        );
        add(&mut logbook, 1, PhaseKind::Post, 20, &full(&self.other));
        let phase = match planted.phase {
            "pre" => BlockName::Phase(Phase::PRE),
            "practice" => BlockName::Phase(Phase::PRACTICE),
            "practice 2" => BlockName::PracticeSession(2),
            "retention" => BlockName::Phase(Phase::RETENTION),
            _ => BlockName::Phase(Phase::POST),
        };
        let text = format!(
            "{:.*}",
            usize::from(planted.decimals),
            half_up(planted.value, planted.decimals)
        );
        let comparison = planted.statistic.shape() == Shape::Comparison;
        logbook.claims.push(Claim {
            id: "c1".into(),
            statistic: Some(planted.statistic),
            statistic_text: planted.statistic.name().into(),
            measure: ClaimMeasure::Known(0),
            phase: Some(phase),
            phase_text: None,
            versus: comparison.then_some(BlockName::Phase(Phase::PRE)),
            versus_text: None,
            value: Some(Stated::new(
                text.parse().unwrap_or(f64::NAN),
                planted.decimals,
            )),
            value_text: text.into(),
            unit: None,
            location: None,
            place: Place::cell("P01.xlsx".into(), "Claims".into(), 1, 4),
            origin: ClaimOrigin::Table,
            formula: None,
        });
        logbook
    }
}

fn half_up(value: f64, decimals: u8) -> f64 {
    let scale = 10_f64.powi(i32::from(decimals));
    ((value.abs() * scale * (1.0 + 1e-12) + 0.5).floor() / scale).copysign(value)
}

fn add(
    logbook: &mut Logbook,
    measure: usize,
    kind: PhaseKind,
    session: u32,
    scores: &[Option<f64>],
) {
    let (file, sheet): (Arc<str>, Arc<str>) = ("P01.xlsx".into(), "Trials".into());
    for (number, score) in (1..).zip(scores) {
        let row = logbook.trials.len() as u32 + 1;
        logbook.trials.push(Trial {
            measure,
            phase: Some(Phase::first(kind)),
            session: Some(session),
            date: None,
            number: Some(number),
            score: score.map_or(Score::Missing, Score::Number),
            landing: None,
            condition: None,
            rater: None,
            estimate: None,
            hidden: false,
            place: Place::cell(file.clone(), sheet.clone(), row, 5),
        });
    }
}

/// What came of one kind of planted claim.
#[derive(Default)]
struct Tally {
    planted: u32,
    reported: u32,
    listed: u32,
    alone: u32,
    first: u32,
    likely: u32,
    likely_right: u32,
}

const CODES: &[&str] = &[
    "divided-by-later",
    "divided-by-scale",
    "points-for-percent",
    "fraction-for-percent",
    "ratio-for-change",
    "sign-reversed",
    "phases-swapped",
    "direction-ignored",
    "population-sd",
    "sample-sd",
    "variance-for-sd",
    "sd-for-variance",
    "se-for-sd",
    "sd-for-se",
    "median-for-mean",
    "mean-for-median",
    "sum-for-mean",
    "mode-for-mean",
    "best-trial",
    "best-session",
    "worst-dropped",
    "best-and-worst-dropped",
    "outlier-dropped",
    "first-row-missed",
    "last-row-missed",
    "first-trials-only",
    "last-trials-only",
    "practice-included",
    "tests-included",
    "familiarisation-included",
    "averaged-averages",
    "blanks-as-zero",
    "zeros-as-blank",
    "extra-cell",
    "planned-n",
    "bias-for-accuracy",
    "accuracy-for-bias",
    "total-for-variable",
    "other-phase",
    "other-measure",
    "other-session",
    "rounded-early",
    "truncated",
    "digits-swapped",
    "decimal-misplaced",
    "copied-wrong-digit",
    "one-tailed",
    "two-tailed",
    "paired-for-independent",
    "independent-for-paired",
    "pooled-for-welch",
    "welch-for-pooled",
    "d-for-g",
    "g-for-d",
    "glass-for-d",
    "d-average-sd",
    "d-paired-for-d",
    "retained-of-post",
    "lost-for-retained",
    "practice-included+population-sd",
    "none",
    "sound",
];

#[test]
fn slips_are_found_and_likely_is_right() {
    let each: u32 = std::env::var("EVENHAND_CALIBRATION")
        .ok()
        .and_then(|n| n.parse().ok())
        .map_or(60, |all: u32| all / CODES.len() as u32);
    let mut dice = Dice(ChaCha8Rng::seed_from_u64(20));
    let mut tallies: BTreeMap<&str, Tally> = BTreeMap::new();
    let mut mistaken: BTreeMap<(String, String), u32> = BTreeMap::new();
    for code in CODES {
        let mut tries = 0;
        while tallies.entry(code).or_default().planted < each && tries < 200 * each {
            tries += 1;
            let learner = dice.learner();
            let Some(planted) = learner.plant(code, &mut dice) else {
                continue;
            };
            if !planted.value.is_finite() {
                continue;
            }
            let logbook = learner.logbook(&planted);
            let record = Record::new(&logbook);
            let claim = recompute(&logbook, &record, &ClaimSettings::default()).remove(0);
            let tally = tallies.entry(code).or_default();
            if *code == "sound" {
                tally.planted += 1;
                tally.reported += u32::from(claim.verdict != Verdict::Agrees);
                continue;
            }
            if matches!(claim.verdict, Verdict::Agrees | Verdict::NotRecomputable) {
                // The slip changes nothing here.
                continue;
            }
            tally.planted += 1;
            tally.reported += 1;
            let codes: Vec<String> = claim.explanations.iter().map(Explanation::code).collect();
            let listed = codes.iter().any(|known| known == code);
            let first = codes.first().is_some_and(|known| known == code);
            tally.listed += u32::from(listed);
            let singles = codes.iter().filter(|known| !known.contains('+')).count();
            if singles <= 1 || first {
                tally.alone += u32::from(singles <= 1);
                tally.first += u32::from(first && singles <= 1);
            }
            if !listed
                && std::env::var("EVENHAND_CALIBRATION").is_ok()
                && tally.planted - tally.listed < 3
            {
                println!(
                    "missed {code}: {} {} claimed {} right {:?} {:?} kind {:?}",
                    planted.statistic,
                    planted.phase,
                    planted.value,
                    claim.value,
                    codes,
                    learner.measure.kind
                );
            }
            if claim.confidence == Some(Confidence::Likely) {
                tally.likely += 1;
                tally.likely_right += u32::from(first);
                if !first {
                    *mistaken
                        .entry(((*code).to_owned(), codes[0].clone()))
                        .or_default() += 1;
                }
            }
        }
    }
    let mut all = Tally::default();
    println!("{:34} planted listed alone first likely right", "code");
    for (code, tally) in &tallies {
        println!(
            "{code:34} {:7} {:6} {:5} {:5} {:6} {:5}",
            tally.planted, tally.listed, tally.alone, tally.first, tally.likely, tally.likely_right
        );
        if !matches!(*code, "none" | "sound") {
            all.planted += tally.planted;
            all.listed += tally.listed;
            all.alone += tally.alone;
            all.first += tally.first;
        }
        all.likely += tally.likely;
        all.likely_right += tally.likely_right;
    }
    println!("mistaken for likely: {mistaken:?}");
    println!(
        "listed {:.3}, first where alone {:.3}, likely {} of which right {:.3}",
        f64::from(all.listed) / f64::from(all.planted),
        f64::from(all.first) / f64::from(all.alone.max(1)),
        all.likely,
        f64::from(all.likely_right) / f64::from(all.likely.max(1)),
    );
    assert_eq!(
        tallies["sound"].reported, 0,
        "a sound claim is never reported"
    );
    assert!(f64::from(all.listed) >= 0.97 * f64::from(all.planted));
    assert!(f64::from(all.first) >= 0.9 * f64::from(all.alone));
    assert!(f64::from(all.likely_right) >= 0.95 * f64::from(all.likely));
    assert!(all.likely > 0);
}

//! The candidate shapes of a practice curve, each with its least-squares fit.
//!
//! Level and gain enter every shape linearly, so that they follow from the rest in closed form (variable projection: Golub & Pereyra 1973,
//! SIAM Journal on Numerical Analysis 10:413–432). What remains is one number (two for the logistic), searched over its whole range: no start
//! to choose and no false minimum to fall into.

/// A shape of a practice curve, y against session number x = 1, 2, 3 …
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shape {
    /// y = a.
    Flat,
    /// y = a + b·x.
    Line,
    /// y = a + b·xᵖ (p negative: the power law of practice, towards a).
    Power,
    /// y = a + b·exp(−c·x) (c positive: towards a).
    Exponential,
    /// y = a + b/(1 + exp(−c(x − d))): an S about session d.
    Logistic,
    /// y = a up to a session, b after it.
    Step,
}

/// What a fit gives.
pub(super) struct Fitted {
    pub(super) parameters: Vec<f64>,
    pub(super) squared_error: f64,
}

impl Shape {
    /// All candidates, fewest parameters first.
    pub const ALL: [Self; 6] = [
        Self::Flat,
        Self::Line,
        Self::Power,
        Self::Exponential,
        Self::Step,
        Self::Logistic,
    ];

    /// The name by which rubrics know the shape.
    pub fn name(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::Line => "linear",
            Self::Power => "power",
            Self::Exponential => "exponential",
            Self::Logistic => "logistic",
            Self::Step => "step",
        }
    }

    /// How many parameters it has, the place of a step counted, the error variance not.
    pub fn parameters(self) -> usize {
        match self {
            Self::Flat => 1,
            Self::Line => 2,
            Self::Power | Self::Exponential | Self::Step => 3,
            Self::Logistic => 4,
        }
    }

    /// Whether it is anything but a straight or flat line.
    pub fn is_curved(self) -> bool {
        !matches!(self, Self::Flat | Self::Line)
    }

    /// The curve's value at session `x` for parameters in the order of its formula; the first parameter where some are missing.
    pub(super) fn value(self, x: f64, parameters: &[f64]) -> f64 {
        match (self, parameters) {
            (Self::Line, &[a, b]) => a + b * x,
            (Self::Power, &[a, b, p]) => a + b * x.powf(p),
            (Self::Exponential, &[a, b, c]) => a + b * (-c * x).exp(),
            (Self::Logistic, &[a, b, c, d]) => a + b / (1.0 + (-c * (x - d)).exp()),
            (Self::Step, &[a, b, before]) => {
                if x <= before {
                    a
                } else {
                    b
                }
            }
            (_, parameters) => parameters.first().copied().unwrap_or(0.0),
        }
    }

    /// The least-squares fit to session means between 0 and 1.
    pub(super) fn fit(self, means: &[f64]) -> Fitted {
        let sessions = Sessions::of(means);
        match self {
            Self::Flat => Fitted {
                parameters: vec![sessions.mean],
                squared_error: sessions.squares,
            },
            Self::Line => {
                let line = sessions.regress(|x| x);
                Fitted {
                    parameters: vec![line.level, line.gain],
                    squared_error: line.squared_error,
                }
            }
            Self::Power => sessions.power(),
            Self::Exponential => sessions.exponential(),
            Self::Logistic => sessions.logistic(),
            Self::Step => sessions.step(),
        }
    }

    /// Parameters of a fit to (y − lowest)/range as parameters of y.
    pub(super) fn in_scores(self, mut parameters: Vec<f64>, lowest: f64, range: f64) -> Vec<f64> {
        // The first is a level in every shape; the second a level in a step, else a difference.
        for (index, parameter) in parameters.iter_mut().take(2).enumerate() {
            let is_level = index == 0 || self == Self::Step;
            *parameter = *parameter * range + if is_level { lowest } else { 0.0 };
        }
        parameters
    }
}

/// Session means with what every fit needs of them.
struct Sessions<'a> {
    means: &'a [f64],
    mean: f64,
    /// Squared deviations about the mean.
    squares: f64,
}

/// Least squares of the means on one function of the session number.
#[derive(Clone, Copy)]
struct Regression {
    level: f64,
    gain: f64,
    squared_error: f64,
}

impl<'a> Sessions<'a> {
    fn of(means: &'a [f64]) -> Self {
        let mean = means.iter().sum::<f64>() / means.len() as f64;
        let squares = means.iter().map(|y| (y - mean).powi(2)).sum();
        Self {
            means,
            mean,
            squares,
        }
    }

    fn last(&self) -> f64 {
        self.means.len() as f64
    }

    fn regress(&self, function: impl Fn(f64) -> f64) -> Regression {
        let mut sum = 0.0;
        let mut squares = 0.0;
        let mut products = 0.0;
        // About the first session's value: what is nearly constant keeps its digits.
        let origin = function(1.0);
        let mut x = 0.0;
        for y in self.means {
            x += 1.0;
            let g = function(x) - origin;
            sum += g;
            squares += g * g;
            products += g * (y - self.mean);
        }
        let n = self.last();
        let spread = squares - sum * sum / n;
        // Written so that an overflow on the way counts as no fit.
        if !(spread > squares * 1e-14 && spread.is_finite()) {
            return Regression {
                level: self.mean,
                gain: 0.0,
                squared_error: self.squares,
            };
        }
        let gain = products / spread;
        Regression {
            level: self.mean - gain * (sum / n + origin),
            gain,
            squared_error: (self.squares - gain * products).max(0.0),
        }
    }

    /// Residuals one by one, where the difference of two large sums has lost them.
    fn with_exact_error(&self, parameters: Vec<f64>, value: impl Fn(f64, &[f64]) -> f64) -> Fitted {
        let squared_error = self
            .means
            .iter()
            .zip(1..)
            .map(|(y, session)| (y - value(f64::from(session), &parameters)).powi(2))
            .sum::<f64>();
        Fitted {
            parameters,
            squared_error,
        }
    }

    /// y = level + gain·(xᵖ − 1)/p, which passes smoothly through the logarithm at p = 0.
    fn power(&self) -> Fitted {
        let basis = |p: f64| move |x: f64| (p * x.ln()).exp_m1() / p;
        let p = lowest_of(&grid(-8.0, 4.0, 25), |p| {
            self.regress(basis(p)).squared_error
        });
        let fit = self.regress(basis(p));
        let b = fit.gain / p;
        self.with_exact_error(
            vec![fit.level - b, b, p],
            |x, parameters| match parameters {
                [_, b, p] => fit.level + b * (p * x.ln()).exp_m1(),
                _ => f64::NAN,
            },
        )
    }

    /// y = level + gain·(1 − exp(−c(x − 1)))/c, which passes smoothly through the straight line at c = 0.
    fn exponential(&self) -> Fitted {
        let basis = |c: f64| move |x: f64| -(-c * (x - 1.0)).exp_m1() / c;
        // Rates from a curve that hardly bends over all sessions to one that is done after the first.
        let per_session = 1.0 / (self.last() - 1.0);
        let rates: Vec<f64> = grid(-3.0, 3.0, 31)
            .into_iter()
            .map(|u| (u * 1.6).sinh() * per_session * 0.8)
            .map(|rate| rate.clamp(-30.0 * per_session, 6.0))
            .collect();
        let c = lowest_of(&rates, |c| self.regress(basis(c)).squared_error);
        let fit = self.regress(basis(c));
        let b = fit.gain / c;
        self.with_exact_error(vec![fit.level + b, -b * c.exp(), c], |x, _| {
            fit.level - b * (-c * (x - 1.0)).exp_m1()
        })
    }

    fn logistic(&self) -> Fitted {
        let basis = |c: f64, d: f64| move |x: f64| 1.0 / (1.0 + (-c * (x - d)).exp());
        let span = self.last() - 1.0;
        let slopes: Vec<f64> = (0..7).map(|k| 1.5 / span * 1.9_f64.powi(k)).collect();
        let (least, most) = (0.5 / span, 40.0);
        let error = |[c, d]: [f64; 2]| {
            if (least..=most).contains(&c) && (1.0..=self.last()).contains(&d) {
                self.regress(basis(c, d)).squared_error
            } else {
                f64::INFINITY
            }
        };
        let mut best = ([1.0, f64::midpoint(1.0, self.last())], f64::INFINITY);
        for &c in &slopes {
            let mut d = 1.5;
            while d < self.last() {
                let found = error([c, d]);
                if found < best.1 {
                    best = ([c, d], found);
                }
                d += 1.0;
            }
        }
        let [c, d] = downhill_simplex(best.0, [best.0[0] * 0.3, 0.4], &error);
        let fit = self.regress(basis(c, d));
        self.with_exact_error(vec![fit.level, fit.gain, c, d], |x, _| {
            fit.level + fit.gain * basis(c, d)(x)
        })
    }

    fn step(&self) -> Fitted {
        let n = self.means.len();
        let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
        let mut best: Option<(f64, usize)> = None;
        let mut before_sum = 0.0;
        let total = self.mean * self.last();
        for (before, y) in (1..n).zip(self.means) {
            before_sum += y;
            let (early, late) = (before as f64, (n - before) as f64);
            let gap = before_sum / early - (total - before_sum) / late;
            let explained = gap * gap * early * late / n as f64;
            if best.is_none_or(|(most, _)| explained > most) {
                best = Some((explained, before));
            }
        }
        let (early, late) = self.means.split_at(best.map_or(1, |(_, before)| before));
        let (a, b, before) = (mean(early), mean(late), early.len() as f64);
        self.with_exact_error(vec![a, b, before], |x, _| if x <= before { a } else { b })
    }
}

/// `count` numbers from `low` to `high`, none of them 0, where the shapes with a slope at 0 are not defined.
fn grid(low: f64, high: f64, count: u32) -> Vec<f64> {
    (0..count)
        .map(|i| low + (high - low) * f64::from(i) / f64::from(count - 1))
        .map(|value| if value.abs() < 1e-6 { 1e-6 } else { value })
        .collect()
}

/// Where between the ends of an ascending grid `error` is lowest: the best of the grid, then golden sections about it.
fn lowest_of(grid: &[f64], error: impl Fn(f64) -> f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let mut best = (0, f64::INFINITY);
    for (index, &at) in grid.iter().enumerate() {
        let found = error(at);
        if found < best.1 {
            best = (index, found);
        }
    }
    let at = |index: usize| {
        grid.get(index.min(grid.len().saturating_sub(1)))
            .copied()
            .unwrap_or(1.0)
    };
    let middle = at(best.0);
    let (mut low, mut high) = (at(best.0.saturating_sub(1)), at(best.0 + 1));
    let (mut left, mut right) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut left_error, mut right_error) = (error(left), error(right));
    for _ in 0..48 {
        if left_error <= right_error {
            (high, right, right_error) = (right, left, left_error);
            left = high - GOLDEN * (high - low);
            left_error = error(left);
        } else {
            (low, left, left_error) = (left, right, right_error);
            right = low + GOLDEN * (high - low);
            right_error = error(right);
        }
    }
    let (found, found_error) = if left_error <= right_error {
        (left, left_error)
    } else {
        (right, right_error)
    };
    let found = if found == 0.0 { 1e-9 } else { found };
    if found_error <= best.1 { found } else { middle }
}

/// Nelder & Mead 1965, Computer Journal 7:308–313, in two dimensions from one corner and two step lengths.
fn downhill_simplex(
    start: [f64; 2],
    lengths: [f64; 2],
    error: &impl Fn([f64; 2]) -> f64,
) -> [f64; 2] {
    let corner = |at: [f64; 2]| (at, error(at));
    let mut simplex = [
        corner(start),
        corner([start[0] + lengths[0], start[1]]),
        corner([start[0], start[1] + lengths[1]]),
    ];
    let between =
        |a: [f64; 2], b: [f64; 2], t: f64| [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
    for _ in 0..160 {
        simplex.sort_by(|a, b| a.1.total_cmp(&b.1));
        let [best, second, worst] = simplex;
        if (worst.0[0] - best.0[0]).abs() + (worst.0[1] - best.0[1]).abs() < 1e-10 {
            break;
        }
        let middle = between(best.0, second.0, 0.5);
        let reflected = corner(between(worst.0, middle, 2.0));
        simplex[2] = if reflected.1 < best.1 {
            let expanded = corner(between(worst.0, middle, 3.0));
            if expanded.1 < reflected.1 {
                expanded
            } else {
                reflected
            }
        } else if reflected.1 < second.1 {
            reflected
        } else {
            let nearer = if reflected.1 < worst.1 {
                reflected.0
            } else {
                worst.0
            };
            let contracted = corner(between(middle, nearer, 0.5));
            if contracted.1 < worst.1.min(reflected.1) {
                contracted
            } else {
                simplex[1] = corner(between(best.0, second.0, 0.5));
                corner(between(best.0, worst.0, 0.5))
            }
        };
    }
    simplex.sort_by(|a, b| a.1.total_cmp(&b.1));
    simplex[0].0
}

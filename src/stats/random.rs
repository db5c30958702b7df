//! The one source of chance: streams of random numbers that are the same on every machine and any number of threads.
//!
//! A stream is named by a seed and a text, as a rule the pair and what the numbers are for, so that what one statistic draws never moves
//! another's numbers. `ChaCha` with 8 rounds, keyed by BLAKE3 of seed and name; the logarithms and exponentials are those of `libm`, not the
//! machine's. Not for secrets.

use std::sync::LazyLock;

use rand_chacha::{
    ChaCha8Rng,
    rand_core::{Rng, SeedableRng},
};

/// What sets these keys apart from any other use of BLAKE3; a new number here is a new set of streams.
const CONTEXT: &str = "evenhand 2026 random stream 1";

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub struct Stream {
    generator: ChaCha8Rng,
    bits: u64,
    bits_left: u32,
}

impl Stream {
    /// The stream of this seed and name: equal ones give equal numbers, others have nothing in common.
    #[must_use]
    pub fn new(seed: u64, name: &str) -> Self {
        let mut hasher = blake3::Hasher::new_derive_key(CONTEXT);
        hasher.update(&seed.to_le_bytes());
        hasher.update(name.as_bytes());
        Self {
            generator: ChaCha8Rng::from_seed(*hasher.finalize().as_bytes()),
            bits: 0,
            bits_left: 0,
        }
    }

    /// 64 random bits.
    #[inline]
    pub fn next_u64(&mut self) -> u64 {
        self.generator.next_u64()
    }

    /// A whole number from 0 to below `bound`, each as likely as the others; 0 where `bound` is 0.
    ///
    /// Lemire 2019, ACM Transactions on Modeling and Computer Simulation 29(1):3.
    pub fn index(&mut self, bound: usize) -> usize {
        let Ok(range) = u16::try_from(bound) else {
            return self.index_of_many(bound as u64);
        };
        if range < 2 {
            return 0;
        }
        loop {
            let product = u32::from(self.next_u16()) * u32::from(range);
            // The low half tells the few draws that would favour some numbers.
            let low = product & 0xffff;
            if low >= u32::from(range) || low >= 0x1_0000 % u32::from(range) {
                return (product >> 16) as usize;
            }
        }
    }

    fn index_of_many(&mut self, bound: u64) -> usize {
        loop {
            let product = u128::from(self.next_u64()) * u128::from(bound);
            let low = product & u128::from(u64::MAX);
            if low >= u128::from(bound) || low >= (1_u128 << 64) % u128::from(bound) {
                return usize::try_from(product >> 64).unwrap_or_default();
            }
        }
    }

    /// One of two values, each as likely.
    pub fn coin(&mut self) -> bool {
        self.take_bits(1) == 1
    }

    /// A number from 0 to below 1, in steps of 2⁻⁵³.
    pub fn uniform(&mut self) -> f64 {
        unit_interval(self.next_u64())
    }

    /// A number of the standard normal distribution.
    ///
    /// Marsaglia & Tsang 2000, Journal of Statistical Software 5(8), in the form of Doornik 2005, An Improved Ziggurat Method.
    pub fn normal(&mut self) -> f64 {
        let ziggurat = &*ZIGGURAT;
        loop {
            let bits = self.next_u64();
            // The layer and the place in it come from different bits.
            let layer = (bits & 0x7f) as usize;
            let (Some(&edge), Some(&inner)) =
                (ziggurat.edges.get(layer), ziggurat.edges.get(layer + 1))
            else {
                continue;
            };
            let signed = 2.0 * unit_interval(bits) - 1.0;
            let x = signed * edge;
            if x.abs() < inner {
                return x;
            }
            if layer == 0 {
                return self.normal_tail(signed < 0.0);
            }
            let density = |x: f64| libm::exp(-0.5 * x * x);
            let (low, high) = (density(edge), density(inner));
            if low + self.uniform() * (high - low) < density(x) {
                return x;
            }
        }
    }

    /// Beyond the ziggurat's base (Marsaglia 1964, Technometrics 6:101–102).
    fn normal_tail(&mut self, negative: bool) -> f64 {
        loop {
            let x = libm::log(1.0 - self.uniform()) / TAIL_START;
            let y = libm::log(1.0 - self.uniform());
            if -2.0 * y >= x * x {
                return if negative {
                    x - TAIL_START
                } else {
                    TAIL_START - x
                };
            }
        }
    }

    /// A number of the chi-squared distribution on `degrees_of_freedom`, 1 or more.
    ///
    /// Marsaglia & Tsang 2000, ACM Transactions on Mathematical Software 26:363–372: twice a gamma of half the degrees of freedom.
    pub fn chi_squared(&mut self, degrees_of_freedom: f64) -> f64 {
        if degrees_of_freedom < 1.5 {
            return self.normal().powi(2);
        }
        let d = degrees_of_freedom / 2.0 - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let root = 1.0 + c * x;
            if root <= 0.0 {
                continue;
            }
            let v = root.powi(3);
            let u = 1.0 - self.uniform();
            let x2 = x * x;
            // The first test settles nearly all without a logarithm.
            if u < 1.0 - 0.0331 * x2 * x2 || libm::log(u) < 0.5 * x2 + d * (1.0 - v + libm::log(v))
            {
                return 2.0 * d * v;
            }
        }
    }

    /// 32 random bits.
    #[inline]
    pub fn next_u32(&mut self) -> u32 {
        self.generator.next_u32()
    }

    /// Moves `count` random items to the front, each selection as likely as the others.
    pub fn choose<T>(&mut self, items: &mut [T], count: usize) {
        for place in 0..count.min(items.len()) {
            let other = place + self.index(items.len() - place);
            items.swap(place, other);
        }
    }

    fn next_u16(&mut self) -> u16 {
        self.take_bits(16)
    }

    fn take_bits(&mut self, count: u32) -> u16 {
        if self.bits_left < count {
            self.bits = self.next_u64();
            self.bits_left = 64;
        }
        let taken = self.bits & ((1 << count) - 1);
        self.bits >>= count;
        self.bits_left -= count;
        // At most 16 bits.
        u16::try_from(taken).unwrap_or_default()
    }
}

/// The upper 53 of 64 bits as a number from 0 to below 1.
fn unit_interval(bits: u64) -> f64 {
    (bits >> 11) as f64 / 9_007_199_254_740_992.0
}

const LAYERS: usize = 128;
/// Where the base layer of 128 of equal area ends, and that area (Doornik 2005, table 1).
const TAIL_START: f64 = 3.442_619_855_899;
const LAYER_AREA: f64 = 9.912_563_035_262_17e-3;

struct Ziggurat {
    /// Right edges of the layers, the base first, then from wide to narrow, 0 at last.
    edges: [f64; LAYERS + 1],
}

static ZIGGURAT: LazyLock<Ziggurat> = LazyLock::new(|| {
    let mut edges = [0.0; LAYERS + 1];
    let mut density = libm::exp(-0.5 * TAIL_START * TAIL_START);
    let mut edge = TAIL_START;
    for (layer, slot) in edges.iter_mut().enumerate().take(LAYERS) {
        match layer {
            // The base also holds the tail: as wide as a rectangle of its area.
            0 => *slot = LAYER_AREA / density,
            1 => *slot = edge,
            _ => {
                density += LAYER_AREA / edge;
                edge = (-2.0 * libm::log(density)).sqrt();
                *slot = edge;
            }
        }
    }
    Ziggurat { edges }
});

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{distribution::normal_cdf, summary};
    use proptest::prelude::*;

    /// Pinned, so that no change of a library moves published p values unseen.
    #[test]
    fn the_first_numbers_of_a_stream_stay() {
        let mut stream = Stream::new(1, "P01 pre");
        let first: Vec<u64> = (0..2).map(|_| stream.next_u64()).collect();
        let mut again = Stream::new(1, "P01 pre");
        assert_eq!(first[0], again.next_u64());
        assert_eq!(
            first,
            [14_450_670_858_236_629_383, 7_764_251_140_524_273_771]
        );
    }

    #[test]
    fn streams_of_other_names_differ() {
        let first = |seed, name| Stream::new(seed, name).next_u64();
        assert_ne!(first(1, "a"), first(1, "b"));
        assert_ne!(first(1, "a"), first(2, "a"));
    }

    /// Each of the five standard errors' bounds is missed by chance once in two million.
    #[test]
    fn normal_numbers_are_normal() {
        let mut stream = Stream::new(7, "normal");
        let draws: Vec<f64> = (0..200_000).map(|_| stream.normal()).collect();
        let n = draws.len() as f64;
        assert!(summary::mean(&draws).unwrap().abs() < 5.0 / n.sqrt());
        assert!((summary::variance(&draws).unwrap() - 1.0).abs() < 5.0 * (2.0 / n).sqrt());
        for z in [-3.8, -3.442_62, -2.0, -1.0, -0.2, 0.0, 0.5, 1.7, 3.0, 3.6] {
            let share = draws.iter().filter(|&&draw| draw <= z).count() as f64 / n;
            let expected = normal_cdf(z);
            let error = (expected * (1.0 - expected) / n).sqrt();
            assert!(
                (share - expected).abs() < 5.0 * error,
                "{z}: {share} for {expected}"
            );
        }
    }

    #[test]
    fn indices_are_even() {
        let mut stream = Stream::new(7, "index");
        for bound in [3_usize, 10, 70_000] {
            let draws = 60_000;
            let thirds = (0..draws).fold([0_u32; 3], |mut thirds, _| {
                thirds[stream.index(bound) * 3 / bound] += 1;
                thirds
            });
            // Thirds of 10 are 4, 3 and 3 numbers.
            let shares = if bound == 10 {
                [0.4, 0.3, 0.3]
            } else {
                [1.0 / 3.0; 3]
            };
            for (count, share) in thirds.into_iter().zip(shares) {
                let error = (share * (1.0 - share) * f64::from(draws)).sqrt();
                assert!((f64::from(count) - share * f64::from(draws)).abs() < 5.0 * error);
            }
        }
        assert_eq!(stream.index(0), 0);
        assert_eq!(stream.index(1), 0);
        let heads = (0..10_000).filter(|_| stream.coin()).count();
        assert!((4_750..5_250).contains(&heads));
    }

    /// Counts in 50 cells that the distribution makes equally likely: their chi-squared, seeded.
    #[test]
    fn chi_squared_numbers_are_chi_squared() {
        use crate::stats::distribution::chi_square_upper_tail;
        let mut stream = Stream::new(2, "chi-squared");
        for df in [1.0, 2.0, 3.0, 9.0, 29.0] {
            let mut counts = [0.0_f64; 50];
            for _ in 0..20_000 {
                let cell = 50.0 * chi_square_upper_tail(stream.chi_squared(df), df).unwrap();
                counts[(0..49_usize).find(|&k| cell < k as f64 + 1.0).unwrap_or(49)] += 1.0;
            }
            let distance: f64 = counts
                .iter()
                .map(|count| (count - 400.0).powi(2) / 400.0)
                .sum();
            assert!(
                chi_square_upper_tail(distance, 49.0).unwrap() > 0.001,
                "{df}: {distance}"
            );
        }
    }

    proptest! {
        #[test]
        fn choosing_keeps_every_item(seed in any::<u64>(), length in 0_usize..30, count in 0_usize..40) {
            let mut items: Vec<usize> = (0..length).collect();
            Stream::new(seed, "choose").choose(&mut items, count);
            items.sort_unstable();
            prop_assert_eq!(items, (0..length).collect::<Vec<usize>>());
        }
    }
}

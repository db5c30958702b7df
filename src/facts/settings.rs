//! What a course or a caller may set about the computation of facts.

/// How facts are computed.
#[derive(Debug, Clone, PartialEq)]
pub struct FactSettings {
    /// The seed of the cohort: the same seed gives the same facts, whatever else is computed and on however many threads.
    pub seed: u64,
    /// Confidence level of the intervals, between 0 and 1.
    pub confidence: f64,
    /// Samples drawn for each bootstrap interval.
    pub resamples: usize,
    /// Learners simulated for each practice curve; none where facts that need them are not wanted.
    pub learners: usize,
}

/// 95 % intervals, 2,000 bootstrap samples, 2,000 simulated learners, seed 1.
impl Default for FactSettings {
    fn default() -> Self {
        Self {
            seed: 1,
            confidence: 0.95,
            resamples: 2_000,
            learners: 2_000,
        }
    }
}

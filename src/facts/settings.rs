//! What a course or a caller may set about the computation of facts.

/// How facts are computed.
#[derive(Debug, Clone, PartialEq)]
pub struct FactSettings {
    /// The seed of the cohort: the same seed gives the same facts, whatever else is computed and on however many threads.
    pub seed: u64,
    /// Confidence level of the intervals, between 0 and 1.
    pub confidence: f64,
    /// Whether to compute what needs simulation: bootstrap intervals, and how often a smooth learner shows a practice curve like this one.
    /// They are most of the cost of a pair.
    pub simulate: bool,
}

/// 95 % intervals, seed 1, with simulation.
impl Default for FactSettings {
    fn default() -> Self {
        Self {
            seed: 1,
            confidence: 0.95,
            simulate: true,
        }
    }
}

//! How likely the means of independent sessions rise somewhere by at least so much, where each session's mean has few possible values:
//! exactly, by going through the sessions with the chances of every value and of having risen by then.

/// A session's possible means, from low to high, each with its chance.
pub(super) type Outcomes = Vec<(f64, f64)>;

/// The chance that from some session to the next the mean rises by `least` or more; from 0 to 1.
pub(super) fn chance_of_rise(sessions: impl IntoIterator<Item = Outcomes>, least: f64) -> f64 {
    let mut sessions = sessions.into_iter();
    // The chances of each mean now, without a rise so far.
    let mut now = sessions.next().unwrap_or_default();
    let mut risen = 0.0;
    for mut next in sessions {
        // From each mean on, the chance of it or a higher one: sums of chances alone, so that small ones keep their digits.
        let mut from_here_up: Vec<f64> = Vec::with_capacity(now.len() + 1);
        from_here_up.push(0.0);
        for (_, chance) in now.iter().rev() {
            let above = from_here_up.last().copied().unwrap_or_default();
            from_here_up.push(above + chance);
        }
        from_here_up.reverse();
        let mut low = 0;
        let mut chance_of_low = 0.0;
        for (mean, chance) in &mut next {
            while let Some((earlier, its_chance)) = now.get(low)
                && *mean - earlier >= least
            {
                chance_of_low += its_chance;
                low += 1;
            }
            risen += *chance * chance_of_low;
            *chance *= from_here_up.get(low).copied().unwrap_or_default();
        }
        now = next;
    }
    risen.min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::assert_close;

    /// By listing all 24 ways of three sessions.
    #[test]
    fn as_all_ways_listed() {
        let sessions: [Outcomes; 3] = [
            vec![(0.0, 0.3), (1.0, 0.7)],
            vec![(0.0, 0.2), (1.5, 0.5), (3.0, 0.3)],
            vec![(-1.0, 0.1), (1.0, 0.2), (2.0, 0.3), (3.5, 0.4)],
        ];
        for least in [0.4, 1.5, 2.0, 3.6] {
            let mut expected = 0.0;
            for (a, chance_a) in &sessions[0] {
                for (b, chance_b) in &sessions[1] {
                    for (c, chance_c) in &sessions[2] {
                        if b - a >= least || c - b >= least {
                            expected += chance_a * chance_b * chance_c;
                        }
                    }
                }
            }
            assert_close(chance_of_rise(sessions.clone(), least), expected, 1e-14);
        }
        assert_eq!(chance_of_rise([], 1.0), 0.0);
    }
}

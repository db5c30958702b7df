//! Draws one of many things with given probabilities in constant time.
//!
//! Source: Walker's alias table built as in Vose 1991, IEEE Transactions on Software Engineering 17:972–975.

/// A table of things by number.
#[derive(Debug, Clone)]
pub(super) struct AliasTable {
    columns: Vec<Column>,
}

/// A column holds its own thing up to a threshold, and another thing above it.
#[derive(Debug, Clone, Copy)]
struct Column {
    threshold: u32,
    other: u32,
}

impl AliasTable {
    /// A table from which thing i is drawn with probability `probabilities[i]`; these sum to 1.
    pub(super) fn of(probabilities: &[f64]) -> Self {
        let count = probabilities.len() as f64;
        let mut scaled: Vec<f64> = probabilities.iter().map(|p| p * count).collect();
        let mut columns = vec![
            Column {
                threshold: u32::MAX,
                other: 0
            };
            scaled.len()
        ];
        let (mut small, mut large): (Vec<usize>, Vec<usize>) =
            (0..scaled.len()).partition(|&index| scaled.get(index).is_some_and(|&p| p < 1.0));
        while let (Some(few), Some(&many)) = (small.pop(), large.last()) {
            let filled = scaled.get(few).copied().unwrap_or(1.0);
            if let Some(column) = columns.get_mut(few) {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "from 0 to 2³², and a cast saturates"
                )]
                let threshold = (filled * 4_294_967_296.0) as u32;
                *column = Column {
                    threshold,
                    other: u32::try_from(many).unwrap_or(0),
                };
            }
            if let Some(rest) = scaled.get_mut(many) {
                *rest -= 1.0 - filled;
                if *rest < 1.0 {
                    large.pop();
                    small.push(many);
                }
            }
        }
        // What rounding leaves in either list has a probability of one column: its own.
        Self { columns }
    }

    /// The thing that 64 random bits stand for: the upper half says which column, the lower where in it.
    #[inline]
    pub(super) fn pick(&self, bits: u64) -> usize {
        let index = (((bits >> 32) * self.columns.len() as u64) >> 32) as usize;
        match self.columns.get(index) {
            Some(column)
                if bits & 0xffff_ffff >= u64::from(column.threshold)
                    && column.threshold < u32::MAX =>
            {
                column.other as usize
            }
            _ => index,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::random::Stream;
    use crate::stats::testing::assert_close;

    #[test]
    fn draws_each_thing_as_often_as_asked() {
        let probabilities = [0.5, 0.0, 0.2, 0.05, 0.25];
        let table = AliasTable::of(&probabilities);
        let mut stream = Stream::new(4, "test");
        let mut counts = [0.0; 5];
        for _ in 0..100_000 {
            counts[table.pick(stream.next_u64())] += 1.0 / 100_000.0;
        }
        assert!(counts[1] == 0.0);
        for (count, p) in counts.iter().zip(probabilities) {
            assert_close(*count, p, 0.005);
        }
    }
}

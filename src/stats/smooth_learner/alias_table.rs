//! Draws one of many things with given probabilities in constant time.
//!
//! Source: Walker's alias table built as in Vose 1991, IEEE Transactions on Software Engineering 17:972–975.

/// A table of things.
#[derive(Debug, Clone)]
pub(super) struct AliasTable<T> {
    columns: Vec<Column<T>>,
}

/// A column holds its own thing up to a threshold, and another thing above it.
#[derive(Debug, Clone, Copy)]
struct Column<T> {
    threshold: u32,
    own: T,
    other: T,
}

impl<T: Copy> AliasTable<T> {
    /// A table from which each thing is drawn with its probability; these sum to 1.
    pub(super) fn of(things: &[(f64, T)]) -> Self {
        let count = things.len() as f64;
        let mut scaled: Vec<f64> = things.iter().map(|(p, _)| p * count).collect();
        let mut columns: Vec<Column<T>> = things
            .iter()
            .map(|(_, own)| Column {
                threshold: u32::MAX,
                own: *own,
                other: *own,
            })
            .collect();
        let (mut small, mut large): (Vec<usize>, Vec<usize>) =
            (0..scaled.len()).partition(|&index| scaled.get(index).is_some_and(|&p| p < 1.0));
        while let (Some(few), Some(&many)) = (small.pop(), large.last()) {
            let filled = scaled.get(few).copied().unwrap_or(1.0);
            if let (Some(column), Some((_, other))) = (columns.get_mut(few), things.get(many)) {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "from 0 to 2³², and a cast saturates"
                )]
                let threshold = (filled * 4_294_967_296.0) as u32;
                column.threshold = threshold;
                column.other = *other;
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

    /// The thing that 32 random bits stand for; none in an empty table.
    #[inline]
    pub(super) fn pick(&self, bits: u32) -> Option<T> {
        // The whole part says which column, what follows the point where in it.
        let place = u64::from(bits) * self.columns.len() as u64;
        let column = self.columns.get((place >> 32) as usize)?;
        Some(if place & 0xffff_ffff < u64::from(column.threshold) {
            column.own
        } else {
            column.other
        })
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
        let things: Vec<(f64, usize)> = probabilities.into_iter().zip(0..).collect();
        let table = AliasTable::of(&things);
        let mut stream = Stream::new(4, "test");
        let mut counts = [0.0; 5];
        for _ in 0..100_000 {
            counts[table.pick(stream.next_u32()).unwrap()] += 1.0 / 100_000.0;
        }
        assert!(counts[1] == 0.0);
        for (count, p) in counts.iter().zip(probabilities) {
            assert_close(*count, p, 0.005);
        }
        assert_eq!(AliasTable::<u8>::of(&[]).pick(7), None);
    }
}

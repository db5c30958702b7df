//! The numbers of a selection, and what was worked out of them: once, for all computations that they enter.

use std::cell::OnceCell;
use std::ops::Range;

use super::collector::Item;
use super::part::Part;
use crate::stats::moments::Moments;
use crate::stats::{Undefined, summary};

/// The numbers of a selection with where they come from.
#[derive(Debug, Clone, Default)]
pub struct Gathered {
    /// The numbers.
    pub values: Part<f64>,
    /// Where each comes from.
    pub from: Part<Origin>,
    /// Count, mean and squared deviations; none where there are no numbers.
    moments: Option<Moments>,
    // What follows is worked out once it is asked for.
    of_sessions: OnceCell<Result<Vec<Moments>, Undefined>>,
    of_starts: OnceCell<Vec<Result<Moments, Undefined>>>,
    of_ends: OnceCell<Vec<Result<Moments, Undefined>>>,
    median: OnceCell<Result<f64, Undefined>>,
}

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Origin {
    /// Which session, counted over all phases: for telling sessions apart.
    pub session: usize,
    /// The trial's number.
    pub number: u32,
    /// The rater, where every rating is a number of its own.
    pub rater: usize,
    /// The row in the logbook's trials; none for what is no trial.
    pub row: Option<usize>,
}

impl Gathered {
    pub(super) fn of(items: &[Item]) -> Self {
        let values: Part<f64> = items.iter().map(|item| item.value).collect();
        let moments = Moments::of(&values).ok();
        Self::new(
            values,
            items.iter().map(|item| item.from).collect(),
            moments,
        )
    }

    fn new(values: Part<f64>, from: Part<Origin>, moments: Option<Moments>) -> Self {
        Self {
            values,
            from,
            moments,
            of_sessions: OnceCell::new(),
            of_starts: OnceCell::new(),
            of_ends: OnceCell::new(),
            median: OnceCell::new(),
        }
    }

    /// A run of the numbers, from the first one or up to the last one.
    pub(super) fn part(&self, run: Range<usize>) -> Self {
        let of_runs = if run.start == 0 {
            self.of_starts
                .get_or_init(|| Moments::of_starts(&self.values))
        } else {
            self.of_ends.get_or_init(|| Moments::of_ends(&self.values))
        };
        let moments = run
            .len()
            .checked_sub(1)
            .and_then(|before| of_runs.get(before)?.ok());
        Self::new(self.values.part(run.clone()), self.from.part(run), moments)
    }

    /// Count, mean and squared deviations of each session's numbers.
    ///
    /// # Errors
    /// What [`Moments::of`] says of one of them.
    pub fn moments_of_sessions(&self) -> Result<&[Moments], Undefined> {
        self.of_sessions
            .get_or_init(|| {
                let mut sessions: Vec<usize> = Vec::new();
                let mut moments = Vec::new();
                let mut rest: &[f64] = &self.values;
                for run in self.from.chunk_by(|a, b| a.session == b.session) {
                    let session = run.first().map_or(usize::MAX, |origin| origin.session);
                    if sessions.contains(&session) {
                        // They don't stand session by session.
                        let sessions = self.by(|origin| origin.session);
                        return sessions.iter().map(|group| Moments::of(group)).collect();
                    }
                    let (values, after) = rest.split_at_checked(run.len()).unwrap_or_default();
                    sessions.push(session);
                    moments.push(Moments::of(values)?);
                    rest = after;
                }
                Ok(moments)
            })
            .as_deref()
            .map_err(|why| *why)
    }

    /// The numbers in groups, in the order in which the groups appear.
    pub fn by(&self, key: impl Fn(&Origin) -> usize) -> Vec<Vec<f64>> {
        let mut groups: Vec<(usize, Vec<f64>)> = Vec::new();
        for (value, origin) in self.values.iter().zip(&self.from) {
            let key = key(origin);
            match groups.iter_mut().find(|(known, _)| *known == key) {
                Some((_, group)) => group.push(*value),
                None => groups.push((key, vec![*value])),
            }
        }
        groups.into_iter().map(|(_, group)| group).collect()
    }

    /// Whether they come from more than one session.
    pub fn is_of_several_sessions(&self) -> bool {
        let mut sessions = self
            .from
            .iter()
            .filter(|origin| origin.row.is_some())
            .map(|origin| origin.session);
        let first = sessions.next();
        sessions.any(|session| Some(session) != first)
    }

    /// The middle number.
    ///
    /// # Errors
    /// What [`summary::median`] says.
    pub fn median(&self) -> Result<f64, Undefined> {
        *self.median.get_or_init(|| summary::median(&self.values))
    }

    /// Count, mean and squared deviations.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] where there are no numbers.
    pub fn moments(&self) -> Result<Moments, Undefined> {
        self.moments.ok_or(Undefined::TooFew {
            needed: 1,
            given: self.values.len(),
        })
    }
}

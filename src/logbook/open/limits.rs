//! How much of a hand-in is read before the reader gives up on it, and the running count against those limits.

use std::collections::HashSet;
use std::sync::Arc;
use std::time::{Duration, Instant};

use super::error::OpenError;
use crate::logbook::grid::Cell;

/// What one file of a hand-in may take; `[limits]` in `cohort.toml` sets them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limits {
    /// Size of the file, in MiB.
    pub file_mib: u64,
    /// Size of what a packed file unpacks to, in MiB.
    pub unpacked_mib: u64,
    /// Cells that hold something.
    pub cells: u64,
    /// Rows that hold something, over all sheets.
    pub rows: u64,
    /// Time for one file, in seconds: a last resort.
    pub seconds: u64,
    /// What the file may take in memory, in MiB: its own bytes, copies of them, cells and texts. No setting of `cohort.toml`: reading stays under
    /// 200 MiB whatever the other limits are.
    pub memory_mib: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            file_mib: 50,
            unpacked_mib: 500,
            cells: 2_000_000,
            rows: 200_000,
            seconds: 60,
            memory_mib: 176,
        }
    }
}

impl Limits {
    /// The size of file that is still read, in bytes.
    pub fn file_bytes(&self) -> u64 {
        self.file_mib.saturating_mul(MIB)
    }

    /// What a packed file may unpack to, in bytes.
    pub fn unpacked_bytes(&self) -> u64 {
        self.unpacked_mib.saturating_mul(MIB)
    }
}

/// Bytes in a MiB.
pub(super) const MIB: u64 = 1 << 20;

/// What a text takes beside its letters, in bytes: its counters, and what the allocator adds.
const TEXT_OVERHEAD: usize = 32;
/// Texts up to this length are kept once, however often they come.
const SHORT: usize = 24;
/// So many different short texts are remembered.
const MOST_SHORT: usize = 1 << 16;

/// Text of formulas that is written out, in bytes: a formula shared by many cells is a small file and a long text.
const FORMULA_BYTES: u64 = 8 * MIB;

/// What one file has taken so far. Every reader counts here, so that no declared size is believed.
#[derive(Debug)]
pub(in crate::logbook) struct Budget {
    limits: Limits,
    cells: u64,
    rows: u64,
    memory: u64,
    /// Short texts kept so far: names of phases, small numbers as text.
    short: HashSet<Arc<str>>,
    formulas: u64,
    /// None where the limit is beyond what the clock can express.
    deadline: Option<Instant>,
}

impl Budget {
    /// Nothing taken yet; the clock starts.
    pub(in crate::logbook) fn new(limits: &Limits) -> Self {
        Self {
            limits: limits.clone(),
            cells: 0,
            rows: 0,
            memory: 0,
            short: HashSet::new(),
            formulas: 0,
            deadline: Instant::now().checked_add(Duration::from_secs(limits.seconds)),
        }
    }

    /// Counts one cell.
    pub(super) fn cell(&mut self) -> Result<(), OpenError> {
        self.cells += 1;
        if self.cells > self.limits.cells {
            return Err(OpenError::TooManyCells {
                limit: self.limits.cells,
            });
        }
        self.holds(size_of::<Cell>())
    }

    /// Counts one row.
    pub(super) fn row(&mut self) -> Result<(), OpenError> {
        self.rows += 1;
        if self.rows > self.limits.rows {
            return Err(OpenError::TooManyRows {
                limit: self.limits.rows,
            });
        }
        Ok(())
    }

    /// Counts bytes that are held in memory.
    pub(super) fn holds(&mut self, bytes: usize) -> Result<(), OpenError> {
        self.memory = self.memory.saturating_add(bytes as u64);
        if self.memory > self.limits.memory_mib.saturating_mul(MIB) {
            return Err(OpenError::TooMuch {
                limit_mib: self.limits.memory_mib,
            });
        }
        Ok(())
    }

    /// Keeps a text: a short one only once.
    pub(super) fn keep(&mut self, text: &str) -> Result<Arc<str>, OpenError> {
        if text.len() <= SHORT
            && let Some(kept) = self.short.get(text)
        {
            return Ok(kept.clone());
        }
        let kept = self.keep_apart(text)?;
        if text.len() <= SHORT && self.short.len() < MOST_SHORT {
            self.short.insert(kept.clone());
        }
        Ok(kept)
    }

    /// Keeps a text that is known to come once.
    pub(super) fn keep_apart(&mut self, text: &str) -> Result<Arc<str>, OpenError> {
        self.holds(text.len() + TEXT_OVERHEAD)?;
        Ok(Arc::from(text))
    }

    /// Whether a formula of so many bytes is still written out for one more cell: beyond the limit cells keep their values, and their formulas
    /// are not looked into.
    pub(super) fn formula(&mut self, bytes: usize) -> bool {
        self.formulas = self.formulas.saturating_add(bytes as u64);
        self.formulas <= FORMULA_BYTES
    }

    /// When reading must end.
    pub(in crate::logbook) fn deadline(&self) -> Deadline {
        Deadline {
            at: self.deadline,
            seconds: self.limits.seconds,
        }
    }
}

/// The moment after which reading gives up.
#[derive(Debug, Clone, Copy)]
pub(in crate::logbook) struct Deadline {
    at: Option<Instant>,
    seconds: u64,
}

impl Deadline {
    /// An error once the time is over; asks the clock, so call it once a chunk of work.
    pub(super) fn check(self) -> Result<(), OpenError> {
        match self.at {
            Some(at) if Instant::now() > at => Err(OpenError::TooSlow {
                seconds: self.seconds,
            }),
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_count_stops_at_the_limit_and_not_before() {
        let limits = Limits {
            cells: 2,
            rows: 1,
            ..Limits::default()
        };
        let mut budget = Budget::new(&limits);
        assert_eq!(budget.cell(), Ok(()));
        assert_eq!(budget.cell(), Ok(()));
        assert_eq!(budget.cell(), Err(OpenError::TooManyCells { limit: 2 }));
        assert_eq!(budget.row(), Ok(()));
        assert_eq!(budget.row(), Err(OpenError::TooManyRows { limit: 1 }));
    }

    #[test]
    fn short_texts_are_kept_once_and_all_are_counted() {
        let mut budget = Budget::new(&Limits::default());
        let first = budget.keep("pre").unwrap();
        assert!(Arc::ptr_eq(&first, &budget.keep("pre").unwrap()));
        let long = "x".repeat(1 << 20);
        let kept = (0..300).take_while(|_| budget.keep(&long).is_ok()).count();
        assert_eq!(kept, 175);
    }

    #[test]
    fn no_time_left_is_said() {
        let limits = Limits {
            seconds: 0,
            ..Limits::default()
        };
        let deadline = Budget::new(&limits).deadline();
        std::thread::sleep(Duration::from_millis(2));
        assert_eq!(deadline.check(), Err(OpenError::TooSlow { seconds: 0 }));
        // A limit beyond the clock's reach is no limit, not a panic.
        let limits = Limits {
            seconds: u64::MAX,
            ..Limits::default()
        };
        assert_eq!(Budget::new(&limits).deadline().check(), Ok(()));
    }
}

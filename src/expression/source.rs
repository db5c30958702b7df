//! Where conditions and sentences get facts from.

use std::collections::BTreeMap;

use crate::facts::{FactValue, Facts};
use crate::thresholds::Thresholds;

/// The facts of one pair, by name.
pub trait FactSource: Sync {
    /// The fact's value; none where it is absent.
    fn fact(&self, name: &str) -> Option<FactValue>;

    /// Whether an absent fact may have a value that could not be read: then even `has()` of it is undecided.
    fn is_unread(&self, _name: &str) -> bool {
        false
    }
}

impl FactSource for Facts {
    fn fact(&self, name: &str) -> Option<FactValue> {
        self.get(name).cloned()
    }

    fn is_unread(&self, name: &str) -> bool {
        Self::is_unread(self, name)
    }
}

impl FactSource for BTreeMap<String, FactValue> {
    fn fact(&self, name: &str) -> Option<FactValue> {
        self.get(name).cloned()
    }
}

/// The facts of one pair, and as `thresholds.*` what is in force for its course: the same for every pair, so that they are not kept with each.
#[derive(Clone, Copy)]
pub struct WithThresholds<'a> {
    /// The pair's facts.
    pub facts: &'a dyn FactSource,
    /// What is in force.
    pub thresholds: &'a Thresholds,
}

impl FactSource for WithThresholds<'_> {
    fn fact(&self, name: &str) -> Option<FactValue> {
        match name.strip_prefix("thresholds.") {
            Some(key) => self.thresholds.get(key).map(FactValue::Number),
            None => self.facts.fact(name),
        }
    }

    fn is_unread(&self, name: &str) -> bool {
        self.facts.is_unread(name)
    }
}

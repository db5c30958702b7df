//! Where conditions and sentences get facts from.

use std::collections::BTreeMap;

use crate::facts::{FactValue, Facts};

/// The facts of one pair, by name.
pub trait FactSource: Sync {
    /// The fact's value; none where it is absent.
    fn fact(&self, name: &str) -> Option<FactValue>;
}

impl FactSource for Facts {
    fn fact(&self, name: &str) -> Option<FactValue> {
        self.get(name).cloned()
    }
}

impl FactSource for BTreeMap<String, FactValue> {
    fn fact(&self, name: &str) -> Option<FactValue> {
        self.get(name).cloned()
    }
}

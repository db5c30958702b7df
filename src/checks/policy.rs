//! What a course makes of the checks: any of them off, or at another weight. Applied in one place, by the runner.

use std::collections::BTreeMap;

use super::finding::{Finding, Weight};

/// What a course sets for one check.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Setting {
    /// The check does not run; it is listed as off.
    Off,
    /// Findings at the check's listed weight get this one; lighter findings get no heavier by it.
    At(Weight),
}

impl Setting {
    /// The word in files and on screens.
    pub fn name(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::At(weight) => weight.name(),
        }
    }
}

/// The settings of a course, by check.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Policy {
    settings: BTreeMap<&'static str, Setting>,
}

impl Policy {
    /// What the course set for a check; none where it left it as listed.
    pub fn setting(&self, check: &str) -> Option<Setting> {
        self.settings.get(check).copied()
    }

    /// Sets one check. An id that no check has changes nothing: whoever reads it from a file says so there.
    pub fn set(&mut self, check: &str, setting: Setting) {
        if let Some(check) = super::find(check) {
            self.settings.insert(check.id, setting);
        }
    }

    /// Whether a check runs.
    pub fn is_on(&self, check: &str) -> bool {
        self.setting(check) != Some(Setting::Off)
    }

    /// The checks that are off, in order of their ids.
    pub fn off(&self) -> impl Iterator<Item = &'static str> {
        self.settings
            .iter()
            .filter(|(_, setting)| **setting == Setting::Off)
            .map(|(check, _)| *check)
    }

    /// The weight of a finding whose check is listed at `listed`.
    pub(super) fn weigh(&self, finding: &mut Finding, listed: Weight) {
        if let Some(Setting::At(set)) = self.setting(finding.check) {
            finding.weight = if finding.weight >= listed {
                set
            } else {
                finding.weight.min(set)
            };
        }
    }
}

//! Which names an expression may use: the registry's facts, and the findings of the checks there are.

use crate::configuration::nearest;
use crate::facts::{FactKind, catalogue};

/// The names that expressions may use.
#[derive(Debug, Clone, Default)]
pub struct Catalogue {
    checks: Vec<String>,
}

impl Catalogue {
    /// The registry's facts, and `findings["…"]` of these checks.
    pub fn new<'a>(checks: impl IntoIterator<Item = &'a str>) -> Self {
        Self {
            checks: checks.into_iter().map(str::to_owned).collect(),
        }
    }

    /// The type of a fact; none where there is no such fact.
    pub fn kind_of(&self, name: &str) -> Option<FactKind> {
        match finding(name) {
            Some(check) => self
                .checks
                .iter()
                .any(|known| known == check)
                .then_some(FactKind::Number),
            None => catalogue::kind_of(name),
        }
    }

    /// Whether some facts' names go on after this one: `retention` in `retention.mean`.
    pub fn is_group(&self, name: &str) -> bool {
        self.kind_of(name).is_none() && !self.examples(name).is_empty()
    }

    /// Up to four facts of a group, as examples.
    pub fn examples(&self, group: &str) -> Vec<String> {
        let (start, rest) = match catalogue::split_measure(group) {
            Some((measure, rest)) => (catalogue::of_measure(&measure, ""), rest),
            None => (String::new(), group),
        };
        let listed = catalogue::find_namespace(rest).map_or(rest, |(known, _)| known.name);
        catalogue::all()
            .filter_map(|(name, _, _)| name.strip_prefix(listed)?.strip_prefix('.'))
            .take(4)
            .map(|fact| format!("{start}{rest}.{fact}"))
            .filter(|name| self.kind_of(name).is_some())
            .collect()
    }

    /// The known name that was most likely meant.
    pub fn nearest(&self, name: &str) -> Option<String> {
        match finding(name) {
            Some(check) => nearest(check, self.checks()).map(catalogue::of_check),
            None => catalogue::nearest(name),
        }
    }

    /// The checks of which findings can be counted.
    pub fn checks(&self) -> impl Iterator<Item = &str> {
        self.checks.iter().map(String::as_str)
    }
}

/// The check that `findings["…"]` names.
fn finding(name: &str) -> Option<&str> {
    name.strip_prefix("findings[\"")?.strip_suffix("\"]")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::expression::fixture;

    #[test]
    fn repeated_tests_and_other_measures_have_the_facts_of_the_first() {
        let catalogue = fixture::catalogue();
        assert_eq!(
            catalogue.kind_of("retention_2.mean"),
            Some(FactKind::Number)
        );
        assert_eq!(
            catalogue.kind_of("measure[\"distance from target\"].pre.mean"),
            Some(FactKind::Number)
        );
        assert_eq!(
            catalogue.kind_of("change.retention_3.beyond_noise"),
            Some(FactKind::Truth)
        );
        assert_eq!(catalogue.kind_of("retention_x.mean"), None);
    }

    #[test]
    fn a_misspelt_name_has_a_nearest() {
        let catalogue = fixture::catalogue();
        assert_eq!(
            catalogue.nearest("retention.maen").as_deref(),
            Some("retention.mean")
        );
        assert_eq!(
            catalogue
                .nearest("findings[\"testing.one_rater\"]")
                .as_deref(),
            Some("findings[\"testing.one-rater\"]")
        );
        assert!(catalogue.is_group("retention"));
        assert!(catalogue.is_group("retention_2"));
        assert!(catalogue.is_group("change"));
        assert!(catalogue.is_group("measure[\"distance\"].pre"));
        assert!(!catalogue.is_group("retention.mean"));
        assert!(!catalogue.is_group("weather"));
    }
}

//! Named facts: what a rubric can ask about a pair.

use std::borrow::Cow;
use std::fmt;
use std::sync::Arc;

use jiff::civil::Date;

use super::catalogue;
use crate::number::plain;

/// The value of a fact.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub enum FactValue {
    /// A number; whole numbers too.
    Number(f64),
    /// Yes or no.
    Truth(bool),
    /// A text.
    Text(Arc<str>),
    /// A day.
    Date(Date),
}

/// The type of a fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FactKind {
    /// A number.
    Number,
    /// Yes or no.
    Truth,
    /// A text.
    Text,
    /// A day.
    Date,
}

impl FactValue {
    /// The type of the value.
    pub fn kind(&self) -> FactKind {
        match self {
            Self::Number(_) => FactKind::Number,
            Self::Truth(_) => FactKind::Truth,
            Self::Text(_) => FactKind::Text,
            Self::Date(_) => FactKind::Date,
        }
    }
}

/// As facts.csv writes it: the shortest decimal, `true` or `false`, `YYYY-MM-DD`.
impl fmt::Display for FactValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => f.write_str(&plain(*number)),
            Self::Truth(truth) => write!(f, "{truth}"),
            Self::Text(text) => f.write_str(text),
            Self::Date(date) => write!(f, "{date}"),
        }
    }
}

/// The name of a fact: `pre.mean`, `measure["distance"].pre.mean`.
pub type FactName = Cow<'static, str>;

/// Why a fact has no value, in plain words.
pub type Reason = Cow<'static, str>;

/// Why nothing is known that the trials would tell.
pub const UNREAD: &str = "columns of the trials were not recognised";

/// A name, and the value or why there is none.
pub(super) type Fact = (FactName, Result<FactValue, Reason>);

/// The facts of one pair: each a value, or absent with the reason. Names sort as they are listed.
#[derive(Debug, Clone, Default, serde::Serialize, serde::Deserialize)]
pub struct Facts {
    /// The measure of which bare names speak.
    primary: Option<Arc<str>>,
    /// Sorted by name.
    #[serde(with = "super::short_names")]
    by_name: Vec<Fact>,
    /// Whole namespaces without a value (`retention`, `measure["distance"].retention`), so that a pair without a retention test doesn't
    /// carry the same reason for each of its facts.
    namespaces: Vec<(FactName, Reason)>,
    /// Some trials could not be read: what is absent of a measure may be among them.
    partly_open: bool,
}

impl Facts {
    /// No facts yet; bare names will speak of this measure, and so will `measure["…"].` with its name.
    pub fn of_primary(measure: Arc<str>) -> Self {
        Self {
            primary: Some(measure),
            ..Self::default()
        }
    }

    /// Records a fact's value. A number that is not finite is no value: it is left out.
    pub fn set(&mut self, name: impl Into<FactName>, value: FactValue) {
        let value = match value {
            FactValue::Number(number) if !number.is_finite() => {
                Err(Reason::Borrowed("is not a finite number"))
            }
            value => Ok(value),
        };
        self.put(name.into(), value);
    }

    /// Records why a fact has no value.
    pub fn leave_out(&mut self, name: impl Into<FactName>, reason: impl Into<Reason>) {
        self.put(name.into(), Err(reason.into()));
    }

    /// Records why no fact of a namespace has a value, but for those that are set on their own.
    pub fn leave_out_namespace(&mut self, name: impl Into<FactName>, reason: impl Into<Reason>) {
        self.namespaces.push((name.into(), reason.into()));
    }

    /// Records that some trials could not be read: nothing follows from the absence of what trials tell.
    pub fn leave_partly_open(&mut self) {
        self.partly_open = true;
    }

    /// Records a number, or why there is none.
    pub fn set_number<E: fmt::Display>(
        &mut self,
        name: impl Into<FactName>,
        number: Result<f64, E>,
    ) {
        match number {
            Ok(number) => self.set(name, FactValue::Number(number)),
            Err(reason) => self.leave_out(name, reason.to_string()),
        }
    }

    fn put(&mut self, name: FactName, value: Result<FactValue, Reason>) {
        match self.position(&name) {
            Ok(at) => {
                if let Some(fact) = self.by_name.get_mut(at) {
                    fact.1 = value;
                }
            }
            Err(at) => self.by_name.insert(at, (name, value)),
        }
    }

    fn position(&self, name: &str) -> Result<usize, usize> {
        self.by_name
            .binary_search_by(|(known, _)| known.as_ref().cmp(name))
    }

    fn find(&self, name: &str) -> Option<&Result<FactValue, Reason>> {
        let at = self.position(self.bare(name)).ok()?;
        self.by_name.get(at).map(|(_, value)| value)
    }

    /// The primary measure's facts have one name each, however they are asked for.
    fn bare<'n>(&self, name: &'n str) -> &'n str {
        match catalogue::split_measure(name) {
            Some((measure, rest)) if self.primary.as_deref() == Some(measure.as_str()) => rest,
            _ => name,
        }
    }

    /// The value of a fact, where it has one.
    pub fn get(&self, name: &str) -> Option<&FactValue> {
        self.find(name)?.as_ref().ok()
    }

    /// The number of a fact, where it has one and is a number.
    pub fn number(&self, name: &str) -> Option<f64> {
        match self.get(name)? {
            FactValue::Number(number) => Some(*number),
            _ => None,
        }
    }

    /// The truth of a fact, where it has one.
    pub fn truth(&self, name: &str) -> Option<bool> {
        match self.get(name)? {
            FactValue::Truth(truth) => Some(*truth),
            _ => None,
        }
    }

    /// The text of a fact, where it has one.
    pub fn text(&self, name: &str) -> Option<&str> {
        match self.get(name)? {
            FactValue::Text(text) => Some(text),
            _ => None,
        }
    }

    /// Why a fact has no value, where that is known: its own reason, else its namespace's.
    pub fn why_absent(&self, name: &str) -> Option<&str> {
        let name = self.bare(name);
        match self.find(name) {
            Some(Ok(_)) => None,
            Some(Err(reason)) => Some(reason),
            None => {
                let (namespace, _) = name.rsplit_once('.')?;
                self.namespaces
                    .iter()
                    .find(|(known, _)| known == namespace)
                    .map(|(_, reason)| reason.as_ref())
            }
        }
    }

    /// Whether a fact has no value because the trials could not be read: there may be one, and nothing follows from its absence.
    pub fn is_unread(&self, name: &str) -> bool {
        self.get(name).is_none()
            && (self.why_absent(name) == Some(UNREAD)
                || (self.partly_open || self.namespaces.iter().any(|(_, reason)| reason == UNREAD))
                    && catalogue::describe(name)
                        .and_then(|described| described.namespace)
                        .is_some_and(|namespace| namespace.scope == catalogue::Scope::Measure))
    }

    /// The facts that have a value, in order of their names.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &FactValue)> {
        self.by_name
            .iter()
            .filter_map(|(name, value)| Some((name.as_ref(), value.as_ref().ok()?)))
    }

    /// The facts and whole namespaces that have none, with the reason; namespaces first, facts in order of their names.
    pub fn absent(&self) -> impl Iterator<Item = (&str, &str)> {
        let namespaces = self
            .namespaces
            .iter()
            .map(|(name, reason)| (name.as_ref(), reason.as_ref()));
        let facts = self
            .by_name
            .iter()
            .filter_map(|(name, value)| Some((name.as_ref(), value.as_ref().err()?.as_ref())));
        namespaces.chain(facts)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn facts_are_kept_in_order_and_the_last_word_counts() {
        let mut facts = Facts::default();
        facts.set("pre.n", FactValue::Number(10.0));
        facts.set("about.consent", FactValue::Truth(true));
        facts.leave_out("pre.n", "not counted yet");
        facts.set("pre.n", FactValue::Number(9.0));
        let names: Vec<_> = facts.iter().map(|(name, _)| name).collect();
        assert_eq!(names, ["about.consent", "pre.n"]);
        assert_eq!(facts.number("pre.n"), Some(9.0));
        assert_eq!(facts.truth("pre.n"), None);
        assert_eq!(facts.why_absent("pre.n"), None);
    }

    #[test]
    fn an_absent_fact_gives_its_own_reason_before_its_namespaces() {
        let mut facts = Facts::default();
        facts.leave_out_namespace("retention", "no retention test");
        facts.leave_out("retention.sd", "one trial");
        facts.set("pre.mean", FactValue::Number(f64::NAN));
        assert_eq!(facts.get("retention.mean"), None);
        assert_eq!(
            facts.why_absent("retention.mean"),
            Some("no retention test")
        );
        assert_eq!(facts.why_absent("retention.sd"), Some("one trial"));
        assert_eq!(facts.get("pre.mean"), None);
        assert_eq!(facts.why_absent("pre.mean"), Some("is not a finite number"));
        assert_eq!(facts.why_absent("post.mean"), None);
        assert_eq!(facts.absent().count(), 3);
    }

    #[test]
    fn the_primary_measure_can_be_named_or_not() {
        let mut facts = Facts::of_primary("score".into());
        facts.set("pre.mean", FactValue::Number(2.5));
        assert_eq!(facts.number("measure[\"score\"].pre.mean"), Some(2.5));
        assert_eq!(facts.number("measure[\"distance\"].pre.mean"), None);
    }

    #[test]
    fn values_are_written_as_csv_has_them() {
        let written = |value: FactValue| value.to_string();
        assert_eq!(written(FactValue::Number(3.0)), "3");
        assert_eq!(written(FactValue::Truth(false)), "false");
        assert_eq!(
            written(FactValue::Date(jiff::civil::date(2026, 3, 9))),
            "2026-03-09"
        );
    }
}

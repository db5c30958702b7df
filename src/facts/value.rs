//! Named facts: what a rubric can ask about a pair.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use jiff::civil::Date;

use crate::number::plain;

/// The value of a fact.
#[derive(Debug, Clone, PartialEq)]
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

/// The facts of one pair: each a value, or absent with the reason. Names sort as they are listed.
#[derive(Debug, Clone, Default)]
pub struct Facts {
    known: BTreeMap<FactName, FactValue>,
    absent: BTreeMap<FactName, Cow<'static, str>>,
}

impl Facts {
    /// Records a fact's value. A number that is not finite is no value: it is left out.
    pub fn set(&mut self, name: impl Into<FactName>, value: FactValue) {
        let name = name.into();
        if matches!(value, FactValue::Number(number) if !number.is_finite()) {
            self.absent
                .insert(name, Cow::Borrowed("is not a finite number"));
            return;
        }
        self.absent.remove(&name);
        self.known.insert(name, value);
    }

    /// Records why a fact has no value.
    pub fn leave_out(&mut self, name: impl Into<FactName>, reason: impl Into<Cow<'static, str>>) {
        let name = name.into();
        self.known.remove(&name);
        self.absent.insert(name, reason.into());
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

    /// The value of a fact, where it has one.
    pub fn get(&self, name: &str) -> Option<&FactValue> {
        self.known.get(name)
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

    /// Why a fact has no value, where that is known.
    pub fn why_absent(&self, name: &str) -> Option<&str> {
        self.absent.get(name).map(AsRef::as_ref)
    }

    /// The facts that have a value, in order of their names.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &FactValue)> {
        self.known
            .iter()
            .map(|(name, value)| (name.as_ref(), value))
    }

    /// The facts that have none, with the reason, in order of their names.
    pub fn absent(&self) -> impl Iterator<Item = (&str, &str)> {
        self.absent
            .iter()
            .map(|(name, reason)| (name.as_ref(), reason.as_ref()))
    }
}

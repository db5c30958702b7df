//! Records the facts of one namespace under their full names.

use std::borrow::Cow;
use std::sync::Arc;

use jiff::civil::Date;

use super::catalogue::{self, Namespace};
use super::value::{FactName, FactValue, Facts, Reason};
use crate::phase::Phase;
use crate::stats::Undefined;

/// Records the facts of one namespace.
pub(super) struct Writer<'f> {
    facts: &'f mut Facts,
    /// The measure of which the facts speak, where it is not the primary one.
    measure: Option<&'f str>,
    namespace: &'static Namespace,
    /// The namespace as it is written: with its number, without its measure.
    written: Cow<'static, str>,
}

impl<'f> Writer<'f> {
    /// Records facts of the namespace that is written so: `pre`, `retention_2`. None where there is no such namespace.
    pub(super) fn new(
        facts: &'f mut Facts,
        measure: Option<&'f str>,
        written: impl Into<Cow<'static, str>>,
    ) -> Option<Self> {
        let written = written.into();
        let (namespace, _) = catalogue::find_namespace(&written)?;
        Some(Self {
            facts,
            measure,
            namespace,
            written,
        })
    }

    fn name(&self, fact: &'static str) -> FactName {
        let plain = self.measure.is_none() && self.written == self.namespace.name;
        match catalogue::full_name(self.namespace, fact) {
            Some(name) if plain => Cow::Borrowed(name),
            _ => Cow::Owned(self.of_measure(&format!("{}.{fact}", self.written))),
        }
    }

    fn of_measure(&self, name: &str) -> String {
        match self.measure {
            Some(measure) => catalogue::of_measure(measure, name),
            None => name.to_owned(),
        }
    }

    /// A number, or why there is none.
    pub(super) fn number(&mut self, fact: &'static str, number: Result<f64, impl IntoReason>) {
        let name = self.name(fact);
        match number {
            Ok(number) => self.facts.set(name, FactValue::Number(number)),
            Err(reason) => self.facts.leave_out(name, reason.into_reason()),
        }
    }

    /// A value that there is in any case.
    pub(super) fn value(&mut self, fact: &'static str, value: FactValue) {
        self.facts.set(self.name(fact), value);
    }

    /// A count.
    pub(super) fn count(&mut self, fact: &'static str, count: usize) {
        self.value(fact, FactValue::Number(count as f64));
    }

    /// Yes or no, or why neither.
    pub(super) fn truth(&mut self, fact: &'static str, truth: Result<bool, impl IntoReason>) {
        self.put(fact, truth.map(FactValue::Truth));
    }

    /// A text, or why there is none.
    pub(super) fn text(&mut self, fact: &'static str, text: Result<Arc<str>, impl IntoReason>) {
        self.put(fact, text.map(FactValue::Text));
    }

    /// A day, or why there is none.
    pub(super) fn date(&mut self, fact: &'static str, date: Result<Date, impl IntoReason>) {
        self.put(fact, date.map(FactValue::Date));
    }

    /// A fact that has no value, with the reason.
    pub(super) fn absent(&mut self, fact: &'static str, reason: impl IntoReason) {
        self.facts.leave_out(self.name(fact), reason.into_reason());
    }

    /// No fact of the namespace has a value, but for those that are recorded on their own.
    pub(super) fn nothing_else(&mut self, reason: impl IntoReason) {
        let name = if self.measure.is_none() {
            self.written.clone()
        } else {
            Cow::Owned(self.of_measure(&self.written))
        };
        self.facts.leave_out_namespace(name, reason.into_reason());
    }

    fn put(&mut self, fact: &'static str, value: Result<FactValue, impl IntoReason>) {
        match value {
            Ok(value) => self.facts.set(self.name(fact), value),
            Err(reason) => self.absent(fact, reason),
        }
    }
}

/// What can be a reason: a text, or why a statistic is undefined.
pub(super) trait IntoReason {
    /// The reason in plain words.
    fn into_reason(self) -> Reason;
}

impl IntoReason for &'static str {
    fn into_reason(self) -> Reason {
        Cow::Borrowed(self)
    }
}

impl IntoReason for Reason {
    fn into_reason(self) -> Reason {
        self
    }
}

impl IntoReason for Undefined {
    fn into_reason(self) -> Reason {
        Cow::Owned(self.to_string())
    }
}

/// A phase's namespace: `retention_2`, borrowed where it has no number.
pub(super) fn namespace_of(phase: Phase) -> Cow<'static, str> {
    if phase.number == 1 {
        Cow::Borrowed(phase.kind.name())
    } else {
        Cow::Owned(phase.fact_name())
    }
}

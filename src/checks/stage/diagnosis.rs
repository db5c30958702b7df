//! The two diagnoses, as the checks of this family speak of them.

use std::sync::Arc;

use crate::checks::Seen;
use crate::checks::seen::TableName;
use crate::judgement::{Moment, SignReading, Speaks, StageVerdict, Verdict};
use crate::logbook::model::Sourced;
use crate::place::Place;

/// One diagnosis: when, as typed, and what the record says of it.
pub(super) struct Diagnosis<'a> {
    pub when: &'static str,
    pub typed: Option<&'a Sourced<Arc<str>>>,
    pub verdict: &'a StageVerdict,
}

impl<'a> Diagnosis<'a> {
    /// The diagnosis of a moment.
    pub fn of(seen: &Seen<'a>, moment: Moment) -> Self {
        let about = &seen.logbook.about;
        match moment {
            Moment::Start => Self {
                when: "at the start",
                typed: about.stage_before.as_ref(),
                verdict: &seen.judgements.start,
            },
            Moment::End => Self {
                when: "at the end",
                typed: about.stage_after.as_ref(),
                verdict: &seen.judgements.end,
            },
        }
    }

    /// Those at start and end with this verdict.
    pub fn with(seen: &Seen<'a>, verdict: Verdict) -> Vec<Self> {
        [Moment::Start, Moment::End]
            .into_iter()
            .map(|moment| Self::of(seen, moment))
            .filter(|diagnosis| diagnosis.verdict.verdict == verdict)
            .collect()
    }

    /// The stage as typed.
    pub fn text(&self) -> &'a str {
        self.typed.map_or("", |typed| typed.value.as_ref())
    }

    /// The cell of the diagnosis, else where it should be.
    pub fn place(&self, seen: &Seen) -> Place {
        self.typed.map_or_else(
            || seen.where_missing(TableName::About),
            |typed| typed.place.clone(),
        )
    }

    /// The signs that say this, each with what was looked at and the pair's numbers, as one sentence.
    pub fn signs(&self, speaks: Speaks) -> String {
        let shown = |sign: &SignReading| {
            let looks_at = sign.looks_at.trim_end_matches('.');
            match sign.shows.as_deref() {
                Some(shows) => format!("{looks_at} ({})", shows.trim_end_matches('.')),
                None => looks_at.to_owned(),
            }
        };
        let signs = &self.verdict.signs;
        let texts: Vec<String> = signs
            .iter()
            .filter(|sign| sign.speaks == speaks)
            .map(shown)
            .collect();
        if texts.is_empty() {
            return String::new();
        }
        format!("{}.", texts.join("; "))
    }
}

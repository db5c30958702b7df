//! Where practice stands in a logbook.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::checks::Seen;
use crate::checks::seen::TableName;
use crate::facts::record::MeasureRecord;
use crate::logbook::model::Session;
use crate::phase::Phase;
use crate::place::Place;

/// The rows of the Sessions table that are practice.
pub(super) fn rows<'a>(seen: &Seen<'a>) -> impl Iterator<Item = &'a Session> {
    let logbook = seen.logbook;
    logbook
        .sessions
        .iter()
        .filter(|session| session.phase == Some(Phase::PRACTICE))
}

/// A cell for each practice session: its row of the Sessions table, else its first trial.
pub(super) fn cells(seen: &Seen) -> Vec<Place> {
    let places: Vec<Place> = rows(seen).map(|session| session.place.clone()).collect();
    if !places.is_empty() {
        return places;
    }
    let sessions = seen
        .record
        .measures
        .iter()
        .flat_map(MeasureRecord::practice);
    let mut places: Vec<Place> = sessions
        .filter_map(|session| seen.place(session.trials.first()?.row))
        .collect();
    if places.is_empty() {
        places.push(seen.where_missing(TableName::Sessions));
    }
    places
}

/// The days of practice in order, each with the cell that dates it: in the Sessions table, else a trial.
pub(super) fn days(seen: &Seen) -> Vec<(Date, Place)> {
    let mut days: BTreeMap<Date, Place> = BTreeMap::new();
    for session in rows(seen) {
        if let Some(date) = session.date {
            let place = session.date_place.as_ref().unwrap_or(&session.place);
            days.entry(date).or_insert_with(|| place.clone());
        }
    }
    for trial in &seen.logbook.trials {
        if let (Some(Phase::PRACTICE), Some(date)) = (trial.phase, trial.date) {
            days.entry(date).or_insert_with(|| trial.place.clone());
        }
    }
    days.into_iter().collect()
}

//! Who marks a pair first.

use super::entry::Subject;
use super::state::State;
use crate::cohort::Roster;

/// The pair's first marker: by the ledger, else by the roster.
pub fn first_marker<'a>(
    state: &'a State,
    roster: Option<&'a Roster>,
    pair: &str,
) -> Option<&'a str> {
    let assigned = state
        .pair(pair)
        .and_then(|state| state.standing(&Subject::FirstMarker, ""))
        .map(|held| held.value.as_str());
    assigned.or_else(|| roster?.marker(pair).map(|marker| &**marker))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::{Entry, Role};

    #[test]
    fn the_ledger_says_it_before_the_roster() {
        let assigned = Entry {
            role: Role::Program.name().into(),
            pair: "P07".into(),
            what: Subject::FirstMarker.to_string(),
            new: "Noor Haddad".into(),
            ..Entry::default()
        };
        let state = State::from_entries(&[assigned]);
        assert_eq!(first_marker(&state, None, "P07"), Some("Noor Haddad"));
        assert_eq!(first_marker(&state, None, "P08"), None);
    }
}

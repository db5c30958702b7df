//! Links from our workbooks to the cells of what the pairs handed in.

use crate::examination::{ExaminedClaim, PairResult};
use crate::logbook::model::ClaimOrigin;
use crate::place::{Place, Spot, quoted};

/// Links that a sheet takes; the rest stand as text.
pub const LINK_LIMIT: usize = 60_000;

/// A link from a workbook one folder below the cohort's (`out`, `marking`) to a place in a pair's file; none into a zip.
pub fn link_to(result: &PairResult, place: &Place) -> Option<String> {
    let hand_in = result.hand_in.as_ref()?;
    let folder = hand_in.link_base.as_ref()?;
    // A number that a marker typed stands in a workbook of ours, not in the hand-in.
    let typed_there = |claim: &ExaminedClaim| {
        claim.claim.origin == ClaimOrigin::Marker && claim.claim.place.file == place.file
    };
    if result.claims.iter().any(typed_there) {
        return None;
    }
    let file = format!("../{folder}{}", place.file)
        .replace('%', "%25")
        .replace(' ', "%20")
        .replace('#', "%23");
    Some(match (place.sheet(), place.cell_name()) {
        (Some(sheet), Some(cell)) => format!("file:///{file}#{}!{cell}", quoted(sheet)),
        _ => format!("file:///{file}"),
    })
}

/// The first of so many places on one line, without its file: the link has that, and some office programs show only one line of a link.
pub fn place_in_short(place: &Place, places: usize) -> String {
    let first = match (place.sheet(), place.cell_name(), &place.spot) {
        (Some(sheet), Some(cell), _) => format!("{}!{cell}", quoted(sheet)),
        (_, _, Spot::Field { line, field }) => format!(
            "line {}, field {}",
            u64::from(*line) + 1,
            u64::from(*field) + 1
        ),
        _ => place.to_string(),
    };
    if places > 1 {
        format!("{first} …")
    } else {
        first
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_lines_and_fields_from_one_as_evidence_does() {
        let field = Place::field("P08/trials.csv".into(), 0, 2);
        assert_eq!(place_in_short(&field, 1), "line 1, field 3");
        assert!(field.to_string().ends_with(&place_in_short(&field, 1)));
        assert_eq!(place_in_short(&field, 2), "line 1, field 3 …");
    }
}

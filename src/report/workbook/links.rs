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

/// The first of so many places on one line, without its folders: the link has them, and some office programs show only one line of a
/// link. A cell goes without its file too; a text hand-in has several, so that its lines name theirs.
pub fn place_in_short(place: &Place, places: usize) -> String {
    let first = match (place.sheet(), place.cell_name(), &place.spot) {
        (Some(sheet), Some(cell), _) => format!("{}!{cell}", quoted(sheet)),
        (_, _, Spot::Field { .. }) => {
            let name = place.file.rsplit('/').next().unwrap_or(&place.file);
            Place {
                file: name.into(),
                spot: place.spot.clone(),
            }
            .to_string()
        }
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
    fn a_line_of_a_text_file_is_counted_from_one_and_names_its_file() {
        let about = Place::field("P08/about.csv".into(), 14, 1);
        assert_eq!(place_in_short(&about, 1), "about.csv line 15, field 2");
        assert!(about.to_string().ends_with(&place_in_short(&about, 1)));
        assert_eq!(place_in_short(&about, 2), "about.csv line 15, field 2 …");
        let cell = Place::cell("P01.xlsx".into(), "Trials".into(), 4, 5);
        assert_eq!(place_in_short(&cell, 1), "Trials!F5");
    }
}

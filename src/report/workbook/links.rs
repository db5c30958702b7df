//! Links from our workbooks to the cells of what the pairs handed in.

use crate::examination::{ExaminedClaim, PairResult};
use crate::logbook::model::ClaimOrigin;
use crate::place::{Place, quoted};

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

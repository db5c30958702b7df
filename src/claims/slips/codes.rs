//! Slips written and read by their codes.

use serde::{Deserialize, Deserializer, Serializer};

use super::{Slip, by_code};

/// Writes the codes.
///
/// # Errors
/// What the serializer says.
pub fn serialize<S: Serializer>(slips: &[&'static Slip], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(slips.iter().map(|slip| slip.code))
}

/// Finds the slips of some codes.
///
/// # Errors
/// There is no such slip, or what the deserializer says.
pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<&'static Slip>, D::Error> {
    let codes: Vec<String> = Deserialize::deserialize(from)?;
    codes
        .into_iter()
        .map(|code| by_code(&code).ok_or_else(|| serde::de::Error::custom(code)))
        .collect()
}

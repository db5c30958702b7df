//! Facts as they are kept: a name that the registry has is its place there, two bytes for twenty. What is kept belongs to one build of the
//! program, in which no place changes.

use std::borrow::Cow;

use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::catalogue;
use super::value::{Fact, FactName, FactValue, Reason};

#[derive(Serialize, Deserialize)]
enum ShortName<'a> {
    Registered(u16),
    Other(Cow<'a, str>),
}

pub(super) fn serialize<S: Serializer>(facts: &[Fact], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(
        facts
            .iter()
            .map(|(name, value)| (shortened(name), value.as_ref())),
    )
}

fn shortened(name: &str) -> ShortName<'_> {
    catalogue::place_of(name).map_or(ShortName::Other(Cow::Borrowed(name)), ShortName::Registered)
}

pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<Fact>, D::Error> {
    let facts: Vec<(ShortName<'_>, Result<FactValue, Reason>)> = Deserialize::deserialize(from)?;
    let full = |(name, value)| match name {
        ShortName::Registered(place) => match catalogue::at_place(place) {
            Some(name) => Ok((FactName::Borrowed(name), value)),
            None => Err(D::Error::custom("a fact that the registry lacks")),
        },
        ShortName::Other(name) => Ok((FactName::Owned(name.into_owned()), value)),
    };
    facts.into_iter().map(full).collect()
}

#[cfg(test)]
mod tests {
    use super::super::value::Facts;
    use super::*;

    #[test]
    fn what_is_kept_reads_back_as_it_was() {
        let mut facts = Facts::of_primary("score".into());
        facts.set("pre.mean", FactValue::Number(2.5));
        facts.set("retention_2.mean", FactValue::Number(-0.0));
        facts.set("about.consent", FactValue::Truth(true));
        facts.leave_out("post.sd", "one trial");
        let kept = postcard::to_stdvec(&facts).unwrap();
        let read: Facts = postcard::from_bytes(&kept).unwrap();
        assert_eq!(format!("{read:?}"), format!("{facts:?}"));
        assert!(!kept.windows(8).any(|bytes| bytes == b"pre.mean"));
    }
}

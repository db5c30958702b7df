//! A file that a course edits, whichever of the three it is: a rubric, models of stages, or theories.

use super::{Known, Rubric, preview, schema};
use crate::configuration::Faults;
use crate::judgement::{StageModels, Theories, stages_schema, theories_schema};

/// What a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A rubric: it has criteria.
    Rubric,
    /// Models of stages.
    Stages,
    /// Theories.
    Theories,
}

/// A file read back.
#[derive(Debug, Clone, PartialEq)]
pub struct Proof {
    /// What the file is.
    pub kind: Kind,
    /// Its contents in words.
    pub preview: String,
    /// What is worth a look in it.
    pub remarks: Faults,
}

impl Kind {
    /// What a file is, by its headings; a rubric where it has none of the others'.
    pub fn of(source: &str) -> Self {
        let heads = |heading: &str| {
            source
                .lines()
                .any(|line| line.trim_start().starts_with(heading))
        };
        if heads("[[criterion") {
            Self::Rubric
        } else if heads("[[model") {
            Self::Stages
        } else if heads("[[theory") {
            Self::Theories
        } else {
            Self::Rubric
        }
    }

    /// The JSON Schema of such a file.
    pub fn schema(self) -> String {
        match self {
            Self::Rubric => schema(),
            Self::Stages => stages_schema(),
            Self::Theories => theories_schema(),
        }
    }
}

/// Reads a file back, whichever it is.
///
/// # Errors
/// Every fault of the file at once.
pub fn proofread(name: &str, source: &str, known: &Known<'_>) -> Result<Proof, Faults> {
    let kind = Kind::of(source);
    let none = Faults {
        name: name.to_owned(),
        source: source.into(),
        list: Vec::new(),
    };
    let (preview, remarks) = match kind {
        Kind::Rubric => {
            let (rubric, remarks) = Rubric::read_with_remarks(name, source, known)?;
            (preview(&rubric), remarks)
        }
        Kind::Stages => (
            StageModels::read(name, source, known.catalogue)?.preview(),
            none,
        ),
        Kind::Theories => (
            Theories::read(name, source, known.catalogue)?.preview(),
            none,
        ),
    };
    Ok(Proof {
        kind,
        preview,
        remarks,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::expression::fixture;
    use crate::judgement::{SHIPPED_STAGES, SHIPPED_THEORIES};
    use crate::rubric::SHIPPED;
    use crate::rubric::tests_support::SLIPS;

    #[test]
    fn each_file_is_told_from_the_others() {
        let catalogue = fixture::catalogue();
        let known = Known {
            catalogue: &catalogue,
            slips: SLIPS,
        };
        let kind = |source: &str| proofread("f.toml", source, &known).map(|proof| proof.kind);
        assert_eq!(kind(SHIPPED_STAGES), Ok(Kind::Stages));
        assert_eq!(kind(SHIPPED_THEORIES), Ok(Kind::Theories));
        for (_, text) in SHIPPED {
            assert_eq!(kind(text), Ok(Kind::Rubric));
        }
        assert!(kind("").is_err());
    }
}

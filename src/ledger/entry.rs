//! One line of the ledger: who decided what, when, why, and from which file.

use std::fmt;

use serde::Deserialize;

/// One line of `ledger.csv`, its fields as they stand there and in that order.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
pub struct Entry {
    /// When it was taken back, `2026-11-25T08:30:00Z`.
    pub time: String,
    /// Who decided.
    pub who: String,
    /// In which role.
    pub role: String,
    /// The pair; empty for what concerns the whole cohort.
    pub pair: String,
    /// The student, for what concerns one of the two.
    pub student: String,
    /// What was decided: a [`Subject`].
    pub what: String,
    /// The value before; empty where there was none.
    pub old: String,
    /// The value now; empty where the entry withdraws one.
    pub new: String,
    /// The reason given.
    pub why: String,
    /// The file it was read from.
    pub file: String,
    /// The cell it was read from.
    pub cell: String,
    /// Digest of the rubric under which it was made.
    pub rubric: String,
    /// Digest of the hand-in under which it was made.
    pub hand_in: String,
    /// Digest of the line before, so that a change by hand shows.
    pub previous: String,
}

impl Entry {
    /// The fields of the line, in the order of its columns.
    pub fn fields(&self) -> [&str; 14] {
        [
            &self.time,
            &self.who,
            &self.role,
            &self.pair,
            &self.student,
            &self.what,
            &self.old,
            &self.new,
            &self.why,
            &self.file,
            &self.cell,
            &self.rubric,
            &self.hand_in,
            &self.previous,
        ]
    }
}

/// In which role somebody decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// The instructor who marks alone, or decides for everybody.
    Instructor,
    /// The first marker of a pair.
    Marker,
    /// The second marker of a pair in the sample.
    SecondMarker,
    /// The moderator, whose mark stands.
    Moderator,
    /// The program, for what it drew or wrote (a sample, a hand-back).
    Program,
}

impl Role {
    const ALL: [Self; 5] = [
        Self::Instructor,
        Self::Marker,
        Self::SecondMarker,
        Self::Moderator,
        Self::Program,
    ];

    /// The name on the ledger.
    pub fn name(self) -> &'static str {
        match self {
            Self::Instructor => "instructor",
            Self::Marker => "marker",
            Self::SecondMarker => "second marker",
            Self::Moderator => "moderator",
            Self::Program => "program",
        }
    }

    /// The role with this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.name() == name)
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// What an entry is about. Its text on the ledger is a word and the id of what it concerns: `mark testing`, `decision F-0123456789`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// The mark of a criterion.
    Mark(String),
    /// The points of a judged part of a criterion: criterion and part.
    Judged(String, String),
    /// The comment on a criterion; `overall` for the whole.
    Comment(String),
    /// Uphold, dismiss or ask the pair: a finding's id.
    Decision(String),
    /// The note on a finding: its id.
    Note(String),
    /// One decision for all findings of a check, or of a slip: its id or code.
    DecisionForAll(String),
    /// A number that a marker read in the report, by its id; the value is `statistic; measure; phase; versus; value; where`.
    Claim(String),
    /// Who marks the pair first.
    FirstMarker,
    /// Who marks the pair a second time.
    SecondMarker,
    /// How the second-marking sample was drawn.
    Sample,
    /// Accepting or refusing a proposal of the moderation report, by its id.
    Proposal(String),
    /// A constant by which a marker's marks are shifted: marker and criterion.
    Shift(String, String),
    /// What one marker entered for a pair that every marker marks, where that marker is neither its first nor its second: it serves to agree on a
    /// standard, and is never the pair's mark.
    Common(String, Box<Subject>),
    /// Markers were compared: the figures that came out, so that the next comparison can say what changed.
    Compared,
    /// Marks and feedback were handed back.
    HandedBack,
    /// Another value for the same thing, from a file that disagrees with the ledger: kept beside it until somebody decides.
    Conflict(Box<Subject>),
    /// Anything that a later version writes: kept as it stands.
    Other(String),
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Mark(criterion) => write!(f, "mark {criterion}"),
            Self::Judged(criterion, part) => write!(f, "judged {criterion}/{part}"),
            Self::Comment(criterion) => write!(f, "comment {criterion}"),
            Self::Decision(finding) => write!(f, "decision {finding}"),
            Self::Note(finding) => write!(f, "note {finding}"),
            Self::DecisionForAll(of) => write!(f, "decision-for-all {of}"),
            Self::Claim(claim) => write!(f, "claim {claim}"),
            Self::FirstMarker => f.write_str("first-marker"),
            Self::SecondMarker => f.write_str("second-marker"),
            Self::Sample => f.write_str("sample"),
            Self::Proposal(id) => write!(f, "proposal {id}"),
            Self::Shift(marker, criterion) => write!(f, "shift {criterion}/{marker}"),
            Self::Common(marker, of) => write!(f, "common {of} by {marker}"),
            Self::Compared => f.write_str("compared"),
            Self::HandedBack => f.write_str("handed-back"),
            Self::Conflict(of) => write!(f, "conflict {of}"),
            Self::Other(text) => f.write_str(text),
        }
    }
}

impl From<&str> for Subject {
    fn from(text: &str) -> Self {
        let (word, rest) = text.split_once(' ').unwrap_or((text, ""));
        let of = || rest.to_owned();
        let both = || {
            let (first, second) = rest.split_once('/').unwrap_or((rest, ""));
            (first.to_owned(), second.to_owned())
        };
        match (word, rest.is_empty()) {
            ("mark", false) => Self::Mark(of()),
            ("judged", false) => {
                let (criterion, part) = both();
                Self::Judged(criterion, part)
            }
            ("comment", false) => Self::Comment(of()),
            ("decision", false) => Self::Decision(of()),
            ("note", false) => Self::Note(of()),
            ("decision-for-all", false) => Self::DecisionForAll(of()),
            ("claim", false) => Self::Claim(of()),
            ("first-marker", true) => Self::FirstMarker,
            ("second-marker", true) => Self::SecondMarker,
            ("sample", true) => Self::Sample,
            ("proposal", false) => Self::Proposal(of()),
            ("shift", false) => {
                let (criterion, marker) = both();
                Self::Shift(marker, criterion)
            }
            ("common", false) => match rest.split_once(" by ") {
                Some((of, marker)) => Self::Common(marker.to_owned(), Box::new(Self::from(of))),
                None => Self::Other(text.to_owned()),
            },
            ("compared", true) => Self::Compared,
            ("handed-back", true) => Self::HandedBack,
            ("conflict", false) => Self::Conflict(Box::new(Self::from(rest))),
            _ => Self::Other(text.to_owned()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn subjects_read_back_from_their_text() {
        let subjects = [
            Subject::Mark("testing".into()),
            Subject::Judged("testing".into(), "protocol".into()),
            Subject::Comment("overall".into()),
            Subject::Decision("F-0123456789".into()),
            Subject::Note("F-0123456789".into()),
            Subject::DecisionForAll("testing.one-rater".into()),
            Subject::Claim("m1".into()),
            Subject::FirstMarker,
            Subject::SecondMarker,
            Subject::Sample,
            Subject::Proposal("R-1".into()),
            Subject::Shift("mara o/b".into(), "testing".into()),
            Subject::Common(
                "Ann by the sea".into(),
                Box::new(Subject::Judged("testing".into(), "protocol".into())),
            ),
            Subject::Compared,
            Subject::HandedBack,
            Subject::Conflict(Box::new(Subject::Mark("testing".into()))),
            Subject::Other("something later".into()),
        ];
        for subject in subjects {
            assert_eq!(Subject::from(subject.to_string().as_str()), subject);
        }
    }
}

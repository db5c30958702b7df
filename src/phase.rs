//! The phases of a skill programme, in the order in which everything is listed.

use std::fmt;

/// What a phase is for.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum PhaseKind {
    /// Unscored tries before a test: they enter no statistic.
    Familiarisation,
    /// The test before practice.
    Pre,
    /// Practice.
    Practice,
    /// A test half-way.
    Mid,
    /// The test at the end of practice.
    Post,
    /// The test after a time without practice.
    Retention,
    /// The test in a novel context.
    Transfer,
}

impl PhaseKind {
    /// All kinds, in order.
    pub const ALL: [Self; 7] = [
        Self::Familiarisation,
        Self::Pre,
        Self::Practice,
        Self::Mid,
        Self::Post,
        Self::Retention,
        Self::Transfer,
    ];

    /// The canonical name (`pre`).
    pub fn name(self) -> &'static str {
        match self {
            Self::Familiarisation => "familiarisation",
            Self::Pre => "pre",
            Self::Practice => "practice",
            Self::Mid => "mid",
            Self::Post => "post",
            Self::Retention => "retention",
            Self::Transfer => "transfer",
        }
    }

    /// The name in a sentence (`pre-test`).
    pub fn title(self) -> &'static str {
        match self {
            Self::Familiarisation => "familiarisation",
            Self::Pre => "pre-test",
            Self::Practice => "practice",
            Self::Mid => "mid-test",
            Self::Post => "post-test",
            Self::Retention => "retention test",
            Self::Transfer => "transfer test",
        }
    }

    /// A test rather than practice or familiarisation.
    pub fn is_test(self) -> bool {
        !matches!(self, Self::Familiarisation | Self::Practice)
    }
}

/// A phase: its kind, and which of several (`retention 2`).
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub struct Phase {
    /// What it is for.
    pub kind: PhaseKind,
    /// 1 for the only or first one, 2 for `retention 2`. Always 1 for practice.
    pub number: u16,
}

impl Phase {
    /// The pre-test.
    pub const PRE: Self = Self::first(PhaseKind::Pre);
    /// Practice.
    pub const PRACTICE: Self = Self::first(PhaseKind::Practice);
    /// The post-test.
    pub const POST: Self = Self::first(PhaseKind::Post);
    /// The (first) retention test.
    pub const RETENTION: Self = Self::first(PhaseKind::Retention);
    /// The (first) transfer test.
    pub const TRANSFER: Self = Self::first(PhaseKind::Transfer);

    /// The first or only phase of a kind.
    pub const fn first(kind: PhaseKind) -> Self {
        Self { kind, number: 1 }
    }

    /// The name as a fact's namespace: `retention_2`.
    pub fn fact_name(self) -> String {
        if self.number == 1 {
            self.kind.name().to_owned()
        } else {
            format!("{}_{}", self.kind.name(), self.number)
        }
    }

    /// The name in a sentence: `second retention test` is written `retention test 2`.
    pub fn title(self) -> String {
        if self.number == 1 {
            self.kind.title().to_owned()
        } else {
            format!("{} {}", self.kind.title(), self.number)
        }
    }
}

/// The canonical name: `pre`, `retention 2`.
impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.kind.name())?;
        if self.number == 1 {
            Ok(())
        } else {
            write!(f, " {}", self.number)
        }
    }
}

/// What a claim speaks of: a block, or one practice session.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum BlockName {
    /// All trials of a phase over all its sessions.
    Phase(Phase),
    /// The practice session with this number.
    PracticeSession(u32),
}

/// The canonical name: `post`, `practice 3`.
impl fmt::Display for BlockName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Phase(phase) => phase.fmt(f),
            Self::PracticeSession(number) => write!(f, "practice {number}"),
        }
    }
}

impl BlockName {
    /// The name in a sentence: `post-test`, `practice session 3`.
    pub fn title(self) -> String {
        match self {
            Self::Phase(phase) => phase.title(),
            Self::PracticeSession(number) => format!("practice session {number}"),
        }
    }
}

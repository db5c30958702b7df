//! What a pair's record can say of the stage that it names.

/// The diagnosis at the start of the programme, or at its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Moment {
    /// Before practice.
    Start,
    /// After it.
    End,
}

/// What a record can say of a diagnosis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Verdict {
    /// The recorded signs speak for it.
    Supported,
    /// They speak against it, or something that this stage needs is not shown.
    NotSupported,
    /// They don't agree.
    Undecided,
    /// Fewer than three signs are recorded.
    NoEvidence,
    /// The pair names no stage.
    NotDiagnosed,
    /// The pair names a stage that no model has.
    Unknown,
}

impl Verdict {
    /// The name in facts and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Supported => "supported",
            Self::NotSupported => "not supported",
            Self::Undecided => "undecided",
            Self::NoEvidence => "no evidence",
            Self::NotDiagnosed => "not diagnosed",
            Self::Unknown => "unknown",
        }
    }
}

/// What one sign says of the stage that the pair names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Speaks {
    /// It speaks for it.
    For,
    /// It speaks for other stages.
    Against,
    /// It speaks for none.
    Neutral,
    /// The record doesn't show it.
    NotRecorded,
}

impl Speaks {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::For => "supports",
            Self::Against => "speaks against",
            Self::Neutral => "neutral",
            Self::NotRecorded => "not recorded",
        }
    }
}

/// One row of the table of signs.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SignReading {
    /// The sign's id.
    pub id: String,
    /// What was looked at.
    pub looks_at: String,
    /// Its value with the pair's numbers; none where it is not recorded.
    pub shows: Option<String>,
    /// What it says of the stage named.
    pub speaks: Speaks,
    /// The titles of the stages for which it speaks.
    pub speaks_for: Vec<String>,
    /// Why it speaks so.
    pub because: String,
    /// A publication, or `common practice`.
    pub source: String,
}

/// What a record can say of one diagnosis, with every sign.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct StageVerdict {
    /// The verdict.
    pub verdict: Verdict,
    /// The title of the model; none where no stage was recognised.
    pub model: Option<String>,
    /// The titles of the stages that the text names: two for "late cognitive, early associative".
    pub stages: Vec<String>,
    /// Every sign of the model for this moment.
    pub signs: Vec<SignReading>,
    /// What this stage needs and the record doesn't show, by the signs' `looks_at`.
    pub not_shown: Vec<String>,
    /// The verdict in a sentence.
    pub sentence: String,
}

impl StageVerdict {
    pub(super) fn without_signs(verdict: Verdict, sentence: &str) -> Self {
        Self {
            verdict,
            model: None,
            stages: Vec::new(),
            signs: Vec::new(),
            not_shown: Vec::new(),
            sentence: sentence.to_owned(),
        }
    }

    /// How many signs say this.
    pub fn count(&self, speaks: Speaks) -> usize {
        self.signs
            .iter()
            .filter(|sign| sign.speaks == speaks)
            .count()
    }
}

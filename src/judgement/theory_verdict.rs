//! What a pair's data can say of the theory that it names: a ladder from "not named" to "as predicted", never "proved".

/// How far up the ladder the data reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Ladder {
    /// The pair names no theory.
    NotNamed,
    /// The pair names one that the course doesn't list.
    Unknown,
    /// No prediction of it can be tested with this record.
    NotTestable,
    /// A prediction could be tested, and the record shows the opposite.
    Contradicted,
    /// Predictions could be tested, and none shows as predicted.
    NotBorneOut,
    /// Predictions could be tested, and the record leaves them open.
    Undecided,
    /// A prediction could have failed and didn't.
    AsPredicted,
}

impl Ladder {
    /// The name in facts and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::NotNamed => "not named",
            Self::Unknown => "unknown",
            Self::NotTestable => "not testable",
            Self::Contradicted => "contradicted",
            Self::NotBorneOut => "not borne out",
            Self::Undecided => "undecided",
            Self::AsPredicted => "as predicted",
        }
    }
}

/// What a record shows of one prediction.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Pattern {
    /// No logbook of one learner can show it.
    BeyondOneLearner,
    /// This record can't show it; the facts that are absent, where that is why.
    NotTestable {
        /// Which.
        absent: Vec<String>,
    },
    /// As predicted.
    AsPredicted,
    /// The opposite.
    Opposite,
    /// Not as predicted, and not the opposite, where the prediction names no opposite.
    NotBorneOut,
    /// Neither.
    Undecided,
}

impl Pattern {
    /// In words.
    pub fn name(&self) -> &'static str {
        match self {
            Self::BeyondOneLearner => "needs a comparison",
            Self::NotTestable { .. } => "not testable with this record",
            Self::AsPredicted => "as predicted",
            Self::Opposite => "opposite",
            Self::NotBorneOut => "not as predicted",
            Self::Undecided => "undecided",
        }
    }

    /// Whether this record could have shown it.
    pub fn is_testable(&self) -> bool {
        !matches!(self, Self::BeyondOneLearner | Self::NotTestable { .. })
    }
}

/// One prediction set against a record.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PredictionReading {
    /// The prediction's id.
    pub id: String,
    /// What is predicted.
    pub states: String,
    /// What the record shows of it.
    pub pattern: Pattern,
    /// The pair's numbers.
    pub shows: Option<String>,
    /// How often it arises by accident.
    pub chance: Option<String>,
    /// What would show the same without this theory.
    pub rivals: Vec<String>,
    /// What would make it testable.
    pub design: String,
    /// Why the theory predicts this.
    pub because: String,
    /// A publication, or `common practice`.
    pub source: String,
}

/// One theory set against a record.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct TheoryReading {
    /// The theory's id.
    pub id: String,
    /// The theory's title.
    pub title: String,
    /// Its predictions.
    pub predictions: Vec<PredictionReading>,
}

/// Two theories that the pair names and that can't both be right.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Contradiction {
    /// The title of one.
    pub one: String,
    /// The title of the other.
    pub other: String,
    /// Why.
    pub because: String,
}

/// What the data can say of the theory, or theories, that a pair names.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct TheoryVerdict {
    /// How far up the ladder.
    pub ladder: Ladder,
    /// The theories that the text names.
    pub theories: Vec<TheoryReading>,
    /// Pairs of them that can't both be right.
    pub contradictions: Vec<Contradiction>,
    /// How many predictions this record could test.
    pub testable: usize,
    /// How many of these show as predicted.
    pub met: usize,
    /// How many show the opposite.
    pub contradicted: usize,
    /// The verdict in a sentence or two.
    pub sentence: String,
}

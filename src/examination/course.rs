//! What a course settles, gathered once for all pairs.

use crate::checks::{Policy, Setting, TableName};
use crate::claims::ClaimSettings;
use crate::facts::FactSettings;
use crate::judgement::{StageModels, Theories};
use crate::logbook::open::Limits;
use crate::logbook::settings::ReadingSettings;
use crate::rubric::Rubric;
use crate::thresholds::Thresholds;

/// Everything that examining a pair needs besides its hand-in.
#[derive(Debug)]
pub struct Course {
    /// The rubric.
    pub rubric: Rubric,
    /// Digest of the rubric's file.
    pub rubric_digest: String,
    /// What the course made of the checks.
    pub policy: Policy,
    /// The thresholds in force: the defaults, the rubric's over them, the cohort's over those.
    pub thresholds: Thresholds,
    /// How hand-ins are read.
    pub reading: ReadingSettings,
    /// What a hand-in may take.
    pub limits: Limits,
    /// How facts are computed.
    pub facts: FactSettings,
    /// What the course settles about claims.
    pub claims: ClaimSettings,
    /// The models of stages.
    pub stages: StageModels,
    /// The theories.
    pub theories: Theories,
    /// The tables that the rubric needs.
    pub needed_tables: &'static [TableName],
}

/// The files in which a course says what it asks.
#[derive(Debug)]
pub struct CourseFiles {
    /// The rubric.
    pub rubric: Rubric,
    /// Digest of its file.
    pub rubric_digest: String,
    /// The models of stages.
    pub stages: StageModels,
    /// The theories.
    pub theories: Theories,
}

impl Course {
    /// Gathers what a rubric and a cohort settle.
    pub fn new(
        files: CourseFiles,
        thresholds: Thresholds,
        reading: ReadingSettings,
        limits: Limits,
        seed: u64,
    ) -> Self {
        let rubric = files.rubric;
        let mut policy = Policy::default();
        for (id, switch) in &rubric.checks {
            if let Some(check) = crate::checks::find(id) {
                policy.set(check.id, switch.weight.map_or(Setting::Off, Setting::At));
            }
        }
        Self {
            facts: FactSettings {
                seed,
                confidence: thresholds.beyond_noise,
                ..FactSettings::default()
            },
            claims: ClaimSettings {
                accept: rubric.accept.clone(),
            },
            needed_tables: TableName::ALWAYS,
            rubric,
            rubric_digest: files.rubric_digest,
            stages: files.stages,
            theories: files.theories,
            policy,
            thresholds,
            reading,
            limits,
        }
    }
}

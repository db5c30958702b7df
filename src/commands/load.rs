//! Everything of a cohort that a command needs, read before anything is done.

use std::fs;
use std::path::Path;

use super::Stop;
use crate::checks;
use crate::claims::slips;
use crate::cohort::Roster;
use crate::cohort::folder::Folder;
use crate::cohort::matching::Matcher;
use crate::configuration::Located;
use crate::examination::{CohortResult, Course, CourseFiles, HandedIn, Kept, examine_cohort};
use crate::expression::Catalogue;
use crate::judgement::{StageModels, Theories};
use crate::ledger::{Ledger, State};
use crate::logbook::submissions::Submissions;
use crate::marking::typed_claims;
use crate::rubric::{Kind, Known, Rubric};

/// The folder that everything is written to, in the cohort's folder.
pub const OUT: &str = "out";

/// The ledger's file in a cohort's folder.
pub const LEDGER: &str = "ledger.csv";

/// A cohort, ready to be examined.
pub struct Loaded {
    /// Its folder and settings.
    pub folder: Folder,
    /// Its roster, where it has one.
    pub roster: Option<Roster>,
    /// What the course settles.
    pub course: Course,
    /// What people decided so far.
    pub ledger: Ledger,
    /// What is in force by the ledger.
    pub state: State,
    /// The hand-ins.
    pub submissions: Submissions,
    /// The folder of the submissions from the cohort's folder, for links.
    pub link_base: Option<String>,
    /// Where the submissions are, as messages show it.
    pub source: String,
    /// Digest of the files in which the course says what it settles.
    settled: blake3::Hash,
}

/// The names that rubrics may use.
pub fn catalogue() -> Catalogue {
    Catalogue::new(checks::ALL.iter().map(|check| check.id))
}

/// The codes of all slips.
pub fn slip_codes() -> Vec<&'static str> {
    slips::ALL.iter().map(|slip| slip.code).collect()
}

/// Reads a cohort. Nothing is written.
///
/// # Errors
/// Whatever is wrong with the cohort's own files: nothing is done then.
pub fn load(dir: &Path) -> Result<Loaded, Stop> {
    let folder = Folder::open(dir)?;
    let roster = folder.roster()?;
    let course = course(&folder)?;
    let ledger = Ledger::read(&folder.path(LEDGER))?;
    let state = State::from_entries(ledger.entries());
    let path = folder.submissions()?;
    let submissions = Submissions::find(&path, &folder.settings.limits)?;
    let link_base = folder.link_base(&path);
    Ok(Loaded {
        source: shown_from(dir, &path),
        settled: settled(&folder),
        link_base,
        roster,
        course,
        ledger,
        state,
        submissions,
        folder,
    })
}

/// Digest of the cohort's own files: of everything that settles how a hand-in is read, matched and examined. What ships with the program
/// is part of the program.
fn settled(folder: &Folder) -> blake3::Hash {
    let settings = &folder.settings;
    let named = |file: &Option<Located<String>>, otherwise: &str| {
        file.as_ref()
            .map_or_else(|| otherwise.to_owned(), |named| named.value.clone())
    };
    let mut hasher = blake3::Hasher::new();
    for name in [
        crate::cohort::settings::FILE.to_owned(),
        named(&settings.rubric, "rubric.toml"),
        named(&settings.stages, ""),
        named(&settings.theories, ""),
        named(&settings.roster, "roster.csv"),
    ] {
        let content = fs::read(folder.path(&name)).unwrap_or_default();
        hasher.update(&(content.len() as u64).to_le_bytes());
        hasher.update(&content);
    }
    hasher.finalize()
}

/// A path as texts show it: from the cohort's folder, so that they are the same wherever that lies.
fn shown_from(dir: &Path, path: &Path) -> String {
    match path.strip_prefix(dir) {
        Ok(within) if within.as_os_str().is_empty() => String::from("the cohort's folder"),
        Ok(within) => within.display().to_string(),
        Err(_) => path.display().to_string(),
    }
}

/// What the course of a folder settles; the defaults where the folder is no cohort's.
///
/// # Errors
/// Whatever is wrong with its files.
pub fn course_in(dir: &Path) -> Result<Course, Stop> {
    course(&Folder::open(dir)?)
}

/// What the course of a cohort would settle with another rubric, or with other models of stages or theories: whichever the text is.
///
/// # Errors
/// The text's faults, or whatever is wrong with the cohort's other files.
pub fn course_with(folder: &Folder, name: &str, text: &str) -> Result<Course, Stop> {
    let catalogue = catalogue();
    let slips = slip_codes();
    let known = Known {
        catalogue: &catalogue,
        slips: &slips,
    };
    let read = match Kind::of(text) {
        Kind::Rubric => (Rubric::read(name, text, &known)?, digest(text)),
        Kind::Stages | Kind::Theories => rubric(folder, &known)?,
    };
    let mut course = course_around(folder, &catalogue, read)?;
    match Kind::of(text) {
        Kind::Rubric => {}
        Kind::Stages => course.stages = StageModels::read(name, text, &catalogue)?,
        Kind::Theories => course.theories = Theories::read(name, text, &catalogue)?,
    }
    Ok(course)
}

/// Rubric, stages and theories of a cohort.
fn course(folder: &Folder) -> Result<Course, Stop> {
    let catalogue = catalogue();
    let slips = slip_codes();
    let known = Known {
        catalogue: &catalogue,
        slips: &slips,
    };
    course_around(folder, &catalogue, rubric(folder, &known)?)
}

fn course_around(
    folder: &Folder,
    catalogue: &Catalogue,
    (rubric, rubric_digest): (Rubric, String),
) -> Result<Course, Stop> {
    let settings = &folder.settings;
    let stages = match named_file(folder, "stages", settings.stages.as_ref())? {
        Some((name, text)) => StageModels::read(&name, &text, catalogue)?,
        None => StageModels::shipped(catalogue)?,
    };
    let theories = match named_file(folder, "theories", settings.theories.as_ref())? {
        Some((name, text)) => Theories::read(&name, &text, catalogue)?,
        None => Theories::shipped(catalogue)?,
    };
    let thresholds = settings.over(rubric.thresholds.clone());
    let files = CourseFiles {
        rubric,
        rubric_digest,
        stages,
        theories,
    };
    Ok(Course::new(
        files,
        thresholds,
        settings.reading.clone(),
        settings.limits.clone(),
        settings.seed,
    ))
}

/// The rubric that `cohort.toml` names, by path or as one that ships; else `rubric.toml` where it is there; else `full`.
fn rubric(folder: &Folder, known: &Known<'_>) -> Result<(Rubric, String), Stop> {
    let named = folder.settings.rubric.as_ref();
    let name = named.map_or("rubric.toml", |named| named.value.as_str());
    let path = folder.path(name);
    if path.is_file() {
        let text = read_text(&path)?;
        return Ok((Rubric::read(name, &text, known)?, digest(&text)));
    }
    let shipped = match named {
        Some(named) => named.value.as_str(),
        None => "full",
    };
    let names: Vec<&str> = crate::rubric::SHIPPED
        .iter()
        .map(|(name, _)| *name)
        .collect();
    match (
        crate::rubric::shipped_text(shipped),
        Rubric::shipped(shipped, known),
    ) {
        (Some(text), Some(rubric)) => Ok((rubric?, digest(text))),
        _ => Err(Stop::new(format!(
            "cohort.toml: rubric = \"{name}\", but there is no {}; rubrics that ship: {}",
            path.display(),
            names.join(", ")
        ))),
    }
}

/// A file that `cohort.toml` names under a key, where it names one.
fn named_file(
    folder: &Folder,
    key: &'static str,
    named: Option<&Located<String>>,
) -> Result<Option<(String, String)>, Stop> {
    let Some(named) = named else {
        return Ok(None);
    };
    let path = folder.path(&named.value);
    if !path.is_file() {
        return Err(Stop::new(format!(
            "cohort.toml: {key} = \"{}\", but there is no {}",
            named.value,
            path.display()
        )));
    }
    Ok(Some((named.value.clone(), read_text(&path)?)))
}

/// The text of a file.
///
/// # Errors
/// With the file's name.
pub fn read_text(path: &Path) -> Result<String, Stop> {
    fs::read_to_string(path).map_err(|error| Stop::new(format!("{}: {error}", path.display())))
}

fn digest(text: &str) -> String {
    let hex = blake3::hash(text.as_bytes()).to_hex();
    hex.get(..16).unwrap_or_default().to_owned()
}

impl Loaded {
    /// Examines the cohort; `done` is told of every hand-in that is through. Results that `check` kept are used, but none are added.
    pub fn examine(&self, done: &(dyn Fn() + Sync)) -> CohortResult {
        self.examine_with(&self.course, self.kept(false).as_ref(), done)
    }

    /// The same, and results are kept for the next run.
    pub fn examine_and_keep(&self, done: &(dyn Fn() + Sync)) -> CohortResult {
        self.examine_with(&self.course, self.kept(true).as_ref(), done)
    }

    /// Examines the cohort by another course's rubric.
    pub fn examine_by(&self, course: &Course, done: &(dyn Fn() + Sync)) -> CohortResult {
        self.examine_with(course, None, done)
    }

    /// The results of earlier runs with all that is settled now.
    fn kept(&self, adds: bool) -> Option<Kept> {
        let typed = typed_claims::taken(&self.state, self.ledger.entries());
        Kept::of(&self.folder.path(OUT), &(self.settled, typed), adds)
    }

    fn examine_with(
        &self,
        course: &Course,
        kept: Option<&Kept>,
        done: &(dyn Fn() + Sync),
    ) -> CohortResult {
        let matcher = Matcher::new(self.roster.as_ref(), &self.folder.settings.assign);
        let typed = typed_claims::taken(&self.state, self.ledger.entries());
        let handed_in = HandedIn {
            typed: &typed,
            submissions: &self.submissions,
            link_base: self.link_base.as_deref().map(Into::into),
            roster: self.roster.as_ref(),
            matcher: &matcher,
            kept,
        };
        examine_cohort(&handed_in, course, done)
    }
}

//! The marks in the OneRoster 1.2 CSV binding: line items, results and the manifest that says which files there are.
//!
//! Field names and their order: 1EdTech OneRoster CSV 1.2. Its files are raw: no text in them is changed for spreadsheets. The total is the
//! one line item: criteria beside it would count twice in a gradebook that adds its line items up.

use csv::{Terminator, WriterBuilder};

use super::marks_file::Returned;
use crate::cohort::marking_settings::OneRosterIds;
use crate::number::plain;
use crate::rubric::Rubric;

/// What the files say besides the marks.
#[derive(Debug, Clone)]
pub struct About<'a> {
    /// The course's title.
    pub title: &'a str,
    /// The rubric.
    pub rubric: &'a Rubric,
    /// The ids of the institution's own system, where cohort.toml gives them.
    pub ids: &'a OneRosterIds,
    /// The day of the last decision, `2026-04-01`.
    pub day: &'a str,
    /// The day on which the report was due; the day of the last decision where the roster has none.
    pub due: String,
}

/// The three files: name and content.
///
/// # Errors
/// What the writer of csv says.
pub fn files(
    all: &[Returned<'_>],
    comments: &dyn Fn(&str) -> String,
    about: &About<'_>,
) -> csv::Result<Vec<(&'static str, Vec<u8>)>> {
    Ok(vec![
        ("lineItems.csv", line_items(about)?),
        ("results.csv", results(all, comments, about)?),
        ("manifest.csv", manifest()?),
    ])
}

/// An id that stays the same as long as what it names is called the same.
fn derived(kind: &str, of: &[&str]) -> String {
    let mut hasher = blake3::Hasher::new();
    for part in of {
        hasher.update(&(part.len() as u64).to_le_bytes());
        hasher.update(part.as_bytes());
    }
    let hex = hasher.finalize().to_hex();
    format!("evenhand-{kind}-{}", hex.get(..16).unwrap_or_default())
}

fn or_derived(id: &str, kind: &str, about: &About<'_>) -> String {
    if id.is_empty() {
        derived(kind, &[about.title])
    } else {
        id.to_owned()
    }
}

fn line_item(about: &About<'_>) -> String {
    derived("line-item", &[about.title, &about.rubric.title])
}

const LINE_ITEMS: [&str; 13] = [
    "sourcedId",
    "status",
    "dateLastModified",
    "title",
    "description",
    "assignDate",
    "dueDate",
    "classSourcedId",
    "categorySourcedId",
    "academicSessionSourcedId",
    "resultValueMin",
    "resultValueMax",
    "schoolSourcedId",
];

fn line_items(about: &About<'_>) -> csv::Result<Vec<u8>> {
    let title = if about.title.is_empty() {
        about.rubric.title.clone()
    } else {
        format!("{}: {}", about.title, about.rubric.title)
    };
    // Status and date are blank in bulk mode.
    write(
        &LINE_ITEMS,
        [vec![
            line_item(about),
            String::new(),
            String::new(),
            title,
            about.rubric.title.clone(),
            about.due.clone(),
            about.due.clone(),
            or_derived(&about.ids.class, "class", about),
            or_derived(&about.ids.category, "category", about),
            or_derived(&about.ids.academic_session, "session", about),
            String::from("0"),
            plain(about.rubric.out_of),
            or_derived(&about.ids.school, "school", about),
        ]],
    )
}

const RESULTS: [&str; 15] = [
    "sourcedId",
    "status",
    "dateLastModified",
    "lineItemSourcedId",
    "studentSourcedId",
    "scoreStatus",
    "score",
    "scoreDate",
    "comment",
    "textScore",
    "classSourcedId",
    "inProgress",
    "incomplete",
    "late",
    "missing",
];

fn results(
    all: &[Returned<'_>],
    comments: &dyn Fn(&str) -> String,
    about: &About<'_>,
) -> csv::Result<Vec<u8>> {
    let item = line_item(about);
    let class = or_derived(&about.ids.class, "class", about);
    let rows = all.iter().filter_map(|one| {
        let student = one.student?;
        let level = about.rubric.level(one.mark.result);
        let late = matches!((student.due, student.submitted), (Some(due), Some(submitted)) if submitted > due);
        Some(vec![
            derived("result", &[&item, &student.id]),
            String::new(),
            String::new(),
            item.clone(),
            student.id.to_string(),
            String::from("fully graded"),
            plain(one.mark.result),
            about.day.to_owned(),
            comments(&one.pair.pair),
            level.map(|level| level.title.clone()).unwrap_or_default(),
            class.clone(),
            String::from("false"),
            String::from("false"),
            late.to_string(),
            String::from("false"),
        ])
    });
    write(&RESULTS, rows)
}

/// Every data file of the binding; those that are here, and those that are absent.
const FILES: [&str; 21] = [
    "academicSessions",
    "categories",
    "classes",
    "classResources",
    "courseResources",
    "courses",
    "demographics",
    "enrollments",
    "lineItemLearningObjectiveIds",
    "lineItems",
    "lineItemScoreScales",
    "orgs",
    "resources",
    "resultLearningObjectiveIds",
    "results",
    "resultScoreScales",
    "roles",
    "scoreScales",
    "userProfiles",
    "userResources",
    "users",
];

fn manifest() -> csv::Result<Vec<u8>> {
    let fixed = [
        ("manifest.version".to_owned(), "1.0"),
        ("oneroster.version".to_owned(), "1.2"),
    ];
    let files = FILES.iter().map(|file| {
        let mode = if matches!(*file, "lineItems" | "results") {
            "bulk"
        } else {
            "absent"
        };
        (format!("file.{file}"), mode)
    });
    let source = [
        ("source.systemName".to_owned(), "evenhand"),
        ("source.systemCode".to_owned(), "evenhand"),
    ];
    let rows = fixed
        .into_iter()
        .chain(files)
        .chain(source)
        .map(|(name, value)| vec![name, value.to_owned()]);
    write(&["propertyName", "value"], rows)
}

fn write(header: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> csv::Result<Vec<u8>> {
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(header)?;
    for row in rows {
        writer.write_record(row)?;
    }
    writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))
}

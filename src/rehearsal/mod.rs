//! Invented cohorts with known answers: to practise the whole way, to let markers agree on a standard, and to measure the program on.
//!
//! Skills, learners, programmes and names are all made up. A pair's logbook is first invented sound ([`mod@invent`]), then a fault may be planted
//! in it ([`faults`]), then it is written in one of the file formats and layouts that students use ([`files`]). What was planted is told.

pub mod faults;
pub mod files;
pub mod invent;
pub mod skill;
pub mod table;

use std::fs;
use std::io;
use std::path::Path;

use crate::atomic;
use crate::cohort::settings::TEMPLATE;
use crate::report::csv_rows::{CsvRows, Field};
use crate::rubric::shipped_text;
use crate::stats::random::Stream;

use faults::{FAULTS, Fault, Planted};
use files::{Format, Layout};
use invent::{Sound, invent};

/// What to rehearse with.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// How many pairs.
    pub pairs: usize,
    /// The same seed makes the same cohort.
    pub seed: u64,
    /// The share of pairs in which a fault is planted, 0 to 1.
    pub mess: f64,
    /// How many markers the roster names.
    pub markers: usize,
    /// Workbooks in the long layout alone.
    pub plain: bool,
}

/// Formats and layouts in turn: most students hand in a workbook.
const FILES: [(Format, Layout); 6] = [
    (Format::Xlsx, Layout::Long),
    (Format::Csv, Layout::Long),
    (Format::Xlsx, Layout::RowABlock),
    (Format::Ods, Layout::Long),
    (Format::Xlsx, Layout::Long),
    (Format::Ods, Layout::RowABlock),
];

/// Invented markers.
const MARKERS: [&str; 8] = [
    "M. Ostrow",
    "J. Adeyemi",
    "L. Forsberg",
    "R. Castellane",
    "T. Nakagawa",
    "S. Whitlock",
    "D. Petrov",
    "A. Lindqvist",
];

/// Writes an invented cohort to a folder, which must not hold one already, and what was planted to `expected.csv` beside it.
///
/// # Errors
/// The folder can't be written to, or holds a cohort.
pub fn rehearse(dir: &Path, plan: &Plan) -> io::Result<()> {
    if dir.join("submissions").exists() {
        let says = format!(
            "{} holds hand-ins already: name a new folder",
            dir.display()
        );
        return Err(io::Error::new(io::ErrorKind::AlreadyExists, says));
    }
    let submissions = dir.join("submissions");
    fs::create_dir_all(&submissions)?;
    let mut expected = CsvRows::with_header(&["pair", "check", "place"]);
    let mut roster = CsvRows::with_header(&["student_id", "name", "pair", "role", "marker"]);
    let mut faults = fault_order(plan);
    for index in 0..plan.pairs {
        let pair = pair_id(index, plan.pairs);
        let mut stream = Stream::new(plan.seed, &format!("rehearsal {pair}"));
        let sound = invent(&pair, index, &mut stream);
        add_to_roster(&mut roster, &sound, index, plan);
        let (format, layout) = if plan.plain {
            (Format::Xlsx, Layout::Long)
        } else {
            FILES
                .get(index % FILES.len())
                .copied()
                .unwrap_or((Format::Xlsx, Layout::Long))
        };
        let fault = is_faulty(index, plan).then(|| faults.next()).flatten();
        let mut logbook = sound.logbook;
        let planted = fault.map(|fault| fault.plant(&mut logbook, &mut stream));
        let files = files::write(&pair, &logbook, format, layout)?;
        for file in &files {
            let path = submissions.join(&file.name);
            if let Some(folder) = path.parent() {
                fs::create_dir_all(folder)?;
            }
            fs::write(&path, &file.bytes)?;
        }
        for planted in planted.into_iter().flatten() {
            let place = files::place(&pair, &logbook, &planted, format, layout);
            expected.row([
                Field::from(&pair),
                planted.check.into(),
                Field::from(&place),
            ]);
        }
    }
    let write = |name: &str, bytes: &[u8]| {
        use io::Write as _;
        atomic::replace(&dir.join(name), |file| file.write_all(bytes))
    };
    write("expected.csv", &expected.into_bytes())?;
    write("roster.csv", &roster.into_bytes())?;
    write(
        "rubric.toml",
        shipped_text("full").unwrap_or_default().as_bytes(),
    )?;
    let settings = TEMPLATE.replace(
        "title = \"Skill acquisition\"",
        "title = \"Learning to move (an invented cohort)\"",
    );
    write("cohort.toml", settings.as_bytes())
}

fn pair_id(index: usize, pairs: usize) -> String {
    let width = pairs.to_string().len().max(2);
    format!("P{:0width$}", index + 1)
}

/// Whether a fault is planted in a pair: spread evenly over the cohort.
fn is_faulty(index: usize, plan: &Plan) -> bool {
    let share = plan.mess.clamp(0.0, 1.0);
    let so_far = |count: usize| (count as f64 * share).floor();
    so_far(index + 1) > so_far(index)
}

/// Every fault in turn, so that a cohort of some size holds each.
fn fault_order(_plan: &Plan) -> impl Iterator<Item = &'static Fault> {
    FAULTS.iter().cycle()
}

fn add_to_roster(roster: &mut CsvRows, sound: &Sound, index: usize, plan: &Plan) {
    let marker = match plan.markers.min(MARKERS.len()) {
        0 => "",
        count => MARKERS.get(index % count).copied().unwrap_or_default(),
    };
    for (id, name, role) in [
        (&sound.coach_id, &sound.coach, "coach"),
        (&sound.learner_id, &sound.learner, "learner"),
    ] {
        roster.row([
            Field::from(id),
            Field::from(name),
            Field::from(&sound.pair),
            role.into(),
            marker.into(),
        ]);
    }
}

/// What a planted fault must be found as.
pub type Answers = Vec<Planted>;

//! A small cohort on disk, workbooks edited as people edit them, and the program run on them.

#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout
)]

use std::fmt::Write as _;
use std::fs;
use std::io::{Cursor, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::Output;

use evenhand::logbook::grid::{Grid, Source, Value};
use evenhand::logbook::open::{Limits, open};
use evenhand::place::cell_name;

/// A cohort in a folder of its own, gone when it is dropped.
pub struct Cohort {
    folder: tempfile::TempDir,
}

/// Scores of a learner who improves; whole numbers on a scale of 1 to 10.
fn scores(pair: usize, level: usize, n: usize) -> Vec<usize> {
    (0..n)
        .map(|trial| 1 + (level + (trial * 7 + pair * 3) % 4).min(9))
        .collect()
}

fn mean(scores: &[usize]) -> f64 {
    scores.iter().sum::<usize>() as f64 / scores.len() as f64
}

/// A pair's hand-in as a folder of csv files in the canonical tables.
fn hand_in(folder: &Path, id: &str, pair: usize) {
    fs::create_dir_all(folder).unwrap();
    let about = format!(
        "key,value\npair,{id}\nskill,Underarm lob over a net\nstart,2026-02-02\nend,2026-03-20\nstage before,cognitive\nstage after,associative\n\
         consent,yes\nscreening,yes\nlearning claimed,yes\n"
    );
    fs::write(folder.join("about.csv"), about).unwrap();
    let measures =
        "measure,kind,unit,better,lowest,highest,step\nlob,rating,points,higher,1,10,1\n";
    fs::write(folder.join("measures.csv"), measures).unwrap();
    let mut trials = String::from("session,date,phase,trial,measure,score,condition,rater\n");
    let mut block = |session: usize, date: &str, phase: &str, scores: &[usize]| {
        for (trial, score) in (1..).zip(scores) {
            writeln!(
                trials,
                "{session},{date},{phase},{trial},lob,{score},4 m,R1"
            )
            .unwrap();
        }
    };
    let (pre, post, retention) = (
        scores(pair, 1, 10),
        scores(pair, 5, 10),
        scores(pair, 4, 10),
    );
    block(1, "2026-02-02", "pre", &pre);
    for session in 0..8 {
        let date = format!("2026-02-{:02}", 4 + 3 * session);
        block(
            2 + session,
            &date,
            "practice",
            &scores(pair, 1 + session / 2, 6),
        );
    }
    block(10, "2026-03-02", "post", &post);
    block(11, "2026-03-12", "retention", &retention);
    fs::write(folder.join("trials.csv"), trials).unwrap();
    // The second pair of every five states a sum where it says mean.
    let stated = if pair % 5 == 1 {
        post.iter().sum::<usize>() as f64
    } else {
        mean(&post)
    };
    let claims = format!(
        "statistic,measure,phase,versus,value,unit,where\nmean,lob,pre,,{:.2},,p. 2\nmean,lob,post,,{stated:.2},,p. 2\nmean,lob,retention,,{:.2},,p. 3\n",
        mean(&pre),
        mean(&retention)
    );
    fs::write(folder.join("claims.csv"), claims).unwrap();
}

impl Cohort {
    /// So many pairs, P01 and on, each of two students, with the short rubric.
    pub fn new(pairs: usize) -> Self {
        let cohort = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        let mut roster = String::from("student_id,name,pair,role,due,submitted,adjust,status\n");
        for pair in 0..pairs {
            let id = format!("P{:02}", pair + 1);
            writeln!(
                roster,
                "s{}1,Ama Test{pair},{id},coach,2026-03-20,2026-03-20,,",
                pair + 1
            )
            .unwrap();
            writeln!(
                roster,
                "s{}2,Bo Probe{pair},{id},learner,2026-03-20,2026-03-20,,",
                pair + 1
            )
            .unwrap();
            hand_in(&cohort.path(&format!("submissions/{id}")), &id, pair);
        }
        cohort.write("roster.csv", &roster);
        cohort.write(
            "cohort.toml",
            "title = \"Trial course\"\nrubric = \"short\"\n[return]\nround = 0.5\n",
        );
        cohort
    }

    pub fn dir(&self) -> &Path {
        self.folder.path()
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.dir().join(name)
    }

    pub fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).unwrap();
    }

    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    pub fn workbook(&self) -> PathBuf {
        self.path("out/moderation.xlsx")
    }

    /// Runs the program on this cohort: the command, the folder, then the rest.
    pub fn run(&self, command: &str, rest: &[&str]) -> Run {
        let output = assert_cmd::Command::cargo_bin("evenhand")
            .unwrap()
            .env("EVENHAND_NOW", "2026-04-01T09:00:00Z")
            .arg(command)
            .arg(self.dir())
            .args(rest)
            .output()
            .unwrap();
        Run(output)
    }

    /// Runs the program in a folder, with everything as it is typed there.
    pub fn run_in(folder: &Path, arguments: &[&str]) -> Run {
        let output = assert_cmd::Command::cargo_bin("evenhand")
            .unwrap()
            .env("EVENHAND_NOW", "2026-04-01T09:00:00Z")
            .current_dir(folder)
            .args(arguments)
            .output()
            .unwrap();
        Run(output)
    }

    /// Runs the program and expects it to succeed.
    pub fn done(&self, command: &str, rest: &[&str]) -> Run {
        let run = self.run(command, rest);
        assert_eq!(run.code(), 0, "{command}: {}", run.said());
        run
    }

    /// The ledger's lines without their header.
    pub fn ledger(&self) -> Vec<csv::StringRecord> {
        let Ok(mut reader) = csv::Reader::from_path(self.path("ledger.csv")) else {
            return Vec::new();
        };
        reader.records().map(Result::unwrap).collect()
    }

    /// What the ledger says last about a pair and a subject.
    pub fn last(&self, pair: &str, what: &str) -> Option<String> {
        let ledger = self.ledger();
        let line = ledger
            .iter()
            .rfind(|line| &line[3] == pair && &line[5] == what)?;
        Some(line[7].to_owned())
    }
}

/// What a run of the program gave.
pub struct Run(Output);

impl Run {
    pub fn code(&self) -> i32 {
        self.0.status.code().unwrap_or(-1)
    }

    pub fn said(&self) -> String {
        format!(
            "{}{}",
            String::from_utf8_lossy(&self.0.stdout),
            String::from_utf8_lossy(&self.0.stderr)
        )
    }
}

/// The parts of a workbook that are text, by name.
pub fn parts(workbook: &Path) -> std::collections::BTreeMap<String, String> {
    let bytes = fs::read(workbook).unwrap();
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    (0..zip.len())
        .filter_map(|index| {
            let mut entry = zip.by_index(index).unwrap();
            let name = entry.name().unwrap().into_owned();
            let mut text = String::new();
            entry.read_to_string(&mut text).ok()?;
            Some((name, text))
        })
        .collect()
}

/// The sheets of a workbook.
pub fn grids(workbook: &Path) -> Vec<Grid> {
    let bytes = fs::read(workbook).unwrap();
    open(&bytes, "w.xlsx", &Limits::default()).unwrap().grids
}

/// A sheet's name.
pub fn sheet_name(grid: &Grid) -> &str {
    match &grid.source {
        Source::Sheet(name) => name,
        Source::Text { .. } => "",
    }
}

/// What stands in a cell, as text.
pub fn text(grid: &Grid, row: u32, column: u32) -> String {
    match grid.get(row, column).map(|cell| &cell.value) {
        Some(Value::Text(text)) => text.to_string(),
        Some(Value::Number(number)) => number.to_string(),
        _ => String::new(),
    }
}

/// The column of a key on a sheet, by the hidden first row.
pub fn column(grid: &Grid, key: &str) -> u32 {
    (0..200)
        .find(|column| {
            let text = text(grid, 0, *column);
            text == key || text.ends_with(&format!(": {key}"))
        })
        .unwrap_or_else(|| panic!("no column {key}"))
}

/// The cell (row and column from 0) of a row's id and a column's key.
pub fn cell(workbook: &Path, sheet: &str, id_key: &str, id: &str, key: &str) -> (u32, u32) {
    let grids = grids(workbook);
    let grid = grids.iter().find(|grid| sheet_name(grid) == sheet).unwrap();
    cell_in(grid, id_key, id, key)
}

/// The same in a sheet. Where it has no column for `mark testing`, it is a marker's, with a row an entry.
fn cell_in(grid: &Grid, id_key: &str, id: &str, key: &str) -> (u32, u32) {
    let ids = column(grid, id_key);
    let a_row_an_entry = (0..200).any(|column| text(grid, 0, column) == "entry");
    let of = key.split_once(' ').filter(|_| a_row_an_entry);
    let row = (5..grid.rows())
        .find(|row| {
            let at = |key: &str| text(grid, *row, column(grid, key));
            text(grid, *row, ids) == id
                && of.is_none_or(|(_, of)| at("criterion") == of && at("part").is_empty())
        })
        .unwrap_or_else(|| panic!("no row {id} {key}"));
    let key = match of {
        Some(("comment", _)) => "words",
        Some(_) => "entry",
        None => key,
    };
    (row, column(grid, key))
}

/// What stands in a cell.
pub fn shown(workbook: &Path, sheet: &str, id_key: &str, id: &str, key: &str) -> String {
    let (row, column) = cell(workbook, sheet, id_key, id, key);
    let grids = grids(workbook);
    let grid = grids.iter().find(|grid| sheet_name(grid) == sheet).unwrap();
    text(grid, row, column)
}

/// What a person types into a cell.
pub enum Typed<'a> {
    Number(f64),
    Text(&'a str),
    Nothing,
}

/// Types into a cell, and saves.
pub fn enter(workbook: &Path, sheet: &str, id_key: &str, id: &str, key: &str, typed: &Typed<'_>) {
    let (row, column) = cell(workbook, sheet, id_key, id, key);
    enter_at(workbook, sheet, row, column, typed);
}

/// Marks a pair.
pub fn mark(workbook: &Path, pair: &str, criterion: &str, typed: &Typed<'_>) {
    enter(
        workbook,
        "Marks",
        "pair",
        pair,
        &format!("mark {criterion}"),
        typed,
    );
}

/// Types into the cell at a row and column from 0.
pub fn enter_at(workbook: &Path, sheet: &str, row: u32, column: u32, typed: &Typed<'_>) {
    let name = cell_name(row, column);
    let content = match typed {
        Typed::Nothing => None,
        Typed::Number(number) => Some((String::from("n"), format!("<v>{number}</v>"))),
        Typed::Text(text) => {
            let text = text.replace('&', "&amp;").replace('<', "&lt;");
            Some((
                String::from("inlineStr"),
                format!("<is><t xml:space=\"preserve\">{text}</t></is>"),
            ))
        }
    };
    change_sheet(workbook, sheet, |xml| {
        let start = xml
            .find(&format!("<c r=\"{name}\""))
            .unwrap_or_else(|| panic!("{sheet} has no cell {name}"));
        let head_end = start + xml[start..].find('>').unwrap();
        let end = if xml[..=head_end].ends_with("/>") {
            head_end + 1
        } else {
            start + xml[start..].find("</c>").unwrap() + 4
        };
        let head = &xml[start..head_end];
        let style = head
            .find(" s=\"")
            .map(|at| {
                let rest = &head[at + 4..];
                rest[..rest.find('"').unwrap()].to_owned()
            })
            .unwrap_or_default();
        let cell = match &content {
            None => format!("<c r=\"{name}\" s=\"{style}\"/>"),
            Some((kind, inner)) => {
                format!("<c r=\"{name}\" s=\"{style}\" t=\"{kind}\">{inner}</c>")
            }
        };
        format!("{}{cell}{}", &xml[..start], &xml[end..])
    });
}

/// Changes the XML of a sheet, and saves.
pub fn change_sheet(workbook: &Path, sheet: &str, change: impl Fn(&str) -> String) {
    let index = grids(workbook)
        .iter()
        .position(|grid| sheet_name(grid) == sheet)
        .unwrap();
    let part = format!("xl/worksheets/sheet{}.xml", index + 1);
    change_part(workbook, &part, change);
}

/// Changes one part of a workbook, and saves.
pub fn change_part(workbook: &Path, part: &str, change: impl Fn(&str) -> String) {
    let bytes = fs::read(workbook).unwrap();
    let mut old = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut new = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for index in 0..old.len() {
        let mut entry = old.by_index(index).unwrap();
        let name = entry.name().unwrap().into_owned();
        let mut content = Vec::new();
        entry.read_to_end(&mut content).unwrap();
        if name == part {
            content = change(&String::from_utf8(content).unwrap()).into_bytes();
        }
        new.start_file(name, zip::write::SimpleFileOptions::default())
            .unwrap();
        new.write_all(&content).unwrap();
    }
    let bytes = new.finish().unwrap().into_inner();
    fs::write(workbook, bytes).unwrap();
}

/// Saves a workbook again with LibreOffice, as `ending`, in a folder of its own; none (and said) where LibreOffice is not installed.
pub fn save_again(workbook: &Path, ending: &str, into: &Path) -> Option<PathBuf> {
    let profile = tempfile::tempdir().unwrap();
    fs::create_dir_all(into).unwrap();
    let ran = std::process::Command::new("soffice")
        .arg(format!(
            "-env:UserInstallation=file://{}",
            profile.path().display()
        ))
        .args([
            "--headless",
            "--norestore",
            "--convert-to",
            ending,
            "--outdir",
        ])
        .arg(into)
        .arg(workbook)
        .output();
    let saved = into.join(workbook.file_stem()?).with_extension(ending);
    match ran {
        Ok(_) if saved.is_file() => Some(saved),
        _ => {
            println!("LibreOffice is not here: saving again as {ending} was passed over");
            None
        }
    }
}

/// Types into several cells of a sheet, each by its row's id and its column's key, and saves once.
pub fn enter_many(workbook: &Path, sheet: &str, id_key: &str, typed: &[(String, String, f64)]) {
    let grids = grids(workbook);
    let grid = grids.iter().find(|grid| sheet_name(grid) == sheet).unwrap();
    let cells: Vec<(String, f64)> = typed
        .iter()
        .map(|(id, key, value)| {
            let (row, column) = cell_in(grid, id_key, id, key);
            (cell_name(row, column), *value)
        })
        .collect();
    change_sheet(workbook, sheet, |xml| {
        let mut xml = xml.to_owned();
        for (name, value) in &cells {
            let start = xml
                .find(&format!("<c r=\"{name}\""))
                .unwrap_or_else(|| panic!("{sheet} has no cell {name}"));
            let end = start + xml[start..].find("/>").unwrap() + 2;
            let empty = xml[start..end].to_owned();
            assert!(
                !empty.contains('>') || empty.ends_with("/>"),
                "{name} holds something"
            );
            let filled = format!("{}><v>{value}</v></c>", &empty[..empty.len() - 2]);
            xml.replace_range(start..end, &filled);
        }
        xml
    });
}

//! Taking workbooks back, as `collect` does when it is asked to and `check` before it writes a workbook anew.

use std::cell::OnceCell;
use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::{Timestamp, Unit};

use super::load::{LEDGER, Loaded};
use super::{Stop, office_lock};
use crate::checks::{self, Finding};
use crate::claims::slips;
use crate::cohort::roster::compared;
use crate::examination::CohortResult;
use crate::ledger::{Entry, State};
use crate::marking::{Book, By, Collected, Collecting, Identities, Layout, Refusal, collect};
use crate::report::workbook::moderation::{
    checks_sheet, claims_sheet, findings_sheet, marks_sheet,
};
use crate::report::workbook::{marker, moderation_report};
use crate::spreadsheet_text::restored;

/// The variable that fixes the clock, for tests.
const NOW: &str = "EVENHAND_NOW";

/// What taking back gave.
#[derive(Debug, Default)]
pub struct TakenBack {
    /// The workbooks, in order.
    pub files: Vec<TakenFile>,
    /// Lines for the ledger.
    pub entries: Vec<Entry>,
    /// What was not taken.
    pub refusals: Vec<Refusal>,
    /// Workbooks that could not be read, each with why.
    pub not_read: Vec<String>,
    /// What should be known besides.
    pub warnings: Vec<String>,
    /// A proposal to have marks given again was accepted.
    pub accepted_again: bool,
}

/// One workbook.
#[derive(Debug)]
pub struct TakenFile {
    /// Its name.
    pub name: String,
    /// Whose it is; empty for the instructor's.
    pub marker: String,
    /// How many lines the ledger had when it was written.
    pub ledger_lines: usize,
    /// How many entries it gave.
    pub entries: usize,
    /// How many of them disagree with the ledger.
    pub conflicts: usize,
    /// How many of its cells were refused.
    pub refused: usize,
}

/// The time of this run.
///
/// # Errors
/// `EVENHAND_NOW` is set to something that is no time.
pub fn now() -> Result<String, Stop> {
    let time = match std::env::var(NOW) {
        Ok(text) => text.parse::<Timestamp>().map_err(|error| {
            Stop::new(format!("{NOW}={text}: {error}; write 2026-11-25T08:30:00Z"))
        })?,
        Err(_) => Timestamp::now(),
    };
    let whole = time.round(Unit::Second).unwrap_or(time);
    Ok(whole.strftime("%Y-%m-%dT%H:%M:%SZ").to_string())
}

/// The sheets that the program writes, for workbooks whose row of keys is gone.
fn layouts(loaded: &Loaded) -> Vec<Layout> {
    vec![
        Layout {
            name: marks_sheet::NAME,
            columns: marks_sheet::columns(&loaded.course.rubric),
        },
        Layout {
            name: marker::marks_sheet::NAME,
            columns: marker::marks_sheet::columns(),
        },
        Layout {
            name: moderation_report::PROPOSALS,
            columns: moderation_report::proposal_columns(),
        },
        Layout {
            name: moderation_report::AGAIN,
            columns: moderation_report::again_columns(),
        },
        Layout {
            name: findings_sheet::NAME,
            columns: findings_sheet::columns(),
        },
        Layout {
            name: claims_sheet::NAME,
            columns: claims_sheet::columns(),
        },
        Layout {
            name: checks_sheet::NAME,
            columns: checks_sheet::columns(),
        },
    ]
}

/// Takes workbooks back at a time, in this order. Nothing is written: see [`Loaded::record`].
pub fn take_back(loaded: &Loaded, files: &[PathBuf], by: By<'_>, time: &str) -> TakenBack {
    let layouts = layouts(loaded);
    let mut taken = TakenBack::default();
    let mut entries = loaded.ledger.entries().to_vec();
    for path in files {
        let name = ledger_name(&loaded.folder.dir, path);
        if let Some(lock) = office_lock::of(path) {
            taken.warnings.push(format!(
                "{name}: an office program has it open ({} is there); what was not saved there yet is not in it",
                lock.display()
            ));
        }
        let book = match read(path, &name, &layouts) {
            Ok(book) => book,
            Err(why) => {
                taken.not_read.push(why);
                continue;
            }
        };
        let state = State::from_entries(&entries);
        let collected = of_book(loaded, &book, &entries, &state, by, time);
        taken.files.push(TakenFile {
            name,
            marker: book.marker.clone(),
            ledger_lines: book.ledger_lines,
            entries: collected.entries.len(),
            conflicts: collected.conflicts(),
            refused: collected.refusals.len(),
        });
        entries.extend(collected.entries.iter().cloned());
        taken.entries.extend(collected.entries);
        taken.refusals.extend(collected.refusals);
    }
    taken
}

fn read(path: &Path, name: &str, layouts: &[Layout]) -> Result<Book, String> {
    let bytes = fs::read(path).map_err(|error| format!("{name}: {error}"))?;
    Book::read(&bytes, name, layouts).map_err(|error| error.to_string())
}

fn of_book(
    loaded: &Loaded,
    book: &Book,
    entries: &[Entry],
    state: &State,
    by: By<'_>,
    time: &str,
) -> Collected {
    let known = Known {
        loaded,
        book,
        findings: OnceCell::new(),
        examined: OnceCell::new(),
    };
    collect(
        book,
        &Collecting {
            rubric: &loaded.course.rubric,
            roster: loaded.roster.as_ref(),
            moderation: &loaded.folder.settings.moderation,
            identities: &known,
            entries,
            state,
            by,
            time,
        },
    )
}

/// A workbook's name on the ledger: from the cohort's folder where it is in it.
fn ledger_name(dir: &Path, path: &Path) -> String {
    let whole = |path: &Path| fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let (dir, path) = (whole(dir), whole(path));
    let name = path.strip_prefix(&dir).unwrap_or(&path);
    name.components()
        .map(|part| part.as_os_str().to_string_lossy())
        .filter(|part| part != "/")
        .collect::<Vec<_>>()
        .join("/")
}

/// Which pairs and findings there are: as the last check listed them, else by examining the cohort once more.
struct Known<'a> {
    loaded: &'a Loaded,
    book: &'a Book,
    findings: OnceCell<HashMap<String, String>>,
    examined: OnceCell<CohortResult>,
}

impl Known<'_> {
    fn examined(&self) -> &CohortResult {
        self.examined.get_or_init(|| self.loaded.examine(&|| ()))
    }

    /// The findings of the last check: id and pair.
    fn listed(&self) -> &HashMap<String, String> {
        self.findings.get_or_init(|| {
            let path = self.loaded.folder.path("out/findings.csv");
            let Ok(mut reader) = csv::Reader::from_path(path) else {
                return HashMap::new();
            };
            reader
                .records()
                .filter_map(|record| {
                    let record = record.ok()?;
                    let pair = restored(record.get(1)?).to_owned();
                    Some((record.get(0)?.to_owned(), pair))
                })
                .collect()
        })
    }
}

impl Identities for Known<'_> {
    fn pair(&self, id: &str) -> Option<String> {
        if let Some(roster) = &self.loaded.roster {
            return roster.pair(id).map(ToString::to_string);
        }
        let written = self
            .book
            .pairs
            .keys()
            .find(|known| compared(known) == compared(id));
        written.cloned().or_else(|| {
            let result = self.examined().pair(id)?;
            Some(result.pair.to_string())
        })
    }

    fn finding(&self, id: &str) -> Option<String> {
        if let Some(pair) = self.listed().get(id) {
            return Some(pair.clone());
        }
        let examined = self.examined();
        let is_it = |pair: &str, findings: &[Finding]| {
            let mut findings = findings.iter();
            findings.any(|finding| finding.id(pair) == id)
        };
        if is_it("", &examined.without_pair) {
            return Some(String::new());
        }
        let mut results = examined.results();
        let owner = results.find(|result| is_it(&result.pair, &result.findings))?;
        Some(owner.pair.to_string())
    }

    fn check(&self, id: &str) -> bool {
        checks::find(id).is_some() || slips::ALL.iter().any(|slip| slip.code == id)
    }
}

impl Loaded {
    /// Puts lines on the ledger, all or none, and works out what is in force from then on.
    ///
    /// # Errors
    /// The ledger can't be written.
    pub fn record(&mut self, entries: Vec<Entry>) -> Result<(), Stop> {
        let path = self.folder.path(LEDGER);
        self.ledger.append(&path, entries)?;
        self.state = State::from_entries(self.ledger.entries());
        Ok(())
    }
}

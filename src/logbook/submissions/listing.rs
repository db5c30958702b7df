//! Which files there are, in a folder or in a zip, and in zips within them.

use std::ffi::OsString;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;
use std::sync::Arc;

use super::names::{self, Ending};
use super::{At, PassedOver, Why};
use crate::logbook::open::archive::{Archive, Entry, Place as Bytes};
use crate::logbook::open::kind::{Look, ending, look};
use crate::logbook::open::limits::{Budget, Limits};
use crate::logbook::open::xml::Chunks;
use crate::logbook::open::{Notice, Noticed, OpenError};
use crate::place::Place;

/// Folders within folders that are still looked into.
const DEEPEST: usize = 12;
/// Files in a zip that a pair hands in: a page of photos or two, and far from this many.
const MOST_FILES_OF_A_HAND_IN: usize = 2_000;
/// First bytes that tell what a file is.
const FIRST_BYTES: usize = 16;

/// What was found.
#[derive(Debug, Default)]
pub(super) struct Found {
    pub(super) files: Vec<FoundFile>,
    pub(super) passed_over: Vec<PassedOver>,
    pub(super) notices: Vec<Notice>,
}

/// A file that a hand-in may be made of.
#[derive(Debug)]
pub(super) struct FoundFile {
    /// Its name relative to the submissions.
    pub(super) name: Arc<str>,
    /// A text rather than a workbook.
    pub(super) is_text: bool,
    /// Where it is.
    pub(super) at: At,
}

impl Found {
    fn pass_over(&mut self, name: &str, why: Why) {
        let name = self.shown(name);
        self.passed_over.push(PassedOver { name, why });
    }

    fn add(&mut self, name: &str, is_text: bool, at: At) {
        let name = self.shown(name);
        self.files.push(FoundFile { name, is_text, at });
    }

    /// The name as it may be shown; that it had to change is told.
    fn shown(&mut self, name: &str) -> Arc<str> {
        let Some(harmless) = names::harmless(name) else {
            return Arc::from(name);
        };
        let shown: Arc<str> = Arc::from(harmless);
        self.notices.push(Notice {
            place: Place::file(shown.clone()),
            what: Noticed::MisleadingName,
        });
        shown
    }

    fn unsafe_name(&mut self, zip: &str, name: &str) {
        let name = names::harmless(name).unwrap_or_else(|| name.to_owned());
        self.notices.push(Notice {
            place: Place::file(zip),
            what: Noticed::UnsafeName { name },
        });
    }
}

/// Lists a folder and the folders in it.
pub(super) fn folder(root: &Path, limits: &Limits, found: &mut Found) -> io::Result<()> {
    walk(root, "", 0, limits, found)
}

fn walk(
    path: &Path,
    prefix: &str,
    depth: usize,
    limits: &Limits,
    found: &mut Found,
) -> io::Result<()> {
    let mut entries: Vec<(OsString, std::fs::FileType)> = Vec::new();
    for entry in std::fs::read_dir(path)? {
        let entry = entry?;
        entries.push((entry.file_name(), entry.file_type()?));
    }
    entries.sort_by(|a, b| a.0.cmp(&b.0));
    for (file_name, kind) in entries {
        let base = file_name.to_string_lossy();
        if names::is_left_behind(&base) || (depth == 0 && names::is_the_programs(&base)) {
            continue;
        }
        let name = joined(prefix, &base);
        let path = path.join(&file_name);
        if kind.is_symlink() {
            found.pass_over(&name, Why::Link);
        } else if kind.is_dir() {
            if depth >= DEEPEST {
                found.pass_over(&name, Why::TooDeep);
            } else if walk(&path, &name, depth + 1, limits, found).is_err() {
                // A folder that may not be opened is named like a file that may not.
                let error = OpenError::Disk {
                    what: "the folder may not be opened by you".to_owned(),
                };
                found.add(&name, false, At::Refused(error));
            }
        } else if kind.is_file() {
            match sort(&base, || first_bytes(&path)) {
                Sorted::Zip => {
                    let bytes = super::whole_file(&path, limits);
                    inner_zip(&name, At::Disk(path), bytes, limits, found);
                }
                Sorted::File { is_text } => found.add(&name, is_text, At::Disk(path)),
                Sorted::Other => found.pass_over(&name, Why::NoTable),
            }
        } else {
            found.pass_over(&name, Why::NoFile);
        }
    }
    Ok(())
}

/// Lists the zip that all submissions are in.
pub(super) fn archive(archive: &Archive<impl Bytes>, limits: &Limits, found: &mut Found) {
    let deadline = Budget::new(limits).deadline();
    for (index, entry) in archive.entries.iter().enumerate() {
        let Some(base) = usable(entry, "", found) else {
            continue;
        };
        let top = entry.name.split('/').next().unwrap_or_default();
        if names::is_the_programs(top) {
            continue;
        }
        match sort(base, || first_bytes_of(archive, entry, limits)) {
            Sorted::Zip => {
                let bytes = if entry.unpacked > limits.file_bytes() {
                    Err(OpenError::TooLarge {
                        limit_mib: limits.file_mib,
                    })
                } else {
                    archive.bytes(entry, deadline)
                };
                inner_zip(&entry.name, At::Entry(index), bytes, limits, found);
            }
            Sorted::File { is_text } => found.add(&entry.name, is_text, At::Entry(index)),
            Sorted::Other => found.pass_over(&entry.name, Why::NoTable),
        }
    }
}

/// Lists a zip among the submissions as if it were a folder. A zip within it is refused.
fn inner_zip(
    name: &str,
    at: At,
    bytes: Result<Vec<u8>, OpenError>,
    limits: &Limits,
    found: &mut Found,
) {
    let bytes = match bytes {
        Ok(bytes) => bytes,
        Err(error) => return found.add(name, false, At::Refused(error)),
    };
    let archive = match Archive::of_files(&*bytes, limits) {
        Ok(archive) => archive,
        Err(error) => return found.add(name, false, At::Refused(error)),
    };
    if is_workbook(&archive) {
        // A workbook whose ending was changed.
        return found.add(name, false, at);
    }
    if archive.entries.len() > MOST_FILES_OF_A_HAND_IN {
        let error = OpenError::TooManyParts {
            limit: MOST_FILES_OF_A_HAND_IN,
        };
        return found.add(name, false, At::Refused(error));
    }
    let before = found.files.len();
    let outer = Arc::new(at);
    for (index, entry) in archive.entries.iter().enumerate() {
        let Some(base) = usable(entry, name, found) else {
            continue;
        };
        let inner = joined(name, &entry.name);
        match sort(base, || first_bytes_of(&archive, entry, limits)) {
            Sorted::Zip => found.add(&inner, false, At::Refused(OpenError::NestedTooDeep)),
            Sorted::File { is_text } => {
                found.add(&inner, is_text, At::Within(outer.clone(), index));
            }
            Sorted::Other => found.pass_over(&inner, Why::NoTable),
        }
    }
    if found.files.len() == before {
        found.add(name, false, At::Refused(OpenError::NothingInside));
    }
}

/// A zip of a folder often holds that folder: names are then told from inside it. Not where the one folder may be a pair's own.
pub(super) fn inside_the_one_folder(found: &mut Found) {
    let Some(top) = found
        .files
        .first()
        .and_then(|file| file.name.split_once('/'))
        .map(|(top, _)| format!("{top}/"))
    else {
        return;
    };
    let inside = |name: &Arc<str>| name.strip_prefix(&*top).map(Arc::<str>::from);
    let all = found.files.iter().all(|file| inside(&file.name).is_some());
    let folders = found
        .files
        .iter()
        .any(|file| file.name.matches('/').count() > 1);
    let workbooks = found.files.iter().filter(|file| !file.is_text).count();
    if !all || !(folders || workbooks > 2) {
        return;
    }
    for file in &mut found.files {
        if let Some(name) = inside(&file.name) {
            file.name = name;
        }
    }
    // The program's own files are known by their place at the top, which is this folder.
    found
        .files
        .retain(|file| !names::is_the_programs(file.name.split('/').next().unwrap_or_default()));
    for file in &mut found.passed_over {
        if let Some(name) = inside(&file.name) {
            file.name = name;
        }
    }
}

fn is_workbook(archive: &Archive<impl Bytes>) -> bool {
    let has = |name| archive.entry(name).is_some();
    has("[Content_Types].xml") || has("xl/workbook.xml") || has("mimetype")
}

/// An entry's own name, where the entry is a file that may be looked at.
fn usable<'a>(entry: &'a Entry, zip: &str, found: &mut Found) -> Option<&'a str> {
    if entry.is_folder() || entry.name.split('/').any(names::is_left_behind) && !entry.leads_outside
    {
        return None;
    }
    if entry.leads_outside {
        found.unsafe_name(zip, &entry.name);
        return None;
    }
    if entry.link {
        found.pass_over(&joined(zip, &entry.name), Why::Link);
        return None;
    }
    Some(names::base(&entry.name))
}

fn joined(prefix: &str, name: &str) -> String {
    if prefix.is_empty() {
        name.to_owned()
    } else {
        format!("{prefix}/{name}")
    }
}

/// What a file is taken for.
enum Sorted {
    Zip,
    File { is_text: bool },
    Other,
}

/// By the ending where it tells; a text's and an unknown file's first bytes have the last word.
fn sort(base: &str, first: impl FnOnce() -> Option<Vec<u8>>) -> Sorted {
    let by_ending = names::ending(&ending(base));
    match by_ending {
        Ending::Zip => return Sorted::Zip,
        Ending::Other => return Sorted::Other,
        Ending::Workbook => return Sorted::File { is_text: false },
        Ending::Text | Ending::Unknown => {}
    }
    match first().map(|bytes| look(&bytes)) {
        Some(Look::Zip) if by_ending == Ending::Unknown => Sorted::Zip,
        Some(Look::Zip | Look::Compound | Look::BareXls) => Sorted::File { is_text: false },
        _ if by_ending == Ending::Text => Sorted::File { is_text: true },
        _ => Sorted::Other,
    }
}

fn first_bytes(path: &Path) -> Option<Vec<u8>> {
    let mut bytes = Vec::with_capacity(FIRST_BYTES);
    let file = File::open(path).ok()?;
    file.take(FIRST_BYTES as u64).read_to_end(&mut bytes).ok()?;
    Some(bytes)
}

fn first_bytes_of(
    archive: &Archive<impl Bytes>,
    entry: &Entry,
    limits: &Limits,
) -> Option<Vec<u8>> {
    let deadline = Budget::new(limits).deadline();
    let mut bytes = vec![0; FIRST_BYTES];
    let read = archive.read(entry, deadline, |mut part| part.read(&mut bytes));
    bytes.truncate(read.ok()?);
    Some(bytes)
}

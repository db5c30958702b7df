//! What pairs handed in: the files of a folder or of one zip, sorted into hand-ins, and their bytes when they are wanted.
//!
//! Listing reads names only (and the first bytes where a name does not tell), so that a cohort of thousands costs little memory; nothing is
//! ever written, links are not followed, and nothing outside the submissions is looked at.

mod grouping;
mod listing;
mod names;

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use thiserror::Error;

use super::open::archive::{Archive, OnDisk};
use super::open::limits::{Budget, Limits};
use super::open::{Notice, OpenError, Opened, open};

/// The hand-ins of a cohort.
#[derive(Debug)]
pub struct Submissions {
    /// The hand-ins in natural order of their names.
    pub hand_ins: Vec<HandIn>,
    /// Files that are no hand-in's: named, so that nothing is dropped in silence.
    pub passed_over: Vec<PassedOver>,
    /// What should be known about names and zips.
    pub notices: Vec<Notice>,
    root: Root,
    limits: Limits,
}

/// What one pair handed in at once: one workbook, or the text files that belong together.
#[derive(Debug, Clone)]
pub struct HandIn {
    /// Its name relative to the submissions: the workbook's, the folder's, or what the names of loose text files begin with.
    pub name: Arc<str>,
    /// Its files in natural order.
    pub files: Vec<HandInFile>,
}

/// One file of a hand-in.
#[derive(Debug, Clone)]
pub struct HandInFile {
    /// Its name relative to the submissions, with `/` between folders, made harmless for showing.
    pub name: Arc<str>,
    place: At,
}

/// A file that is no hand-in's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PassedOver {
    /// Its name relative to the submissions.
    pub name: Arc<str>,
    /// Why.
    pub why: Why,
}

/// Why a file was passed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// A picture, a report, a film: no table in it for this program.
    NoTable,
    /// A text that lies beside a pair's workbook, and is not named like a table.
    BesideWorkbook,
    /// A link: it may lead anywhere.
    Link,
    /// Folders too deep within folders.
    TooDeep,
    /// A pipe, a device or the like.
    NoFile,
}

impl Why {
    /// It may be a pair's work that could not be taken, and not merely something that lies beside it.
    pub fn may_be_work(self) -> bool {
        matches!(self, Self::Link | Self::TooDeep | Self::NoFile)
    }

    /// In words.
    pub fn text(self) -> &'static str {
        match self {
            Self::NoTable => "it is not a workbook or a table in text",
            Self::BesideWorkbook => "it lies beside a workbook and is not named like a table",
            Self::Link => "it is a link, and links are not followed",
            Self::TooDeep => "it lies too deep in folders",
            Self::NoFile => "it is a pipe or a device, not a file",
        }
    }
}

/// Why the submissions could not be listed.
#[derive(Debug, Error)]
pub enum SubmissionsError {
    /// Neither a folder nor a zip is there.
    #[error("{path}: there is no such folder or zip; submissions in cohort.toml names it")]
    Missing {
        /// The path as given.
        path: String,
    },
    /// The folder cannot be listed.
    #[error("{path}: the folder cannot be listed ({what})")]
    Folder {
        /// The path as given.
        path: String,
        /// What the operating system said.
        what: String,
    },
    /// The zip cannot be read.
    #[error("{path}: {error}")]
    Zip {
        /// The path as given.
        path: String,
        /// What is wrong with it.
        error: OpenError,
    },
}

/// Where the submissions are.
#[derive(Debug)]
enum Root {
    Folder,
    Zip(Archive<OnDisk>),
}

/// Where one file is.
#[derive(Debug, Clone)]
enum At {
    /// A file on the disk.
    Disk(PathBuf),
    /// A file of the zip that all submissions are in, by its number.
    Entry(usize),
    /// A file of a zip within the submissions: the zip, and the number of the file in it.
    Within(Arc<At>, usize),
    /// Something that can't be read, said already.
    Refused(OpenError),
}

/// A zip among the submissions, with its bytes.
struct Unpacked {
    zip: Arc<At>,
    bytes: Result<Vec<u8>, OpenError>,
}

/// One file with its bytes.
#[derive(Debug)]
pub struct ReadFile {
    /// Its name relative to the submissions.
    pub name: Arc<str>,
    /// Its content, or why it could not be read.
    pub bytes: Result<Vec<u8>, OpenError>,
}

impl ReadFile {
    /// Reads the file into grids.
    ///
    /// # Errors
    /// As [`open`], and what kept its bytes from being read.
    pub fn open(&self, limits: &Limits) -> Result<Opened, OpenError> {
        match &self.bytes {
            Ok(bytes) => open(bytes, &self.name, limits),
            Err(error) => Err(error.clone()),
        }
    }
}

/// A digest of the files of a hand-in: their names, and their bytes or why they could not be read.
pub fn digest(files: &[ReadFile]) -> blake3::Hash {
    let mut hasher = blake3::Hasher::new();
    let mut field = |bytes: &[u8]| {
        // Lengths before contents: else bytes could move from one field to the next unseen.
        hasher.update(&(bytes.len() as u64).to_le_bytes());
        hasher.update(bytes);
    };
    for file in files {
        field(file.name.as_bytes());
        match &file.bytes {
            Ok(bytes) => field(bytes),
            Err(error) => field(error.to_string().as_bytes()),
        }
    }
    hasher.finalize()
}

impl Submissions {
    /// Lists a folder of submissions, or a zip of one. The path may be the cohort's own folder: the program's files in it are left out.
    ///
    /// # Errors
    /// When there is no such folder or zip, or it can't be listed. What is wrong with single files is told when they are read.
    pub fn find(path: &Path, limits: &Limits) -> Result<Self, SubmissionsError> {
        let shown = || path.display().to_string();
        let Ok(metadata) = std::fs::metadata(path) else {
            return Err(SubmissionsError::Missing { path: shown() });
        };
        let mut found = listing::Found::default();
        let root = if metadata.is_dir() {
            listing::folder(path, limits, &mut found).map_err(|error| {
                SubmissionsError::Folder {
                    path: shown(),
                    what: error.to_string(),
                }
            })?;
            Root::Folder
        } else {
            let zip = |error| SubmissionsError::Zip {
                path: shown(),
                error,
            };
            let file = File::open(path).map_err(|error| zip(error.into()))?;
            let archive = Archive::of_files(OnDisk::new(file), limits).map_err(zip)?;
            listing::archive(&archive, limits, &mut found);
            listing::inside_the_one_folder(&mut found);
            Root::Zip(archive)
        };
        let hand_ins = grouping::hand_ins(found.files, &mut found.passed_over);
        found
            .passed_over
            .sort_by(|a, b| crate::natural_order::compare(&a.name, &b.name));
        Ok(Self {
            hand_ins,
            passed_over: found.passed_over,
            notices: found.notices,
            root,
            limits: limits.clone(),
        })
    }

    /// Reads the bytes of a hand-in's files: all of them together no more than the limits allow.
    pub fn read(&self, hand_in: &HandIn) -> Vec<ReadFile> {
        let mut left = self.limits.file_bytes();
        // The files of a zip lie together: it is unpacked once for all of them.
        let mut unpacked: Option<Unpacked> = None;
        let mut files = Vec::with_capacity(hand_in.files.len());
        for file in &hand_in.files {
            let bytes = match &file.place {
                At::Within(zip, index) => {
                    let same = unpacked
                        .take()
                        .filter(|unpacked| Arc::ptr_eq(&unpacked.zip, zip));
                    let now = unpacked.insert(same.unwrap_or_else(|| Unpacked {
                        zip: zip.clone(),
                        bytes: self.bytes(zip),
                    }));
                    match &now.bytes {
                        Ok(bytes) => self.within(bytes, *index),
                        Err(error) => Err(error.clone()),
                    }
                }
                place => self.bytes(place),
            };
            let bytes = bytes.and_then(|bytes| match left.checked_sub(bytes.len() as u64) {
                Some(rest) => {
                    left = rest;
                    Ok(bytes)
                }
                None => Err(OpenError::TooLarge {
                    limit_mib: self.limits.file_mib,
                }),
            });
            files.push(ReadFile {
                name: file.name.clone(),
                bytes,
            });
        }
        files
    }

    fn bytes(&self, place: &At) -> Result<Vec<u8>, OpenError> {
        match place {
            At::Disk(path) => whole_file(path, &self.limits),
            At::Entry(index) => match &self.root {
                Root::Zip(archive) => entry_bytes(archive, *index, &self.limits),
                Root::Folder => Err(OpenError::Fault),
            },
            At::Within(outer, index) => self.within(&self.bytes(outer)?, *index),
            At::Refused(error) => Err(error.clone()),
        }
    }

    fn within(&self, zip: &[u8], index: usize) -> Result<Vec<u8>, OpenError> {
        let archive = Archive::of_files(zip, &self.limits)?;
        entry_bytes(&archive, index, &self.limits)
    }
}

/// A file's bytes, no more than the limits allow, whatever its length was said to be.
fn whole_file(path: &Path, limits: &Limits) -> Result<Vec<u8>, OpenError> {
    let file = File::open(path)?;
    let length = file.metadata()?.len();
    let too_large = OpenError::TooLarge {
        limit_mib: limits.file_mib,
    };
    if length > limits.file_bytes() {
        return Err(too_large);
    }
    let mut bytes = Vec::with_capacity(usize::try_from(length).unwrap_or(0));
    file.take(limits.file_bytes().saturating_add(1))
        .read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limits.file_bytes() {
        return Err(too_large);
    }
    Ok(bytes)
}

fn entry_bytes(
    archive: &Archive<impl super::open::archive::Place>,
    index: usize,
    limits: &Limits,
) -> Result<Vec<u8>, OpenError> {
    let entry = archive.entries.get(index).ok_or(OpenError::Fault)?;
    if entry.unpacked > limits.file_bytes() {
        return Err(OpenError::TooLarge {
            limit_mib: limits.file_mib,
        });
    }
    archive.bytes(entry, Budget::new(limits).deadline())
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use super::*;

    type Files<'a> = &'a [(&'a str, &'a [u8])];

    fn zipped(files: Files<'_>) -> Vec<u8> {
        let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        for (name, bytes) in files {
            let options = zip::write::SimpleFileOptions::default();
            zip.start_file(*name, options).unwrap();
            zip.write_all(bytes).unwrap();
        }
        zip.finish().unwrap().into_inner()
    }

    fn folder(files: Files<'_>) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for (name, bytes) in files {
            let path = folder.path().join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, bytes).unwrap();
        }
        folder
    }

    fn names(submissions: &Submissions) -> Vec<String> {
        let all = submissions.hand_ins.iter();
        all.map(|hand_in| hand_in.name.to_string()).collect()
    }

    fn find(path: &Path) -> Submissions {
        Submissions::find(path, &Limits::default()).unwrap()
    }

    const CSV: &[u8] = b"phase,score\npre,3\n";

    #[test]
    fn a_folder_and_a_zip_of_it_give_the_same_hand_ins() {
        let inner = zipped(&[("trials.csv", CSV), ("claims.csv", CSV)]);
        let files: Files<'_> = &[
            ("P07/trials.csv", CSV),
            ("P07/claims.csv", CSV),
            ("P08_trials.csv", CSV),
            ("P09.zip", &inner),
            ("P10.xlsx", b"PK\x03\x04"),
            ("P11.pdf", b"%PDF-1.7"),
            ("~$P10.xlsx", b"x"),
            ("__MACOSX/._P10.xlsx", b"x"),
            ("out/findings.csv", CSV),
            ("roster.csv", CSV),
        ];
        let on_disk = folder(files);
        let zip = folder(&[("all.zip", &zipped(files))]);
        for path in [on_disk.path().to_owned(), zip.path().join("all.zip")] {
            let found = find(&path);
            assert_eq!(names(&found), ["P07", "P08", "P09.zip", "P10.xlsx"]);
            let over: Vec<&str> = found.passed_over.iter().map(|file| &*file.name).collect();
            assert_eq!(over, ["P11.pdf"]);
            let read = found.read(&found.hand_ins[2]);
            assert_eq!(&*read[1].name, "P09.zip/trials.csv");
            for file in read {
                assert_eq!(file.bytes.unwrap(), CSV);
            }
            for index in [0, 1] {
                for file in found.read(&found.hand_ins[index]) {
                    assert_eq!(file.bytes.as_deref(), Ok(CSV));
                }
            }
        }
    }

    #[test]
    fn a_zip_of_one_folder_is_read_from_inside_it() {
        let zip = zipped(&[
            ("submissions/P07/trials.csv", CSV),
            ("submissions/P08.csv", CSV),
        ]);
        let dir = folder(&[
            ("all.zip", &zip),
            ("one.zip", &zipped(&[("P07/trials.csv", CSV)])),
        ]);
        assert_eq!(
            names(&find(&dir.path().join("all.zip"))),
            ["P07", "P08.csv"]
        );
        assert_eq!(names(&find(&dir.path().join("one.zip"))), ["P07"]);
    }

    #[test]
    fn nothing_outside_is_read_and_everything_refused_is_named() {
        let deep = zipped(&[
            ("inner.zip", &zipped(&[("trials.csv", CSV)])),
            ("about.csv", CSV),
        ]);
        let evil = zipped(&[
            ("../../evil.csv", CSV),
            ("/etc/evil.csv", CSV),
            ("ok/trials.csv", CSV),
        ]);
        let dir = folder(&[
            ("P01.zip", &deep),
            ("P02.zip", &evil),
            ("P03.zip", b"PK\x03\x04 torn"),
        ]);
        #[cfg(unix)]
        std::os::unix::fs::symlink("/etc", dir.path().join("P04")).unwrap();
        let found = find(dir.path());
        assert_eq!(
            names(&found),
            ["P01.zip", "P01.zip/inner.zip", "P02.zip/ok", "P03.zip"]
        );
        let error = |index: usize| {
            found.read(&found.hand_ins[index])[0]
                .bytes
                .clone()
                .unwrap_err()
        };
        assert_eq!(error(1), OpenError::NestedTooDeep);
        assert!(matches!(error(3), OpenError::Damaged { .. }));
        assert_eq!(found.notices.len(), 2);
        #[cfg(unix)]
        assert_eq!(found.passed_over[0].why, Why::Link);
    }

    #[test]
    fn a_hand_in_of_too_many_or_too_large_files_is_refused() {
        let many: Vec<(String, &[u8])> = (0..2_001).map(|n| (format!("{n}.csv"), CSV)).collect();
        let many: Vec<(&str, &[u8])> = many.iter().map(|(name, csv)| (&**name, *csv)).collect();
        let large = vec![b'1'; 700 << 10];
        let dir = folder(&[
            ("P01.zip", &zipped(&many)),
            ("P02.zip", &zipped(&[("../only.csv", CSV)])),
            ("P03/trials.csv", &large),
            ("P03/trials-more.csv", &large),
        ]);
        let limits = Limits {
            file_mib: 1,
            ..Limits::default()
        };
        let found = Submissions::find(dir.path(), &limits).unwrap();
        assert_eq!(names(&found), ["P01.zip", "P02.zip", "P03"]);
        let read = |index: usize| found.read(&found.hand_ins[index]);
        assert_eq!(
            read(0)[0].bytes,
            Err(OpenError::TooManyParts { limit: 2_000 })
        );
        assert_eq!(read(1)[0].bytes, Err(OpenError::NothingInside));
        // Each is within the limit, both together are not.
        let both = read(2);
        assert!(both[0].bytes.is_ok());
        assert_eq!(both[1].bytes, Err(OpenError::TooLarge { limit_mib: 1 }));
    }

    #[test]
    fn the_digest_follows_names_and_bytes() {
        let file = |name: &str, bytes: &[u8]| ReadFile {
            name: Arc::from(name),
            bytes: Ok(bytes.to_vec()),
        };
        let one = digest(&[file("a", b"bc")]);
        assert_eq!(one, digest(&[file("a", b"bc")]));
        assert_ne!(one, digest(&[file("ab", b"c")]));
        assert_ne!(one, digest(&[file("a", b"b"), file("", b"c")]));
    }

    #[test]
    fn a_missing_folder_is_said() {
        let error = Submissions::find(Path::new("/nowhere/at/all"), &Limits::default());
        assert!(
            error
                .unwrap_err()
                .to_string()
                .contains("there is no such folder or zip")
        );
    }
}

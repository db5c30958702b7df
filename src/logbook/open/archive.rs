//! Reading zips without believing them: workbooks are zips, and so are cohorts handed over in one file.
//!
//! Sizes that a zip declares are only ever used to refuse it: what is unpacked is counted, and checked against its checksum.

use std::cell::RefCell;
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::sync::Mutex;

use flate2::{Crc, Decompress, FlushDecompress, Status};

use super::error::OpenError;
use super::limits::{Deadline, Limits, MIB};
use super::xml::Chunks;

/// More parts than any workbook has, a chart for each of thousands of pairs included.
const PARTS_OF_A_WORKBOOK: usize = 20_000;
/// More files than any cohort has.
const FILES_OF_A_BUNDLE: usize = 200_000;
/// A part above `RATIO_FROM` that unpacks to more than this many times its packed size is no spreadsheet's.
const RATIO: u64 = 200;
const RATIO_FROM: u64 = 8 * MIB;

/// Bytes that can be read from anywhere: a zip in memory, or one on the disk.
pub(in crate::logbook) trait Place {
    /// How many there are.
    fn length(&self) -> Result<u64, OpenError>;
    /// `length` bytes from `offset` on, handed to `then`; fewer are an error.
    fn with<T>(
        &self,
        offset: u64,
        length: usize,
        then: impl FnOnce(&[u8]) -> Result<T, OpenError>,
    ) -> Result<T, OpenError>;
}

impl Place for &[u8] {
    fn length(&self) -> Result<u64, OpenError> {
        Ok(self.len() as u64)
    }

    fn with<T>(
        &self,
        offset: u64,
        length: usize,
        then: impl FnOnce(&[u8]) -> Result<T, OpenError>,
    ) -> Result<T, OpenError> {
        let bytes = usize::try_from(offset)
            .ok()
            .and_then(|from| self.get(from..from.checked_add(length)?));
        then(bytes.ok_or_else(OpenError::ends_early)?)
    }
}

/// A zip on the disk. Readers take turns.
#[derive(Debug)]
pub(in crate::logbook) struct OnDisk(Mutex<File>);

impl OnDisk {
    pub(in crate::logbook) fn new(file: File) -> Self {
        Self(Mutex::new(file))
    }
}

impl Place for OnDisk {
    fn length(&self) -> Result<u64, OpenError> {
        let file = self
            .0
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        Ok(file.metadata()?.len())
    }

    fn with<T>(
        &self,
        offset: u64,
        length: usize,
        then: impl FnOnce(&[u8]) -> Result<T, OpenError>,
    ) -> Result<T, OpenError> {
        if offset.saturating_add(length as u64) > self.length()? {
            return Err(OpenError::ends_early());
        }
        let mut bytes = vec![0; length];
        {
            let mut file = self
                .0
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner);
            file.seek(SeekFrom::Start(offset))?;
            file.read_exact(&mut bytes)?;
        }
        then(&bytes)
    }
}

/// One file of a zip, as its directory lists it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::logbook) struct Entry {
    /// The name as it stands, `\` as `/`.
    pub(in crate::logbook) name: String,
    /// The name would lead outside the folder that the zip is unpacked to.
    pub(in crate::logbook) leads_outside: bool,
    /// Packed size in bytes, as declared.
    pub(in crate::logbook) packed: u64,
    /// Unpacked size in bytes, as declared.
    pub(in crate::logbook) unpacked: u64,
    offset: u64,
    method: u16,
    checksum: u32,
    encrypted: bool,
    /// A link rather than a file.
    pub(in crate::logbook) link: bool,
}

impl Entry {
    /// A folder rather than a file.
    pub(in crate::logbook) fn is_folder(&self) -> bool {
        self.name.ends_with('/')
    }
}

/// The directory of a zip.
#[derive(Debug)]
pub(in crate::logbook) struct Archive<P> {
    place: P,
    /// The files in the order of the directory.
    pub(in crate::logbook) entries: Vec<Entry>,
    limits: Limits,
    /// Kept between parts: setting one up costs as much as unpacking a small part.
    inflater: Mutex<Option<Box<Decompress>>>,
}

/// Length of the header before a part's name.
const HEADER: usize = 30;
const END_RECORD: &[u8] = b"PK\x05\x06";
const END_RECORD_LENGTH: usize = 22;
/// The end record, and the longest comment behind it.
const LONGEST_TAIL: u64 = END_RECORD_LENGTH as u64 + 0xffff;

impl<P: Place> Archive<P> {
    /// Reads the directory of a workbook's package: at most as many parts and as much declared content as the limits allow.
    pub(in crate::logbook) fn of_workbook(place: P, limits: &Limits) -> Result<Self, OpenError> {
        let archive = Self::new(place, limits, PARTS_OF_A_WORKBOOK)?;
        let mut all = 0_u64;
        for entry in &archive.entries {
            archive.guard(entry)?;
            all = all.saturating_add(entry.unpacked);
        }
        if all > limits.unpacked_bytes() {
            return Err(OpenError::UnpacksTooLarge {
                limit_mib: limits.unpacked_mib,
            });
        }
        Ok(archive)
    }

    /// Reads the directory of a zip of files; each is held to the limits by itself when it is read.
    pub(in crate::logbook) fn of_files(place: P, limits: &Limits) -> Result<Self, OpenError> {
        Self::new(place, limits, FILES_OF_A_BUNDLE)
    }

    fn new(place: P, limits: &Limits, most: usize) -> Result<Self, OpenError> {
        let length = place.length()?;
        let tail = length.min(LONGEST_TAIL);
        let tail_from = length - tail;
        let tail = usize::try_from(tail).map_err(|_| OpenError::ends_early())?;
        let end = place.with(tail_from, tail, |tail| end_record(tail, tail_from))?;
        let end = end.ok_or_else(OpenError::ends_early)?;
        let directory = match end.far {
            Some(locator) => far_directory(&place, locator)?.unwrap_or(end.directory),
            None => end.directory,
        };
        let size = usize::try_from(directory.size).map_err(|_| OpenError::ends_early())?;
        // Zips that were appended to something else count from the front of the zip proper.
        let shift = directory
            .end
            .checked_sub(directory.size)
            .and_then(|from| from.checked_sub(directory.offset))
            .ok_or_else(OpenError::ends_early)?;
        let entries = place.with(directory.offset + shift, size, |bytes| {
            read_entries(bytes, shift, most)
        })?;
        Ok(Self {
            place,
            entries,
            limits: limits.clone(),
            inflater: Mutex::new(None),
        })
    }

    /// The entry of that name, letter case aside where none has it exactly.
    pub(in crate::logbook) fn entry(&self, name: &str) -> Option<&Entry> {
        let exact = self.entries.iter().find(|entry| entry.name == name);
        exact.or_else(|| {
            self.entries
                .iter()
                .find(|entry| entry.name.eq_ignore_ascii_case(name))
        })
    }

    /// What the entries unpack to together, as declared.
    pub(in crate::logbook) fn unpacked(&self) -> u64 {
        self.entries
            .iter()
            .fold(0, |sum, entry| sum.saturating_add(entry.unpacked))
    }

    fn guard(&self, entry: &Entry) -> Result<(), OpenError> {
        if entry.unpacked > self.limits.unpacked_bytes() {
            return Err(OpenError::UnpacksTooLarge {
                limit_mib: self.limits.unpacked_mib,
            });
        }
        if entry.unpacked > RATIO_FROM && entry.unpacked / entry.packed.max(1) > RATIO {
            return Err(OpenError::Bomb { ratio: RATIO });
        }
        Ok(())
    }

    /// Hands an entry's content, unpacked piece by piece, to `then`.
    pub(in crate::logbook) fn read<T>(
        &self,
        entry: &Entry,
        deadline: Deadline,
        then: impl FnOnce(Part<'_>) -> Result<T, OpenError>,
    ) -> Result<T, OpenError> {
        self.guard(entry)?;
        if entry.encrypted {
            return Err(OpenError::PasswordProtected);
        }
        if entry.method == 0 && entry.packed != entry.unpacked {
            return Err(OpenError::damaged("the sizes in it disagree"));
        }
        let deflated = match entry.method {
            0 => false,
            8 => true,
            _ => {
                return Err(OpenError::damaged(
                    "it is packed in a way that spreadsheets do not use",
                ));
            }
        };
        let data = self.place.with(entry.offset, HEADER, |header| {
            if !header.starts_with(b"PK\x03\x04") {
                return Err(OpenError::damaged("its parts are not where it says"));
            }
            let lengths = u64::from(u16_at(header, 26)?) + u64::from(u16_at(header, 28)?);
            Ok(entry.offset + HEADER as u64 + lengths)
        })?;
        let packed = usize::try_from(entry.packed).map_err(|_| OpenError::ends_early())?;
        self.place.with(data, packed, |packed| {
            let mut slot = self
                .inflater
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner)
                .take();
            if let Some(inflater) = &mut slot {
                inflater.reset(false);
            }
            let inflater = slot.unwrap_or_else(|| Box::new(Decompress::new(false)));
            let kept = RefCell::new(None);
            let result = then(Part {
                packed,
                inflater: deflated.then_some(inflater),
                kept: &kept,
                checksum: Crc::new(),
                expected: entry.checksum,
                left: entry.unpacked,
                over: false,
                deadline,
            });
            *self
                .inflater
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner) = kept.into_inner();
            result
        })
    }

    /// An entry's whole content.
    pub(in crate::logbook) fn bytes(
        &self,
        entry: &Entry,
        deadline: Deadline,
    ) -> Result<Vec<u8>, OpenError> {
        self.read(entry, deadline, |mut part| {
            // Believed only up to a point: the rest grows as it comes.
            let first = usize::try_from(entry.unpacked.min(MIB)).unwrap_or(0) + 1;
            let mut bytes = vec![0; first];
            let mut end = 0;
            loop {
                let read = part.read(bytes.get_mut(end..).unwrap_or_default())?;
                if read == 0 {
                    bytes.truncate(end);
                    return Ok(bytes);
                }
                end += read;
                if end == bytes.len() {
                    bytes.resize(end * 2, 0);
                }
            }
        })
    }
}

/// The content of one entry, unpacked as it is asked for.
pub(in crate::logbook) struct Part<'a> {
    packed: &'a [u8],
    /// None where the content is not packed.
    inflater: Option<Box<Decompress>>,
    kept: &'a RefCell<Option<Box<Decompress>>>,
    checksum: Crc,
    expected: u32,
    left: u64,
    over: bool,
    deadline: Deadline,
}

impl Drop for Part<'_> {
    fn drop(&mut self) {
        if let Ok(mut kept) = self.kept.try_borrow_mut() {
            *kept = self.inflater.take();
        }
    }
}

impl Chunks for Part<'_> {
    fn left(&self) -> usize {
        usize::try_from(self.left).unwrap_or(usize::MAX)
    }

    fn read(&mut self, into: &mut [u8]) -> Result<usize, OpenError> {
        if self.over || into.is_empty() {
            return Ok(0);
        }
        self.deadline.check()?;
        let read = match &mut self.inflater {
            None => Chunks::read(&mut self.packed, into)?,
            Some(inflater) => loop {
                let (before_in, before_out) = (inflater.total_in(), inflater.total_out());
                let status = inflater
                    .decompress(self.packed, into, FlushDecompress::None)
                    .map_err(|_| OpenError::damaged("a part of it cannot be unpacked"))?;
                let taken = usize::try_from(inflater.total_in() - before_in).unwrap_or(usize::MAX);
                self.packed = self.packed.get(taken..).unwrap_or_default();
                let given =
                    usize::try_from(inflater.total_out() - before_out).unwrap_or(usize::MAX);
                if given > 0 || status == Status::StreamEnd {
                    break given;
                }
                if taken == 0 {
                    return Err(OpenError::ends_early());
                }
            },
        };
        let Some(given) = into.get(..read).filter(|_| read as u64 <= self.left) else {
            return Err(OpenError::damaged("a part of it is larger than it says"));
        };
        self.checksum.update(given);
        self.left -= read as u64;
        if read == 0 {
            self.over = true;
            if self.left > 0 {
                return Err(OpenError::ends_early());
            }
            if self.checksum.sum() != self.expected {
                return Err(OpenError::damaged("a part of it fails its checksum"));
            }
        }
        Ok(read)
    }
}

struct Directory {
    offset: u64,
    size: u64,
    /// Where the directory ends in the file.
    end: u64,
}

struct EndRecord {
    directory: Directory,
    /// Where the locator of a 64-bit end record would stand, where one is announced.
    far: Option<u64>,
}

fn end_record(tail: &[u8], tail_from: u64) -> Result<Option<EndRecord>, OpenError> {
    let mut until = tail.len();
    while let Some(at) = memchr::memmem::rfind(tail.get(..until).unwrap_or_default(), END_RECORD) {
        let record = tail.get(at..).unwrap_or_default();
        if record.len() >= END_RECORD_LENGTH {
            let end = tail_from + at as u64;
            let (size, offset) = (u32_at(record, 12)?, u32_at(record, 16)?);
            let far = size == u32::MAX || offset == u32::MAX || u16_at(record, 10)? == u16::MAX;
            return Ok(Some(EndRecord {
                directory: Directory {
                    offset: u64::from(offset),
                    size: u64::from(size),
                    end,
                },
                far: end.checked_sub(20).filter(|_| far),
            }));
        }
        until = at;
    }
    Ok(None)
}

/// The directory by the 64-bit end record; none where there is no such record.
fn far_directory(place: &impl Place, locator: u64) -> Result<Option<Directory>, OpenError> {
    let at = place.with(locator, 20, |bytes| {
        if bytes.starts_with(b"PK\x06\x07") {
            u64_at(bytes, 8).map(Some)
        } else {
            Ok(None)
        }
    })?;
    let Some(at) = at else { return Ok(None) };
    place.with(at, 56, |bytes| {
        if !bytes.starts_with(b"PK\x06\x06") {
            return Ok(None);
        }
        Ok(Some(Directory {
            offset: u64_at(bytes, 48)?,
            size: u64_at(bytes, 40)?,
            end: at,
        }))
    })
}

fn read_entries(mut bytes: &[u8], shift: u64, most: usize) -> Result<Vec<Entry>, OpenError> {
    const FIXED: usize = 46;
    const UNIX: u16 = 3;
    let mut entries = Vec::new();
    while bytes.starts_with(b"PK\x01\x02") {
        if entries.len() >= most {
            return Err(OpenError::TooManyParts { limit: most });
        }
        let name_length = usize::from(u16_at(bytes, 28)?);
        let extra_length = usize::from(u16_at(bytes, 30)?);
        let comment_length = usize::from(u16_at(bytes, 32)?);
        let extra_from = FIXED + name_length;
        let name = bytes
            .get(FIXED..extra_from)
            .ok_or_else(OpenError::ends_early)?;
        let extra = bytes
            .get(extra_from..extra_from + extra_length)
            .ok_or_else(OpenError::ends_early)?;
        let flags = u16_at(bytes, 8)?;
        let mode = u32_at(bytes, 38)? >> 16;
        let mut sizes = FarSizes::new(extra);
        // In this order: each stands in the extra field only where the short one is full.
        let unpacked = sizes.of(u32_at(bytes, 24)?)?;
        let packed = sizes.of(u32_at(bytes, 20)?)?;
        let offset = sizes.of(u32_at(bytes, 42)?)?;
        let name = name_text(name, flags & 0x0800 != 0);
        entries.push(Entry {
            leads_outside: leads_outside(&name),
            name,
            packed,
            unpacked,
            offset: offset
                .checked_add(shift)
                .ok_or_else(OpenError::ends_early)?,
            method: u16_at(bytes, 10)?,
            checksum: u32_at(bytes, 16)?,
            encrypted: flags & 1 != 0,
            link: u16_at(bytes, 4)? >> 8 == UNIX && mode & 0o170_000 == 0o120_000,
        });
        bytes = bytes
            .get(extra_from + extra_length + comment_length..)
            .ok_or_else(OpenError::ends_early)?;
    }
    Ok(entries)
}

/// The sizes of the 64-bit extra field, in their order.
struct FarSizes<'a>(&'a [u8]);

impl<'a> FarSizes<'a> {
    fn new(mut extra: &'a [u8]) -> Self {
        const FAR: u16 = 1;
        while let (Ok(id), Ok(length)) = (u16_at(extra, 0), u16_at(extra, 2)) {
            let Some((field, rest)) = extra
                .get(4..)
                .and_then(|extra| extra.split_at_checked(usize::from(length)))
            else {
                break;
            };
            if id == FAR {
                return Self(field);
            }
            extra = rest;
        }
        Self(&[])
    }

    fn of(&mut self, short: u32) -> Result<u64, OpenError> {
        if short != u32::MAX {
            return Ok(u64::from(short));
        }
        let long = u64_at(self.0, 0)?;
        self.0 = self.0.get(8..).unwrap_or_default();
        Ok(long)
    }
}

/// A name as text. Without the mark for UTF-8 it is in the code page of old PCs, or UTF-8 all the same.
fn name_text(name: &[u8], marked: bool) -> String {
    let text = match std::str::from_utf8(name) {
        Ok(text) => text.to_owned(),
        Err(_) if marked => String::from_utf8_lossy(name).into_owned(),
        Err(_) => name.iter().map(|byte| old_character(*byte)).collect(),
    };
    // Some programs for Windows write their own separator, against the standard.
    text.replace('\\', "/")
}

/// Code page 437, as far as letters of names go; the rest is shown as `�`.
fn old_character(byte: u8) -> char {
    const LETTERS: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥₧ƒáíóúñÑªº";
    match byte {
        0..0x80 => char::from(byte),
        0xe1 => 'ß',
        _ => LETTERS
            .chars()
            .nth(usize::from(byte - 0x80))
            .unwrap_or(char::REPLACEMENT_CHARACTER),
    }
}

fn leads_outside(name: &str) -> bool {
    let drive = name.as_bytes().get(1) == Some(&b':');
    name.is_empty()
        || drive
        || name.starts_with('/')
        || name.split('/').any(|folder| folder == "..")
}

fn u16_at(bytes: &[u8], at: usize) -> Result<u16, OpenError> {
    array_at(bytes, at).map(u16::from_le_bytes)
}

fn u32_at(bytes: &[u8], at: usize) -> Result<u32, OpenError> {
    array_at(bytes, at).map(u32::from_le_bytes)
}

fn u64_at(bytes: &[u8], at: usize) -> Result<u64, OpenError> {
    array_at(bytes, at).map(u64::from_le_bytes)
}

fn array_at<const N: usize>(bytes: &[u8], at: usize) -> Result<[u8; N], OpenError> {
    bytes
        .get(at..)
        .and_then(|bytes| bytes.first_chunk::<N>())
        .copied()
        .ok_or_else(OpenError::ends_early)
}

//! Compound files: the file system in a file that old Office documents are kept in. Source: Microsoft's published \[MS-CFB\].

use super::Bytes;
use crate::logbook::open::error::OpenError;

/// The largest sector number that is a sector.
const LAST_SECTOR: u32 = 0xffff_fffa;
/// Bytes of an entry of the directory.
const ENTRY: usize = 128;

/// The directory and the chains of a compound file.
#[derive(Debug)]
pub(super) struct Compound<'a> {
    bytes: &'a [u8],
    /// Bytes of a sector.
    sector: usize,
    /// For every sector the next of its chain.
    next: Vec<u32>,
    /// The same for the small sectors.
    small_next: Vec<u32>,
    /// The content that small sectors are cut from.
    small: Vec<u8>,
    /// Streams shorter than this are in small sectors.
    small_below: u64,
    entries: Vec<Entry>,
}

#[derive(Debug)]
struct Entry {
    name: String,
    kind: u8,
    first: u32,
    length: u64,
}

/// Bytes of a small sector.
const SMALL: usize = 64;
const STREAM: u8 = 2;
const ROOT: u8 = 5;

impl<'a> Compound<'a> {
    /// Reads header, chains and directory.
    pub(super) fn new(bytes: &'a [u8]) -> Result<Self, OpenError> {
        let mut header = Bytes(bytes.get(0x1e..0x200).ok_or_else(OpenError::ends_early)?);
        let sector = match header.u16()? {
            9 => 512,
            12 => 4_096,
            _ => return Err(OpenError::damaged("its header makes no sense")),
        };
        header.take(0x10)?;
        let first_directory = header.u32()?;
        header.take(4)?;
        let small_below = u64::from(header.u32()?);
        let first_small_table = header.u32()?;
        header.take(4)?;
        let mut first_more = header.u32()?;
        header.take(4)?;
        let mut file = Self {
            bytes,
            sector,
            next: Vec::new(),
            small_next: Vec::new(),
            small: Vec::new(),
            small_below,
            entries: Vec::new(),
        };
        // The list of the sectors that hold the chains: the first 109 in the header, the others in sectors of their own.
        let mut tables = Vec::new();
        while !header.0.is_empty() {
            tables.push(header.u32()?);
        }
        let most = file.sectors();
        let mut steps = 0;
        while first_more <= LAST_SECTOR {
            let mut list = Bytes(file.at(first_more)?);
            for _ in 0..sector / 4 - 1 {
                tables.push(list.u32()?);
            }
            first_more = list.u32()?;
            steps += 1;
            if steps > most {
                return Err(OpenError::damaged("its parts run in circles"));
            }
        }
        for table in tables.into_iter().filter(|table| *table <= LAST_SECTOR) {
            let mut table = Bytes(file.at(table)?);
            while !table.0.is_empty() {
                file.next.push(table.u32()?);
            }
            if file.next.len() > most + sector {
                break;
            }
        }
        let directory = file.chain(first_directory, u64::MAX)?;
        for entry in directory.chunks_exact(ENTRY) {
            file.entries.push(read_entry(entry, sector)?);
        }
        let small_table = file.chain(first_small_table, u64::MAX)?;
        let mut small_table = Bytes(&small_table);
        while !small_table.0.is_empty() {
            file.small_next.push(small_table.u32()?);
        }
        if let Some(root) = file.entries.iter().find(|entry| entry.kind == ROOT) {
            file.small = file.chain(root.first, root.length)?;
        }
        Ok(file)
    }

    /// Whether there is a stream of that name.
    pub(super) fn has(&self, name: &str) -> bool {
        self.entry(name).is_some()
    }

    fn entry(&self, name: &str) -> Option<&Entry> {
        self.entries
            .iter()
            .find(|entry| entry.kind == STREAM && entry.name.eq_ignore_ascii_case(name))
    }

    /// The content of a stream; none where there is no such stream.
    pub(super) fn stream(&self, name: &str) -> Result<Option<Vec<u8>>, OpenError> {
        let Some(entry) = self.entry(name) else {
            return Ok(None);
        };
        let content = if entry.length < self.small_below {
            self.small_chain(entry.first, entry.length)
        } else {
            self.chain(entry.first, entry.length)
        }?;
        Ok(Some(content))
    }

    /// How many sectors the file can hold.
    fn sectors(&self) -> usize {
        self.bytes.len() / self.sector + 1
    }

    fn at(&self, number: u32) -> Result<&'a [u8], OpenError> {
        let from = usize::try_from(number)
            .ok()
            .and_then(|number| number.checked_add(1)?.checked_mul(self.sector));
        from.and_then(|from| self.bytes.get(from..from.checked_add(self.sector)?))
            .ok_or_else(OpenError::ends_early)
    }

    /// The content of a chain of sectors, no more than `length` bytes of it.
    fn chain(&self, first: u32, length: u64) -> Result<Vec<u8>, OpenError> {
        let mut content = Vec::new();
        let mut number = first;
        let mut steps = 0;
        while number <= LAST_SECTOR && (content.len() as u64) < length {
            // The last sector may be cut short by the end of the file.
            match self.at(number) {
                Ok(sector) => content.extend_from_slice(sector),
                Err(error) => {
                    let from = (number as usize)
                        .saturating_add(1)
                        .saturating_mul(self.sector);
                    let rest = self.bytes.get(from..).filter(|rest| !rest.is_empty());
                    content.extend_from_slice(rest.ok_or(error)?);
                }
            }
            number = next(&self.next, number)?;
            steps += 1;
            if steps > self.sectors() {
                return Err(OpenError::damaged("its parts run in circles"));
            }
        }
        if let Ok(length) = usize::try_from(length) {
            content.truncate(length);
        }
        Ok(content)
    }

    fn small_chain(&self, first: u32, length: u64) -> Result<Vec<u8>, OpenError> {
        let mut content = Vec::new();
        let mut number = first;
        while number <= LAST_SECTOR && (content.len() as u64) < length {
            let from = (number as usize).saturating_mul(SMALL);
            let sector = self.small.get(from..from.saturating_add(SMALL));
            content.extend_from_slice(sector.ok_or_else(OpenError::ends_early)?);
            number = next(&self.small_next, number)?;
        }
        content.truncate(usize::try_from(length).unwrap_or(usize::MAX));
        Ok(content)
    }
}

fn next(chains: &[u32], number: u32) -> Result<u32, OpenError> {
    usize::try_from(number)
        .ok()
        .and_then(|number| chains.get(number))
        .copied()
        .ok_or(OpenError::damaged("its parts are not linked"))
}

fn read_entry(entry: &[u8], sector: usize) -> Result<Entry, OpenError> {
    let mut rest = Bytes(entry);
    let name = rest.take(64)?;
    let length = usize::from(rest.u16()?).saturating_sub(2);
    let kind = rest.u8()?;
    rest.take(116 - 67)?;
    let first = rest.u32()?;
    let low = u64::from(rest.u32()?);
    let high = u64::from(rest.u32()?);
    let mut name = Bytes(name.get(..length).unwrap_or_default());
    Ok(Entry {
        name: name.wide(length / 2)?,
        kind,
        first,
        // Files of small sectors may hold anything in the upper half.
        length: if sector == 512 { low } else { low | high << 32 },
    })
}

//! From the bytes of one file to grids of cells, whatever the file is, and whatever it was made to be.
//!
//! A file is what its content says, never what its name says. Every reader works within the same budget of cells, rows, text and time, so
//! that no file can take more than its share; what cannot be read is named in words, and never ends the run.

pub(super) mod archive;
mod binary;
pub(super) mod cell_text;
mod error;
pub(super) mod kind;
pub(super) mod limits;
mod notice;
mod number_format;
mod ods;
mod reference;
mod serial_date;
mod sheet_builder;
mod text;
mod xls;
mod xlsb;
mod xlsx;
pub(super) mod xml;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

pub use error::OpenError;
pub use kind::Kind;
pub use limits::Limits;
pub use notice::{Notice, Noticed};

use archive::Archive;
use kind::{Look, Markup, Packed};
use limits::{Budget, MIB};

use super::grid::Grid;
use crate::place::Place;

/// A file that was read.
#[derive(Debug, Clone)]
pub struct Opened {
    /// What it is.
    pub kind: Kind,
    /// Its sheets in their order; a text file has one.
    pub grids: Vec<Grid>,
    /// What should be known about it.
    pub notices: Vec<Notice>,
}

/// Above this, files are read one at a time, so that several large ones together take no more memory than one.
const LARGE: u64 = 8 * MIB;
static ONE_LARGE_AT_A_TIME: Mutex<()> = Mutex::new(());

/// Waits for the turn of a large file, by what it unpacks to in bytes; a small one has none.
fn turn(size: u64) -> Option<MutexGuard<'static, ()>> {
    let wait = || {
        ONE_LARGE_AT_A_TIME
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    };
    (size > LARGE).then(wait)
}

/// Reads one file. `name` is its name relative to the submissions: it names the file in every place, and its ending is compared with what the
/// content is.
///
/// # Errors
/// Says why the file cannot be read, and what can be done. A panic in a library is caught and said too.
pub fn open(bytes: &[u8], name: &str, limits: &Limits) -> Result<Opened, OpenError> {
    if bytes.len() as u64 > limits.file_bytes() {
        return Err(OpenError::TooLarge {
            limit_mib: limits.file_mib,
        });
    }
    // Nothing of ours is shared with the closure but what is dropped with it.
    catch_unwind(AssertUnwindSafe(|| open_within(bytes, name, limits)))
        .unwrap_or(Err(OpenError::Fault))
}

fn open_within(bytes: &[u8], name: &str, limits: &Limits) -> Result<Opened, OpenError> {
    if bytes.is_empty() {
        return Err(OpenError::Empty);
    }
    let file: Arc<str> = Arc::from(name);
    let mut budget = Budget::new(limits);
    budget.holds(bytes.len())?;
    let mut notices = Vec::new();
    let ending = kind::ending(name);
    let (kind, grids) = match kind::look(bytes) {
        Look::Zip => open_packed(bytes, limits, &file, &mut budget, &mut notices)?,
        Look::Compound => {
            let _turn = turn(bytes.len() as u64);
            let grids = xls::read_compound(bytes, &file, &mut budget, &mut notices)?;
            (Kind::Xls, grids)
        }
        Look::BareXls => {
            let _turn = turn(bytes.len() as u64);
            (
                Kind::Xls,
                xls::read(bytes, &file, &mut budget, &mut notices)?,
            )
        }
        Look::Other(what) => return Err(OpenError::NotALogbook { what }),
        Look::Text => open_text(bytes, &file, &ending, &mut budget, &mut notices)?,
    };
    if !kind.endings().contains(&&*ending) {
        let really = kind.name();
        notices.insert(
            0,
            Notice {
                place: Place::file(file),
                what: Noticed::WrongEnding { ending, really },
            },
        );
    }
    Ok(Opened {
        kind,
        grids,
        notices,
    })
}

fn open_packed(
    bytes: &[u8],
    limits: &Limits,
    file: &Arc<str>,
    budget: &mut Budget,
    notices: &mut Vec<Notice>,
) -> Result<(Kind, Vec<Grid>), OpenError> {
    let archive = Archive::of_workbook(bytes, limits)?;
    let _turn = turn(archive.unpacked());
    match kind::packed(&archive, budget.deadline())? {
        Packed::Xlsx(layout) => {
            let grids = xlsx::read(&archive, &layout, file, budget, notices)?;
            Ok((Kind::Xlsx, grids))
        }
        Packed::Ods => Ok((Kind::Ods, ods::read(&archive, file, budget)?)),
        Packed::Xlsb(layout) => {
            let grids = xlsb::read(&archive, &layout, file, budget, notices)?;
            Ok((Kind::Xlsb, grids))
        }
        Packed::Bundle => Err(OpenError::Bundle),
    }
}

fn open_text(
    bytes: &[u8],
    file: &Arc<str>,
    ending: &str,
    budget: &mut Budget,
    notices: &mut Vec<Notice>,
) -> Result<(Kind, Vec<Grid>), OpenError> {
    let _turn = turn(bytes.len() as u64);
    let decoded = text::decode(bytes, budget)?;
    match kind::markup(&decoded.text) {
        Some(Markup::FlatOds) => {
            let grids = ods::read_flat(decoded.text.as_bytes(), file, budget)?;
            return Ok((Kind::FlatOds, grids));
        }
        Some(Markup::WebPage) => return Err(OpenError::WebPage),
        Some(Markup::XmlSpreadsheet) => return Err(OpenError::XmlSpreadsheet),
        Some(Markup::OtherXml) => {
            return Err(OpenError::NotALogbook {
                what: "an XML file of another kind",
            });
        }
        None => {}
    }
    if ending == "gsheet" {
        return Err(OpenError::NotALogbook {
            what: "a link to a sheet on the web",
        });
    }
    if is_binary(&decoded.text) {
        return Err(OpenError::NotALogbook {
            what: "of a kind that this program does not know",
        });
    }
    let grid = text::read(&decoded, file, ending, budget, notices)?;
    Ok((Kind::Text, vec![grid]))
}

/// Control characters of several kinds, or zeros everywhere: no text. A few stray ones are no reason to refuse a table.
fn is_binary(text: &str) -> bool {
    let mut kinds = [0_usize; 32];
    let mut all = 0_usize;
    for character in text.chars().take(4_096) {
        all += 1;
        let code = usize::try_from(u32::from(character)).unwrap_or(usize::MAX);
        if let Some(count) = kinds.get_mut(code) {
            *count += usize::from(!matches!(character, '\t' | '\n' | '\r'));
        }
    }
    let [zeros, others @ ..] = kinds;
    let kinds = others.iter().filter(|count| **count > 0).count();
    let others: usize = others.iter().sum();
    zeros * 10 > all * 3 || (kinds > 2 && others * 50 > all)
}

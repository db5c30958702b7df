//! The workbook's own parts: where its sheets, styles and strings are, their names, and from when its dates count.

use std::sync::Arc;

use crate::logbook::open::archive::{Archive, Place};
use crate::logbook::open::cell_text::sheet_name;
use crate::logbook::open::error::OpenError;
use crate::logbook::open::limits::Deadline;
use crate::logbook::open::serial_date::Epoch;
use crate::logbook::open::xml::{Event, Xml, local, plain};

/// Most sheets that are read; a logbook has a dozen, a marker's workbook one a pair.
const MOST_SHEETS: usize = 10_000;

/// An error where there are more sheets than are read.
pub(in crate::logbook::open) fn no_more_than_most(sheets: usize) -> Result<(), OpenError> {
    if sheets > MOST_SHEETS {
        return Err(OpenError::TooManyParts { limit: MOST_SHEETS });
    }
    Ok(())
}

/// Where a package keeps its workbook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::logbook::open) struct Layout {
    /// The workbook part (`xl/workbook.xml`, `xl/workbook.bin`).
    pub(in crate::logbook::open) part: String,
}

impl Layout {
    /// The folder of the workbook part, which its relations start from.
    fn folder(&self) -> &str {
        self.part.rsplit_once('/').map_or("", |(folder, _)| folder)
    }

    fn relations(&self) -> String {
        let (folder, name) = self.part.rsplit_once('/').unwrap_or(("", &self.part));
        let slash = if folder.is_empty() { "" } else { "/" };
        format!("{folder}{slash}_rels/{name}.rels")
    }
}

/// Finds the package's main document, whatever kind it is; none where there is no such relation.
pub(in crate::logbook::open) fn layout(
    archive: &Archive<impl Place>,
    deadline: Deadline,
) -> Result<Option<Layout>, OpenError> {
    let mut found = None;
    if let Some(entry) = archive.entry("_rels/.rels") {
        found = archive.read(entry, deadline, |part| {
            Ok(relations(part, "")?
                .into_iter()
                .find(|relation| relation.kind.ends_with("/officeDocument"))
                .map(|relation| relation.target))
        })?;
    }
    let usual = ["xl/workbook.xml", "xl/workbook.bin"];
    let part = found
        .filter(|part| archive.entry(part).is_some())
        .or_else(|| {
            usual
                .iter()
                .find(|part| archive.entry(part).is_some())
                .map(|part| (*part).to_owned())
        });
    Ok(part.map(|part| Layout { part }))
}

/// What the workbook part says.
#[derive(Debug)]
pub(in crate::logbook::open) struct Workbook {
    /// The sheets in their order.
    pub(in crate::logbook::open) sheets: Vec<SheetEntry>,
    /// The part with the styles.
    pub(in crate::logbook::open) styles: String,
    /// The part with the shared strings.
    pub(in crate::logbook::open) strings: String,
    /// From when dates count.
    pub(in crate::logbook::open) epoch: Epoch,
}

/// One sheet, as the workbook lists it.
#[derive(Debug)]
pub(in crate::logbook::open) struct SheetEntry {
    /// Its name.
    pub(in crate::logbook::open) name: Arc<str>,
    /// Hidden, in whichever way.
    pub(in crate::logbook::open) hidden: bool,
    /// Its part; none for what is no worksheet.
    pub(in crate::logbook::open) part: Option<String>,
}

/// The parts that a workbook refers to.
#[derive(Debug)]
pub(in crate::logbook::open) struct Related {
    relations: Vec<Relation>,
    /// The part with the styles.
    pub(in crate::logbook::open) styles: String,
    /// The part with the shared strings.
    pub(in crate::logbook::open) strings: String,
}

impl Related {
    /// Reads the relations of a workbook part; `ending` is that of its parts.
    pub(in crate::logbook::open) fn read(
        archive: &Archive<impl Place>,
        layout: &Layout,
        ending: &str,
        deadline: Deadline,
    ) -> Result<Self, OpenError> {
        let folder = layout.folder();
        let relations = match archive.entry(&layout.relations()) {
            Some(entry) => archive.read(entry, deadline, |part| relations(part, folder))?,
            None => Vec::new(),
        };
        let part = |kind: &str, usual: &str| {
            relations
                .iter()
                .find(|relation| relation.kind.ends_with(kind))
                .map_or_else(
                    || join(folder, &format!("{usual}.{ending}")),
                    |relation| relation.target.clone(),
                )
        };
        Ok(Self {
            styles: part("/styles", "styles"),
            strings: part("/sharedStrings", "sharedStrings"),
            relations,
        })
    }

    /// The part of a worksheet by the id of its relation; none for what is no worksheet.
    pub(in crate::logbook::open) fn worksheet(&self, id: &str) -> Option<String> {
        let relation = self.relations.iter().find(|relation| relation.id == id)?;
        relation
            .kind
            .ends_with("/worksheet")
            .then(|| relation.target.clone())
    }
}

/// Reads the workbook part and its relations.
pub(super) fn read(
    archive: &Archive<impl Place>,
    layout: &Layout,
    deadline: Deadline,
) -> Result<Workbook, OpenError> {
    let related = Related::read(archive, layout, "xml", deadline)?;
    let entry = archive
        .entry(&layout.part)
        .ok_or(OpenError::damaged("its list of sheets is missing"))?;
    let mut sheets = Vec::new();
    let mut epoch = Epoch::Of1900;
    archive.read(entry, deadline, |part| {
        let mut xml = Xml::new(part);
        loop {
            match xml.next()? {
                Event::Start(tag) => match local(tag.name) {
                    b"workbookPr" if tag.attribute(b"date1904").is_some_and(is_true) => {
                        epoch = Epoch::Of1904;
                    }
                    b"sheet" => {
                        let mut sheet = SheetEntry {
                            name: Arc::from(""),
                            hidden: false,
                            part: None,
                        };
                        for (name, value) in tag.attributes() {
                            match name {
                                b"name" => sheet.name = sheet_name(&plain(value)),
                                b"state" => sheet.hidden = value != b"visible",
                                // The prefix of relations is the writer's choice.
                                _ if name.contains(&b':') && local(name) == b"id" => {
                                    sheet.part = related.worksheet(&plain(value));
                                }
                                _ => {}
                            }
                        }
                        sheets.push(sheet);
                        no_more_than_most(sheets.len())?;
                    }
                    _ => {}
                },
                Event::Eof => return Ok(()),
                _ => {}
            }
        }
    })?;
    Ok(Workbook {
        sheets,
        styles: related.styles,
        strings: related.strings,
        epoch,
    })
}

/// A truth value of an attribute.
pub(in crate::logbook::open) fn is_true(value: &[u8]) -> bool {
    matches!(value, b"1" | b"true" | b"on")
}

#[derive(Debug)]
struct Relation {
    id: String,
    kind: String,
    target: String,
}

fn relations(
    part: crate::logbook::open::archive::Part<'_>,
    folder: &str,
) -> Result<Vec<Relation>, OpenError> {
    let mut xml = Xml::new(part);
    let mut relations = Vec::new();
    loop {
        match xml.next()? {
            Event::Start(tag) if local(tag.name) == b"Relationship" => {
                let text = |name: &[u8]| tag.text(name).unwrap_or_default();
                if tag.attribute(b"TargetMode") != Some(b"External") {
                    relations.push(Relation {
                        id: text(b"Id"),
                        kind: text(b"Type"),
                        target: join(folder, &text(b"Target")),
                    });
                }
            }
            Event::Eof => return Ok(relations),
            _ => {}
        }
    }
}

/// A target as the part's full name: from the folder, or from the package's root.
fn join(folder: &str, target: &str) -> String {
    let target = target.replace('\\', "/");
    let mut parts: Vec<&str> = match target.strip_prefix('/') {
        Some(_) => Vec::new(),
        None => folder.split('/').collect(),
    };
    for part in target.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop();
            }
            _ => parts.push(part),
        }
    }
    parts.retain(|part| !part.is_empty());
    parts.join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn targets_start_from_the_folder_or_the_root() {
        assert_eq!(
            join("xl", "worksheets/sheet1.xml"),
            "xl/worksheets/sheet1.xml"
        );
        assert_eq!(
            join("xl", "/xl/worksheets/sheet1.xml"),
            "xl/worksheets/sheet1.xml"
        );
        assert_eq!(join("xl", "../custom/a.xml"), "custom/a.xml");
        assert_eq!(join("xl", "../../../etc/passwd"), "etc/passwd");
        assert_eq!(join("", "xl\\workbook.xml"), "xl/workbook.xml");
    }
}

//! `rubric`: a rubric, stages or theories file read back with its faults, and printed for proofreading.

use std::path::Path;

use super::load::{catalogue, course_with, load, read_text, slip_codes};
use super::{Exit, Output, Stop};
use crate::cli::RubricFile;
use crate::emphasis::Emphasis;
use crate::judgement::{SHIPPED_STAGES, SHIPPED_THEORIES};
use crate::report::comparison;
use crate::rubric::{Kind, Known, proofread, shipped_text};

/// Runs the command.
///
/// # Errors
/// The file can't be read, or has faults: all of them.
pub fn run(arguments: &RubricFile, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let source = match &arguments.file {
        Some(file) => Some(source(file)?),
        None => None,
    };
    if arguments.schema {
        let kind = source
            .as_ref()
            .map_or(Kind::Rubric, |(_, text)| Kind::of(text));
        output.whole(&format!("{}\n", kind.schema()))?;
        return Ok(Exit::Done);
    }
    let Some((name, text)) = source else {
        return Err(Stop::new("name the file to read back"));
    };
    if let Some(dir) = &arguments.try_on {
        let loaded = load(dir)?;
        let other = course_with(&loaded.folder, &name, &text)?;
        let now = loaded.examine(&|| ());
        let then = loaded.examine_by(&other, &|| ());
        // Of stages or theories the rubric stays: the file's name says what is tried.
        let title = match Kind::of(&text) {
            Kind::Rubric => format!("{} ({name})", other.rubric.title),
            Kind::Stages | Kind::Theories => format!("{} with {name}", other.rubric.title),
        };
        let text = comparison::rubrics(
            (&loaded.course.rubric.title, &now),
            (&title, &then),
            output.width,
        );
        output.always(&text)?;
        return Ok(Exit::Done);
    }
    let catalogue = catalogue();
    let slips = slip_codes();
    let known = Known {
        catalogue: &catalogue,
        slips: &slips,
    };
    let proof = proofread(&name, &text, &known)?;
    output.always(&proof.preview)?;
    if !proof.remarks.list.is_empty() {
        output.always(&format!(
            "\n{}\n\n{}",
            Emphasis::Heading.on("Worth a look"),
            proof.remarks.render()
        ))?;
    }
    Ok(Exit::Done)
}

/// The name and text of a file, or of one that ships.
fn source(file: &Path) -> Result<(String, String), Stop> {
    let name = file.display().to_string();
    if !file.exists() {
        let shipped = match name.as_str() {
            "stages" => Some(SHIPPED_STAGES),
            "theories" => Some(SHIPPED_THEORIES),
            other => shipped_text(other),
        };
        if let Some(text) = shipped {
            return Ok((format!("rubrics/{name}.toml"), text.to_owned()));
        }
    }
    Ok((name, read_text(file)?))
}

//! The workbooks that were named for `collect`: from the current folder or from the cohort's, and patterns that the shell left as they were.

use std::fs;
use std::path::{Path, PathBuf};

use super::Stop;
use super::collect::to_fill_in;
use crate::natural_order;

/// The files that were meant, in order.
///
/// # Errors
/// A name that stands for no file, with where it was looked for.
pub fn meant(dir: &Path, named: &[PathBuf]) -> Result<Vec<PathBuf>, Stop> {
    let mut files: Vec<PathBuf> = Vec::new();
    for name in named {
        for file in one(dir, name)? {
            if !files.contains(&file) {
                files.push(file);
            }
        }
    }
    Ok(files)
}

fn one(dir: &Path, name: &Path) -> Result<Vec<PathBuf>, Stop> {
    let places = [name.to_owned(), dir.join(name)];
    if let Some(found) = places.iter().find(|path| path.is_file()) {
        return Ok(vec![found.clone()]);
    }
    let matching = places.iter().map(|place| expanded(place));
    if let Some(found) = matching.into_iter().find(|found| !found.is_empty()) {
        return Ok(found);
    }
    let shown = name.display();
    if is_name_of_current(name) {
        return Err(Stop::new(format!(
            "{shown}: you are in the folder of that name already. Leave the name out: evenhand collect"
        )));
    }
    if places.iter().any(|path| path.is_dir()) {
        return Err(Stop::new(format!(
            "{shown} is a folder; the cohort's folder comes first, and workbooks after it. Without any, evenhand collect finds all in out and marking"
        )));
    }
    let dir = match dir.as_os_str().to_string_lossy() {
        dir if dir == "." => String::new(),
        dir => format!(", neither here nor in {dir}"),
    };
    Err(Stop::new(format!(
        "{shown}: there is no such workbook{dir}. Without naming any, evenhand collect finds all in out and marking"
    )))
}

fn is_name_of_current(name: &Path) -> bool {
    let Ok(current) = std::env::current_dir() else {
        return false;
    };
    name.file_name().is_some() && current.file_name() == name.file_name()
}

/// The workbooks that a path means whose last part holds `*` or `?`, as some shells leave it.
fn expanded(path: &Path) -> Vec<PathBuf> {
    let Some(pattern) = path.file_name().map(|name| name.to_string_lossy()) else {
        return Vec::new();
    };
    if !pattern.contains(['*', '?']) {
        return Vec::new();
    }
    let folder = match path.parent() {
        Some(parent) if parent.as_os_str().is_empty() => Path::new("."),
        Some(parent) => parent,
        None => return Vec::new(),
    };
    let Ok(listed) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut found: Vec<PathBuf> = listed
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| to_fill_in(path))
        .filter(|path| {
            let name = path.file_name().map(|name| name.to_string_lossy());
            name.is_some_and(|name| matches(&pattern, &name))
        })
        .collect();
    found.sort_by(|a, b| natural_order::compare(&a.to_string_lossy(), &b.to_string_lossy()));
    found
}

/// Whether a name is one that a pattern means: `*` is any text, `?` one character; capitals don't matter.
fn matches(pattern: &str, name: &str) -> bool {
    let folded = |text: &str| text.to_lowercase().chars().collect::<Vec<char>>();
    let (pattern, name) = (folded(pattern), folded(name));
    // Which beginnings of the name the pattern read so far can mean.
    let mut reached = vec![false; name.len() + 1];
    if let Some(nothing) = reached.first_mut() {
        *nothing = true;
    }
    for sign in pattern {
        let mut next = vec![false; reached.len()];
        let mut any = false;
        for (at, now) in next.iter_mut().enumerate() {
            if sign == '*' {
                any |= reached.get(at).copied().unwrap_or_default();
                *now = any;
            } else if let Some(before) = at.checked_sub(1) {
                let fits = name.get(before).is_some_and(|c| sign == '?' || *c == sign);
                *now = fits && reached.get(before).copied().unwrap_or_default();
            }
        }
        reached = next;
    }
    reached.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_mean_what_shells_take_them_for() {
        for (pattern, name, same) in [
            ("*.xlsx", "M. Ostrow.xlsx", true),
            ("*.xlsx", "M. Ostrow.XLSX", true),
            ("*.xlsx", "notes.txt", false),
            ("M*w.xlsx", "M. Ostrow.xlsx", true),
            ("?. Ostrow.xlsx", "M. Ostrow.xlsx", true),
            ("?.xlsx", "M. Ostrow.xlsx", false),
            ("*", "", true),
            ("**a*", "bab", true),
        ] {
            assert_eq!(matches(pattern, name), same, "{pattern} {name}");
        }
    }
}

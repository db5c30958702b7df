//! Replacing names once marks no longer need them: everywhere that the program writes, and on the roster. Ids stay.

use std::collections::BTreeMap;
use std::io::{self, Cursor, Read as _, Write as _};

use crate::cohort::Roster;
use crate::cohort::roster::Student;

/// A name and what stands in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Replacement {
    /// The name (or address) as it is on the roster.
    pub name: String,
    /// What stands in its place.
    pub by: String,
}

/// Names shorter than this are replaced on the roster alone: elsewhere they may be words.
pub const SHORTEST: usize = 4;

/// What the names on a roster are replaced by: `student s1042`; addresses by nothing. Longer names first, so that none is replaced in part;
/// none shorter than `shortest` characters. `within` says of which students the text can be: a name that several of them bear stands for
/// whichever of them it is, `student s1042 or s1077`, and never for one of them alone.
pub fn replacements(
    roster: &Roster,
    shortest: usize,
    within: &dyn Fn(&Student) -> bool,
) -> Vec<Replacement> {
    let mut bearers: BTreeMap<&str, Vec<&Student>> = BTreeMap::new();
    let mut all: Vec<Replacement> = Vec::new();
    for student in &roster.students {
        let name = student.name.trim();
        if name.chars().count() >= shortest.max(1) && !name.starts_with("student ") {
            bearers.entry(name).or_default().push(student);
        }
        if student.email.trim().contains('@') {
            all.push(Replacement {
                name: student.email.trim().to_owned(),
                by: String::new(),
            });
        }
    }
    for (name, bearers) in bearers {
        all.extend(of_name(name, &bearers, within));
    }
    all.sort_by(|a, b| {
        b.name
            .len()
            .cmp(&a.name.len())
            .then_with(|| a.name.cmp(&b.name))
    });
    all
}

/// What a name is replaced by, and, where both of a pair bear it, what a list of both is.
fn of_name(
    name: &str,
    bearers: &[&Student],
    within: &dyn Fn(&Student) -> bool,
) -> Vec<Replacement> {
    let here: Vec<&Student> = bearers.iter().copied().filter(|one| within(one)).collect();
    let meant = if here.is_empty() { bearers } else { &here };
    let ids: Vec<&str> = meant.iter().map(|student| &*student.id).collect();
    let replacement = |name: String, by: String| Replacement { name, by };
    let mut all = vec![replacement(
        name.to_owned(),
        format!("student {}", ids.join(" or ")),
    )];
    if let [first, second] = meant
        && first.pair == second.pair
    {
        all.extend([", ", "\n"].map(|between| {
            replacement(
                format!("{name}{between}{name}"),
                format!("student {}{between}student {}", first.id, second.id),
            )
        }));
    }
    all
}

/// A text of lines that are each of a student or of a pair, as in csv files, with every name replaced: a name that several students bear is that
/// of whom the line names by id, else by pair.
pub fn replaced_in_lines(text: &str, roster: &Roster, shortest: usize) -> String {
    let everywhere = replacements(roster, shortest, &|_| true);
    let shared: Vec<&Replacement> = everywhere
        .iter()
        .filter(|one| one.by.contains(" or "))
        .collect();
    text.split_inclusive('\n')
        .map(|line| {
            if !shared.iter().any(|one| line.contains(&one.name)) {
                return replaced(line, &everywhere);
            }
            let words = |id: &str| holds(line, id);
            let by_id = roster.students.iter().any(|student| {
                words(&student.id) && line.contains(student.name.trim()) && !student.name.is_empty()
            });
            let within = |student: &Student| {
                if by_id {
                    words(&student.id)
                } else {
                    words(&student.pair)
                }
            };
            replaced(line, &replacements(roster, shortest, &within))
        })
        .collect()
}

/// Whether a text holds an id as a whole word.
fn holds(text: &str, id: &str) -> bool {
    let inner = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == '-');
    text.match_indices(id).any(|(at, found)| {
        let before = text.get(..at).and_then(|before| before.chars().next_back());
        let after = text
            .get(at + found.len()..)
            .and_then(|after| after.chars().next());
        !inner(before) && !inner(after)
    })
}

/// A text with every name replaced; a name within a longer word is left alone.
pub fn replaced(text: &str, names: &[Replacement]) -> String {
    names
        .iter()
        .fold(text.to_owned(), |text, name| whole_words(&text, name))
}

fn whole_words(text: &str, of: &Replacement) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(&of.name) {
        let (before, from) = rest.split_at(at);
        let after = from.get(of.name.len()..).unwrap_or_default();
        out.push_str(before);
        let joined = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
        // What was written out before counts too: the text before a match may have ended in a replacement.
        if joined(out.chars().next_back()) || joined(after.chars().next()) {
            out.push_str(&of.name);
        } else {
            out.push_str(&of.by);
        }
        rest = after;
    }
    out.push_str(rest);
    out
}

/// The names as they stand in markup.
pub fn in_markup(names: &[Replacement]) -> Vec<Replacement> {
    let escaped = |text: &str| {
        text.replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('>', "&gt;")
    };
    names
        .iter()
        .map(|one| Replacement {
            name: escaped(&one.name),
            by: escaped(&one.by),
        })
        .collect()
}

/// A workbook with every name in it replaced; none where it has none.
///
/// # Errors
/// It is no workbook that can be opened.
pub fn workbook(bytes: &[u8], names: &[Replacement]) -> io::Result<Option<Vec<u8>>> {
    let names = in_markup(names);
    let mut old = zip::ZipArchive::new(Cursor::new(bytes)).map_err(io::Error::other)?;
    let mut new = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let mut changed = false;
    for index in 0..old.len() {
        let mut part = old.by_index(index).map_err(io::Error::other)?;
        let name = part.name().map_err(io::Error::other)?.into_owned();
        let options =
            zip::write::SimpleFileOptions::default().last_modified_time(zip::DateTime::default());
        if part.is_dir() {
            continue;
        }
        let mut content = Vec::new();
        part.read_to_end(&mut content)?;
        if let Ok(text) = std::str::from_utf8(&content)
            && names.iter().any(|one| text.contains(&one.name))
        {
            let text = replaced(text, &names);
            changed |= text.as_bytes() != content;
            content = text.into_bytes();
        }
        new.start_file(name, options).map_err(io::Error::other)?;
        new.write_all(&content)?;
    }
    let bytes = new.finish().map_err(io::Error::other)?.into_inner();
    Ok(changed.then_some(bytes))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names() -> Vec<Replacement> {
        let one = |name: &str, by: &str| Replacement {
            name: name.into(),
            by: by.into(),
        };
        vec![
            one("Ana Lopez-Ruiz", "student s2"),
            one("Ana Lopez", "student s1"),
        ]
    }

    #[test]
    fn whole_names_are_replaced_and_nothing_else() {
        let text = "Ana Lopez and Ana Lopez-Ruiz; Ana Lopezia, (Ana Lopez)";
        assert_eq!(
            replaced(text, &names()),
            "student s1 and student s2; Ana Lopezia, (student s1)"
        );
    }

    fn roster(text: &str) -> Roster {
        let opened = crate::logbook::open::open(
            text.as_bytes(),
            "roster.csv",
            &crate::logbook::open::Limits::default(),
        )
        .unwrap();
        Roster::from_grid(&opened.grids[0]).unwrap()
    }

    const NAMESAKES: &str =
        "student_id,name,pair\ns1,Ada Moss,P1\ns2,Ada Moss,P1\ns3,Bo Lund,P2\ns4,Ada Moss,P2\n";

    #[test]
    fn students_of_one_name_never_come_under_one_placeholder() {
        let roster = roster(NAMESAKES);
        assert_eq!(
            replaced_in_lines(NAMESAKES, &roster, 1),
            "student_id,name,pair\ns1,student s1,P1\ns2,student s2,P1\ns3,student s3,P2\ns4,student s4,P2\n"
        );
        let of = |pair: &'static str| replacements(&roster, 4, &move |s| &*s.pair == pair);
        assert_eq!(
            replaced("Ada Moss, Ada Moss: Ada Moss wrote", &of("P1")),
            "student s1, student s2: student s1 or s2 wrote"
        );
        assert_eq!(
            replaced("Bo Lund, Ada Moss", &of("P2")),
            "student s3, student s4"
        );
        assert_eq!(
            replaced_in_lines("P2,1,comment,Ada Moss explained well.\n", &roster, 4),
            "P2,1,comment,student s4 explained well.\n"
        );
        let anybody = replacements(&roster, 4, &|_| true);
        assert_eq!(replaced("Ada Moss", &anybody), "student s1 or s2 or s4");
    }

    #[test]
    fn a_workbook_keeps_everything_but_the_names() {
        let mut workbook_in = rust_xlsxwriter::Workbook::new();
        let sheet = workbook_in.add_worksheet();
        sheet.write_string(0, 0, "Ana Lopez").unwrap();
        sheet.write_number(0, 1, 7.5).unwrap();
        let bytes = workbook_in.save_to_buffer().unwrap();
        let forgotten = workbook(&bytes, &names()).unwrap().unwrap();
        let opened = crate::logbook::open::open(
            &forgotten,
            "a.xlsx",
            &crate::logbook::open::Limits::default(),
        )
        .unwrap();
        let texts: Vec<String> = opened.grids[0]
            .cells
            .iter()
            .map(|cell| format!("{:?}", cell.value))
            .collect();
        assert_eq!(texts, ["Text(\"student s1\")", "Number(7.5)"]);
        assert_eq!(workbook(&forgotten, &names()).unwrap(), None);
    }
}

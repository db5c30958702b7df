//! Which pair is it? A hand-in is matched by the pair id in its About table, else by what its name holds, else by the people it names.
//! Nothing is guessed: what fits no pair or more than one is left for the instructor to assign.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::roster::{Roster, compared};

/// What a hand-in says of whose it is.
#[derive(Debug, Clone, Default)]
pub struct Identity<'a> {
    /// Its file or folder, relative to the submissions.
    pub name: &'a str,
    /// The pair id in About.
    pub pair: Option<&'a str>,
    /// The coach in About: an id or a name.
    pub coach: Option<&'a str>,
    /// The learner in About: an id or a name.
    pub learner: Option<&'a str>,
}

/// Whose a hand-in is.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Match {
    /// This pair's.
    Pair(Arc<str>),
    /// It fits none or more than one.
    Open {
        /// The pairs that it fits; empty where there is none.
        could_be: Vec<Arc<str>>,
        /// Why, in a clause.
        why: String,
    },
}

/// Matches hand-ins to the pairs of a cohort.
#[derive(Debug)]
pub struct Matcher<'a> {
    roster: Option<&'a Roster>,
    assign: BTreeMap<String, Arc<str>>,
    /// Token sequences by which a name points to a pair: pair ids first, then students' ids and names.
    pairs: Vec<(Vec<String>, Arc<str>)>,
    students: Vec<(Vec<String>, Arc<str>)>,
    /// Positions in `pairs` and `students` by first token, so that a name is not compared with every student.
    pair_starts: BTreeMap<String, Vec<usize>>,
    student_starts: BTreeMap<String, Vec<usize>>,
}

impl<'a> Matcher<'a> {
    /// A matcher for a roster (where there is one) and the instructor's own assignments (`[assign]`: hand-in = pair).
    pub fn new(roster: Option<&'a Roster>, assign: &BTreeMap<String, String>) -> Self {
        let mut pairs = Vec::new();
        let mut students = Vec::new();
        if let Some(roster) = roster {
            pairs.extend(roster.pairs.iter().map(|id| (tokens(id), id.clone())));
            for student in &roster.students {
                for text in [&student.id, &student.name] {
                    students.push((tokens(text), student.pair.clone()));
                }
            }
        }
        let starts = |list: &[(Vec<String>, Arc<str>)]| {
            let mut starts: BTreeMap<String, Vec<usize>> = BTreeMap::new();
            for (index, (words, _)) in list.iter().enumerate() {
                if let Some(first) = words.first() {
                    starts.entry(first.clone()).or_default().push(index);
                }
            }
            starts
        };
        Self {
            roster,
            assign: assign
                .iter()
                .map(|(name, pair)| (compared(name), pair.as_str().into()))
                .collect(),
            pair_starts: starts(&pairs),
            student_starts: starts(&students),
            pairs,
            students,
        }
    }

    /// Whose a hand-in is.
    pub fn find(&self, identity: &Identity<'_>) -> Match {
        if let Some(pair) = self.assigned(identity.name) {
            return match self.roster {
                Some(roster) => roster.pair(&pair).map_or_else(
                    || {
                        let why =
                            format!("cohort.toml assigns it to {pair}, which is not on the roster");
                        open(Vec::new(), why)
                    },
                    |id| Match::Pair(id.clone()),
                ),
                None => Match::Pair(pair),
            };
        }
        match self.roster {
            Some(roster) => self.on_roster(roster, identity),
            None => Match::Pair(without_roster(identity)),
        }
    }

    /// `[assign]` names the hand-in by its path or its last part, with or without its ending.
    fn assigned(&self, name: &str) -> Option<Arc<str>> {
        let last = name.rsplit('/').next().unwrap_or(name);
        [name, last, stem(name), stem(last)]
            .into_iter()
            .find_map(|form| self.assign.get(&compared(form)).cloned())
    }

    fn on_roster(&self, roster: &Roster, identity: &Identity<'_>) -> Match {
        if let Some(id) = identity.pair.and_then(|pair| roster.pair(pair)) {
            return Match::Pair(id.clone());
        }
        let name = tokens(stem(identity.name));
        let by_pair = pointed_at(&name, &self.pairs, &self.pair_starts);
        let by_student = || pointed_at(&name, &self.students, &self.student_starts);
        let by_people = || {
            let mut found = Vec::new();
            for person in [identity.coach, identity.learner].into_iter().flatten() {
                for pair in pointed_at(&tokens(person), &self.students, &self.student_starts) {
                    if !found.contains(&pair) {
                        found.push(pair);
                    }
                }
            }
            found
        };
        for found in [by_pair, by_student(), by_people()] {
            match found.as_slice() {
                [] => {}
                [only] => return Match::Pair(only.clone()),
                several => {
                    let why = format!("it fits more than one pair: {}", several.join(", "));
                    return open(found, why);
                }
            }
        }
        let why = identity.pair.map_or_else(
            || {
                String::from(
                    "neither its About table nor its name holds a pair, a student id or a name of the roster",
                )
            },
            |typed| {
                format!(
                    "its About table says pair `{typed}`, which is not on the roster, and its name points to no pair"
                )
            },
        );
        open(Vec::new(), why)
    }
}

fn open(could_be: Vec<Arc<str>>, why: String) -> Match {
    Match::Open { could_be, why }
}

/// Without a roster: the pair in About, else the name without ending and version.
fn without_roster(identity: &Identity<'_>) -> Arc<str> {
    if let Some(pair) = identity.pair.map(str::trim).filter(|pair| !pair.is_empty()) {
        return pair.into();
    }
    let last = identity.name.rsplit('/').next().unwrap_or(identity.name);
    let base = stem(last);
    super::version::without_version(base).into()
}

/// A file's name without its ending; a folder's name as it is.
fn stem(name: &str) -> &str {
    match name.rsplit_once('.') {
        Some((stem, ending)) if !stem.is_empty() && !ending.contains('/') && ending.len() <= 5 => {
            stem
        }
        _ => name,
    }
}

/// The words of a name: runs of letters and digits, without case.
fn tokens(text: &str) -> Vec<String> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect()
}

/// The pairs whose word sequences stand in a name, each once.
fn pointed_at(
    name: &[String],
    known: &[(Vec<String>, Arc<str>)],
    starts: &BTreeMap<String, Vec<usize>>,
) -> Vec<Arc<str>> {
    let mut found: Vec<Arc<str>> = Vec::new();
    for (at, word) in name.iter().enumerate() {
        for index in starts.get(word).into_iter().flatten() {
            if let Some((words, pair)) = known.get(*index)
                && name.get(at..at + words.len()) == Some(words.as_slice())
                && !found.contains(pair)
            {
                found.push(pair.clone());
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohort::roster::tests::roster;

    fn find(name: &str, pair: Option<&str>, coach: Option<&str>) -> Match {
        let roster = roster(&[
            &["student_id", "name", "pair"],
            &["s101", "Ines Pardo", "P-07"],
            &["s102", "Tam Okoro", "P-07"],
            &["s103", "Lu Brandt", "P8"],
            &["s104", "Tam Weiss", "P8"],
        ]);
        let assign = [("odd name.xlsx".to_owned(), "p8".to_owned())].into();
        Matcher::new(Some(&roster), &assign).find(&Identity {
            name,
            pair,
            coach,
            learner: None,
        })
    }

    #[test]
    fn about_comes_first_then_the_name_then_the_people() {
        let p7 = Match::Pair("P-07".into());
        let p8 = Match::Pair("P8".into());
        assert_eq!(find("p8.xlsx", Some(" p-07 "), None), p7);
        assert_eq!(find("logbook p_07 final.xlsx", None, None), p7);
        assert_eq!(find("Group A/P8/trials", None, None), p8);
        assert_eq!(find("s103_logbook.ods", None, None), p8);
        assert_eq!(find("Okoro Tam Okoro.csv", None, None), p7);
        assert_eq!(find("logbook.xlsx", None, Some("Lu Brandt")), p8);
        assert_eq!(find("sub/Odd Name.xlsx", None, None), p8);
    }

    #[test]
    fn what_fits_none_or_several_is_left_open() {
        for (name, pair) in [
            ("logbook.xlsx", None),
            ("P8 and P-07.xlsx", None),
            ("P80.xlsx", None),
            ("logbook.xlsx", Some("P99")),
        ] {
            assert!(
                matches!(find(name, pair, None), Match::Open { .. }),
                "{name}"
            );
        }
    }

    #[test]
    fn without_a_roster_the_name_serves() {
        let matcher = Matcher::new(None, &BTreeMap::new());
        let find = |name, pair| {
            matcher.find(&Identity {
                name,
                pair,
                ..Identity::default()
            })
        };
        assert_eq!(find("P07.xlsx", Some("P7")), Match::Pair("P7".into()));
        assert_eq!(find("week 9/P07_v2.xlsx", None), Match::Pair("P07".into()));
    }
}

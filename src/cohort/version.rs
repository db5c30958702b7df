//! Which of two hand-ins is the newer, by the version or time that their names carry.

/// What a name says of its version.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Version {
    /// None, which is older than any.
    Unmarked,
    /// `v2`, `version 2`, `(2)`.
    Number(u64),
    /// A day, and a time where the name has one, as digits: `20260309`, `202603091530`.
    Time(String),
}

/// What a file's or folder's name says of its version.
pub fn version(name: &str) -> Version {
    let last = name.rsplit('/').next().unwrap_or(name);
    marks(last)
        .into_iter()
        .map(|mark| mark.version)
        .max()
        .unwrap_or(Version::Unmarked)
}

/// The name without what marks its version: `P07_v2` is `P07`.
pub fn without_version(name: &str) -> &str {
    let first = marks(name).into_iter().map(|mark| mark.start).min();
    let cut = first.and_then(|start| name.get(..start)).unwrap_or(name);
    let trimmed = cut.trim_end_matches(|c: char| !c.is_alphanumeric());
    if trimmed.is_empty() { name } else { trimmed }
}

struct Mark {
    start: usize,
    version: Version,
}

/// Every version or time in a name.
fn marks(name: &str) -> Vec<Mark> {
    let words: Vec<(usize, &str)> = words(name);
    let mut found = Vec::new();
    let mut index = 0;
    while let Some(&(start, word)) = words.get(index) {
        let lower = word.to_lowercase();
        let next = words.get(index + 1).map(|(_, next)| *next);
        if let Some(digits) = lower.strip_prefix('v').and_then(number) {
            found.push(Mark {
                start,
                version: Version::Number(digits),
            });
        } else if matches!(
            lower.as_str(),
            "v" | "version" | "ver" | "rev" | "copy" | "attempt"
        ) && let Some(digits) = next.and_then(number)
        {
            found.push(Mark {
                start,
                version: Version::Number(digits),
            });
            index += 1;
        } else if let Some(time) = time_at(&words, index) {
            index += time.1 - 1;
            found.push(Mark {
                start,
                version: Version::Time(time.0),
            });
        } else if start > 0
            && name
                .get(..start)
                .is_some_and(|before| before.ends_with('('))
            && name
                .get(start + word.len()..)
                .is_some_and(|after| after.starts_with(')'))
            && let Some(digits) = number(word)
        {
            found.push(Mark {
                start: start - 1,
                version: Version::Number(digits),
            });
        }
        index += 1;
    }
    found
}

/// A day at a word (`20260309`, or `2026` `03` `09`), with the time in the word after it; how many words it takes.
fn time_at(words: &[(usize, &str)], index: usize) -> Option<(String, usize)> {
    let word = |offset: usize| words.get(index + offset).map(|(_, word)| *word);
    let digits = |text: &str, length: usize| {
        text.len() == length && text.bytes().all(|b| b.is_ascii_digit())
    };
    let first = word(0)?;
    let (day, taken) = if digits(first, 8) {
        (first.to_owned(), 1)
    } else if digits(first, 4) && digits(word(1)?, 2) && digits(word(2)?, 2) {
        (format!("{first}{}{}", word(1)?, word(2)?), 3)
    } else {
        return None;
    };
    let date: Option<jiff::civil::Date> = (|| {
        let year = day.get(..4)?.parse().ok()?;
        let month = day.get(4..6)?.parse().ok()?;
        jiff::civil::Date::new(year, month, day.get(6..8)?.parse().ok()?).ok()
    })();
    date?;
    // The time of day may be one word of four or six digits, or two or three of two.
    let mut time = String::new();
    let mut more = 0;
    while let Some(part) =
        word(taken + more).filter(|part| time.len() < 6 && part.len() % 2 == 0 && part.len() <= 6)
    {
        if !part.bytes().all(|b| b.is_ascii_digit()) {
            break;
        }
        time.push_str(part);
        more += 1;
    }
    Some((format!("{day}{time}"), taken + more))
}

fn number(text: &str) -> Option<u64> {
    (!text.is_empty() && text.len() <= 4)
        .then(|| text.parse().ok())
        .flatten()
}

/// The runs of letters and digits of a name, with where each begins.
fn words(name: &str) -> Vec<(usize, &str)> {
    let mut words = Vec::new();
    let mut start = None;
    for (at, c) in name.char_indices().chain([(name.len(), ' ')]) {
        match (c.is_alphanumeric(), start) {
            (true, None) => start = Some(at),
            (false, Some(from)) => {
                if let Some(word) = name.get(from..at) {
                    words.push((from, word));
                }
                start = None;
            }
            _ => {}
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn versions_and_times_are_read_from_names() {
        assert_eq!(version("P07_v2.xlsx"), Version::Number(2));
        assert_eq!(version("P07 version 10.xlsx"), Version::Number(10));
        assert_eq!(version("P07 (3).xlsx"), Version::Number(3));
        assert_eq!(version("P07.xlsx"), Version::Unmarked);
        assert_eq!(version("P07_final.xlsx"), Version::Unmarked);
        assert_eq!(
            version("P07_2026-03-09.xlsx"),
            Version::Time("20260309".into())
        );
        assert_eq!(
            version("P07 20260309-1530.xlsx"),
            Version::Time("202603091530".into())
        );
        assert!(version("P07_v10") > version("P07_v9"));
        assert!(version("P07_v2") > version("P07"));
        assert!(version("x 2026-03-10") > version("x 2026-03-09 235959"));
    }

    #[test]
    fn a_name_loses_its_version_and_nothing_else() {
        assert_eq!(without_version("P07_v2"), "P07");
        assert_eq!(without_version("P07 (3)"), "P07");
        assert_eq!(without_version("P07"), "P07");
        assert_eq!(without_version("v2"), "v2");
        assert_eq!(without_version("G-12 2026-03-09 final"), "G-12");
    }
}

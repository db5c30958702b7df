//! Sentences with facts in them: `Your retention test, {retention.days_after:day} after the last practice, …`.

use super::catalogue::Catalogue;
use super::lower::ExpressionFault;
use super::source::FactSource;
use crate::facts::{FactKind, FactValue};
use crate::number::readable;

/// What a sentence says for a fact that is absent.
const ABSENT: &str = "not recorded";
/// A student's text in a sentence is cut here: a sentence is no place for an essay.
const LONGEST_TEXT: usize = 120;

/// A sentence over facts, ready to be filled with one pair's.
///
/// `{fact}` is shown sensibly rounded; `{fact:.2}` with two decimals, `{fact:+.1}` with its sign, `{fact:%}` as percent of a share,
/// `{fact:day}` with its unit in the singular or plural ("1 day", "7 days"); `{{` and `}}` are braces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sentence {
    text: String,
    parts: Vec<Piece>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Piece {
    Words(String),
    Fact { name: String, shown: Shown },
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Shown {
    Sensibly,
    Decimals { decimals: usize, sign: bool },
    Percent,
    Counted(String),
}

impl Sentence {
    /// Reads a sentence.
    ///
    /// # Errors
    /// Every fault of it: names that are no facts, a brace without its partner, a way of showing that isn't known.
    pub fn read(text: &str, catalogue: &Catalogue) -> Result<Self, Vec<ExpressionFault>> {
        let mut parts = Vec::new();
        let mut faults = Vec::new();
        let mut words = String::new();
        let mut at = 0;
        while let Some(c) = text.get(at..).and_then(|rest| rest.chars().next()) {
            let rest = text.get(at..).unwrap_or_default();
            if rest.starts_with("{{") || rest.starts_with("}}") {
                words.push(c);
                at += 2;
            } else if c == '{' {
                let Some(end) = rest.find('}') else {
                    faults.push(fault(
                        at,
                        1,
                        "this { is never closed",
                        "close it with }, or write {{ for a brace",
                    ));
                    break;
                };
                let inside = rest.get(1..end).unwrap_or_default();
                match piece(inside, at + 1, catalogue) {
                    Ok(fact) => {
                        if !words.is_empty() {
                            parts.push(Piece::Words(std::mem::take(&mut words)));
                        }
                        parts.push(fact);
                    }
                    Err(found) => faults.push(found),
                }
                at += end + 1;
            } else if c == '}' {
                faults.push(fault(
                    at,
                    1,
                    "this } closes nothing",
                    "write }} for a brace",
                ));
                at += 1;
            } else {
                words.push(c);
                at += c.len_utf8();
            }
        }
        if !words.is_empty() {
            parts.push(Piece::Words(words));
        }
        if faults.is_empty() {
            Ok(Self {
                text: text.to_owned(),
                parts,
            })
        } else {
            Err(faults)
        }
    }

    /// The sentence as it was written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The facts that it names, in order.
    pub fn facts(&self) -> impl Iterator<Item = &str> {
        self.parts.iter().filter_map(|part| match part {
            Piece::Fact { name, .. } => Some(name.as_str()),
            Piece::Words(_) => None,
        })
    }

    /// The sentence with one pair's facts; "not recorded" stands for an absent one.
    pub fn fill(&self, source: &dyn FactSource) -> String {
        let mut out = String::new();
        for part in &self.parts {
            match part {
                Piece::Words(words) => out.push_str(words),
                Piece::Fact { name, shown } => {
                    let value = source.fact(name);
                    out.push_str(
                        &value.map_or_else(|| ABSENT.to_owned(), |value| shown.show(&value)),
                    );
                }
            }
        }
        out
    }
}

fn fault(at: usize, length: usize, message: impl Into<String>, help: &str) -> ExpressionFault {
    ExpressionFault {
        range: at..at + length,
        message: message.into(),
        help: Some(help.to_owned()),
    }
}

/// What stands in braces, at byte `at` of the sentence.
fn piece(inside: &str, at: usize, catalogue: &Catalogue) -> Result<Piece, ExpressionFault> {
    // A measure's name may hold a colon: the way of showing follows the last bracket.
    let from = inside.rfind(']').unwrap_or(0);
    let colon = inside.get(from..).and_then(|rest| rest.find(':'));
    let (name, way) = match colon {
        Some(colon) => (
            inside.get(..from + colon).unwrap_or_default(),
            inside.get(from + colon + 1..),
        ),
        None => (inside, None),
    };
    let trimmed = name.trim();
    let Some(kind) = catalogue.kind_of(trimmed) else {
        let message = if catalogue.is_group(trimmed) {
            format!("`{trimmed}` is a group of facts, not a fact")
        } else {
            format!("there is no fact `{trimmed}`")
        };
        let help = catalogue.nearest(trimmed).map_or_else(
            || "`evenhand explain` lists every fact; write {{ for a brace".to_owned(),
            |near| format!("did you mean `{near}`?"),
        );
        return Err(fault(at, name.len().max(1), message, &help));
    };
    let shown = match way {
        None => Shown::Sensibly,
        Some(way) => Shown::read(way.trim(), kind).ok_or_else(|| {
            fault(
                at + name.len() + 1,
                way.len(),
                format!("`{trimmed}` can't be shown as `{}`", way.trim()),
                "a number can be shown as :.2 (two decimals), :+.1 (with its sign), :% (a share in percent), or :day (with its unit)",
            )
        })?,
    };
    Ok(Piece::Fact {
        name: trimmed.to_owned(),
        shown,
    })
}

impl Shown {
    fn read(way: &str, kind: FactKind) -> Option<Self> {
        if kind != FactKind::Number {
            return None;
        }
        if way == "%" {
            return Some(Self::Percent);
        }
        let unsigned = way.strip_prefix('+').unwrap_or(way);
        if let Some(decimals) = unsigned.strip_prefix('.') {
            let decimals = decimals.parse().ok().filter(|decimals| *decimals <= 9)?;
            let sign = way.starts_with('+');
            return Some(Self::Decimals { decimals, sign });
        }
        let is_word = !way.is_empty()
            && way
                .chars()
                .all(|c| c.is_alphabetic() || c == ' ' || c == '-');
        is_word.then(|| Self::Counted(way.to_owned()))
    }

    fn show(&self, value: &FactValue) -> String {
        match (value, self) {
            (FactValue::Number(number), Self::Decimals { decimals, sign }) => {
                let text = rounded(*number, *decimals);
                if *sign && *number > 0.0 {
                    format!("+{text}")
                } else {
                    text
                }
            }
            (FactValue::Number(number), Self::Percent) => {
                format!("{} %", rounded(100.0 * number, 0))
            }
            (FactValue::Number(number), Self::Counted(unit)) => {
                let text = readable(*number);
                let ending = if text == "1" { "" } else { "s" };
                format!("{text} {unit}{ending}")
            }
            (FactValue::Number(number), Self::Sensibly) => readable(*number),
            (FactValue::Truth(truth), _) => if *truth { "yes" } else { "no" }.to_owned(),
            (FactValue::Date(day), _) => day.strftime("%-d %B %Y").to_string(),
            (FactValue::Text(text), _) => {
                let plain: String = text
                    .chars()
                    .map(|c| if c.is_control() { ' ' } else { c })
                    .take(LONGEST_TEXT)
                    .collect();
                if text.chars().count() > LONGEST_TEXT {
                    format!("{}…", plain.trim_end())
                } else {
                    plain
                }
            }
        }
    }
}

/// Rounded to some decimals, never `-0.0`.
fn rounded(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::expression::fixture;

    fn filled(text: &str) -> String {
        let facts = fixture::facts(&[
            ("pre.mean", FactValue::Number(2.456_78)),
            ("pre.n", FactValue::Number(10.0)),
            ("retention.days_after", FactValue::Number(1.0)),
            ("pre.level", FactValue::Number(0.123)),
            ("change.post.difference", FactValue::Number(0.75)),
            ("about.skill", FactValue::Text("overhead\nserve".into())),
            ("pre.date", FactValue::Date(jiff::civil::date(2026, 3, 9))),
            ("change.post.beyond_noise", FactValue::Truth(true)),
        ]);
        Sentence::read(text, &fixture::catalogue())
            .unwrap()
            .fill(&facts)
    }

    #[test]
    fn facts_are_shown_as_a_person_would_write_them() {
        assert_eq!(
            filled("{pre.n} trials, mean {pre.mean:.2}"),
            "10 trials, mean 2.46"
        );
        assert_eq!(filled("{retention.days_after:day} later"), "1 day later");
        assert_eq!(filled("{pre.n:trial}"), "10 trials");
        assert_eq!(filled("{pre.level:%}"), "12 %");
        assert_eq!(filled("{change.post.difference:+.1}"), "+0.8");
        assert_eq!(
            filled("{about.skill} on {pre.date}"),
            "overhead serve on 9 March 2026"
        );
        assert_eq!(filled("{change.post.beyond_noise}"), "yes");
        assert_eq!(filled("{{as it is}}"), "{as it is}");
    }

    #[test]
    fn an_absent_fact_is_said_to_be_so() {
        assert_eq!(
            filled("retention {retention.mean}"),
            "retention not recorded"
        );
        assert_eq!(
            filled("after {transfer.days_after:day}"),
            "after not recorded"
        );
    }

    #[test]
    fn every_fault_is_found_where_it_stands() {
        let text = "{pre.maen} and {retention} and {pre.n:~} and } and {pre.n";
        let faults = Sentence::read(text, &fixture::catalogue()).unwrap_err();
        let places: Vec<usize> = faults.iter().map(|fault| fault.range.start).collect();
        assert_eq!(places, [1, 16, 38, 45, 51]);
        assert_eq!(faults[0].help.as_deref(), Some("did you mean `pre.mean`?"));
    }
}

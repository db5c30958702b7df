//! Everything that ever happened to a pair's marks, in order, with who and why: for the appeal months later.

use std::fmt::Write as _;

use crate::checks;
use crate::examination::PairResult;
use crate::ledger::{Entry, Subject};
use crate::rubric::Rubric;

/// The ledger's lines that bear on a pair: its own, and those for the whole cohort that concern one of its findings or its marker.
pub fn lines<'a>(
    entries: &'a [Entry],
    pair: &str,
    result: Option<&PairResult>,
    marker: Option<&str>,
) -> Vec<&'a Entry> {
    let concerns = |entry: &&Entry| {
        if !entry.pair.is_empty() {
            return entry.pair == pair;
        }
        match Subject::from(entry.what.as_str()) {
            Subject::DecisionForAll(of) => result.is_some_and(|result| has(result, &of)),
            Subject::Shift(of, _) => marker == Some(of.as_str()),
            Subject::Proposal(id) => {
                let of = id.rsplit_once(" = ").map_or(id.as_str(), |(of, _)| of);
                let of = of.split_once('/').map_or("", |(_, of)| of);
                of == pair || marker == Some(of)
            }
            Subject::Sample => true,
            _ => false,
        }
    };
    entries.iter().filter(concerns).collect()
}

/// Whether a pair has a finding of a check, or a claim that a slip explains.
fn has(result: &PairResult, of: &str) -> bool {
    result.findings.iter().any(|finding| finding.check == of)
        || result
            .claims
            .iter()
            .filter_map(|claim| claim.recomputed.explanations.first())
            .any(|first| first.slips.iter().any(|slip| slip.code == of))
}

/// The lines in words, a line each, oldest first; reasons below. What they were made under is said where it changes.
pub fn text(lines: &[&Entry], rubric: &Rubric, result: Option<&PairResult>) -> String {
    let mut out = String::new();
    let mut under = String::new();
    for entry in lines.iter().filter(|entry| !said_elsewhere(entry, lines)) {
        let now = made_under(entry);
        if !now.is_empty() && now != under {
            let _ = writeln!(out, "Under {now}:");
            under = now;
        }
        let subject = Subject::from(entry.what.as_str());
        let of = match (&subject, entry.student.is_empty()) {
            (_, true) => String::new(),
            (Subject::HandedBack, false) => format!(" to {}", entry.student),
            (_, false) => format!(" of {}", entry.student),
        };
        let from = if entry.file.is_empty() {
            String::new()
        } else {
            format!(", from {} {}", entry.file, entry.cell)
        };
        let _ = writeln!(
            out,
            "{}  {}{of}: {}; {} ({}){from}",
            time_in_words(&entry.time),
            subject_in_words(&subject, rubric, result),
            change_in_words(entry),
            entry.who,
            entry.role
        );
        // How a sample was drawn names its seed, which is also why it came out so.
        if !entry.why.is_empty() && !entry.new.contains(&entry.why) {
            let _ = writeln!(out, "    Why: {}", entry.why);
        }
    }
    out
}

/// Why a pair was drawn is said with its second marker; the line of the sample repeats it.
fn said_elsewhere(entry: &Entry, lines: &[&Entry]) -> bool {
    let same = |other: &&Entry| {
        other.what == Subject::SecondMarker.to_string()
            && other.time == entry.time
            && other.why == entry.new
    };
    !entry.pair.is_empty() && entry.what == Subject::Sample.to_string() && lines.iter().any(same)
}

/// The digests under which a line was made.
fn made_under(entry: &Entry) -> String {
    let under: Vec<String> = [("rubric", &entry.rubric), ("hand-in", &entry.hand_in)]
        .into_iter()
        .filter(|(_, digest)| !digest.is_empty())
        .map(|(what, digest)| format!("{what} {digest}"))
        .collect();
    under.join(", ")
}

/// A proposal of the moderation report, by its id.
fn proposal_in_words(id: &str, criterion: &dyn Fn(&str) -> String) -> String {
    let (of, by) = id.rsplit_once(" = ").unwrap_or((id, ""));
    let (kind, of) = of.split_once(' ').unwrap_or(("", of));
    let (what, whose) = of.split_once('/').unwrap_or((of, ""));
    let what = criterion(what);
    match kind {
        "shift" => format!("Proposal to shift {whose}'s marks for {what} by {by}"),
        "mark-again" => format!("Proposal to have {whose}'s marks for {what} given again"),
        "stands" => format!("Whether the mark for {what} stands when its run is marked again"),
        _ => format!("Proposal {id}"),
    }
}

fn time_in_words(time: &str) -> String {
    // 2026-11-25T08:30:00Z
    match (time.get(..10), time.get(11..16)) {
        (Some(day), Some(minute)) => format!("{day} {minute} UTC"),
        _ => time.to_owned(),
    }
}

/// What an entry is about, for people.
pub fn subject_in_words(subject: &Subject, rubric: &Rubric, result: Option<&PairResult>) -> String {
    let criterion = |id: &str| {
        rubric
            .criterion(id)
            .map_or_else(|| id.to_owned(), |criterion| criterion.title.clone())
    };
    let finding = |id: &str| {
        let found = result.and_then(|result| {
            result
                .findings
                .iter()
                .find(|finding| finding.id(&result.pair) == id)
        });
        match found {
            Some(found) => {
                let title = checks::find(found.check).map_or(found.check, |check| check.title);
                format!("{id} ({title})")
            }
            None => id.to_owned(),
        }
    };
    match subject {
        Subject::Mark(id) => format!("Mark for {}", criterion(id)),
        Subject::Judged(id, part) => format!(
            "Points for “{}” ({})",
            super::wording::id_in_words(part),
            criterion(id)
        ),
        Subject::Comment(id) if id == "overall" => String::from("Comment for the pair"),
        Subject::Comment(id) => format!("Comment on {}", criterion(id)),
        Subject::Decision(id) => format!("Decision on finding {}", finding(id)),
        Subject::Note(id) => format!("Note on finding {}", finding(id)),
        Subject::DecisionForAll(of) => format!("Decision for everything found by {of}"),
        Subject::Claim(id) => format!("Number {id}, read in the report"),
        Subject::FirstMarker => String::from("First marker"),
        Subject::SecondMarker => String::from("Second marker"),
        Subject::Sample => String::from("Second-marking sample"),
        Subject::Proposal(id) => proposal_in_words(id, &criterion),
        Subject::Shift(marker, of) => {
            format!("Shift of {marker}'s marks for {}", criterion(of))
        }
        Subject::Common(marker, of) => format!(
            "{} by {marker}, to agree on a standard",
            subject_in_words(of, rubric, result)
        ),
        Subject::Compared => String::from("Markers compared"),
        Subject::HandedBack => String::from("Handed back"),
        Subject::Conflict(of) => format!(
            "{} (another file says otherwise; both are kept)",
            subject_in_words(of, rubric, result)
        ),
        Subject::Other(text) => text.clone(),
    }
}

fn change_in_words(entry: &Entry) -> String {
    match (entry.old.is_empty(), entry.new.is_empty()) {
        (true, false) => entry.new.clone(),
        (false, true) => format!("withdrawn (it was {})", entry.old),
        (false, false) if entry.what.starts_with("conflict ") => {
            format!("{} beside {}", entry.new, entry.old)
        }
        (false, false) => format!("{} (it was {})", entry.new, entry.old),
        (true, true) => String::from("nothing"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_reads_as_it_happened() {
        let entry = |old: &str, new: &str| Entry {
            what: "mark testing".into(),
            old: old.into(),
            new: new.into(),
            ..Entry::default()
        };
        assert_eq!(change_in_words(&entry("", "5")), "5");
        assert_eq!(change_in_words(&entry("5", "6")), "6 (it was 5)");
        assert_eq!(change_in_words(&entry("6", "")), "withdrawn (it was 6)");
        assert_eq!(
            time_in_words("2026-11-25T08:30:00Z"),
            "2026-11-25 08:30 UTC"
        );
    }

    #[test]
    fn why_a_pair_was_drawn_is_said_once() {
        let entry = |what: &str, new: &str, why: &str| Entry {
            pair: "P1".into(),
            what: what.into(),
            new: new.into(),
            why: why.into(),
            ..Entry::default()
        };
        let second = entry("second-marker", "Noor", "at the top level");
        let sample = entry("sample", "at the top level", "");
        assert!(said_elsewhere(&sample, &[&second, &sample]));
        assert!(!said_elsewhere(&second, &[&second, &sample]));
        assert!(!said_elsewhere(&sample, &[&sample]));
    }

    #[test]
    fn only_what_bears_on_the_pair_is_told() {
        let entry = |pair: &str, what: &str| Entry {
            pair: pair.into(),
            what: what.into(),
            new: "1".into(),
            ..Entry::default()
        };
        let entries = [
            entry("P1", "mark testing"),
            entry("P2", "mark testing"),
            entry("", "shift testing/Noor"),
            entry("", "shift testing/Ines"),
            entry("", "decision-for-all data.off-step"),
            entry("", "proposal mark-again testing/Noor"),
            entry("", "proposal shift total/Ines = 1"),
        ];
        let told = lines(&entries, "P1", None, Some("Noor"));
        let whats: Vec<&str> = told.iter().map(|entry| entry.what.as_str()).collect();
        assert_eq!(
            whats,
            [
                "mark testing",
                "shift testing/Noor",
                "proposal mark-again testing/Noor"
            ]
        );
    }
}

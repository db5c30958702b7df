//! All of a pair's record in one text: what was handed in and found, what people decided, and what was handed back.

use std::fmt::Write as _;

use super::final_mark::{FinalMark, Finishing};
use crate::cohort::Roster;
use crate::examination::PairResult;
use crate::ledger::{Entry, State, first_marker};
use crate::marking::settle::SettledPair;
use crate::number::readable;
use crate::report::csv_rows::CsvRows;
use crate::report::{history, pair_view};
use crate::rubric::Rubric;

/// What a record is made of.
pub struct Record<'a> {
    /// The course's title.
    pub course: &'a str,
    /// The rubric.
    pub rubric: &'a Rubric,
    /// Digest of the rubric's file.
    pub rubric_digest: &'a str,
    /// The roster, where there is one.
    pub roster: Option<&'a Roster>,
    /// The ledger's lines.
    pub entries: &'a [Entry],
    /// What is in force by them.
    pub state: &'a State,
    /// How final marks come about.
    pub finishing: Finishing<'a>,
}

impl Record<'_> {
    /// Everything that ever happened to the pair's marks, and how they stand.
    pub fn history(&self, pair: &SettledPair, result: Option<&PairResult>) -> String {
        let marker = first_marker(self.state, self.roster, &pair.pair);
        let lines = history::lines(self.entries, &pair.pair, result, marker);
        let mut out = format!(
            "Pair {}: everything that happened to its marks\n\n",
            pair.pair
        );
        out.push_str(&self.standing(pair));
        out.push_str("\nHow it came about, the oldest first\n");
        if lines.is_empty() {
            out.push_str("Nothing was ever entered for this pair.\n");
        }
        out.push_str(&history::text(&lines, self.rubric, result));
        out
    }

    /// How the marks stand: each criterion, then each student's way to the final mark.
    fn standing(&self, pair: &SettledPair) -> String {
        let mut out = String::from("As it stands\n");
        for (criterion, settled) in self.rubric.criteria.iter().zip(&pair.criteria) {
            for mark in &settled.marks {
                let of = mark
                    .student
                    .as_deref()
                    .map_or_else(String::new, |id| format!(" of {id}"));
                let shown = match (mark.raw, mark.mark()) {
                    (Some(raw), Some(_)) if mark.shift.abs() < 1e-12 => readable(raw),
                    (Some(raw), Some(shifted)) => format!(
                        "{} ({} and a shift of {})",
                        readable(shifted),
                        readable(raw),
                        readable(mark.shift)
                    ),
                    _ => String::from("no mark"),
                };
                let _ = writeln!(
                    out,
                    "  {}{of}: {shown} of {}",
                    criterion.title,
                    readable(settled.out_of)
                );
            }
        }
        let students = self
            .roster
            .into_iter()
            .flat_map(|roster| roster.of_pair(&pair.pair));
        for student in students {
            let line = if student.status.takes_part() {
                self.finishing
                    .final_mark(pair, Some(student))
                    .map_or_else(|| String::from("no final mark yet"), in_words)
            } else {
                String::from(student.status.name())
            };
            let _ = writeln!(out, "  {} ({}): {line}", student.id, student.role);
        }
        for lack in &pair.lacks {
            let _ = writeln!(out, "  Lacks: {lack}");
        }
        out
    }

    /// The whole record.
    pub fn text(
        &self,
        pair: &SettledPair,
        result: Option<&PairResult>,
        feedback: &CsvRows,
    ) -> String {
        let mut out = String::new();
        let course = if self.course.is_empty() {
            String::new()
        } else {
            format!("{}\n", self.course)
        };
        let _ = writeln!(
            out,
            "{course}The record of pair {}\nRubric: {} (digest {})",
            pair.pair, self.rubric.title, self.rubric_digest
        );
        if let Some(hand_in) = result.and_then(|result| result.hand_in.as_ref()) {
            let _ = writeln!(out, "Hand-in: {} (digest {})", hand_in.name, hand_in.digest);
        }
        section(&mut out, "Decisions and marks");
        out.push_str(&self.history(pair, result));
        section(&mut out, "What the hand-in holds, and what was found in it");
        match result {
            Some(result) => out.push_str(&pair_view::text(result, None)),
            None => out.push_str("Nothing that could be read was handed in.\n"),
        }
        section(&mut out, "Feedback as it would be handed back now");
        out.push_str(
            &String::from_utf8_lossy(&feedback.clone().into_bytes()).replace("\r\n", "\n"),
        );
        section(
            &mut out,
            "The ledger's lines about this pair, as they stand",
        );
        let marker = first_marker(self.state, self.roster, &pair.pair);
        for entry in history::lines(self.entries, &pair.pair, result, marker) {
            let texts = entry.fields().map(|field| format!("{field:?}"));
            let _ = writeln!(out, "{}", texts.join(","));
        }
        out
    }
}

fn section(out: &mut String, title: &str) {
    let _ = write!(
        out,
        "\n\n{title}\n{}\n\n",
        "=".repeat(title.chars().count())
    );
}

fn in_words(mark: FinalMark) -> String {
    let mut text = format!("{} raw", readable(mark.raw));
    if mark.shift.abs() > 1e-12 {
        let _ = write!(text, ", shifted by {}", readable(mark.shift));
    }
    if mark.late > 0.0 {
        let _ = write!(text, ", {} lost to lateness", readable(mark.late));
    }
    if let Some(adjust) = mark.adjust {
        let _ = write!(text, ", adjusted by {}", readable(adjust));
    }
    let _ = write!(text, "; final mark {}", readable(mark.result));
    text
}

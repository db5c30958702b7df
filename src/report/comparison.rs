//! Two sets of suggestions, or suggestions and marks already given, side by side: what a changed rubric would do, and how far the program is
//! from people.

use std::fmt::Write as _;

use comfy_table::{CellAlignment, Table, presets};

use super::out_files::TOTAL;
use super::wording::counted;
use crate::checks::{self, Weight};
use crate::cohort::Roster;
use crate::examination::{CohortResult, PairResult};
use crate::number::readable;
use crate::rubric::{CriterionSuggestion, Rubric};
use crate::stats::summary::{mean, median, sd};

/// The evidence points of a pair: earned, out of, left to a person.
struct Sum {
    earned: f64,
    out_of: f64,
    judged: f64,
}

fn sum<'a>(suggestions: impl IntoIterator<Item = &'a CriterionSuggestion>) -> Sum {
    let mut sum = Sum {
        earned: 0.0,
        out_of: 0.0,
        judged: 0.0,
    };
    for suggestion in suggestions {
        sum.earned += suggestion.suggested;
        sum.out_of += suggestion.out_of;
        sum.judged += suggestion.judged_out_of;
    }
    sum
}

impl Sum {
    fn in_words(&self) -> String {
        format!("{} of {}", readable(self.earned), readable(self.out_of))
    }

    /// The share of the settled points that is earned, in percent.
    fn percent(&self) -> Option<f64> {
        (self.out_of > 0.0).then(|| 100.0 * self.earned / self.out_of)
    }
}

fn table(header: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_header(header.iter().copied());
    for column in table.column_iter_mut().skip(1) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    table
}

/// What another rubric would do to the suggestions of a cohort, pair by pair.
pub fn rubrics(now: (&Rubric, &CohortResult), then: (&Rubric, &CohortResult)) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "Now: {}\nThen: {}\n", now.0.title, then.0.title);
    let mut rows = table(&[
        "pair",
        "now",
        "then",
        "share now",
        "share then",
        "findings now",
        "findings then",
    ]);
    let mut shifts = Vec::new();
    for (before, after) in now.1.pairs.iter().zip(&then.1.pairs) {
        let (was, is) = (sum(&before.suggestions), sum(&after.suggestions));
        if let (Some(was), Some(is)) = (was.percent(), is.percent()) {
            shifts.push(is - was);
        }
        let percent = |sum: &Sum| {
            sum.percent()
                .map_or_else(String::new, |percent| format!("{percent:.0} %"))
        };
        rows.add_row([
            before.pair.to_string(),
            was.in_words(),
            is.in_words(),
            percent(&was),
            percent(&is),
            before.findings.len().to_string(),
            after.findings.len().to_string(),
        ]);
    }
    let _ = writeln!(out, "{}", rows.trim_fmt());
    if let Ok(shift) = mean(&shifts) {
        let changed = shifts.iter().filter(|shift| shift.abs() > 1e-9).count();
        let _ = writeln!(
            out,
            "\nThe share of evidence points earned would change for {} of {}, by {shift:+.1} percentage points on average.\nNothing was changed: put the file in place of the cohort's rubric to use it.",
            changed,
            counted(shifts.len(), "pair"),
        );
    }
    out
}

/// A mark already given.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenMark {
    /// The pair's id, or a student's.
    pub of: String,
    /// The criterion; none for the total.
    pub criterion: Option<String>,
    /// The mark.
    pub mark: f64,
}

/// Suggestions and findings beside marks already given: how far apart, and which checks fired on work that markers found sound.
pub fn against(
    rubric: &Rubric,
    cohort: &CohortResult,
    roster: Option<&Roster>,
    given: &[GivenMark],
) -> String {
    let mut out = String::new();
    let mut rows = table(&[
        "pair",
        "criterion",
        "given",
        "evidence gives",
        "for a person",
        "share given",
        "share earned",
    ]);
    let mut apart = Vec::new();
    let mut sound = Vec::new();
    let mut unknown = Vec::new();
    for mark in given {
        let Some(result) = pair_of(cohort, roster, &mark.of) else {
            unknown.push(mark.of.clone());
            continue;
        };
        let criterion = mark
            .criterion
            .as_deref()
            .filter(|criterion| *criterion != TOTAL);
        let of_criterion = |suggestion: &&CriterionSuggestion| {
            criterion.is_none_or(|id| suggestion.criterion == id)
        };
        let suggestion = sum(result.suggestions.iter().filter(of_criterion));
        let full = criterion.map_or(Some(rubric.out_of), |id| {
            rubric.criterion(id).map(|criterion| criterion.marks)
        });
        let share = full
            .filter(|full| *full > 0.0)
            .map(|full| 100.0 * mark.mark / full);
        if criterion.is_none() && rubric.pass.is_some_and(|pass| mark.mark >= pass) {
            sound.push(result);
        }
        if let (Some(share), Some(earned)) = (share, suggestion.percent()) {
            apart.push(earned - share);
        }
        let percent =
            |share: Option<f64>| share.map_or_else(String::new, |share| format!("{share:.0} %"));
        rows.add_row([
            result.pair.to_string(),
            criterion.unwrap_or(TOTAL).to_owned(),
            readable(mark.mark),
            suggestion.in_words(),
            readable(suggestion.judged),
            percent(share),
            percent(suggestion.percent()),
        ]);
    }
    let _ = writeln!(
        out,
        "Marks already given, beside what the evidence gives\n\n{}",
        rows.trim_fmt()
    );
    distance(&mut out, &apart);
    fired_on_sound(&mut out, &sound);
    if !unknown.is_empty() {
        let _ = writeln!(
            out,
            "\nMarks for nobody in this cohort: {}",
            unknown.join(", ")
        );
    }
    out
}

fn pair_of<'a>(
    cohort: &'a CohortResult,
    roster: Option<&Roster>,
    of: &str,
) -> Option<&'a PairResult> {
    cohort.pair(of).or_else(|| {
        let student = roster?.students.iter().find(|student| {
            crate::cohort::roster::compared(&student.id) == crate::cohort::roster::compared(of)
        })?;
        cohort.pair(&student.pair)
    })
}

fn distance(out: &mut String, apart: &[f64]) {
    let sizes: Vec<f64> = apart.iter().map(|difference| difference.abs()).collect();
    if let (Ok(mean), Ok(median)) = (mean(apart), median(&sizes)) {
        let spread = sd(apart).map_or_else(
            |_| String::new(),
            |sd| format!(", standard deviation {sd:.1}"),
        );
        let _ = writeln!(
            out,
            "\nShare earned less share given, over {}: {mean:+.1} percentage points on average{spread}; half are within {median:.1}.\nThe evidence is a part of what is marked: a difference is no fault of either.",
            counted(apart.len(), "mark")
        );
    }
}

/// Which checks fired on work that markers passed, per 100 pairs.
fn fired_on_sound(out: &mut String, sound: &[&PairResult]) {
    if sound.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "\nFindings on the {} that markers passed, per 100 pairs",
        counted(sound.len(), "pair")
    );
    for check in checks::ALL {
        let pairs = sound
            .iter()
            .filter(|result| {
                result
                    .findings
                    .iter()
                    .any(|finding| finding.check == check.id && finding.weight > Weight::Query)
            })
            .count();
        if pairs > 0 {
            let _ = writeln!(
                out,
                "  {:<38} {:>5.0}",
                check.id,
                100.0 * pairs as f64 / sound.len() as f64
            );
        }
    }
}

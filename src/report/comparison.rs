//! Two sets of suggestions, or suggestions and marks already given, side by side: what a changed rubric would do, and how far the program is
//! from people.

use std::fmt::Write as _;

use super::out_files::TOTAL;
use super::table::Table;
use crate::checks::{self, Weight};
use crate::cohort::Roster;
use crate::emphasis::Emphasis;
use crate::examination::{CohortResult, PairResult};
use crate::number::readable;
use crate::rubric::{CriterionSuggestion, Rubric, Settled};
use crate::stats::summary::{mean, median, sd};
use crate::wording::counted;

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

/// What another rubric (or other stages, or theories) would do to the suggestions of a cohort, pair by pair; each with its title.
/// Its table in `width` columns where that is given.
pub fn rubrics(
    now: (&str, &CohortResult),
    then: (&str, &CohortResult),
    width: Option<usize>,
) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "Now: {}\nThen: {}\n",
        Emphasis::Heading.on(now.0),
        Emphasis::Heading.on(then.0)
    );
    let header = [
        "pair",
        "now",
        "then",
        "share now",
        "share then",
        "findings now",
        "findings then",
        "what changes",
    ];
    let mut rows = Table::new(&header, 1..7, 1);
    let mut shifts = Vec::new();
    for (before, after) in now.1.results().zip(then.1.results()) {
        let (was, is) = (sum(&before.suggestions), sum(&after.suggestions));
        if let (Some(was), Some(is)) = (was.percent(), is.percent()) {
            shifts.push(is - was);
        }
        let percent = |sum: &Sum| {
            sum.percent()
                .map_or_else(String::new, |percent| format!("{percent:.0} %"))
        };
        rows.row([
            before.pair.to_string(),
            was.in_words(),
            is.in_words(),
            percent(&was),
            percent(&is),
            before.findings.len().to_string(),
            after.findings.len().to_string(),
            changed(&before, &after),
        ]);
    }
    let _ = write!(out, "{}", rows.text(width));
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

/// Which evidence is settled otherwise, and which checks find something that they didn't, or no longer do: the first few.
fn changed(before: &PairResult, after: &PairResult) -> String {
    const SHOWN: usize = 3;
    let word = |settled: &Settled| match settled {
        Settled::Met => "met",
        Settled::Partly => "partly",
        Settled::Unmet => "unmet",
        Settled::Undecided { .. } | Settled::Untestable => "left to the marker",
    };
    let evidence = |result: &PairResult| -> Vec<(String, &'static str)> {
        let all = result.suggestions.iter().flat_map(|suggestion| {
            suggestion.evidence.iter().map(|outcome| {
                (
                    format!("{}.{}", suggestion.criterion, outcome.id),
                    word(&outcome.settled),
                )
            })
        });
        all.collect()
    };
    let (was, is) = (evidence(before), evidence(after));
    let mut changes: Vec<String> = Vec::new();
    for (id, now) in &was {
        match is.iter().find(|(known, _)| known == id) {
            Some((_, then)) if then != now => changes.push(format!("{id}: {now} → {then}")),
            Some(_) => {}
            None => changes.push(format!("{id}: gone")),
        }
    }
    for (id, then) in &is {
        if !was.iter().any(|(known, _)| known == id) {
            changes.push(format!("{id}: new, {then}"));
        }
    }
    for check in checks::ALL {
        let has = |result: &PairResult| {
            result
                .findings
                .iter()
                .any(|finding| finding.check == check.id)
        };
        match (has(before), has(after)) {
            (false, true) => changes.push(format!("+ {}", check.id)),
            (true, false) => changes.push(format!("− {}", check.id)),
            _ => {}
        }
    }
    let more = changes.len().saturating_sub(SHOWN);
    changes.truncate(SHOWN);
    if more > 0 {
        changes.push(format!("and {more} more"));
    }
    changes.join("; ")
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
    width: Option<usize>,
) -> String {
    let mut out = String::new();
    let header = [
        "pair",
        "criterion",
        "given",
        "evidence gives",
        "for a person",
        "share given",
        "share earned",
    ];
    let mut rows = Table::new(&header, 2..header.len(), 2);
    let mut apart = Vec::new();
    let mut unknown = Vec::new();
    let mut no_criterion: Vec<&str> = Vec::new();
    let mut too_high = Vec::new();
    let mut by_criterion: Vec<(&str, Vec<f64>)> = Vec::new();
    for mark in given {
        let Some(result) = pair_of(cohort, roster, &mark.of) else {
            unknown.push(mark.of.clone());
            continue;
        };
        let criterion = mark
            .criterion
            .as_deref()
            .filter(|criterion| *criterion != TOTAL);
        if let Some(id) = criterion.filter(|id| rubric.criterion(id).is_none()) {
            if !no_criterion.contains(&id) {
                no_criterion.push(id);
            }
            continue;
        }
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
        if full.is_some_and(|full| mark.mark > full || mark.mark < 0.0) {
            too_high.push(format!(
                "{} {} {}",
                result.pair,
                criterion.unwrap_or(TOTAL),
                readable(mark.mark)
            ));
        }
        if let (Some(share), Some(earned)) = (share, suggestion.percent()) {
            apart.push(earned - share);
            let name = criterion.unwrap_or(TOTAL);
            match by_criterion.iter_mut().find(|(known, _)| *known == name) {
                Some((_, differences)) => differences.push(earned - share),
                None => by_criterion.push((name, vec![earned - share])),
            }
        }
        let percent =
            |share: Option<f64>| share.map_or_else(String::new, |share| format!("{share:.0} %"));
        rows.row([
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
        "{}\n\n{}",
        Emphasis::Heading.on("Marks already given, beside what the evidence gives"),
        rows.text(width).trim_end()
    );
    distance(&mut out, &apart);
    if by_criterion.len() > 1 {
        for (criterion, apart) in &by_criterion {
            if let Ok(mean) = mean(apart) {
                let marks = counted(apart.len(), "mark");
                let _ = writeln!(out, "  {criterion:<24} {mean:>+6.1} over {marks}");
            }
        }
    }
    fired_on_sound(&mut out, &passed(rubric, cohort, roster, given));
    not_compared(&mut out, rubric, &no_criterion, &too_high, &unknown);
    out
}

/// What of the file could not be set beside a suggestion, and what can't be right.
fn not_compared(
    out: &mut String,
    rubric: &Rubric,
    no_criterion: &[&str],
    too_high: &[String],
    unknown: &[String],
) {
    if !no_criterion.is_empty() {
        let known: Vec<&str> = rubric.criteria.iter().map(|of| of.id.as_str()).collect();
        let _ = writeln!(
            out,
            "\nNot compared: this rubric has no criterion {}. Its criteria are {}.",
            no_criterion.join(", "),
            known.join(", ")
        );
    }
    if !too_high.is_empty() {
        let _ = writeln!(
            out,
            "\nOutside what the criterion can give: {}",
            too_high.join(", ")
        );
    }
    if !unknown.is_empty() {
        let _ = writeln!(
            out,
            "\nMarks for nobody in this cohort: {}",
            unknown.join(", ")
        );
    }
}

/// The pairs that passed, each once: by the total given, else by the sum of the criteria where all are given.
fn passed(
    rubric: &Rubric,
    cohort: &CohortResult,
    roster: Option<&Roster>,
    given: &[GivenMark],
) -> Vec<PairResult> {
    let Some(pass) = rubric.pass else {
        return Vec::new();
    };
    let mut marks: Vec<(PairResult, Vec<&GivenMark>)> = Vec::new();
    for mark in given {
        if let Some(result) = pair_of(cohort, roster, &mark.of) {
            match marks
                .iter_mut()
                .find(|(known, _)| known.pair == result.pair)
            {
                Some((_, of_pair)) => of_pair.push(mark),
                None => marks.push((result, vec![mark])),
            }
        }
    }
    let total = |of_pair: &[&GivenMark]| {
        let of = |wanted: &str| {
            of_pair
                .iter()
                .find(|mark| mark.criterion.as_deref().unwrap_or(TOTAL) == wanted)
                .map(|mark| mark.mark)
        };
        of(TOTAL).or_else(|| {
            let each = rubric.criteria.iter().map(|criterion| of(&criterion.id));
            each.sum::<Option<f64>>()
        })
    };
    marks
        .into_iter()
        .filter(|(_, of_pair)| total(of_pair).is_some_and(|total| total >= pass))
        .map(|(result, _)| result)
        .collect()
}

fn pair_of(cohort: &CohortResult, roster: Option<&Roster>, of: &str) -> Option<PairResult> {
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
fn fired_on_sound(out: &mut String, sound: &[PairResult]) {
    if sound.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "\n{}",
        Emphasis::Heading.on(&format!(
            "Findings on the {} that markers passed, per 100 pairs",
            counted(sound.len(), "pair")
        ))
    );
    let mut any = false;
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
            any = true;
            let _ = writeln!(
                out,
                "  {:<38} {:>5.0}",
                check.id,
                100.0 * pairs as f64 / sound.len() as f64
            );
        }
    }
    if !any {
        let _ = writeln!(out, "  none beyond queries");
    }
}

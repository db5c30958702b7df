//! The mark at the head of a pair's page, and how it comes about: a reader who adds up the criteria arrives at it.

use super::final_mark::Finishing;
use crate::cohort::Roster;
use crate::cohort::roster::Student;
use crate::marking::settle::SettledPair;
use crate::number::readable;
use crate::report::page::feedback::Total;
use crate::rubric::Rubric;

/// Marks closer than this are the same: sums of halves and thirds are not exact.
const SAME: f64 = 1e-9;

/// The mark of the report, before what concerns one student alone, with every step on the way to it and after it that both students share.
pub fn total(
    pair: &SettledPair,
    rubric: &Rubric,
    roster: Option<&Roster>,
    finishing: &Finishing<'_>,
) -> Total {
    let of_pair: Option<Vec<f64>> = pair
        .criteria
        .iter()
        .map(|criterion| match criterion.marks.as_slice() {
            [only] if only.student.is_none() => only.mark(),
            _ => None,
        })
        .collect();
    let sum: Option<f64> = of_pair.map(|marks| marks.iter().sum());
    let mark = sum.map(|sum| (sum + pair.total_shift).clamp(0.0, rubric.out_of));
    let students: Vec<&Student> = roster
        .into_iter()
        .flat_map(|roster| roster.of_pair(&pair.pair))
        .filter(|student| student.status.takes_part())
        .collect();
    let mut steps: Vec<String> = Vec::new();
    if let (Some(sum), Some(mark)) = (sum, mark) {
        steps.extend(shifted(sum, mark));
        steps.extend(after(pair, mark, &students, finishing));
    } else if pair.total_shift.abs() > SAME {
        steps.push(format!(
            "Moderation {} for all reports of the same marker.",
            moved(pair.total_shift)
        ));
    }
    Total {
        mark,
        out_of: rubric.out_of,
        level: mark
            .and_then(|mark| rubric.level(mark))
            .map(|level| level.title.clone()),
        steps,
    }
}

/// What accepted moderation makes of the criteria's sum.
fn shifted(sum: f64, mark: f64) -> Option<String> {
    ((mark - sum).abs() > SAME).then(|| {
        format!(
            "The criteria below come to {}; moderation {} for all reports of the same marker.",
            readable(sum),
            moved(mark - sum)
        )
    })
}

fn moved(by: f64) -> String {
    if by > 0.0 {
        format!("added {}", readable(by))
    } else {
        format!("took off {}", readable(-by))
    }
}

/// Lateness and rounding, where they are the same for both students; else that they come after the report's mark.
fn after(
    pair: &SettledPair,
    mark: f64,
    students: &[&Student],
    finishing: &Finishing<'_>,
) -> Vec<String> {
    // Without what is one student's alone: that is on nobody else's page.
    let shared: Vec<(f64, f64)> = if students.is_empty() {
        finishing
            .final_mark(pair, None)
            .map(|last| (last.late, last.result))
            .into_iter()
            .collect()
    } else {
        students
            .iter()
            .filter_map(|student| {
                let student = Student {
                    adjust: None,
                    ..(*student).clone()
                };
                let last = finishing.final_mark(pair, Some(&student))?;
                Some((last.late, last.result))
            })
            .collect()
    };
    let Some((late, result)) = shared.first().copied() else {
        return Vec::new();
    };
    let alike = shared
        .iter()
        .all(|other| (other.0 - late).abs() < SAME && (other.1 - result).abs() < SAME);
    if !alike {
        return vec![String::from(
            "Lateness comes after it, by the day on which each of you handed in, and is in your own final mark.",
        )];
    }
    let mut steps = Vec::new();
    if late > SAME {
        steps.push(format!(
            "Lateness takes off {}, which leaves {}.",
            readable(late),
            readable(mark - late)
        ));
    }
    // Rounding comes last: where somebody's own adjustment comes before it, it is no matter of the report.
    let adjusted = students.iter().any(|student| student.adjust.is_some());
    if let Some(step) = finishing.round
        && !adjusted
        && (result - (mark - late)).abs() > SAME
    {
        steps.push(format!(
            "Rounded to steps of {}, that is {}.",
            readable(step),
            readable(result)
        ));
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_moderation_added_is_said_with_the_sum_of_the_criteria() {
        let said = shifted(40.0, 41.0).unwrap_or_default();
        assert!(
            said.contains("come to 40") && said.contains("added 1 for all reports"),
            "{said}"
        );
        assert!(
            shifted(45.5, 44.5)
                .unwrap_or_default()
                .contains("took off 1")
        );
        assert_eq!(shifted(40.0, 40.0), None);
    }
}

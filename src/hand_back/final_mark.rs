//! From the marks of the criteria to a student's final mark: shift, lateness, individual adjustment, and one rounding at the end.

use jiff::civil::DateTime;

use crate::cohort::marking_settings::LateRule;
use crate::cohort::roster::Student;
use crate::marking::settle::{CriterionMark, SettledPair};

/// What a course settles about final marks.
#[derive(Debug, Clone, Copy)]
pub struct Finishing<'a> {
    /// The marks of the whole report.
    pub out_of: f64,
    /// What lateness costs; none where it costs nothing.
    pub late: Option<&'a LateRule>,
    /// The step to which final marks are rounded; none where they are not.
    pub round: Option<f64>,
}

/// A student's final mark, with every step on the way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FinalMark {
    /// The sum of the marks as people entered them.
    pub raw: f64,
    /// What accepted shifts of the marker add.
    pub shift: f64,
    /// Marks lost to lateness: zero or more.
    pub late: f64,
    /// The student's own adjustment; none where there is none.
    pub adjust: Option<f64>,
    /// What comes out, rounded.
    pub result: f64,
}

impl FinalMark {
    /// The mark of the report: raw and shifted, before what concerns the one student.
    pub fn mark(&self) -> f64 {
        self.raw + self.shift
    }
}

impl Finishing<'_> {
    /// The final mark of a student of a pair; without a student, of the pair. None where a criterion has no mark.
    pub fn final_mark(&self, pair: &SettledPair, student: Option<&Student>) -> Option<FinalMark> {
        let id = student.map_or("", |student| &student.id);
        let marks: Vec<&CriterionMark> = pair
            .criteria
            .iter()
            .map(|criterion| criterion.of_student(id))
            .collect::<Option<_>>()?;
        let raw: f64 = marks
            .iter()
            .map(|mark| mark.raw)
            .collect::<Option<Vec<f64>>>()?
            .iter()
            .sum();
        let shifts: f64 = marks.iter().map(|mark| mark.shift).sum();
        let mark = self.within(raw + shifts + pair.total_shift);
        let late = self.lost_to_lateness(student).min(mark);
        let adjust = student.and_then(|student| student.adjust);
        let before_rounding = self.within(mark - late + adjust.unwrap_or(0.0));
        Some(FinalMark {
            raw,
            shift: mark - raw,
            late,
            adjust,
            result: match self.round {
                Some(step) => rounded_half_up(before_rounding, step),
                None => tidy(before_rounding),
            },
        })
    }

    fn within(&self, mark: f64) -> f64 {
        mark.max(0.0).min(self.out_of)
    }

    /// Percent of the report's marks for each day begun after the due time and the grace, up to the cap.
    fn lost_to_lateness(&self, student: Option<&Student>) -> f64 {
        let (Some(rule), Some(student)) = (self.late, student) else {
            return 0.0;
        };
        let (Some(due), Some(submitted)) = (student.due, student.submitted) else {
            return 0.0;
        };
        let percent = (rule.percent * days_begun(due, submitted, rule.grace)).min(rule.cap);
        self.out_of * percent / 100.0
    }
}

/// Days begun after a due time and a grace in days.
fn days_begun(due: DateTime, submitted: DateTime, grace: f64) -> f64 {
    const SECONDS_A_DAY: f64 = 86_400.0;
    let late = submitted.duration_since(due).as_secs_f64() - grace * SECONDS_A_DAY;
    if late > 0.0 {
        (late / SECONDS_A_DAY).ceil()
    } else {
        0.0
    }
}

/// To the nearest step, halves up. A mark within 1e-9 of a half is on it: sums of halves and thirds are not exact.
fn rounded_half_up(mark: f64, step: f64) -> f64 {
    tidy((mark / step + 0.5 + 1e-9).floor() * step)
}

/// Without the last bits that a sum of decimals leaves behind.
fn tidy(mark: f64) -> f64 {
    format!("{mark:.12}").parse().unwrap_or(mark)
}

#[cfg(test)]
#[allow(
    clippy::float_cmp,
    reason = "marks worked out by hand are tested for being exact"
)]
mod tests {
    use super::*;
    use crate::cohort::roster::Status;
    use crate::marking::settle::SettledCriterion;
    use crate::place::Place;

    fn pair(marks: &[f64]) -> SettledPair {
        SettledPair {
            pair: "P1".into(),
            criteria: marks
                .iter()
                .map(|mark| SettledCriterion {
                    id: "c".into(),
                    out_of: 10.0,
                    marks: vec![CriterionMark {
                        student: None,
                        raw: Some(*mark),
                        shift: 0.0,
                    }],
                })
                .collect(),
            total_shift: 0.0,
            lacks: Vec::new(),
        }
    }

    fn student(due: &str, submitted: &str, adjust: Option<f64>) -> Student {
        Student {
            id: "s1".into(),
            name: "".into(),
            pair: "P1".into(),
            role: "coach".into(),
            email: "".into(),
            marker: None,
            due: due.parse().ok(),
            submitted: submitted.parse().ok(),
            adjust,
            status: Status::Regular,
            place: Place::file("roster.csv"),
        }
    }

    fn result(marks: &[f64], student: &Student, late: &LateRule, round: f64) -> FinalMark {
        let finishing = Finishing {
            out_of: 20.0,
            late: Some(late),
            round: Some(round),
        };
        finishing.final_mark(&pair(marks), Some(student)).unwrap()
    }

    #[test]
    fn lateness_costs_each_day_begun_up_to_the_cap() {
        let rule = LateRule {
            percent: 5.0,
            grace: 0.0,
            cap: 15.0,
        };
        let of = |submitted: &str| {
            let student = student("2026-03-20T17:00:00", submitted, None);
            result(&[8.0, 6.0], &student, &rule, 0.5).late
        };
        // By hand: 5 percent of 20 marks is one mark a day begun.
        assert_eq!(of("2026-03-20T17:00:00"), 0.0);
        assert_eq!(of("2026-03-20T17:00:01"), 1.0);
        assert_eq!(of("2026-03-21T17:00:00"), 1.0);
        assert_eq!(of("2026-03-21T17:00:01"), 2.0);
        assert_eq!(of("2026-04-20T12:00:00"), 3.0);
    }

    #[test]
    fn grace_costs_nothing_and_a_mark_never_falls_below_zero() {
        let rule = LateRule {
            percent: 50.0,
            grace: 1.0,
            cap: 100.0,
        };
        let in_grace = student("2026-03-20T17:00:00", "2026-03-21T16:00:00", None);
        assert_eq!(result(&[8.0, 6.0], &in_grace, &rule, 0.5).late, 0.0);
        let late = student("2026-03-20T17:00:00", "2026-03-25T17:00:00", Some(2.0));
        let mark = result(&[8.0, 6.0], &late, &rule, 0.5);
        // The adjustment comes after lateness has taken all there was.
        assert_eq!((mark.late, mark.result), (14.0, 2.0));
    }

    #[test]
    fn halves_are_rounded_up_once_at_the_end() {
        let rule = LateRule {
            percent: 0.0,
            grace: 0.0,
            cap: 100.0,
        };
        let of =
            |marks: &[f64], round: f64| result(marks, &student("", "", None), &rule, round).result;
        assert_eq!(of(&[7.25, 7.0], 0.5), 14.5);
        assert_eq!(of(&[7.24, 7.0], 0.5), 14.0);
        assert_eq!(of(&[7.25, 7.25], 1.0), 15.0);
        // A third and two sixths make a half short of its last bit.
        assert_eq!(of(&[1.0 / 3.0, 1.0 / 6.0], 1.0), 1.0);
        assert_eq!(of(&[7.3, 7.1], 0.1), 14.4);
    }
}

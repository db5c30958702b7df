//! What could be settled, one proposal a row, each with its reason and what it would change. None takes force unless it is accepted.
//!
//! A sample tests the marking, not the report: from a sample, proposals are for a marker's whole run. Single pairs go to adjudication only
//! where everything is marked twice.

mod together;

use super::FEW;
use super::again::proposal_id;
use super::agreement::Agreement;
use super::gather::{Gathered, MarkedTwice, Scale};
use super::markers::{MarkerReport, Severity};
use super::sight::{scatter, sight};
use crate::number::{plain, readable};
use crate::report::workbook::marker::MarkingAs;
use crate::wording::amount;
use together::{Of, told_together};

/// One proposal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proposal {
    /// Its id, by which it is accepted or refused: the same as long as it says the same.
    pub id: String,
    /// What is proposed.
    pub what: String,
    /// Why.
    pub why: String,
    /// What it would change.
    pub changes: String,
    /// For a shift, each pair's total before and after.
    pub shifted: Vec<ShiftedTotal>,
}

/// What a shift would make of one pair's total.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShiftedTotal {
    /// The pair.
    pub pair: String,
    /// The marker.
    pub marker: String,
    /// The total as marked.
    pub before: String,
    /// The total if the shift is accepted.
    pub after: String,
}

/// What proposals rest on.
#[derive(Debug, Clone, Copy)]
pub struct Grounds<'a> {
    /// The marks.
    pub gathered: &'a Gathered,
    /// Agreement on every scale.
    pub agreements: &'a [Agreement],
    /// Severities on totals.
    pub severity: Option<&'a Severity>,
    /// How each marker marks.
    pub markers: &'a [MarkerReport],
    /// The tolerance in percent.
    pub tolerance: f64,
    /// Every pair is marked twice.
    pub all_twice: bool,
}

impl Grounds<'_> {
    /// How far two marks for a criterion of so many marks may lie apart without saying anything of a whole run. Markers give half marks at the
    /// finest: one step is no reason to mark a run again, however small the criterion.
    fn most_apart(&self, out_of: f64) -> f64 {
        (out_of * self.tolerance / 100.0).max(STEP)
    }
}

/// The step of a proposed shift, and the finest that markers give, in marks: a finer one would claim more than severities tell.
const STEP: f64 = 0.5;

/// What could be settled, in order: shifts, runs to mark again, adjudications, larger samples.
pub fn proposals(grounds: &Grounds<'_>) -> Vec<Proposal> {
    let shifts = shifts(grounds);
    let runs = runs(grounds);
    let mut all = told_together(grounds, &shifts, &runs);
    if grounds.all_twice {
        all.extend(adjudications(grounds));
    }
    all.extend(larger_samples(grounds));
    all
}

/// A marker whose severity leaves out no difference, on enough shared pairs.
fn shifts(grounds: &Grounds<'_>) -> Vec<Of> {
    let Some(severity) = grounds.severity else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for one in &severity.markers {
        let marker = &one.marker;
        let report = grounds
            .markers
            .iter()
            .find(|report| report.marker == *marker);
        let shared = report.map_or(0, |report| report.shared);
        let (Some(estimate), Some(shrunken)) = (one.estimate, one.shrunken) else {
            continue;
        };
        let Some(interval) = estimate.interval().filter(|_| shared >= FEW) else {
            continue;
        };
        // Drawn towards no difference, as that of a marker who is far off by chance should be.
        let shift = -(shrunken.value / STEP).round() * STEP;
        if interval.contains(0.0) || shift == 0.0 {
            continue;
        }
        let Some(told) = severity.told(marker) else {
            continue;
        };
        let between = told
            .interval_in_words()
            .map_or_else(String::new, |interval| format!("{interval}; "));
        let each = if told.than.is_some() {
            "the shift is half of it, towards the middle, and smaller as far as the sample is small"
        } else {
            "the shift is drawn towards 0 as far as the sample is small"
        };
        let shifted = shifted(grounds.gathered, marker, shift);
        let signed = if shift > 0.0 { "+" } else { "−" };
        let proposal = Proposal {
            id: format!("shift total/{marker} = {}", plain(shift)),
            what: format!(
                "Shift {marker}'s totals by {signed}{}",
                readable(shift.abs())
            ),
            why: format!(
                "{marker} {} ({between}{shared} shared pairs); {each}",
                told.in_words()
            ),
            changes: format!(
                "{} totals, each by the same amount: their order stays, and the marks as entered stay on the ledger. Every pair is on the sheet Shifts.",
                shifted.len()
            ),
            shifted,
        };
        all.push(Of {
            marker: marker.clone(),
            criterion: None,
            proposal,
        });
    }
    all
}

fn shifted(gathered: &Gathered, marker: &str, shift: f64) -> Vec<ShiftedTotal> {
    gathered
        .pairs
        .iter()
        .filter_map(|pair| {
            let mut own = pair.markings.iter().filter(|marking| {
                marking.marker == marker && marking.marking_as == MarkingAs::First
            });
            let before = gathered.value(own.next()?, &Scale::Total)?;
            Some(ShiftedTotal {
                pair: pair.pair.clone(),
                marker: marker.to_owned(),
                before: plain(before),
                after: plain((before + shift).clamp(0.0, gathered.out_of)),
            })
        })
        .collect()
}

/// A marker's criterion in which most shared pairs lie beyond the tolerance.
fn runs(grounds: &Grounds<'_>) -> Vec<Of> {
    let gathered = grounds.gathered;
    let mut all = Vec::new();
    for (criterion, out_of) in &gathered.criteria {
        let scale = Scale::Criterion(criterion.clone());
        let most = grounds.most_apart(*out_of);
        for report in grounds.markers {
            let differences: Vec<f64> = gathered
                .twice(&scale)
                .iter()
                .filter(|one| {
                    one.pair.markings.iter().any(|marking| {
                        marking.marking_as == MarkingAs::First && marking.marker == report.marker
                    })
                })
                .map(MarkedTwice::difference)
                .collect();
            let beyond = differences.iter().filter(|d| d.abs() > most + 1e-9).count();
            if differences.len() < FEW || 2 * beyond <= differences.len() {
                continue;
            }
            let mean = differences.iter().sum::<f64>() / differences.len() as f64;
            let marker = &report.marker;
            let side = if mean < 0.0 { "less" } else { "more" };
            let proposal = Proposal {
                id: proposal_id(criterion, marker),
                what: format!("Have {marker}'s marks for {criterion} marked again"),
                why: format!(
                    "{beyond} of {} marks of shared pairs differ by more than {} from the second marker's; {marker} gave {} {side} on average",
                    differences.len(),
                    amount(most, "mark"),
                    readable(mean.abs())
                ),
                changes: format!(
                    "no mark by itself: {criterion} of all pairs that {marker} marked first waits on the sheet Mark again until it is marked again, or said to stand."
                ),
                shifted: Vec::new(),
            };
            all.push(Of {
                marker: marker.clone(),
                criterion: Some(criterion.clone()),
                proposal,
            });
        }
    }
    all
}

/// Where everything is marked twice: pairs whose totals differ by more than the tolerance.
fn adjudications(grounds: &Grounds<'_>) -> Vec<Proposal> {
    let gathered = grounds.gathered;
    let mut all = Vec::new();
    for (criterion, out_of) in &gathered.criteria {
        let tolerance = out_of * grounds.tolerance / 100.0;
        for one in gathered.twice(&Scale::Criterion(criterion.clone())) {
            if one.difference().abs() <= tolerance + 1e-9 {
                continue;
            }
            let of = match one.student {
                Some(student) => format!("{}/{student}", one.pair.pair),
                None => one.pair.pair.clone(),
            };
            all.push(Proposal {
                id: format!("adjudicate {criterion}/{of}"),
                what: format!("Adjudicate {criterion} of {of}"),
                why: format!(
                    "first {}, second {}: further apart than the tolerance of {} marks",
                    readable(one.first),
                    readable(one.second),
                    readable(tolerance)
                ),
                changes: String::from(
                    "the moderator's mark, entered in out/moderation.xlsx, stands above both",
                ),
                shifted: Vec::new(),
            });
        }
    }
    all
}

/// A marker off by as much as the tolerance would be noticed less than half the time.
fn larger_samples(grounds: &Grounds<'_>) -> Vec<Proposal> {
    let total = grounds.agreements.iter().find(|a| a.scale == Scale::Total);
    let sd = total
        .and_then(|total| total.difference.as_ref().ok())
        .map(|d| d.sd);
    let sd = scatter(grounds.gathered, sd);
    let marks = grounds.gathered.out_of * grounds.tolerance / 100.0;
    let mut all = Vec::new();
    for report in grounds.markers {
        let seen = sd.and_then(|sd| sight(report.shared, sd, marks));
        let why = match seen {
            Some(seen) if seen.chance < 0.5 => seen.in_words(),
            None if report.shared < 2 => format!(
                "{} of this marker's pairs were marked by somebody else too: nothing can be told from that",
                report.shared
            ),
            Some(_) | None => continue,
        };
        if report.marked < FEW || report.shared >= report.marked {
            continue;
        }
        let marker = &report.marker;
        all.push(Proposal {
            id: format!("larger-sample {marker} {}", report.shared),
            what: format!("Have more of {marker}'s pairs marked a second time"),
            why,
            changes: String::from(
                "no mark; raise `sample` or `sample_least` in cohort.toml and run evenhand share again",
            ),
            shifted: Vec::new(),
        });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::gather::{MarkedPair, Marking};
    use super::super::{marker_reports, severities};
    use super::*;

    fn gathered(off: f64, noise: &[f64]) -> Gathered {
        shared(off, noise, &[("Ann", "Ben"), ("Ben", "Ann")])
    }

    /// Pairs marked by first and second markers in turn; Ann is off by so much and by the noise.
    fn shared(off: f64, noise: &[f64], turns: &[(&str, &str)]) -> Gathered {
        let marking = |marker: &str, marking_as, mark: f64| Marking {
            marker: marker.into(),
            marking_as,
            marks: [(String::from("testing"), mark)].into(),
            of_students: std::collections::BTreeMap::new(),
            judged: None,
            order: 0,
        };
        let pairs = noise.iter().zip(0_usize..).map(|(noise, index)| {
            let mark = 40.0 + 4.0 * (index % 12) as f64;
            let (first, second) = turns[index % turns.len()];
            let by = |marker: &str| {
                if marker == "Ann" {
                    mark + off + noise
                } else {
                    mark
                }
            };
            MarkedPair {
                pair: format!("P{index}"),
                evidence: None,
                gain: None,
                markings: vec![
                    marking(first, MarkingAs::First, by(first)),
                    marking(second, MarkingAs::Second, by(second)),
                ],
            }
        });
        Gathered {
            pairs: pairs.collect(),
            criteria: vec![(String::from("testing"), 100.0)],
            judged_out_of: 0.0,
            out_of: 100.0,
        }
    }

    fn proposed(gathered: &Gathered, all_twice: bool) -> Vec<Proposal> {
        let severity = severities(gathered, Scale::Total).ok();
        proposals(&Grounds {
            gathered,
            agreements: &[],
            severity: severity.as_ref(),
            markers: &marker_reports(gathered),
            tolerance: 5.0,
            all_twice,
        })
    }

    const NOISE: [f64; 12] = [
        0.5, -0.5, 1.0, -1.0, 0.0, 0.3, -0.3, 0.8, -0.8, 0.2, -0.2, 0.0,
    ];

    #[test]
    fn a_generous_marker_is_shifted_down_as_a_whole() {
        let all = proposed(&gathered(6.0, &NOISE), false);
        let shift = all
            .iter()
            .find(|p| p.id.starts_with("shift total/Ann = -3"));
        let shift = shift.unwrap_or_else(|| panic!("{all:?}"));
        assert_eq!(shift.shifted.len(), 6);
        assert!(all.iter().all(|p| !p.id.starts_with("adjudicate")));
    }

    #[test]
    fn alike_markers_get_no_proposal() {
        let all = proposed(&gathered(0.0, &NOISE), true);
        assert!(all.is_empty(), "{all:?}");
    }

    #[test]
    fn proposals_that_repair_the_same_fault_name_each_other() {
        let all = proposed(&gathered(8.0, &NOISE), false);
        let of = |id: &str| all.iter().find(|one| one.id.starts_with(id)).unwrap();
        let shift = of("shift total/Ann");
        assert!(shift.why.starts_with("Ann gives 8"), "{}", shift.why);
        assert!(shift.why.contains("more than Ben"), "{}", shift.why);
        assert!(
            shift
                .changes
                .contains("It belongs with “Shift Ben's totals by +"),
            "{}",
            shift.changes
        );
        assert!(
            shift.changes.contains(
                "the same fault as “Have Ann's marks for testing marked again” and “Have Ben's"
            ),
            "{}",
            shift.changes
        );
        let again = of("mark-again testing/Ann");
        assert!(
            again.why.contains("Ann gave 8.03 more on average"),
            "{}",
            again.why
        );
        assert!(
            again
                .changes
                .contains("the same fault as “Have Ben's marks for testing marked again”"),
            "{}",
            again.changes
        );
    }

    #[test]
    fn markers_who_share_no_pair_share_no_fault() {
        let noise = [&NOISE[..], &NOISE[..]].concat();
        let turns = [
            ("Ann", "Ben"),
            ("Ben", "Ann"),
            ("Ann", "Cara"),
            ("Cara", "Ann"),
        ];
        let all = proposed(&shared(9.0, &noise, &turns), false);
        let changes = |id: &str| {
            let one = all.iter().find(|one| one.id.starts_with(id));
            &one.unwrap_or_else(|| panic!("{id}: {all:?}")).changes
        };
        let again = |marker: &str| format!("Have {marker}'s marks for testing marked again");
        let shift = |marker: &str| format!("“Shift {marker}'s totals");
        let of_ben = changes("mark-again testing/Ben");
        assert!(of_ben.contains(&again("Ann")), "{of_ben}");
        assert!(!of_ben.contains("Cara"), "{of_ben}");
        for marker in ["Ann", "Ben"] {
            assert!(of_ben.contains(&shift(marker)), "{of_ben}");
        }
        let of_ann = changes("mark-again testing/Ann");
        assert!(of_ann.contains(&again("Ben")), "{of_ann}");
        assert!(of_ann.contains(&again("Cara")), "{of_ann}");
        let of_ben = changes("shift total/Ben");
        assert!(of_ben.contains(&again("Ann")), "{of_ben}");
        assert!(!of_ben.contains(&again("Cara")), "{of_ben}");
        // Shifts are of one standard, to which markers are linked through others too.
        assert!(of_ben.contains(&shift("Cara")), "{of_ben}");
    }

    #[test]
    fn markers_who_agree_in_what_they_share_share_no_fault() {
        let noise = [&NOISE[..], &NOISE[..]].concat();
        let turns = [
            ("Ann", "Ben"),
            ("Ben", "Ann"),
            ("Ann", "Cara"),
            ("Cara", "Ann"),
            ("Ben", "Cara"),
        ];
        let all = proposed(
            &shared(9.0, &[noise, NOISE.to_vec()].concat(), &turns),
            false,
        );
        let changes = |id: &str| {
            &all.iter()
                .find(|one| one.id.starts_with(id))
                .unwrap()
                .changes
        };
        let of_cara = changes("mark-again testing/Cara");
        assert!(of_cara.contains("Have Ann's marks"), "{of_cara}");
        assert!(!of_cara.contains("Ben"), "{of_cara}");
    }

    #[test]
    fn single_pairs_are_adjudicated_only_where_all_are_marked_twice() {
        let mut noise = NOISE;
        noise[3] = 9.0;
        let all = proposed(&gathered(0.0, &noise), true);
        assert!(
            all.iter().any(|p| p.id == "adjudicate testing/P3"),
            "{all:?}"
        );
        let all = proposed(&gathered(0.0, &noise), false);
        assert!(all.iter().all(|p| p.id != "adjudicate testing/P3"));
    }
}

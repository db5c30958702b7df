//! Which blocks a finding speaks of, by its cells: for drawings that mark it where it belongs.

use std::collections::HashMap;

use super::finding::{Concerned, Finding};
use super::seen::Seen;
use crate::facts::record::MeasureRecord;
use crate::phase::{BlockName, Phase, PhaseKind};
use crate::place::Place;

/// Names the blocks of every finding that doesn't name its own.
pub(super) fn name_blocks(seen: &Seen, found: &mut [Finding]) {
    if found.iter().all(|finding| finding.places.is_empty()) {
        return;
    }
    let blocks = blocks_by_place(seen);
    for finding in found {
        if finding.blocks.is_empty() {
            let named = finding.places.iter().filter_map(|place| blocks.get(place));
            finding.blocks = named.copied().collect();
            finding.blocks.sort_unstable();
            finding.blocks.dedup();
        }
    }
}

/// The block of each cell that belongs to one: scores, and rows of the Sessions table.
fn blocks_by_place<'a>(seen: &Seen<'a>) -> HashMap<&'a Place, Concerned> {
    // A session has up to three cells.
    let cells = seen.logbook.trials.len() + 3 * seen.logbook.sessions.len();
    let mut blocks = HashMap::with_capacity(cells);
    for session in &seen.logbook.sessions {
        if let Some(block) = block(session.phase, session.number) {
            let concerned = Concerned {
                measure: None,
                block,
            };
            blocks.insert(&session.place, concerned);
            for place in [&session.date_place, &session.feedback_place] {
                blocks.extend(place.iter().map(|place| (place, concerned)));
            }
        }
    }
    let sessions = seen
        .record
        .measures
        .iter()
        .flat_map(MeasureRecord::practice);
    let mut practice_numbers: Vec<Option<u32>> = vec![None; seen.logbook.trials.len()];
    for session in sessions {
        for trial in &session.trials {
            let rows = trial.ratings.iter().map(|rating| rating.row);
            for row in rows.chain([trial.row]) {
                if let Some(number) = practice_numbers.get_mut(row) {
                    *number = Some(session.practice_number);
                }
            }
        }
    }
    for (trial, practice_number) in seen.logbook.trials.iter().zip(practice_numbers) {
        let number = practice_number.or(trial.session);
        if let Some(block) = block(trial.phase, number) {
            let concerned = Concerned {
                measure: Some(trial.measure),
                block,
            };
            blocks.insert(&trial.place, concerned);
        }
    }
    blocks
}

fn block(phase: Option<Phase>, session: Option<u32>) -> Option<BlockName> {
    let phase = phase?;
    Some(match (phase.kind, session) {
        (PhaseKind::Familiarisation, _) => return None,
        // The record numbers a session that has no number 0.
        (PhaseKind::Practice, Some(number)) if number > 0 => BlockName::PracticeSession(number),
        _ => BlockName::Phase(phase),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::policy::Policy;
    use crate::checks::sample::Sample;
    use crate::logbook::model::Score;

    fn blocks_of(sample: &Sample, check: &str) -> Vec<Concerned> {
        let findings = sample.run_all(&Policy::default()).found;
        let of_check = findings.into_iter().filter(|found| found.check == check);
        of_check.flat_map(|found| found.blocks).collect()
    }

    #[test]
    fn a_finding_speaks_of_the_blocks_of_its_cells() {
        let mut sample = Sample::sound();
        let mut session = None;
        for trial in sample.trials(Phase::PRACTICE).take(1) {
            trial.score = Score::Number(9.0);
            session = trial.session;
        }
        for trial in sample.trials(Phase::POST).take(1) {
            trial.score = Score::Number(9.0);
        }
        let named: Vec<BlockName> = blocks_of(&sample, "data.out-of-scale")
            .into_iter()
            .map(|concerned| concerned.block)
            .collect();
        let practice = BlockName::PracticeSession(session.unwrap());
        let mut expected = [practice, BlockName::Phase(Phase::POST)];
        expected.sort_unstable();
        let mut named = named;
        named.sort_unstable();
        assert_eq!(named, expected);
    }

    #[test]
    fn a_missing_test_is_the_block_that_is_spoken_of() {
        let mut sample = Sample::sound();
        sample
            .logbook
            .trials
            .retain(|trial| trial.phase != Some(Phase::RETENTION));
        assert_eq!(
            blocks_of(&sample, "testing.no-retention-test"),
            [Concerned {
                measure: Some(0),
                block: BlockName::Phase(Phase::RETENTION)
            }]
        );
    }
}

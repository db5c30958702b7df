//! The right computation of something else.

use super::slip::{Particular, Slip, Telling, Variations, Which};
use crate::claims::computation::{
    Also, Computation, Formula, Keep, Selection, Sides, Source, small,
};
use crate::claims::definition;
use crate::phase::{BlockName, Phase, PhaseKind};

fn with_block(
    v: &mut Variations<'_, '_>,
    which: Which,
    block: Source,
    of: Particular,
    weight: f64,
) {
    v.one_selection(which, of, weight, |selection| Selection {
        block,
        ..selection
    });
}

/// Whether nothing has been changed about which trials count.
fn is_whole(selection: Selection) -> bool {
    selection.keep == Keep::All && selection.also == Also::Nothing
}

pub(super) static OTHER_PHASE: Slip = Slip {
    code: "other-phase",
    convention: false,
    title: "Another phase's number",
    explanation: "The number is that of another phase.",
    matters: "It speaks of another time in the programme than the report says.",
    remedy: "Check which phase the number belongs to.",
    vary: |v| {
        if matches!(v.from.formula, Formula::Line(..)) {
            return;
        }
        let measure = v.measure();
        let phases: Vec<Phase> = v.material().phases_with_scores(measure).collect();
        for which in v.used().iter().copied() {
            let selection = v.selection(which);
            if !is_whole(selection) {
                continue;
            }
            let own = match selection.block {
                Source::Named(BlockName::Phase(phase)) => Some(phase),
                Source::Named(BlockName::PracticeSession(_)) => Some(Phase::PRACTICE),
                _ => None,
            };
            for phase in &phases {
                // The other block of a comparison would be compared with itself.
                let taken = v.used().iter().any(|other| {
                    *other != which
                        && v.selection(*other).block == Source::Named(BlockName::Phase(*phase))
                });
                if Some(*phase) == own || taken {
                    continue;
                }
                let block = BlockName::Phase(*phase);
                let practice = phase.kind == PhaseKind::Practice;
                let weight = if practice && v.from.formula.sides() != Sides::One {
                    0.5
                } else {
                    1.0
                };
                with_block(
                    v,
                    which,
                    Source::Named(block),
                    Particular::Block(block),
                    weight,
                );
            }
        }
        both_others(v, &phases);
    },
    when: is_taken,
};

/// Which block is taken, and for which of several.
fn is_taken(t: &Telling<'_>) -> String {
    let instead = match t.detail.side {
        Some(Which::Earlier) => " for the earlier block",
        Some(Which::Later) => " for the later block",
        Some(Which::Between) => " for the post-test",
        None => "",
    };
    format!("{} is taken{instead}", t.block())
}

/// Another comparison altogether.
fn both_others(v: &mut Variations<'_, '_>, phases: &[Phase]) {
    if v.from.formula.sides() != Sides::Two || v.is_costly() {
        return;
    }
    let from = v.from;
    let own_earlier = v.selection(Which::Earlier).block;
    let own_later = v.selection(Which::Later).block;
    for earlier in phases {
        for later in phases {
            let (earlier, later) = (BlockName::Phase(*earlier), BlockName::Phase(*later));
            let (a, b) = (Source::Named(earlier), Source::Named(later));
            if earlier < later && a != own_earlier && b != own_later {
                let other = Computation {
                    earlier: v.with_selection(from.earlier, |s| Selection { block: a, ..s }),
                    later: v.with_selection(from.later, |s| Selection { block: b, ..s }),
                    ..from
                };
                v.push_as(other, Particular::Words("another comparison"), 0.15);
            }
        }
    }
}

pub(super) static OTHER_MEASURE: Slip = Slip {
    code: "other-measure",
    convention: false,
    title: "Another measure's number",
    explanation: "The number is the same statistic of another measure.",
    matters: "It speaks of another aspect of the performance than the report says.",
    remedy: "Check which measure the number belongs to.",
    vary: |v| {
        let from = v.from;
        let (later, earlier) = (v.selection(Which::Later), v.selection(Which::Earlier));
        let measures = v.material().logbook.measures.len();
        for measure in (0..measures).filter(|measure| *measure != later.measure) {
            let Some(scale) = v.material().scale(measure) else {
                continue;
            };
            let Ok(defined) =
                definition::of_statistic(v.statistic, measure, later.block, earlier.block, scale)
            else {
                continue;
            };
            let other = Computation {
                ending: from.ending,
                early: from.early,
                spread: from.spread,
                ..v.evaluator.gathered(defined)
            };
            v.push_as(other, Particular::Measure(measure), 1.0);
        }
    },
    when: |t| format!("{} is taken", t.measure()),
};

pub(super) static OTHER_SESSION: Slip = Slip {
    code: "other-session",
    convention: false,
    title: "Another session's number",
    explanation: "The number is that of another session, or of one session alone.",
    matters: "It speaks of another day than the report says.",
    remedy: "Check which session the number belongs to.",
    vary: |v| {
        if !v.is_of_blocks() {
            return;
        }
        let measure = v.measure();
        for which in v.used().iter().copied() {
            let selection = v.selection(which);
            if !is_whole(selection) {
                continue;
            }
            let Source::Named(own) = selection.block else {
                continue;
            };
            let phase = match own {
                BlockName::Phase(phase) => phase,
                BlockName::PracticeSession(_) => Phase::PRACTICE,
            };
            let sessions: Vec<(usize, Option<u32>)> = v
                .material()
                .sessions(measure, BlockName::Phase(phase))
                .filter(|(_, session)| session.has_scores())
                .map(|(place, session)| (place, session.number))
                .collect();
            if let BlockName::PracticeSession(_) = own {
                let all = BlockName::Phase(Phase::PRACTICE);
                with_block(v, which, Source::Named(all), Particular::Block(all), 0.7);
            } else if sessions.len() < 2 {
                continue;
            }
            for (place, number) in sessions {
                let is_own = matches!((own, number), (BlockName::PracticeSession(own), Some(number)) if own == number);
                if !is_own {
                    let source = Source::SessionOf(phase, small(place));
                    let of = Particular::Session(phase, place, number);
                    with_block(v, which, source, of, 1.0);
                }
            }
        }
    },
    when: is_taken,
};

//! What a slip is, and how it varies a computation.

use std::sync::Arc;

use crate::claims::computation::{
    Computation, Ending, Formula, Report, Selection, Side, Sides, Source, Transform, Trials,
};
use crate::claims::evaluate::Evaluator;
use crate::claims::material::{Material, Scale};
use crate::claims::verdict::with_article;
use crate::number::{Stated, readable};
use crate::phase::{BlockName, Phase};
use crate::statistic::Statistic;

/// A slip: what it does to a computation, and what is said about it. One entry, one place.
#[derive(Debug)]
pub struct Slip {
    /// Its code, for ever: rubrics, claims.csv and scripts name it.
    pub code: &'static str,
    /// A convention or a matter of rounding, to be named rather than put right.
    pub convention: bool,
    /// What it is, in a few words.
    pub title: &'static str,
    /// How the number comes about.
    pub explanation: &'static str,
    /// Why it matters.
    pub matters: &'static str,
    /// What the pair can do.
    pub remedy: &'static str,
    /// The ways in which it changes a computation: none where it makes no sense.
    pub(in crate::claims) vary: fn(&mut Variations<'_, '_>),
    /// The clause that follows "is what comes out when".
    pub(in crate::claims) when: fn(&Telling<'_>) -> String,
}

impl Slip {
    /// Whether the right number was copied wrongly, so that any number near it can come of it.
    pub(in crate::claims) fn is_of_copying(&self) -> bool {
        matches!(
            self.code,
            "digits-swapped" | "decimal-misplaced" | "copied-wrong-digit"
        )
    }
}

/// A computation with a slip in it.
#[derive(Debug, Clone, Copy)]
pub struct Variant {
    /// What is computed.
    pub computation: Computation,
    /// Which of the slip's ways it is.
    pub detail: Detail,
    /// How usual this way is among the slip's ways: 1 for the usual ones.
    pub weight: f64,
}

/// Which of a slip's ways a variant is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Detail {
    /// What is particular to it.
    pub of: Particular,
    /// In which block alone; none where in all.
    pub side: Option<Which>,
}

/// What is particular to one of a slip's ways.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Particular {
    /// Nothing.
    #[default]
    Nothing,
    /// How many.
    Count(usize),
    /// Another block.
    Block(BlockName),
    /// A session of a phase, by place and number.
    Session(Phase, usize, Option<u32>),
    /// Another measure.
    Measure(usize),
    /// A rater.
    Rater(usize),
    /// A number.
    Number(f64),
    /// So many decimals.
    Decimals(u8),
    /// Places by which the point moved.
    Places(i8),
    /// In words.
    Words(&'static str),
}

/// One of the blocks of a computation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// The later or only one.
    Later,
    /// The earlier one.
    Earlier,
    /// The one between.
    Between,
}

impl Which {
    /// This block of a computation.
    fn block_of(self, computation: &mut Computation) -> &mut Side {
        match self {
            Self::Later => &mut computation.later,
            Self::Earlier => &mut computation.earlier,
            Self::Between => &mut computation.between,
        }
    }
}

/// What a variant is told with.
pub struct Telling<'a> {
    /// What the numbers are, for names.
    pub evaluator: &'a Evaluator<'a>,
    /// The definition.
    pub computation: &'a Computation,
    /// What is computed instead.
    pub changed: &'a Computation,
    /// Which of the slip's ways.
    pub detail: Detail,
}

/// A computation to be varied, what is known of the claim, and the variants so far.
pub struct Variations<'a, 'm> {
    /// The computation that is varied.
    pub from: Computation,
    /// The statistic that the claim names.
    pub statistic: Statistic,
    /// The number that it states.
    pub stated: Stated,
    /// Index of the claim.
    pub claim: u32,
    /// Ways less usual than this are left out.
    pub least: f64,
    /// For what a variant has to know of the numbers.
    pub evaluator: &'a mut Evaluator<'m>,
    /// The variants.
    pub found: Vec<Variant>,
}

/// How usual it is that a slip happens in one block of a comparison alone.
const ONE_SIDE: f64 = 0.3;

impl<'m> Variations<'_, 'm> {
    /// The numbers there are.
    pub fn material(&self) -> &'m Material<'m> {
        self.evaluator.material()
    }

    /// The measure that the computation is of.
    pub fn measure(&self) -> usize {
        self.selection(Which::Later).measure
    }

    /// What is taken of each score.
    pub fn taken(&self) -> Transform {
        self.selection(Which::Later).of
    }

    /// Which numbers a block of the computation counts.
    pub fn selection(&self, which: Which) -> Selection {
        self.evaluator.selection(self.side(which).trials)
    }

    /// A side with something else taken of each score.
    pub fn taking(&mut self, side: Side, of: Transform) -> Side {
        self.with_selection(side, |selection| selection.taking(of))
    }

    /// A side with other numbers counted.
    pub fn with_selection(
        &mut self,
        side: Side,
        change: impl FnOnce(Selection) -> Selection,
    ) -> Side {
        Side {
            trials: self.evaluator.gatherer.changed(side.trials, change),
            ..side
        }
    }

    /// The measure's scale.
    pub fn scale(&self) -> Option<&'m Scale> {
        self.material().scale(self.measure())
    }

    /// The usual way.
    pub fn push(&mut self, computation: Computation) {
        self.push_as(computation, Particular::Nothing, 1.0);
    }

    /// A way with something particular to it.
    pub fn push_as(&mut self, computation: Computation, of: Particular, weight: f64) {
        self.push_on(computation, of, None, weight);
    }

    /// A way in one block alone.
    pub fn push_on(
        &mut self,
        computation: Computation,
        of: Particular,
        side: Option<Which>,
        weight: f64,
    ) {
        if weight >= self.least && !self.is_no_change(&computation) {
            self.found.push(Variant {
                computation,
                detail: Detail { of, side },
                weight,
            });
        }
    }

    /// Whether everything that enters stays what it is: other trials may come to the same numbers where there is nothing to leave out or add.
    fn is_no_change(&self, to: &Computation) -> bool {
        let from = &self.from;
        let are_same = |a: Trials, b: Trials| {
            let numbers = &self.evaluator.gatherer;
            a == b || from.formula.is_of_the_sides_alone() && numbers.are_same_numbers(a, b)
        };
        are_same(to.later.trials, from.later.trials)
            && are_same(to.earlier.trials, from.earlier.trials)
            && are_same(to.between.trials, from.between.trials)
            && to.is_same_but_for_trials(from)
    }

    /// The formula changed.
    pub fn formula(&mut self, formula: Formula) {
        self.push(Computation {
            formula,
            ..self.from
        });
    }

    /// The ending changed.
    pub fn ending(&mut self, ending: Ending, of: Particular, weight: f64) {
        self.push_as(
            Computation {
                ending,
                ..self.from
            },
            of,
            weight,
        );
    }

    /// The blocks changed: all alike, and each alone.
    pub fn sides(&mut self, of: Particular, weight: f64, change: impl Fn(Side) -> Side) {
        self.all_and_each(of, weight, |_, side| change(side));
    }

    /// The blocks changed, with what the change has to know or to gather.
    pub fn all_and_each(
        &mut self,
        of: Particular,
        weight: f64,
        change: impl Fn(&mut Self, Side) -> Side,
    ) {
        let used = self.used();
        let mut all = self.from;
        for which in used {
            *which.block_of(&mut all) = change(self, self.side(*which));
        }
        self.push_as(all, of, weight);
        if used.len() > 1 {
            for which in used {
                let mut alone = self.from;
                *which.block_of(&mut alone) = *which.block_of(&mut all);
                self.push_on(alone, of, Some(*which), weight * ONE_SIDE);
            }
        }
    }

    /// One block changed.
    pub fn one_side(&mut self, which: Which, of: Particular, weight: f64, side: Side) {
        let mut computation = self.from;
        *which.block_of(&mut computation) = side;
        let only = (self.from.formula.sides() > Sides::One).then_some(which);
        self.push_on(computation, of, only, weight);
    }

    /// The numbers changed that one block counts.
    pub fn one_selection(
        &mut self,
        which: Which,
        of: Particular,
        weight: f64,
        change: impl FnOnce(Selection) -> Selection,
    ) {
        let side = self.with_selection(self.side(which), change);
        self.one_side(which, of, weight, side);
    }

    /// The blocks that the formula uses.
    pub fn used(&self) -> &'static [Which] {
        match self.from.formula.sides() {
            Sides::One => &[Which::Later],
            Sides::Two => &[Which::Later, Which::Earlier],
            Sides::Three => &[Which::Later, Which::Earlier, Which::Between],
        }
    }

    /// A block of the computation.
    pub fn side(&self, which: Which) -> Side {
        match which {
            Which::Later => self.from.later,
            Which::Earlier => self.from.earlier,
            Which::Between => self.from.between,
        }
    }

    /// The selections changed: all alike, and each alone.
    pub fn selections(
        &mut self,
        of: Particular,
        weight: f64,
        change: impl Fn(Selection) -> Selection,
    ) {
        self.all_and_each(of, weight, |v, side| v.with_selection(side, &change));
    }

    /// How many numbers the largest of the blocks has.
    pub fn most(&self) -> usize {
        self.used()
            .iter()
            .map(|which| {
                let trials = self.side(*which).trials;
                self.evaluator.numbers(trials).values.len()
            })
            .max()
            .unwrap_or(0)
    }

    /// How many numbers the longest list has of which a part may be taken: a line takes its part of each session.
    pub fn most_of_one_list(&self) -> usize {
        if !matches!(self.from.formula, Formula::Line(..)) {
            return self.most();
        }
        self.material()
            .measures
            .get(self.measure())
            .into_iter()
            .flat_map(|measure| &measure.phases)
            .flat_map(|phase| &phase.sessions)
            .map(|session| session.trials.len())
            .max()
            .unwrap_or(0)
    }

    /// Whether single trials enter as trials, so that leaving some out or taking more in gives another number.
    pub fn is_of_trials(&self) -> bool {
        !matches!(self.from.formula, Formula::Agreement(_))
    }

    /// Whether an exact p over all arrangements is asked for: worked out only where a slip is a usual one there.
    pub fn is_costly(&self) -> bool {
        matches!(
            self.from.formula,
            Formula::MannWhitney(Report::P(_)) | Formula::Wilcoxon(Report::P(_))
        )
    }

    /// The same for blocks that can be joined with others.
    pub fn is_of_blocks(&self) -> bool {
        !matches!(self.from.formula, Formula::Agreement(_) | Formula::Line(..))
    }
}

impl Telling<'_> {
    /// Which numbers the claim's own block, or its later one, counts.
    pub fn selection(&self) -> Selection {
        self.evaluator.selection(self.computation.later.trials)
    }

    /// How many.
    pub fn count(&self) -> usize {
        match self.detail.of {
            Particular::Count(count) => count,
            _ => 1,
        }
    }

    /// `trial` or `3 trials`, after an adjective of its own: `first trial`, `first 3 trials`.
    pub fn trials(&self, adjective: &str) -> String {
        match self.count() {
            1 => format!("{adjective} trial"),
            k => format!("{adjective} {k} trials"),
        }
    }

    /// The block that takes the place of another, or is put with it.
    pub fn block(&self) -> String {
        match self.detail.of {
            Particular::Block(block) => with_article(block),
            Particular::Session(phase, place, number) => match number {
                Some(number) if phase == Phase::PRACTICE => format!("practice session {number}"),
                _ => format!(
                    "session {} of {}",
                    place + 1,
                    with_article(BlockName::Phase(phase))
                ),
            },
            _ => String::from("another block"),
        }
    }

    /// Another measure's name.
    pub fn measure(&self) -> String {
        let name = match self.detail.of {
            Particular::Measure(measure) => self.evaluator.material().logbook.measures.get(measure),
            _ => None,
        };
        name.map_or_else(
            || String::from("another measure"),
            |measure| format!("the measure {}", measure.name),
        )
    }

    /// A rater's name.
    pub fn rater(&self) -> String {
        let rater: Option<&Arc<str>> = match self.detail.of {
            Particular::Rater(rater) => self
                .evaluator
                .material()
                .measures
                .get(self.selection().measure)
                .and_then(|measure| measure.raters.get(rater))
                .and_then(Option::as_ref),
            _ => None,
        };
        rater.map_or_else(
            || String::from("the unnamed rater"),
            |name| format!("rater {name}"),
        )
    }

    /// A number.
    pub fn number(&self) -> String {
        match self.detail.of {
            Particular::Number(number) => readable(number),
            Particular::Count(count) => count.to_string(),
            Particular::Decimals(decimals) => decimals.to_string(),
            Particular::Places(places) => places.unsigned_abs().to_string(),
            _ => String::new(),
        }
    }

    /// What it says in words of its own.
    pub fn words(&self, otherwise: &'static str) -> &'static str {
        match self.detail.of {
            Particular::Words(words) => words,
            _ => otherwise,
        }
    }

    /// In which block alone: ` in the post-test alone`, or nothing.
    pub fn where_alone(&self) -> String {
        let side = match self.detail.side {
            None => return String::new(),
            Some(Which::Later) => self.computation.later,
            Some(Which::Earlier) => self.computation.earlier,
            Some(Which::Between) => self.computation.between,
        };
        match self.evaluator.selection(side.trials).block {
            Source::Named(block) => {
                format!(" in {} alone", with_article(block))
            }
            _ => String::from(" in one of the blocks alone"),
        }
    }
}

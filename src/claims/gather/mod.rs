//! Gathers the numbers of a selection, each selection once.

mod collector;
mod gathered;
mod keep;
mod key;
mod part;

use std::rc::Rc;

use self::collector::{Item, collect, keep};
pub use self::gathered::{Gathered, Origin};
use self::key::QuickMap;
use crate::claims::computation::{Add, Keep, Ratings, Selection, Source, Transform, Trials};
use crate::claims::material::{Material, Scale};
use crate::claims::verdict::NoValue;
use crate::logbook::model::Better;
use crate::phase::BlockName;

/// Gathers selections, and keeps what was gathered: whatever is worked out goes by the places of selections in the list of them.
#[derive(Debug)]
pub struct Gatherer<'a> {
    /// The numbers there are.
    pub material: &'a Material<'a>,
    /// The place of each selection in the list.
    places: QuickMap<Selection, Trials>,
    known: Vec<Known>,
    /// Different lists of numbers: a selection that leaves out nothing has those of the whole block.
    gathered: Vec<Gathered>,
    none: Known,
    nothing: Gathered,
}

/// A selection that was gathered.
#[derive(Debug, Clone)]
struct Known {
    selection: Selection,
    /// The place of its numbers.
    numbers: usize,
    /// Where it keeps all numbers, they with what decides which of them another one keeps.
    items: Rc<Vec<Item>>,
}

impl<'a> Gatherer<'a> {
    /// Nothing gathered yet.
    pub fn new(material: &'a Material<'a>) -> Self {
        Self {
            material,
            places: QuickMap::default(),
            known: Vec::new(),
            gathered: Vec::new(),
            none: Known {
                selection: Selection::of(usize::MAX, Source::AllTests),
                numbers: usize::MAX,
                items: Rc::default(),
            },
            nothing: Gathered::default(),
        }
    }

    /// Makes room for the selections that a search comes to.
    pub fn make_room(&mut self) {
        const SELECTIONS: usize = 1000;
        self.places.reserve(SELECTIONS);
        self.known.reserve(SELECTIONS);
        self.gathered.reserve(SELECTIONS);
    }

    /// Gathers a selection's numbers, where they are not gathered yet.
    pub fn gather(&mut self, selection: Selection) -> Trials {
        if let Some(trials) = self.places.get(&selection) {
            return *trials;
        }
        let known = if selection.keep == Keep::All {
            self.whole(selection)
        } else {
            self.some(selection)
        };
        self.known.push(known);
        // Fewer than four thousand million selections fit into memory.
        let trials = Trials(u32::try_from(self.known.len() - 1).unwrap_or(u32::MAX));
        self.places.insert(selection, trials);
        trials
    }

    /// The trials that another selection takes of the same record.
    pub fn changed(
        &mut self,
        trials: Trials,
        change: impl FnOnce(Selection) -> Selection,
    ) -> Trials {
        self.gather(change(self.selection(trials)))
    }

    /// Which numbers they are.
    pub fn selection(&self, trials: Trials) -> Selection {
        self.known(trials).selection
    }

    /// Their numbers.
    pub fn numbers(&self, trials: Trials) -> &Gathered {
        self.gathered
            .get(self.known(trials).numbers)
            .unwrap_or(&self.nothing)
    }

    /// Whether two selections of the same block come to the very same numbers, one of them leaving out or adding nothing.
    pub fn are_same_numbers(&self, a: Trials, b: Trials) -> bool {
        self.known(a).numbers == self.known(b).numbers
    }

    fn known(&self, trials: Trials) -> &Known {
        // A place is only ever made by `gather`.
        self.known.get(trials.0 as usize).unwrap_or(&self.none)
    }

    /// A selection that keeps all numbers.
    fn whole(&mut self, selection: Selection) -> Known {
        let simplest = self.simplest(selection);
        if simplest != selection {
            let same = self.gather(simplest);
            return Known {
                selection,
                ..self.known(same).clone()
            };
        }
        let items = Rc::new(collect(self.material, selection));
        if selection.add != Add::Nothing {
            let own = self.gather(Selection {
                add: Add::Nothing,
                ..selection
            });
            let own = self.known(own);
            // What is added comes beside the block's own: as many are the same ones.
            if own.items.len() == items.len() {
                return Known {
                    selection,
                    ..own.clone()
                };
            }
        }
        Known {
            selection,
            numbers: self.add(Gathered::of(&items)),
            items,
        }
    }

    /// The selection without what makes no difference in its measure.
    fn simplest(&self, selection: Selection) -> Selection {
        let Some(measure) = self.material.measures.get(selection.measure) else {
            return selection;
        };
        let one_rater = measure.raters.len() <= 1;
        Selection {
            add: if measure.has_none_of(selection.add) {
                Add::Nothing
            } else {
                selection.add
            },
            ratings: if one_rater && selection.ratings == Ratings::Pooled {
                Ratings::Averaged
            } else {
                selection.ratings
            },
            ..selection
        }
    }

    /// A selection that keeps some of the numbers only: gathered once, they are not gathered again.
    fn some(&mut self, selection: Selection) -> Known {
        let whole = self.gather(Selection {
            keep: Keep::All,
            ..selection
        });
        let whole = self.known(whole);
        let all = self.gathered.get(whole.numbers).unwrap_or(&self.nothing);
        let n = all.values.len();
        let run = match selection.keep {
            Keep::First(k) => Some(0..usize::from(k).min(n)),
            Keep::Last(k) => Some(n.saturating_sub(usize::from(k))..n),
            Keep::WithoutFirst(k) => Some(usize::from(k).min(n)..n),
            Keep::WithoutLast(k) => Some(0..n.saturating_sub(usize::from(k))),
            _ => None,
        };
        let kept = match run {
            Some(run) if run.len() < n => Some(all.part(run)),
            Some(_) => None,
            None => {
                let kept = keep(self.material, selection, &whole.items);
                (kept.len() < n).then(|| Gathered::of(&kept))
            }
        };
        let numbers = whole.numbers;
        Known {
            selection,
            numbers: kept.map_or(numbers, |kept| self.add(kept)),
            items: Rc::clone(&self.none.items),
        }
    }

    fn add(&mut self, gathered: Gathered) -> usize {
        self.gathered.push(gathered);
        self.gathered.len() - 1
    }
}

/// Why a selection has no numbers at all.
pub fn why_empty(material: &Material<'_>, selection: Selection) -> NoValue {
    let landing = matches!(
        selection.of,
        Transform::Radial | Transform::X | Transform::Y | Transform::SizeOfX | Transform::SizeOfY
    );
    let recorded = selection.taking(Transform::AsRecorded);
    if landing && !collect(material, recorded).is_empty() {
        return NoValue::NoLandingPoints;
    }
    match selection.block {
        Source::Named(block) => NoValue::NoScores(block),
        Source::SessionOf(phase, _) => NoValue::NoScores(BlockName::Phase(phase)),
        Source::AllTests => NoValue::NoTests,
    }
}

/// How good a number is: the higher, the better.
pub fn goodness(value: f64, of: Transform, scale: &Scale) -> f64 {
    match of {
        Transform::AsRecorded => match scale.better {
            Better::Higher => value,
            Better::Lower => -value,
            Better::Target => -(value - scale.target.unwrap_or(0.0)).abs(),
        },
        Transform::Success | Transform::SuccessReversed => value,
        _ => -value.abs(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::claims::testing::{Made, block};
    use crate::facts::Record;

    #[test]
    fn what_leaves_out_or_adds_nothing_comes_to_the_same_numbers() {
        let made = Made::ratings().trials("post", 5, &[3.0, 4.0, 2.0, 4.0]);
        let record = Record::new(&made.logbook);
        let material = Material::new(&made.logbook, &record);
        let mut gatherer = Gatherer::new(&material);
        let whole = Selection::of(0, Source::Named(block("post")));
        let keeping = |keep| Selection { keep, ..whole };
        let adding = |add| Selection { add, ..whole };
        let pooled = Selection {
            ratings: Ratings::Pooled,
            ..whole
        };
        let all = gatherer.gather(whole);
        for (selection, same) in [
            (keeping(Keep::WithoutZeros), true),
            (keeping(Keep::First(4)), true),
            (adding(Add::BlanksAsZeros), true),
            (pooled, true),
            (keeping(Keep::First(3)), false),
            (keeping(Keep::WithoutWorst(1)), false),
            (adding(Add::Total), false),
        ] {
            let other = gatherer.gather(selection);
            assert_ne!(other, all);
            assert_eq!(gatherer.are_same_numbers(other, all), same, "{selection:?}");
        }
        let last = gatherer.changed(all, |whole| Selection {
            keep: Keep::Last(2),
            ..whole
        });
        assert_eq!(*gatherer.numbers(last).values, [2.0, 4.0]);
        assert_eq!(gatherer.numbers(last).median(), Ok(3.0));
    }
}

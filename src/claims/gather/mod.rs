//! Gathers the numbers of a selection, each selection once.

mod collector;
mod keep;
mod key;
mod part;

use std::ops::Range;
use std::rc::Rc;

use self::collector::{Item, collect, keep};
use self::key::QuickMap;
use self::part::Part;
use crate::claims::computation::{Keep, Selection, Source, Transform};
use crate::claims::material::{Material, Scale};
use crate::claims::verdict::NoValue;
use crate::logbook::model::Better;
use crate::phase::BlockName;
use crate::stats::Undefined;
use crate::stats::moments::Moments;

/// The numbers of a selection with where they come from.
#[derive(Debug, Clone, Default)]
pub struct Gathered {
    /// The numbers.
    pub values: Part<f64>,
    /// Where each comes from.
    pub from: Part<Origin>,
    /// Count, mean and squared deviations; why there are none.
    pub moments: Option<Moments>,
    /// How many sessions they come from.
    pub sessions: usize,
}

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Origin {
    /// Which session, counted over all phases: for telling sessions apart.
    pub session: usize,
    /// The trial's number.
    pub number: u32,
    /// The rater, where every rating is a number of its own.
    pub rater: usize,
    /// The row in the logbook's trials; none for what is no trial.
    pub row: Option<usize>,
}

/// Gathers selections, and keeps what was gathered.
#[derive(Debug)]
pub struct Gatherer<'a> {
    /// The numbers there are.
    pub material: &'a Material<'a>,
    kept: QuickMap<Selection, usize>,
    gathered: Vec<Gathered>,
    /// The numbers of each selection of which all are kept, with what decides which of them stay.
    whole: QuickMap<Selection, Rc<[Item]>>,
    nothing: Gathered,
}

impl<'a> Gatherer<'a> {
    /// Nothing gathered yet.
    pub fn new(material: &'a Material<'a>) -> Self {
        Self {
            material,
            kept: QuickMap::default(),
            gathered: Vec::new(),
            whole: QuickMap::default(),
            nothing: Gathered::default(),
        }
    }

    /// The place of a selection's numbers, for [`Gatherer::at`].
    pub fn place(&mut self, selection: Selection) -> usize {
        if let Some(place) = self.kept.get(&selection) {
            return *place;
        }
        let place = if selection.keep == Keep::All {
            let items: Rc<[Item]> = collect(self.material, selection).into();
            let place = self.add(Gathered::of(&items));
            self.whole.insert(selection, items);
            place
        } else {
            self.place_of_some(selection)
        };
        self.kept.insert(selection, place);
        place
    }

    /// The place of a selection that keeps some of the numbers only: gathered once, they are not gathered again.
    fn place_of_some(&mut self, selection: Selection) -> usize {
        let whole = Selection {
            keep: Keep::All,
            ..selection
        };
        let place = self.place(whole);
        let all = self.at(place);
        let n = all.values.len();
        let run = match selection.keep {
            Keep::First(k) => Some(0..usize::from(k).min(n)),
            Keep::Last(k) => Some(n.saturating_sub(usize::from(k))..n),
            Keep::WithoutFirst(k) => Some(usize::from(k).min(n)..n),
            Keep::WithoutLast(k) => Some(0..n.saturating_sub(usize::from(k))),
            _ => None,
        };
        if let Some(run) = run {
            if run.len() == n {
                return place;
            }
            let part = all.part(run);
            return self.add(part);
        }
        let Some(items) = self.whole.get(&whole) else {
            return place;
        };
        let kept = keep(self.material, selection, items);
        if kept.len() == n {
            return place;
        }
        self.add(Gathered::of(&kept))
    }

    fn add(&mut self, gathered: Gathered) -> usize {
        self.gathered.push(gathered);
        self.gathered.len() - 1
    }

    /// What was gathered at a place.
    pub fn at(&self, place: usize) -> &Gathered {
        // A place is only ever made by `place`.
        self.gathered.get(place).unwrap_or(&self.nothing)
    }

    /// A selection's numbers.
    pub fn numbers(&mut self, selection: Selection) -> &Gathered {
        let place = self.place(selection);
        self.at(place)
    }
}

impl Gathered {
    fn of(items: &[Item]) -> Self {
        Self::from_parts(
            items.iter().map(|item| item.value).collect(),
            items.iter().map(|item| item.from).collect(),
        )
    }

    fn part(&self, run: Range<usize>) -> Self {
        Self::from_parts(self.values.part(run.clone()), self.from.part(run))
    }

    fn from_parts(values: Part<f64>, from: Part<Origin>) -> Self {
        let mut sessions: Vec<usize> = Vec::new();
        for origin in from.iter().filter(|origin| origin.row.is_some()) {
            // Trials come session by session.
            if sessions.last() != Some(&origin.session) && !sessions.contains(&origin.session) {
                sessions.push(origin.session);
            }
        }
        Self {
            moments: Moments::of(&values).ok(),
            values,
            from,
            sessions: sessions.len(),
        }
    }

    /// Count, mean and squared deviations.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] where there are no numbers.
    pub fn moments(&self) -> Result<Moments, Undefined> {
        self.moments.ok_or(Undefined::TooFew {
            needed: 1,
            given: self.values.len(),
        })
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

//! Gathers the numbers of a selection, each selection once.

mod collector;
mod keep;
mod key;

use self::collector::gather;
use self::key::QuickMap;
use crate::claims::computation::{Selection, Source, Transform};
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
    pub values: Vec<f64>,
    /// Where each comes from.
    pub from: Vec<Origin>,
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
}

impl<'a> Gatherer<'a> {
    /// Nothing gathered yet.
    pub fn new(material: &'a Material<'a>) -> Self {
        Self {
            material,
            kept: QuickMap::default(),
            gathered: Vec::new(),
        }
    }

    /// The place of a selection's numbers, for [`Gatherer::at`].
    pub fn place(&mut self, selection: Selection) -> usize {
        if let Some(place) = self.kept.get(&selection) {
            return *place;
        }
        let gathered = gather(self.material, selection);
        let place = self.gathered.len();
        self.gathered.push(gathered);
        self.kept.insert(selection, place);
        place
    }

    /// What was gathered at a place.
    pub fn at(&self, place: usize) -> &Gathered {
        // A place is only ever made by `place`.
        self.gathered.get(place).unwrap_or(&NOTHING)
    }

    /// A selection's numbers.
    pub fn numbers(&mut self, selection: Selection) -> &Gathered {
        let place = self.place(selection);
        self.at(place)
    }
}

static NOTHING: Gathered = Gathered {
    values: Vec::new(),
    from: Vec::new(),
    moments: None,
    sessions: 0,
};

impl Gathered {
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
    if landing && !gather(material, recorded).values.is_empty() {
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

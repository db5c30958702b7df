//! What changed since the markers were last compared: the figures of a comparison go on the ledger, and the next is held against them.

use std::collections::BTreeMap;

use super::agreement::Agreement;
use super::gather::{Gathered, Scale};
use super::markers::Severity;
use crate::ledger::{Entry, Role, Subject};
use crate::number::plain;
use crate::stats::Undefined;

/// One figure of a comparison.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Figure {
    /// Pairs with every mark from somebody.
    Marked,
    /// Pairs marked twice on a scale.
    Twice(String),
    /// Mean difference on a scale, first less second, in marks.
    Difference(String),
    /// Pairs within tolerance on a scale.
    Within(String),
    /// A marker's severity on a scale, in marks: scale and marker.
    Severity(String, String),
}

impl Figure {
    fn text(&self) -> String {
        match self {
            Self::Marked => String::from("marked"),
            Self::Twice(scale) => format!("twice {scale}"),
            Self::Difference(scale) => format!("difference {scale}"),
            Self::Within(scale) => format!("within {scale}"),
            Self::Severity(scale, marker) => format!("severity {scale}/{marker}"),
        }
    }

    fn from_text(text: &str) -> Option<Self> {
        let (word, of) = text.split_once(' ').unwrap_or((text, ""));
        Some(match word {
            "marked" => Self::Marked,
            "twice" => Self::Twice(of.to_owned()),
            "difference" => Self::Difference(of.to_owned()),
            "within" => Self::Within(of.to_owned()),
            "severity" => {
                let (scale, marker) = of.split_once('/')?;
                Self::Severity(scale.to_owned(), marker.to_owned())
            }
            _ => return None,
        })
    }
}

/// The figures of one comparison.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Figures(BTreeMap<Figure, f64>);

/// Decimals that figures keep on the ledger: finer differences are nobody's.
const DECIMALS: f64 = 1e4;

/// The scale in a figure.
fn name(scale: &Scale) -> Option<&'static str> {
    match scale {
        Scale::Judged => Some("judged"),
        Scale::Total => Some("total"),
        Scale::Criterion(_) => None,
    }
}

impl Figures {
    /// Of a comparison.
    pub fn of(
        gathered: &Gathered,
        agreements: &[Agreement],
        severities: &[(Scale, Result<Severity, Undefined>)],
    ) -> Self {
        let mut figures = BTreeMap::new();
        let mut put = |figure: Figure, value: f64| {
            figures.insert(figure, (value * DECIMALS).round() / DECIMALS);
        };
        put(Figure::Marked, gathered.marked() as f64);
        for found in agreements {
            let Some(scale) = name(&found.scale) else {
                continue;
            };
            put(Figure::Twice(scale.to_owned()), found.n as f64);
            if let Ok(difference) = &found.difference {
                put(Figure::Difference(scale.to_owned()), difference.mean);
                put(Figure::Within(scale.to_owned()), found.within as f64);
            }
        }
        for (scale, severity) in severities {
            let (Some(scale), Ok(severity)) = (name(scale), severity) else {
                continue;
            };
            for one in &severity.markers {
                if let Some(estimate) = one.estimate {
                    // What separates figures on the ledger is no part of a name.
                    let marker = one.marker.replace(';', ",");
                    put(Figure::Severity(scale.to_owned(), marker), estimate.value);
                }
            }
        }
        Self(figures)
    }

    /// As the ledger keeps them.
    pub fn text(&self) -> String {
        let all = self.0.iter();
        all.map(|(figure, value)| format!("{} = {}", figure.text(), plain(*value)))
            .collect::<Vec<_>>()
            .join("; ")
    }

    /// A text that [`Figures::text`] made; what a later version adds is passed over.
    pub fn from_text(text: &str) -> Self {
        let figures = text.split("; ").filter_map(|part| {
            let (figure, value) = part.rsplit_once(" = ")?;
            let value = value
                .parse::<f64>()
                .ok()
                .filter(|value| value.is_finite())?;
            Some((Figure::from_text(figure)?, value))
        });
        Self(figures.collect())
    }

    /// The value of a figure.
    pub fn get(&self, figure: &Figure) -> Option<f64> {
        self.0.get(figure).copied()
    }

    /// The figures that are in either, each then and now.
    pub fn beside<'a>(&'a self, before: &'a Self) -> Vec<(&'a Figure, Option<f64>, Option<f64>)> {
        let mut all: Vec<&Figure> = self.0.keys().chain(before.0.keys()).collect();
        all.sort_unstable();
        all.dedup();
        all.into_iter()
            .map(|figure| (figure, before.get(figure), self.get(figure)))
            .collect()
    }

    /// The line that a comparison adds to the ledger; none where the last one came to the same.
    pub fn line(&self, entries: &[Entry]) -> Option<Entry> {
        let what = Subject::Compared.to_string();
        let last = entries.iter().rfind(|entry| entry.what == what);
        let old = last.map_or("", |entry| entry.new.as_str());
        let new = self.text();
        (old != new).then(|| Entry {
            // Only taking back reads the clock: a comparison is dated by the last thing that is known.
            time: entries
                .last()
                .map(|entry| entry.time.clone())
                .unwrap_or_default(),
            who: String::from("evenhand"),
            role: Role::Program.name().into(),
            what,
            old: old.to_owned(),
            new,
            ..Entry::default()
        })
    }
}

/// The comparison before this one.
#[derive(Debug, Clone, PartialEq)]
pub struct Before {
    /// Its line on the ledger, counted from 0 without the header.
    pub line: usize,
    /// When the last thing it knew was decided.
    pub time: String,
    /// Its figures.
    pub figures: Figures,
}

impl Before {
    /// The last comparison on the ledger that came to other figures, or since when anybody entered or decided anything: comparing once more,
    /// with nothing new, says the same again.
    pub fn last(entries: &[Entry], now: &Figures) -> Option<Self> {
        let what = Subject::Compared.to_string();
        let text = now.text();
        let mut all = entries.iter().enumerate().rev();
        let mut entered = false;
        let (line, entry) = all.find(|(_, entry)| {
            entered |= entry.role != Role::Program.name();
            entry.what == what && (entered || entry.new != text)
        })?;
        Some(Self {
            line,
            time: entry.time.clone(),
            figures: Figures::from_text(&entry.new),
        })
    }

    /// What people entered or decided since then.
    pub fn entered_since<'a>(&self, entries: &'a [Entry]) -> impl Iterator<Item = &'a Entry> {
        let program = Role::Program.name();
        let since = entries.get(self.line + 1..).unwrap_or_default();
        since.iter().filter(move |entry| entry.role != program)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figures(pairs: &[(Figure, f64)]) -> Figures {
        Figures(pairs.iter().cloned().collect())
    }

    #[test]
    fn figures_read_back_from_the_ledger() {
        let all = figures(&[
            (Figure::Marked, 12.0),
            (Figure::Twice("total".into()), 6.0),
            (Figure::Difference("judged".into()), -0.125),
            (Figure::Within("total".into()), 4.0),
            (Figure::Severity("total".into(), "Ann = B/C".into()), 1.5),
        ]);
        assert_eq!(Figures::from_text(&all.text()), all);
        assert_eq!(
            Figures::from_text("marked = NaN; later = 1"),
            Figures::default()
        );
    }

    #[test]
    fn a_comparison_is_held_against_the_last_that_came_to_something_else() {
        let (a, b) = (
            figures(&[(Figure::Marked, 1.0)]),
            figures(&[(Figure::Marked, 2.0)]),
        );
        let mut ledger: Vec<Entry> = Vec::new();
        assert!(Before::last(&ledger, &a).is_none());
        ledger.extend(a.line(&ledger));
        assert!(a.line(&ledger).is_none(), "nothing new: no further line");
        ledger.push(Entry {
            role: "marker".into(),
            what: "mark testing".into(),
            new: "7".into(),
            ..Entry::default()
        });
        let before = Before::last(&ledger, &b).unwrap();
        ledger.extend(b.line(&ledger));
        assert_eq!(Before::last(&ledger, &b), Some(before.clone()));
        assert_eq!(before.figures.get(&Figure::Marked), Some(1.0));
        assert_eq!(before.entered_since(&ledger).count(), 1);
        // A decision that moves no figure is still something new.
        ledger.push(Entry {
            role: "moderator".into(),
            what: "proposal larger-sample Ann 3".into(),
            new: "refuse".into(),
            ..Entry::default()
        });
        assert_eq!(Before::last(&ledger, &b).unwrap().line, 2);
    }
}

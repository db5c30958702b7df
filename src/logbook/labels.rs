//! What a header, a label or a phase cell names: a phase, a session, a trial, or several of these at once (`Pretest T-1`).

use super::aliases::{Aliases, Counted};
use super::spelling::{key, numbered, without_brackets, words};
use crate::phase::{Phase, PhaseKind};
use crate::statistic::Statistic;

/// What a label names. Everything may be absent.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Label {
    /// The phase.
    pub phase: Option<Phase>,
    /// The session: of practice where the phase is practice, else of the programme.
    pub session: Option<u32>,
    /// The trial.
    pub trial: Option<u32>,
    /// The week.
    pub week: Option<u32>,
    /// Nothing but a number, which may count anything.
    pub bare: Option<u32>,
    /// A rater's number.
    pub rater: Option<u32>,
}

impl Label {
    /// Names a block: a phase, a session or a week.
    pub(crate) fn names_block(&self) -> bool {
        self.phase.is_some() || self.session.is_some() || self.week.is_some()
    }

    /// This label, with what it leaves open taken from another.
    pub(crate) fn or(self, other: Self) -> Self {
        Self {
            phase: self.phase.or(other.phase),
            session: self.session.or(other.session),
            trial: self.trial.or(other.trial),
            week: self.week.or(other.week),
            bare: self.bare.or(other.bare),
            rater: self.rater.or(other.rater),
        }
    }
}

/// How the text of a phase cell reads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum PhaseReading {
    /// One phase; `session` where it names a practice session (`practice 3`) or any session (`session 3`, then the phase is open).
    One {
        /// The phase; none for `session 3`.
        phase: Option<Phase>,
        /// The session that the text names.
        session: Option<u32>,
    },
    /// A spelling of several phases.
    Several(Vec<PhaseKind>),
    /// No phase.
    No,
}

/// The phase that a cell of a phase column names.
pub(crate) fn read_phase(text: &str, aliases: &Aliases) -> PhaseReading {
    match aliases.phase(&key(text)) {
        [] => {}
        [one] => {
            return PhaseReading::One {
                phase: Some(Phase::first(*one)),
                session: None,
            };
        }
        several => return PhaseReading::Several(several.to_vec()),
    }
    if let Some((word, number)) = numbered(text) {
        match aliases.phase(&word) {
            [] => {}
            [one] => return numbered_phase(*one, number),
            several => return PhaseReading::Several(several.to_vec()),
        }
        if aliases.counted(&word) == Some(Counted::Session) {
            return PhaseReading::One {
                phase: None,
                session: Some(number),
            };
        }
    }
    if let Some(counted) = ordinal_as_number(text, aliases) {
        return read_phase(&counted, aliases);
    }
    phase_within(text, aliases)
}

/// A text that begins with an ordinal, with the number behind it instead: `retention 2` for `2nd retention`.
fn ordinal_as_number(text: &str, aliases: &Aliases) -> Option<String> {
    let outside = without_brackets(text);
    if outside.len() > 60 {
        return None;
    }
    let words = words(&outside);
    let (number, rest) = match words.as_slice() {
        [digits, ending, rest @ ..]
            if matches!(ending.as_str(), "st" | "nd" | "rd" | "th") && digits.len() < 3 =>
        {
            (digits.parse().ok()?, rest)
        }
        [word, rest @ ..] => (aliases.ordinal(word)?, rest),
        [] => return None,
    };
    let ends_in_number = rest
        .last()
        .is_none_or(|last| last.ends_with(|c: char| c.is_ascii_digit()));
    (!ends_in_number).then(|| format!("{} {number}", rest.join(" ")))
}

fn numbered_phase(kind: PhaseKind, number: u32) -> PhaseReading {
    match kind {
        PhaseKind::Practice => PhaseReading::One {
            phase: Some(Phase::PRACTICE),
            session: Some(number),
        },
        PhaseKind::Familiarisation => PhaseReading::One {
            phase: Some(Phase::first(kind)),
            session: None,
        },
        kind => PhaseReading::One {
            phase: Some(Phase {
                kind,
                number: u16::try_from(number.max(1)).unwrap_or(u16::MAX),
            }),
            session: None,
        },
    }
}

/// The phase that the words of a longer text name (`Delayed retention test, 24 h`).
fn phase_within(text: &str, aliases: &Aliases) -> PhaseReading {
    let outside = without_brackets(text);
    if outside.len() > 80 {
        return PhaseReading::No;
    }
    let words = words(&outside);
    let mut kinds: Vec<PhaseKind> = Vec::new();
    let mut at = 0;
    while at < words.len() {
        // The longest run of words that is a spelling; single letters and digits mean too many things.
        let found = (1..=4_usize.min(words.len() - at))
            .rev()
            .find_map(|length| {
                let spelling: String = words.get(at..at + length)?.concat();
                let found = aliases.phase(&spelling);
                (found.len() == 1 && spelling.len() > 2).then(|| (length, found.to_vec()))
            });
        match found {
            Some((length, found)) => {
                for kind in found {
                    if !kinds.contains(&kind) {
                        kinds.push(kind);
                    }
                }
                at += length;
            }
            None => at += 1,
        }
    }
    match kinds.as_slice() {
        [] => PhaseReading::No,
        [kind] => match words.last().and_then(|word| word.parse().ok()) {
            Some(number) if words.len() > 1 => numbered_phase(*kind, number),
            _ => PhaseReading::One {
                phase: Some(Phase::first(*kind)),
                session: None,
            },
        },
        _ => PhaseReading::Several(kinds),
    }
}

/// What a header or row label names. In a header `T1` is the first trial; in a phase column [`read_phase`] decides.
pub(crate) fn read_label(text: &str, aliases: &Aliases) -> Label {
    let numbered = numbered(text).filter(|_| !ends_in_scale(text));
    if let Some((word, number)) = &numbered {
        let number = *number;
        if word.is_empty() {
            return Label {
                bare: Some(number),
                ..Label::default()
            };
        }
        match aliases.counted(word) {
            Some(Counted::Trial) => {
                return Label {
                    trial: Some(number),
                    ..Label::default()
                };
            }
            Some(Counted::Session) => {
                return Label {
                    session: Some(number),
                    ..Label::default()
                };
            }
            Some(Counted::Rater) => {
                return Label {
                    rater: Some(number),
                    ..Label::default()
                };
            }
            Some(Counted::Week) if aliases.phase(&key(text)).is_empty() => {
                return Label {
                    week: Some(number),
                    ..Label::default()
                };
            }
            _ => {}
        }
    }
    if let [kind] = aliases.phase(&key(text)) {
        return Label {
            phase: Some(Phase::first(*kind)),
            ..Label::default()
        };
    }
    let Some((word, number)) = numbered else {
        return ordinal_as_number(text, aliases)
            .map(|counted| read_label(&counted, aliases))
            .unwrap_or_default();
    };
    if let [kind] = aliases.phase(&word) {
        return match numbered_phase(*kind, number) {
            PhaseReading::One { phase, session } => Label {
                phase,
                session,
                ..Label::default()
            },
            _ => Label::default(),
        };
    }
    block_and_trial(text, number, aliases).unwrap_or_default()
}

/// The number at the end is the best that can be scored: `Score /10`, `Points out of 10`.
fn ends_in_scale(text: &str) -> bool {
    let head = text.trim_end_matches(|c: char| c.is_ascii_digit() || c.is_whitespace());
    let head = head.trim_end();
    head.ends_with('/') || head.ends_with(" out of")
}

/// A block and a trial in one header: `Pretest T-1`, `Practice 2 Trial 3`, `S1T4`.
fn block_and_trial(text: &str, trial: u32, aliases: &Aliases) -> Option<Label> {
    let words = words(&without_brackets(text));
    let before_number = words.len().checked_sub(1)?;
    let with_trial = |block: &str| {
        let label = read_label(block, aliases);
        (label.names_block() && label.trial.is_none()).then_some(Label {
            trial: Some(trial),
            ..label
        })
    };
    let spaced = (1..before_number).rev().find_map(|cut| {
        let counted: String = words.get(cut..before_number)?.concat();
        if aliases.counted(&counted) != Some(Counted::Trial) {
            return None;
        }
        with_trial(&words.get(..cut)?.join(" "))
    });
    // Run together: `PretestTrial1`. Single letters end too many words.
    spaced.or_else(|| {
        let [word] = words.get(..before_number)? else {
            return None;
        };
        word.char_indices()
            .map(|(at, _)| word.split_at(at))
            .filter(|(_, counted)| counted.len() > 2)
            .filter(|(_, counted)| aliases.counted(counted) == Some(Counted::Trial))
            .find_map(|(block, _)| with_trial(block))
    })
}

/// A statistic and the block that it is of, in one text: `Pre mean`, `Average post-test`, `SD of practice 3`.
pub(crate) fn statistic_of_block(text: &str, aliases: &Aliases) -> Option<(Statistic, Label)> {
    let mut words = words(&without_brackets(text));
    words.retain(|word| {
        !matches!(
            word.as_str(),
            "of" | "for" | "in" | "the" | "score" | "scores"
        )
    });
    if words.len() < 2 || words.len() > 6 {
        return None;
    }
    (1..words.len()).find_map(|cut| {
        let (head, tail) = words.split_at(cut);
        let named = |statistic: &[String], block: &[String]| {
            let statistic = aliases.statistic(&statistic.concat())?;
            let label = read_label(&block.join(" "), aliases);
            label.names_block().then_some((statistic, label))
        };
        named(head, tail).or_else(|| named(tail, head))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn phase(text: &str) -> PhaseReading {
        read_phase(text, &Aliases::default())
    }

    fn one(phase: Phase) -> PhaseReading {
        PhaseReading::One {
            phase: Some(phase),
            session: None,
        }
    }

    #[test]
    fn phase_cells() {
        assert_eq!(phase("Pre-Test"), one(Phase::PRE));
        assert_eq!(phase("T1"), one(Phase::PRE));
        assert_eq!(phase("test 2"), one(Phase::POST));
        assert_eq!(phase("Retention (1 week)"), one(Phase::RETENTION));
        assert_eq!(
            phase("retention 2"),
            one(Phase {
                kind: PhaseKind::Retention,
                number: 2
            })
        );
        assert_eq!(
            phase("Practice 3"),
            PhaseReading::One {
                phase: Some(Phase::PRACTICE),
                session: Some(3)
            }
        );
        assert_eq!(
            phase("Session 4"),
            PhaseReading::One {
                phase: None,
                session: Some(4)
            }
        );
        assert_eq!(
            phase("Delayed retention test, after class"),
            PhaseReading::Several(vec![PhaseKind::Retention, PhaseKind::Post])
        );
        assert_eq!(phase("The pre-test scores"), one(Phase::PRE));
        assert_eq!(
            phase("retention/post-test"),
            PhaseReading::Several(vec![PhaseKind::Retention, PhaseKind::Post])
        );
        assert_eq!(phase("cognitive"), PhaseReading::No);
        assert_eq!(
            phase("practice trials"),
            PhaseReading::Several(vec![PhaseKind::Familiarisation, PhaseKind::Practice])
        );
    }

    fn label(text: &str) -> Label {
        read_label(text, &Aliases::default())
    }

    #[test]
    fn headers_that_name_blocks_and_trials() {
        assert_eq!(label("T1").trial, Some(1));
        assert_eq!(label("Trial 10").trial, Some(10));
        assert_eq!(label("7").bare, Some(7));
        assert_eq!(label("S2").session, Some(2));
        assert_eq!(label("Week 2").week, Some(2));
        assert_eq!(label("Week 0").phase, Some(Phase::PRE));
        assert_eq!(label("Post-test").phase, Some(Phase::POST));
        let both = label("Pretest T-1");
        assert_eq!((both.phase, both.trial), (Some(Phase::PRE), Some(1)));
        let both = label("Post-test Trial 12");
        assert_eq!((both.phase, both.trial), (Some(Phase::POST), Some(12)));
        let both = label("Practice 2 T3");
        assert_eq!(
            (both.phase, both.session, both.trial),
            (Some(Phase::PRACTICE), Some(2), Some(3))
        );
        let practice = label("Practice 2");
        assert_eq!(
            (practice.phase, practice.session),
            (Some(Phase::PRACTICE), Some(2))
        );
        assert_eq!(label("Score"), Label::default());
        let (statistic, of) = statistic_of_block("Pre mean", &Aliases::default()).expect("both");
        assert_eq!((statistic, of.phase), (Statistic::Mean, Some(Phase::PRE)));
        assert!(statistic_of_block("Pre test", &Aliases::default()).is_none());
    }
}

//! What is said of a claim: one text for workbook, terminal and feedback.
//!
//! Neutral throughout: what was claimed and where, what the trials give, what the claimed number comes out of, why it matters, what to do.
//! A slip is never asserted to be the cause.

use super::impossible;
use super::verdict::{RecomputedClaim, Verdict, with_article};
use crate::logbook::Logbook;
use crate::logbook::model::{Claim, ClaimMeasure};
use crate::number::{Bound, Stated, readable};
use crate::statistic::{Shape, Statistic};

/// What is said of one claim.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// What was found, for the marker.
    pub message: String,
    /// What the pair reads: the same, why it matters and what to do.
    pub comment: String,
}

/// What a claim speaks of: `the mean of the post-test`, `the percent change from the pre-test to the post-test`, with the measure's name
/// where the logbook has several.
pub fn subject(claim: &Claim, logbook: &Logbook) -> String {
    let name = claim
        .statistic
        .map_or_else(|| claim.statistic_text.to_string(), in_words);
    let phase = claim
        .phase
        .map(with_article)
        .or_else(|| claim.phase_text.as_deref().map(str::to_owned));
    let shape = claim.statistic.map(Statistic::shape);
    let of = match (shape, phase, claim.versus) {
        (Some(Shape::Comparison), Some(later), Some(earlier)) => {
            format!(" from {} to {later}", with_article(earlier))
        }
        (Some(Shape::Gain), Some(later), _) => format!(" at {later}"),
        (Some(Shape::Agreement), None, _) => String::from(" over all tests"),
        (_, Some(phase), _) => format!(" of {phase}"),
        (_, None, _) => String::new(),
    };
    let measure = match &claim.measure {
        ClaimMeasure::Known(measure) if logbook.measures.len() > 1 => logbook
            .measures
            .get(*measure)
            .map(|measure| format!(" ({})", measure.name))
            .unwrap_or_default(),
        ClaimMeasure::Technique => String::from(" (technique)"),
        ClaimMeasure::Unknown(name) => format!(" ({name})"),
        ClaimMeasure::Known(_) => String::new(),
    };
    format!("the {name}{of}{measure}")
}

/// A statistic's name in a sentence, where the canonical one doesn't read.
fn in_words(statistic: Statistic) -> String {
    String::from(match statistic {
        Statistic::N => "number of trials",
        Statistic::Sd => "standard deviation",
        Statistic::Se => "standard error",
        Statistic::Cv => "coefficient of variation",
        Statistic::D => "effect size d",
        Statistic::G => "effect size g",
        Statistic::GlassDelta => "effect size (Glass's delta)",
        Statistic::DPaired => "effect size d of paired differences",
        Statistic::Nap => "non-overlap (nap)",
        Statistic::Tau => "tau",
        Statistic::PTPaired => "p of the paired t test",
        Statistic::PT => "p of the t test",
        Statistic::PTWelch => "p of Welch's t test",
        Statistic::PU => "p of the Mann–Whitney test",
        Statistic::PWilcoxon => "p of the Wilcoxon test",
        Statistic::U => "Mann–Whitney U",
        Statistic::Wilcoxon => "Wilcoxon sum of ranks",
        Statistic::TPaired => "paired t",
        Statistic::TWelch => "Welch's t",
        Statistic::Slope => "slope",
        Statistic::R => "correlation r",
        Statistic::R2 => "r²",
        Statistic::Icc => "intraclass correlation",
        other => other.name(),
    })
}

/// A recomputed number beside a stated one: at its decimals, where that tells them apart.
pub fn beside(stated: Option<&Stated>, value: f64) -> String {
    let Some(stated) = stated.filter(|stated| stated.bound == Bound::Exactly) else {
        return readable(value);
    };
    for decimals in stated.decimals..=stated.decimals.saturating_add(3) {
        let text = format!("{value:.*}", usize::from(decimals));
        let shown: f64 = text.parse().unwrap_or(value);
        if decimals > 15 {
            break;
        }
        if (shown - stated.value).abs() > f64::EPSILON * stated.value.abs() {
            return text;
        }
    }
    readable(value)
}

/// What is said of the claim at this place among the recomputed ones; none where there is nothing to say.
pub fn say(logbook: &Logbook, recomputed: &[RecomputedClaim], place: usize) -> Option<Said> {
    let result = recomputed.get(place)?;
    let claim = logbook.claims.get(result.claim)?;
    let subject = subject(claim, logbook);
    let stands = stands(claim);
    match result.verdict {
        Verdict::Agrees => result.explanations.first().map(|by| {
            let message = format!(
                "{stands} for {subject} agrees with what the course accepts: it is what comes out when {} ({}).",
                by.when,
                by.code()
            );
            Said {
                comment: message.clone(),
                message,
            }
        }),
        Verdict::NotRecomputable => {
            let why = result
                .value
                .as_ref()
                .err()
                .map_or_else(|| String::from("there is nothing to recompute it from"), ToString::to_string);
            Some(Said {
                message: format!("{stands} for {subject} can't be recomputed: {why}."),
                comment: format!(
                    "You report {} for {subject}. It can't be recomputed from the logbook: {why}. Record what it was computed from, or check how the claim names its statistic, measure and phase.",
                    claim.value_text.trim()
                ),
            })
        }
        Verdict::Impossible => Some(impossible(logbook, claim, result, &subject, &stands)),
        Verdict::Differs => Some(differs(logbook, recomputed, claim, result, &subject, &stands)),
    }
}

/// `Claimed 3.40 (page 5)`.
fn stands(claim: &Claim) -> String {
    let value = claim.value_text.trim();
    match claim.location.as_deref().map(str::trim) {
        Some(location) if !location.is_empty() => format!("Claimed {value} ({location})"),
        _ => format!("Claimed {value}"),
    }
}

fn scores(n: usize) -> String {
    match n {
        1 => String::from("1 recorded score"),
        n => format!("{n} recorded scores"),
    }
}

/// `One score could not be read`.
fn unread(n: usize) -> String {
    match n {
        1 => String::from("One score could not be read"),
        n => format!("{n} scores could not be read"),
    }
}

fn impossible(
    logbook: &Logbook,
    claim: &Claim,
    result: &RecomputedClaim,
    subject: &str,
    stands: &str,
) -> Said {
    let value = claim.value_text.trim();
    let about = impossible::about(claim, logbook, result.scores);
    let gives = match &result.value {
        Ok(right) => format!(" The trials give {}.", beside(claim.value.as_ref(), *right)),
        Err(_) => String::new(),
    };
    Said {
        message: format!("{stands} for {subject}: {about}.{gives}"),
        comment: format!(
            "You report {value} for {subject}; {about}.{gives} A number that no scores can give is usually a slip of typing or a wrong count: check both the number and how many trials went into it."
        ),
    }
}

fn differs(
    logbook: &Logbook,
    recomputed: &[RecomputedClaim],
    claim: &Claim,
    result: &RecomputedClaim,
    subject: &str,
    stands: &str,
) -> Said {
    let value = claim.value_text.trim();
    let right = result.value.as_ref().map_or_else(
        |_| String::from("another number"),
        |right| beside(claim.value.as_ref(), *right),
    );
    let whens: Vec<String> = result
        .explanations
        .iter()
        .map(|by| format!("{} ({})", by.when, by.code()))
        .collect();
    let plain: Vec<&str> = result
        .explanations
        .iter()
        .map(|by| by.when.as_str())
        .collect();
    let n = scores(result.scores);
    let comes_out = |whens: &[String]| match whens {
        [] => String::from(" No common slip gives it."),
        [only] => format!(" {value} is what comes out when {only}."),
        [first, rest @ ..] => format!(
            " {value} is what comes out when {first}; also when {}.",
            rest.join("; when ")
        ),
    };
    let root = result
        .consequence_of
        .and_then(|root| logbook.claims.get(root))
        .map(|root| {
            format!(
                " It follows from the number claimed for {}, {}: put that right first.",
                self::subject(root, logbook),
                root.value_text.trim()
            )
        })
        .unwrap_or_default();
    let consequences = consequences(logbook, recomputed, result.claim);
    if result.unread > 0 {
        let unread = unread(result.unread);
        return Said {
            message: format!(
                "{stands} for {subject}; the scores that could be read give {right} ({n}). {unread}, and the number may be right if {}.{root}{consequences}",
                if result.unread == 1 {
                    "it counted"
                } else {
                    "they counted"
                }
            ),
            comment: format!(
                "You report {value} for {subject}; the scores that we could read give {right} ({n}). {unread}: if you counted {}, your number may be right. Say which score you used.{root}{consequences}",
                if result.unread == 1 { "it" } else { "them" }
            ),
        };
    }
    let slip = result.explanations.first().and_then(|by| by.slips.first());
    let advice = slip.map_or_else(
        || String::from(" Go back to where you worked it out, and say how you did."),
        |slip| format!(" {} {}", slip.matters, slip.remedy),
    );
    let owned: Vec<String> = plain.iter().map(|when| (*when).to_owned()).collect();
    Said {
        message: format!(
            "{stands} for {subject}; the trials give {right} ({n}).{}{root}{consequences}",
            comes_out(&whens)
        ),
        comment: format!(
            "You report {value} for {subject}. Your {n} give {right}.{}{root}{consequences}{advice}",
            comes_out(&owned)
        ),
    }
}

/// A recomputed number in a table beside the stated one: where they agree with two more decimals than were stated, so that the rounding shows.
pub fn in_table(stated: Option<&Stated>, value: f64) -> String {
    match stated {
        Some(stated) if stated.agrees(value) => {
            let decimals = usize::from(stated.decimals.saturating_add(2)).min(15);
            let text = format!("{value:.decimals$}");
            String::from(text.trim_end_matches('0').trim_end_matches('.'))
        }
        _ => beside(stated, value),
    }
}

/// What follows from a wrong claim.
fn consequences(logbook: &Logbook, recomputed: &[RecomputedClaim], root: usize) -> String {
    let following: Vec<String> = recomputed
        .iter()
        .filter(|other| other.consequence_of == Some(root))
        .filter_map(|other| logbook.claims.get(other.claim))
        .map(|claim| format!("{} ({})", subject(claim, logbook), claim.value_text.trim()))
        .collect();
    if following.is_empty() {
        String::new()
    } else {
        format!(" From it follows: {}.", following.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::Made;
    use super::*;

    fn post() -> Made {
        Made::ratings()
            .trials("pre", 1, &[1.0, 2.0, 1.0, 2.0, 2.0])
            .trials("post", 5, &[3.0, 4.0, 2.0, 4.0, 3.0])
    }

    fn last(made: &Made) -> Said {
        let recomputed = made.recomputed();
        say(&made.logbook, &recomputed, recomputed.len() - 1).unwrap()
    }

    #[test]
    fn in_a_table_the_rounding_of_an_agreeing_number_shows() {
        let stated = Stated::new(0.86, 2);
        assert_eq!(in_table(Some(&stated), 0.864_9), "0.8649");
        assert_eq!(in_table(Some(&stated), 0.86), "0.86");
        assert_eq!(in_table(Some(&Stated::new(41.4, 1)), 70.731_7), "70.7");
        assert_eq!(in_table(None, 2.345), readable(2.345));
    }

    #[test]
    fn a_wrong_number_is_told_with_what_it_comes_out_of() {
        let made = post().claims("mean", "post", "4.00");
        let said = last(&made);
        assert!(said.message.starts_with("Claimed 4.00 for the mean of the post-test; the trials give 3.20 (5 recorded scores). 4.00 is what comes out when"), "{}", said.message);
        assert!(
            said.message
                .contains("the best trial stands for the block (best-trial)")
        );
        assert!(said.comment.starts_with(
            "You report 4.00 for the mean of the post-test. Your 5 recorded scores give 3.20."
        ));
    }

    #[test]
    fn an_impossible_number_is_told_with_its_neighbours() {
        let made = post().claims("mean", "post", "2.97");
        let said = last(&made);
        assert_eq!(
            said.message,
            "Claimed 2.97 for the mean of the post-test: no 5 scores on this scale (steps of 1) have that mean; the nearest are 2.8 and 3. The trials give 3.20."
        );
    }

    #[test]
    fn what_cannot_be_recomputed_says_why() {
        let made = post().claims("mean", "transfer", "2.97");
        assert_eq!(
            last(&made).message,
            "Claimed 2.97 for the mean of the transfer test can't be recomputed: the logbook has no usable scores of the transfer test."
        );
    }

    #[test]
    fn consequences_are_told_at_their_root_and_the_root_at_each() {
        let made = post()
            .claims("mean", "post", "4.00")
            .claims("change", "post", "2.40");
        let recomputed = made.recomputed();
        let root = say(&made.logbook, &recomputed, 0).unwrap().message;
        assert!(
            root.ends_with(
                "From it follows: the change from the pre-test to the post-test (2.40)."
            ),
            "{root}"
        );
        let follows = say(&made.logbook, &recomputed, 1).unwrap().message;
        assert!(follows.ends_with("It follows from the number claimed for the mean of the post-test, 4.00: put that right first."), "{follows}");
    }

    #[test]
    fn the_recomputed_number_is_shown_so_that_it_differs() {
        assert_eq!(beside(Some(&Stated::new(2.6, 1)), 2.666), "2.7");
        assert_eq!(beside(Some(&Stated::new(2.6, 1)), 2.64), "2.64");
        assert_eq!(beside(None, 2.666), "2.67");
    }
}

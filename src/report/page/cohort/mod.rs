//! `out/cohort.html`: the whole cohort at a glance, a curve a pair, for the people who mark. It is written pair by pair, so that a cohort of
//! thousands takes no more memory than a small one.

mod card;
mod curve;
mod draw;
mod evidence;
mod filters;
mod marks;
mod style;

use std::io::{self, BufWriter, Write as _};
use std::path::Path;

use maud::{Markup, PreEscaped, html};
use rayon::prelude::*;

use super::{CLOSING, Head, opening};
use crate::atomic;
use crate::cohort::Roster;
use crate::examination::CohortResult;
use crate::ledger::State;
use crate::report::out_files::PAIRS_AT_ONCE;
use crate::report::summary;
use crate::report::wording::counted;
use crate::rubric::Rubric;

/// Everything that the page shows.
pub struct CohortPage<'a> {
    /// The cohort's title.
    pub title: &'a str,
    /// The cohort, examined.
    pub cohort: &'a CohortResult,
    /// The rubric.
    pub rubric: &'a Rubric,
    /// The roster, where there is one.
    pub roster: Option<&'a Roster>,
    /// What is in force by the ledger.
    pub state: &'a State,
}

impl CohortPage<'_> {
    /// Writes the page, replaced whole.
    ///
    /// # Errors
    /// Why it can't be written, with its name.
    pub fn write(&self, path: &Path) -> io::Result<()> {
        let written = atomic::replace(path, |file| {
            let mut file = BufWriter::new(file);
            self.write_to(&mut file)?;
            file.flush()
        });
        written
            .map_err(|error| io::Error::new(error.kind(), format!("{}: {error}", path.display())))
    }

    fn write_to(&self, out: &mut impl io::Write) -> io::Result<()> {
        let nonce = self.nonce();
        let head = Head {
            title: &self.heading(),
            style: style::SHEET,
            nonce: &nonce,
            class: "cohort",
        };
        out.write_all(opening(&head).as_bytes())?;
        out.write_all(b"<main>")?;
        out.write_all(self.header().into_string().as_bytes())?;
        out.write_all(b"<div class=\"pairs\">")?;
        let mut first = 0;
        for some in self.cohort.pairs.chunks(PAIRS_AT_ONCE) {
            let cards: Vec<String> = some
                .par_iter()
                .enumerate()
                .map(|(index, pair)| card::card(self, pair, first + index).into_string())
                .collect();
            for card in cards {
                out.write_all(card.as_bytes())?;
                out.write_all(b"\n")?;
            }
            first += some.len();
        }
        out.write_all(b"</div>")?;
        let closing = html! {
            p #none hidden { "No pair fits all of these filters." }
            (PreEscaped("</main>"))
            script nonce=(nonce) { (PreEscaped(filters::SCRIPT)) }
        };
        out.write_all(closing.into_string().as_bytes())?;
        out.write_all(CLOSING.as_bytes())
    }

    fn heading(&self) -> String {
        if self.title.is_empty() {
            String::from("The cohort at a glance")
        } else {
            format!("{}: the cohort at a glance", self.title)
        }
    }

    /// What the page's own script carries and no other can know: a digest of all hand-ins. Text from students is escaped; should that ever
    /// fail, it still does not run.
    fn nonce(&self) -> String {
        let mut hasher = blake3::Hasher::new();
        for hand_in in self
            .cohort
            .pairs
            .iter()
            .filter_map(|pair| pair.hand_in.as_ref())
        {
            hasher.update(hand_in.digest.as_bytes());
        }
        let hex = hasher.finalize().to_hex();
        hex.get(..32).unwrap_or_default().to_owned()
    }

    fn header(&self) -> Markup {
        let cohort = self.cohort;
        html! {
            header {
                @if !self.title.is_empty() { p.over { (self.title) } }
                h1 { "The cohort at a glance" }
                p { (counted(cohort.pairs.len(), "pair")) ". Findings: " (summary::findings(cohort)) ". Claims: " (summary::claims(cohort)) "." }
                @if !cohort.not_read.is_empty() {
                    details {
                        summary { "Not read: " (counted(cohort.not_read.len(), "file")) }
                        ul { @for not_read in &cohort.not_read { li { (not_read.file) ": " (not_read.why) } } }
                    }
                }
                @if !cohort.without_pair.is_empty() {
                    details {
                        summary { "Of no pair: " (counted(cohort.without_pair.len(), "finding")) }
                        ul { @for finding in &cohort.without_pair { (evidence::finding(self, None, "", finding)) } }
                    }
                }
                (key())
                (filters::form(self))
                p #shown role="status" { (counted(cohort.pairs.len(), "pair")) "." }
            }
        }
    }
}

/// How a curve is read.
fn key() -> Markup {
    html! {
        details.key open {
            summary { "How to read a curve" }
            ul {
                li { "■ mean of a test, with its 95 % interval" }
                li { "● means of practice sessions; practice is shaded" }
                li { "▲ findings there, by the weight of the heaviest; s. is the session" }
                li { "◆ claims about it that differ; ◇ is a mean as claimed" }
                li { "upper and lower line: the ends of the scale, or of what is drawn where it has none; dashed: the target" }
            }
            p.note { "A finding is a place to look, not an accusation. Marks are entered in moderation.xlsx." }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::{Finding, Weight};
    use crate::examination::{HandIn, PairResult};
    use crate::place::Place;
    use crate::rubric::tests_support;

    const RUBRIC: &str = "title = \"R\"\nout_of = 1\n[[criterion]]\nid = \"a\"\ntitle = \"A\"\nmarks = 1\n[[criterion.judged]]\nid = \"j\"\nasks = \"Is it so?\"\npoints = 1\n";

    fn page_of(pairs: Vec<PairResult>) -> String {
        let cohort = CohortResult::new(pairs, Vec::new(), Vec::new(), 1);
        let state = State::default();
        let rubric = tests_support::read(RUBRIC).unwrap();
        let page = CohortPage {
            title: "A & B",
            cohort: &cohort,
            rubric: &rubric,
            roster: None,
            state: &state,
        };
        let mut out = Vec::new();
        page.write_to(&mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    fn pair(id: &str, digest: &str) -> PairResult {
        PairResult {
            pair: id.into(),
            hand_in: Some(HandIn {
                name: format!("{id}.xlsx").into(),
                digest: digest.into(),
                link_base: None,
            }),
            ..PairResult::default()
        }
    }

    #[test]
    fn text_from_people_is_never_markup_and_no_script_but_the_pages_own_may_run() {
        let mut result = pair("\"><script>a()</script>", "d1");
        result.skill = Some("<img src=x onerror=b()>".into());
        let place = Place::file("<script>c()</script>.xlsx");
        let message = "They wrote </p><script>d()</script>.";
        result.findings = vec![
            Finding::new("data.off-step", Weight::Error, message, "")
                .at(vec![place], "<script>e()</script>"),
        ];
        let page = page_of(vec![result]);
        assert_eq!(page.matches("<script").count(), 1);
        assert!(!page.contains("<img") && page.contains("A &amp; B"));
        let nonce = page.split("<script nonce=\"").nth(1).unwrap();
        let nonce = nonce.split('"').next().unwrap();
        assert_eq!(nonce.len(), 32);
        assert!(page.contains(&format!("script-src 'nonce-{nonce}'")));
        let other = page_of(vec![pair("P1", "d2")]);
        assert!(!other.contains(nonce), "nobody can know it beforehand");
    }

    #[test]
    fn nothing_is_loaded_and_without_a_script_every_pair_is_there() {
        let page = page_of((1..=600).map(|n| pair(&format!("P{n}"), "d")).collect());
        assert!(!page.contains("http:") && !page.contains("https:"));
        assert_eq!(page.matches("<article").count(), 600);
        assert!(!page.contains("<article hidden"));
        assert!(page.contains("<form id=\"filters\" hidden"));
        // In their order, each with a heading of its own, over the parts that are written at once.
        let at = |n: usize| page.find(&format!("<h2 id=\"h{}\"><span>Pair P{n}<", n - 1));
        let positions: Vec<Option<usize>> = [1, 256, 257, 600].into_iter().map(at).collect();
        assert!(positions.iter().all(Option::is_some) && positions.is_sorted());
    }

    #[test]
    fn the_same_cohort_gives_the_same_bytes() {
        let make = || page_of(vec![pair("P1", "d1"), pair("P2", "d2")]);
        assert_eq!(make(), make());
    }
}

//! `out/cohort.html`: the whole cohort at a glance, a curve a pair, for the people who mark. It is written pair by pair, so that a cohort of
//! thousands takes no more memory than a small one.

mod card;
mod curve;
mod draw;
mod evidence;
mod filters;
mod marks;
mod style;

use std::fs::File;
use std::io::{self, BufWriter, IntoInnerError, Seek as _, SeekFrom, Write as _};
use std::path::Path;

use maud::{Markup, PreEscaped, html};
use rayon::prelude::*;

use filters::Counts;

use super::{CLOSING, Head, opening};
use crate::atomic::Replacement;
use crate::cohort::Roster;
use crate::examination::{CohortResult, PairResult};
use crate::ledger::State;
use crate::report::summary;
use crate::rubric::Rubric;
use crate::wording::counted;

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

/// The page under way: the cards are filled pair by pair; the head, which counts what is on them, goes before them in the end.
pub struct Cards<'a> {
    page: &'a CohortPage<'a>,
    file: Replacement,
    /// The cards so far: in a file without a name, which is gone with this run.
    so_far: BufWriter<File>,
    counts: Counts,
    /// How many cards there are.
    added: usize,
}

impl<'a> Cards<'a> {
    /// Begins the page for this place.
    ///
    /// # Errors
    /// Why it can't be written, with its name.
    pub fn begin(page: &'a CohortPage<'a>, path: &Path) -> io::Result<Self> {
        let file = Replacement::begin(path.to_owned())?;
        let folder = path.parent().unwrap_or(Path::new("."));
        Ok(Self {
            page,
            file,
            so_far: BufWriter::new(tempfile::tempfile_in(folder)?),
            counts: Counts::default(),
            added: 0,
        })
    }

    /// Adds the cards of the next pairs.
    ///
    /// # Errors
    /// Why it can't be written.
    pub fn add(&mut self, some: &[PairResult]) -> io::Result<()> {
        let cards: Vec<String> = some
            .par_iter()
            .enumerate()
            .map(|(index, pair)| card::card(self.page, pair, self.added + index).into_string())
            .collect();
        for card in cards {
            writeln!(self.so_far, "{card}")?;
        }
        for result in some {
            self.counts.add(self.page, result);
        }
        self.added += some.len();
        Ok(())
    }

    /// The complete page, not yet in its place.
    ///
    /// # Errors
    /// Why it can't be written.
    pub fn complete(self) -> io::Result<Replacement> {
        let (mut file, page) = (self.file, self.page);
        let so_far = self.so_far.into_inner();
        let mut cards = so_far.map_err(IntoInnerError::into_error)?;
        cards.seek(SeekFrom::Start(0))?;
        file.write(page.before_the_cards(&self.counts).as_bytes())?;
        file.write_all_of(&mut cards)?;
        file.write(page.after_the_cards().as_bytes())?;
        Ok(file)
    }
}

impl CohortPage<'_> {
    fn before_the_cards(&self, counts: &Counts) -> String {
        let nonce = self.nonce();
        let head = Head {
            title: &self.heading(),
            style: style::SHEET,
            nonce: &nonce,
            class: "cohort",
        };
        let header = self.header(counts).into_string();
        format!("{}<main>{header}<div class=\"pairs\">", opening(&head))
    }

    fn after_the_cards(&self) -> String {
        let closing = html! {
            (PreEscaped("</div>"))
            p #none hidden { "No pair fits all of these filters." }
            (PreEscaped("</main>"))
            script nonce=(self.nonce()) { (PreEscaped(filters::SCRIPT)) }
        };
        closing.into_string() + CLOSING
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

    fn header(&self, counts: &Counts) -> Markup {
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
                (filters::form(self, counts))
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
    use crate::examination::{CohortPair, HandIn};
    use crate::place::Place;
    use crate::rubric::tests_support;

    const RUBRIC: &str = "title = \"R\"\nout_of = 1\n[[criterion]]\nid = \"a\"\ntitle = \"A\"\nmarks = 1\n[[criterion.judged]]\nid = \"j\"\nasks = \"Is it so?\"\npoints = 1\n";

    fn page_of(pairs: Vec<PairResult>) -> String {
        let results = pairs.into_iter().map(CohortPair::from).collect();
        let cohort = CohortResult::new(results, Vec::new(), Vec::new(), 1);
        let state = State::default();
        let rubric = tests_support::read(RUBRIC).unwrap();
        let page = CohortPage {
            title: "A & B",
            cohort: &cohort,
            rubric: &rubric,
            roster: None,
            state: &state,
        };
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cohort.html");
        let mut cards = Cards::begin(&page, &path).unwrap();
        cohort.in_parts(|some| cards.add(some)).unwrap();
        cards.complete().unwrap().finish().unwrap();
        std::fs::read_to_string(path).unwrap()
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

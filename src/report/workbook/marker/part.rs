//! One pair's part of the sheet to mark in: what each of its rows shows, and what is entered there.

use super::words::{claims_that_differ, evidence_lines, stage_and_theory, tests_in_words};
use super::{Assigned, MarkerBook, MarkingAs, note, progress};
use crate::checks::{self, Finding};
use crate::claims::Verdict;
use crate::ledger::{DECISIONS, Subject};
use crate::report::workbook::links::{link_to, place_in_short};
use crate::report::workbook::moderation::marks_sheet::{findings_in_words, mark_cells};
use crate::report::workbook::sheet::{CellContent, EntryRule, clean};
use crate::report::workbook::style::Look;
use crate::report::workbook::written::Written;
use crate::rubric::{Criterion, CriterionSuggestion};
use crate::wording::counted;

use super::marks_sheet::NAME;

/// What of a row is entered, in the hidden column at its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// Nothing: the row begins a pair's part.
    Part,
    /// The decision on a finding.
    Decision,
    /// Judged points.
    Points,
    /// A mark: of the pair, or of one of its students.
    Mark(Option<usize>),
    /// The comment for the pair.
    Comment,
}

/// What is said where no claim differs.
fn all_follow(all: usize, not_recomputable: usize) -> String {
    match (all, not_recomputable) {
        (1, 0) => String::from("The one claim follows."),
        (all, 0) => format!("All {all} claims follow."),
        (all, none) if none == all => {
            format!("None of {} could be recomputed.", counted(all, "claim"))
        }
        (all, none) => format!(
            "{} of {} follow; {none} could not be recomputed.",
            all - none,
            counted(all, "claim")
        ),
    }
}

impl Kind {
    /// The word in the hidden column. All marks begin alike: formulas count them.
    pub fn word(&self) -> String {
        match self {
            Self::Part => String::from("part"),
            Self::Decision => String::from("decision"),
            Self::Points => String::from("points"),
            Self::Mark(None) => String::from("mark"),
            Self::Mark(Some(student)) => format!("mark {}", student + 1),
            Self::Comment => String::from("comment"),
        }
    }
}

/// One row.
pub struct Line {
    pair: String,
    /// Its name.
    pub what: String,
    /// What the data say.
    pub evidence: String,
    evidence_formula: Option<String>,
    gives: CellContent,
    of: Option<f64>,
    /// What may be entered as a number or a decision; none where nothing is.
    pub rule: Option<EntryRule>,
    entry: CellContent,
    /// Whether a comment or a note is entered.
    takes_words: bool,
    words: CellContent,
    criterion: String,
    part: String,
    finding: String,
    role: &'static str,
    kind: Kind,
}

impl Line {
    /// Whether it begins a pair's part.
    pub fn begins_part(&self) -> bool {
        self.kind == Kind::Part
    }

    /// The text of its comment or note.
    pub fn words_text(&self) -> String {
        text_of(&self.words)
    }

    /// The text of what the evidence gives, or where it is.
    pub fn gives_text(&self) -> String {
        text_of(&self.gives)
    }

    /// The cells, in the order of the columns, and how each looks.
    pub fn cells(&self) -> Vec<(CellContent, Look)> {
        let band = self.begins_part();
        let pick = |usual: Look, in_band: Look| if band { in_band } else { usual };
        let number = match &self.rule {
            Some(EntryRule::Choice(_)) => Look::EntryText,
            Some(_) => Look::EntryNumber,
            None => pick(Look::Text, Look::BandText),
        };
        let words = if self.takes_words {
            Look::EntryText
        } else {
            pick(Look::Text, Look::BandText)
        };
        let gives = match &self.gives {
            CellContent::Link { .. } => Look::Link,
            _ => pick(Look::Wrapped, Look::BandText),
        };
        let evidence = match &self.evidence_formula {
            None => self.evidence.clone().into(),
            Some(formula) => CellContent::Formula {
                formula: formula.clone(),
                result: self.evidence.clone(),
            },
        };
        let mark = matches!(self.kind, Kind::Mark(_) | Kind::Comment);
        let what = if mark { Look::Strong } else { Look::Wrapped };
        let hidden = |text: &str| (CellContent::from(text), Look::Text);
        vec![
            (self.pair.as_str().into(), pick(Look::Text, Look::Band)),
            (self.what.as_str().into(), pick(what, Look::Band)),
            (evidence, pick(Look::Wrapped, Look::BandText)),
            (self.gives.clone(), gives),
            (self.of.into(), pick(Look::Number, Look::BandText)),
            (self.entry.clone(), number),
            (self.words.clone(), words),
            hidden(&self.criterion),
            hidden(&self.part),
            hidden(&self.finding),
            hidden(self.role),
            hidden(&self.kind.word()),
        ]
    }
}

fn text_of(cell: &CellContent) -> String {
    match cell {
        CellContent::Text(text) | CellContent::Link { text, .. } => text.clone(),
        CellContent::Formula { result, .. } => result.clone(),
        CellContent::Number(_) | CellContent::Empty => String::new(),
    }
}

/// How many rows a pair's part has.
pub fn length(book: &MarkerBook<'_>, pair: &Assigned<'_>) -> u32 {
    let findings = match pair.marking_as {
        MarkingAs::Common => 0,
        MarkingAs::First | MarkingAs::Second => pair.result.findings.len(),
    };
    let criteria = book.rubric.criteria.iter();
    let of_criteria = criteria.map(|one| one.judged.len() + mark_cells(one).len());
    u32::try_from(2 + findings + of_criteria.sum::<usize>()).unwrap_or(u32::MAX)
}

/// The rows of a pair, of which the first stands in row `first` of a sheet that ends in row `last`. What their cells to fill in hold is noted.
pub fn lines_of_pair(
    book: &MarkerBook<'_>,
    pair: &Assigned<'_>,
    first: u32,
    last: u32,
    written: &mut Written,
) -> Vec<Line> {
    let mut part = Part {
        book,
        pair,
        first,
        last,
        written,
        lines: Vec::new(),
    };
    part.begin();
    // Findings of pairs that everybody marks are for their first marker to decide.
    if pair.marking_as != MarkingAs::Common {
        for finding in &pair.result.findings {
            part.finding(finding);
        }
    }
    for criterion in &book.rubric.criteria {
        part.criterion(criterion);
    }
    part.end();
    part.lines
}

struct Part<'a> {
    book: &'a MarkerBook<'a>,
    pair: &'a Assigned<'a>,
    first: u32,
    last: u32,
    written: &'a mut Written,
    lines: Vec<Line>,
}

impl Part<'_> {
    fn line(&self, kind: Kind, what: impl Into<String>) -> Line {
        Line {
            pair: self.pair.result.pair.to_string(),
            what: what.into(),
            evidence: String::new(),
            evidence_formula: None,
            gives: CellContent::Empty,
            of: None,
            rule: None,
            entry: CellContent::Empty,
            takes_words: false,
            words: CellContent::Empty,
            criterion: String::new(),
            part: String::new(),
            finding: String::new(),
            role: self.pair.marking_as.word(),
            kind,
        }
    }

    /// The row that the next line will stand in.
    fn at(&self) -> u32 {
        self.first + u32::try_from(self.lines.len()).unwrap_or(0)
    }

    fn begin(&mut self) {
        let result = self.pair.result;
        let mut what = vec![format!("as {}", self.pair.marking_as.word())];
        what.extend(result.skill.as_deref().map(str::to_owned));
        what.extend(self.book.names(&result.pair));
        let mut line = self.line(Kind::Part, what.join("\n"));
        let claims = claims_that_differ(result);
        let claims = match (result.claims.len(), claims.is_empty()) {
            (0, _) => String::from("No claims that could be read."),
            (all, true) => all_follow(all, result.claims_with(Verdict::NotRecomputable)),
            (_, false) => format!("Claims that differ:\n{claims}"),
        };
        let findings = format!("Findings: {}.", findings_in_words(result));
        let judged = stage_and_theory(result);
        let judged = judged
            .iter()
            .map(|(about, sentence)| format!("{about}: {sentence}"));
        let lines = [tests_in_words(result), claims, findings].into_iter();
        line.evidence = lines.chain(judged).collect::<Vec<_>>().join("\n");
        self.lines.push(line);
    }

    fn finding(&mut self, finding: &Finding) {
        let pair = &self.pair.result.pair;
        let id = finding.id(pair);
        let title = checks::find(finding.check).map_or(finding.check, |check| check.title);
        let mut line = self.line(
            Kind::Decision,
            format!("Finding ({}): {title}", finding.weight.name()),
        );
        line.evidence.clone_from(&finding.message);
        if let Some(place) = finding.places.first() {
            let text = place_in_short(place, finding.places.len());
            line.gives = match link_to(self.pair.result, place) {
                Some(target) => CellContent::Link { target, text },
                None => text.into(),
            };
        }
        line.rule = Some(EntryRule::Choice(DECISIONS));
        line.takes_words = true;
        line.entry = self.held_of_finding(&id, &Subject::Decision(id.clone()), "decision");
        line.words = self.held_of_finding(&id, &Subject::Note(id.clone()), "note");
        line.finding = id;
        self.lines.push(line);
    }

    fn held_of_finding(&mut self, id: &str, subject: &Subject, key: &str) -> CellContent {
        let Some(held) = self.book.held(self.pair, subject, None) else {
            return CellContent::Empty;
        };
        let values = &mut self.written.values;
        note(values, NAME, id, key.to_owned(), &held.value);
        held.value.clone().into()
    }

    fn criterion(&mut self, criterion: &Criterion) {
        for judged in &criterion.judged {
            let subject = Subject::Judged(criterion.id.clone(), judged.id.clone());
            let mut line = self.line(Kind::Points, format!("{}: your points", criterion.title));
            line.evidence.clone_from(&judged.asks);
            line.of = Some(judged.points);
            line.rule = Some(points(judged.points));
            line.entry = self.number(&subject, None, subject.to_string());
            line.criterion.clone_from(&criterion.id);
            line.part.clone_from(&judged.id);
            self.lines.push(line);
        }
        let mut suggestions = self.pair.result.suggestions.iter();
        let suggestion = suggestions.find(|suggestion| suggestion.criterion == criterion.id);
        for (place, cell) in mark_cells(criterion).into_iter().enumerate() {
            let what = match cell.student {
                None => format!("{}: mark", criterion.title),
                Some(index) => format!("{}: mark, student {}", criterion.title, index + 1),
            };
            let subject = Subject::Mark(criterion.id.clone());
            let mut line = self.line(Kind::Mark(cell.student), what);
            line.of = Some(criterion.marks);
            line.rule = Some(points(criterion.marks));
            line.entry = self.number(&subject, cell.student, cell.key());
            line.criterion = match cell.student {
                None => criterion.id.clone(),
                Some(index) => format!("{}#{}", criterion.id, index + 1),
            };
            let seen = self.first_mark(&subject, cell.student);
            if place == 0 {
                if let Some(suggestion) = suggestion {
                    let after = self.book.moderation.suggest_after;
                    line.evidence = evidence_lines(suggestion, self.pair.result, after);
                    line.gives = self.gives(criterion, suggestion);
                }
                line.takes_words = true;
                line.words = self.comment(criterion, suggestion);
            }
            if let Some(mark) = seen {
                line.evidence = format!("The first marker gave {mark}.\n{}", line.evidence);
            }
            self.lines.push(line);
        }
    }

    /// What the evidence gives, and with the judged points once they are entered; where the course wants it after the mark, once that is.
    fn gives(&self, criterion: &Criterion, suggestion: &CriterionSuggestion) -> CellContent {
        progress::gives(
            &progress::Gives {
                suggestion,
                of: criterion.marks,
                judged: criterion.judged.len(),
                points: self.points_held(criterion),
                marked: self.is_marked(criterion),
                after: self.book.moderation.suggest_after,
            },
            self.at(),
            self.last,
        )
    }

    /// The first marker's mark, for a second marker where the course has it seen.
    fn first_mark(&self, subject: &Subject, student: Option<usize>) -> Option<String> {
        let sees =
            self.pair.marking_as == MarkingAs::Second && self.book.moderation.second_sees_first;
        let first = Assigned {
            marking_as: MarkingAs::First,
            ..*self.pair
        };
        let held = self.book.held(&first, subject, student).filter(|_| sees)?;
        Some(held.value.clone())
    }

    /// The sum of the judged points, once all are entered.
    fn points_held(&self, criterion: &Criterion) -> Option<f64> {
        let held = criterion.judged.iter().map(|judged| {
            let subject = Subject::Judged(criterion.id.clone(), judged.id.clone());
            let held = self.book.held(self.pair, &subject, None)?;
            held.value.parse::<f64>().ok()
        });
        held.sum()
    }

    fn is_marked(&self, criterion: &Criterion) -> bool {
        let subject = Subject::Mark(criterion.id.clone());
        mark_cells(criterion)
            .iter()
            .all(|cell| self.book.held(self.pair, &subject, cell.student).is_some())
    }

    fn number(&mut self, subject: &Subject, student: Option<usize>, key: String) -> CellContent {
        let Some(held) = self.book.held(self.pair, subject, student) else {
            return CellContent::Empty;
        };
        let key = self.book.written_key(self.pair, key);
        let pair = &self.pair.result.pair;
        note(&mut self.written.values, NAME, pair, key, &held.value);
        held.value.parse::<f64>().ok().into()
    }

    fn text(&mut self, subject: &Subject) -> CellContent {
        let Some(held) = self.book.held(self.pair, subject, None) else {
            return CellContent::Empty;
        };
        let key = self.book.written_key(self.pair, subject.to_string());
        let pair = &self.pair.result.pair;
        note(&mut self.written.values, NAME, pair, key, &held.value);
        held.value.clone().into()
    }

    /// The comment on a criterion: what was entered, else one started from the evidence's own sentences. Only the first marker's are handed back.
    fn comment(
        &mut self,
        criterion: &Criterion,
        suggestion: Option<&CriterionSuggestion>,
    ) -> CellContent {
        let subject = Subject::Comment(criterion.id.clone());
        let entered = self.text(&subject);
        let (CellContent::Empty, Some(suggestion)) = (&entered, suggestion) else {
            return entered;
        };
        if self.pair.marking_as != MarkingAs::First {
            return CellContent::Empty;
        }
        let sentences: Vec<&str> = suggestion
            .evidence
            .iter()
            .filter(|outcome| outcome.earned().is_some())
            .filter_map(|outcome| outcome.sentence.as_deref())
            .collect();
        let text = clean(&sentences.join(" ")).into_owned();
        if text.is_empty() {
            return CellContent::Empty;
        }
        let pair = &self.pair.result.pair;
        note(
            &mut self.written.drafts,
            NAME,
            pair,
            subject.to_string(),
            &text,
        );
        text.into()
    }

    fn end(&mut self) {
        let mut line = self.line(Kind::Comment, "Comment for the pair");
        let (formula, now) = progress::of_part(self.book, self.pair, self.at(), self.last);
        line.evidence = now;
        line.evidence_formula = Some(formula);
        line.takes_words = true;
        line.words = self.text(&Subject::Comment("overall".into()));
        line.criterion = String::from("overall");
        self.lines.push(line);
    }
}

fn points(most: f64) -> EntryRule {
    EntryRule::Number { least: 0.0, most }
}

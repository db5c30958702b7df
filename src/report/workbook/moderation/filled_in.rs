//! What the cells to fill in hold as the workbook is written: what changed since is what somebody entered.

use super::{KIND, Moderation, checks_sheet, claims_sheet, findings_sheet, marks_sheet};
use crate::checks::Finding;
use crate::examination::PairResult;
use crate::ledger::{Held, Subject};
use crate::report::workbook::written::{Written, WrittenPair, WrittenValue};

/// The cells to fill in that are not empty, as they are about to be written.
pub(super) struct FilledIn<'a> {
    book: &'a Moderation<'a>,
    written: Written,
    /// Of findings: they come after what is a pair's.
    decisions: Vec<WrittenValue>,
}

impl<'a> FilledIn<'a> {
    /// Nothing filled in yet.
    pub fn new(book: &'a Moderation<'a>) -> Self {
        Self {
            book,
            written: Written {
                kind: KIND.to_owned(),
                rubric: book.rubric_digest.to_owned(),
                ledger_lines: book.entries.len(),
                ..Written::default()
            },
            decisions: Vec::new(),
        }
    }

    /// Adds what a pair's cells hold.
    pub fn add(&mut self, result: &PairResult) {
        let book = self.book;
        let pair = &*result.pair;
        self.written
            .pairs
            .push(WrittenPair::of(result, book.roster));
        let mut add = |sheet: &str, key: String, held: Option<Held>| {
            self.written.values.extend(value(sheet, pair, key, held));
        };
        for cell in book
            .rubric
            .criteria
            .iter()
            .flat_map(marks_sheet::mark_cells)
        {
            let subject = Subject::Mark(cell.criterion.clone());
            let held = book.held(pair, &subject, cell.student);
            add(marks_sheet::NAME, cell.key(), held);
        }
        let comment = Subject::Comment(String::from("overall"));
        let held = book.held(pair, &comment, None);
        add(marks_sheet::NAME, comment.to_string(), held);
        for (id, _) in claims_sheet::typed(book, pair) {
            let subject = Subject::Claim(id);
            let held = book.held(pair, &subject, None);
            add(claims_sheet::NAME, subject.to_string(), held);
        }
        for finding in &result.findings {
            self.add_finding(pair, finding);
        }
    }

    /// Adds what a finding's cells hold; the pair's id is empty where it belongs to none.
    pub fn add_finding(&mut self, pair: &str, finding: &Finding) {
        let id = finding.id(pair);
        for (key, subject) in [
            ("decision", Subject::Decision(id.clone())),
            ("note", Subject::Note(id.clone())),
        ] {
            let held = self.book.held(pair, &subject, None);
            let value = value(findings_sheet::NAME, &id, key.to_owned(), held);
            self.decisions.extend(value);
        }
    }

    /// All of them, with what holds for the whole cohort.
    pub fn written(mut self) -> Written {
        self.written.values.append(&mut self.decisions);
        for of in checks_sheet::ids() {
            let subject = Subject::DecisionForAll(of.to_owned());
            let held = self.book.held("", &subject, None);
            let key = String::from("decision-for-all");
            let value = value(checks_sheet::NAME, of, key, held);
            self.written.values.extend(value);
        }
        self.written
    }
}

fn value(sheet: &str, id: &str, key: String, held: Option<Held>) -> Option<WrittenValue> {
    Some(WrittenValue {
        sheet: sheet.to_owned(),
        id: id.to_owned(),
        key,
        value: held?.value,
    })
}

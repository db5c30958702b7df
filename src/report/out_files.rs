//! `out/*.csv`: the interface for scripts and tests. Columns and their order are fixed.

use std::io;
use std::path::Path;
use std::sync::LazyLock;

use rayon::prelude::*;

use super::csv_rows::{CsvRows, Field};
use crate::atomic::Replacement;
use crate::checks::{self, Finding};
use crate::examination::{ExaminedClaim, PairResult};
use crate::facts::{FactValue, catalogue};
use crate::ledger::{State, Subject};
use crate::logbook::model::ClaimMeasure;
use crate::place::evidence;
use crate::rubric::Rubric;

const FINDINGS: [&str; 9] = [
    "finding",
    "pair",
    "check",
    "weight",
    "message",
    "evidence",
    "claimed",
    "recomputed",
    "comment",
];
const CLAIMS: [&str; 12] = [
    "pair",
    "claim",
    "measure",
    "statistic",
    "phase",
    "versus",
    "claimed",
    "recomputed",
    "verdict",
    "explained_by",
    "confidence",
    "evidence",
];
const BLOCKS: [&str; 18] = [
    "pair", "measure", "phase", "session", "n", "missing", "mean", "median", "sd", "minimum",
    "maximum", "ce", "ae", "ve", "rmse", "mre", "sre", "bve",
];
const FACTS: [&str; 3] = ["pair", "fact", "value"];
const MARKS: [&str; 6] = [
    "pair",
    "criterion",
    "suggested",
    "out_of",
    "level",
    "judged_out_of",
];

/// The criterion under which marks.csv writes the total.
pub const TOTAL: &str = "total";

/// The five files under way: begun with their headers, filled pair by pair, then put in place.
pub struct OutFiles<'a> {
    rubric: &'a Rubric,
    state: &'a State,
    findings: Replacement,
    claims: Replacement,
    blocks: Replacement,
    facts: Replacement,
    marks: Replacement,
}

impl<'a> OutFiles<'a> {
    /// Begins the five files in a folder.
    ///
    /// # Errors
    /// The first file that can't be written, with its name.
    pub fn begin(folder: &Path, rubric: &'a Rubric, state: &'a State) -> io::Result<Self> {
        let begin = |name: &str, header: &[&str]| {
            let mut file = Replacement::begin(folder.join(name))?;
            file.write(&CsvRows::with_header(header).into_bytes())?;
            Ok::<_, io::Error>(file)
        };
        Ok(Self {
            rubric,
            state,
            findings: begin("findings.csv", &FINDINGS)?,
            claims: begin("claims.csv", &CLAIMS)?,
            blocks: begin("blocks.csv", &BLOCKS)?,
            facts: begin("facts.csv", &FACTS)?,
            marks: begin("marks.csv", &MARKS)?,
        })
    }

    /// Adds the rows of the next pairs.
    ///
    /// # Errors
    /// The first file that can't be written, with its name.
    pub fn add(&mut self, some: &[PairResult]) -> io::Result<()> {
        let rows: Vec<[CsvRows; 5]> = some
            .par_iter()
            .map(|result| {
                [
                    findings_of(result),
                    claims_of(result),
                    blocks_of(result),
                    facts_of(result),
                    marks_of(result, self.rubric, self.state),
                ]
            })
            .collect();
        for rows in rows {
            for (file, rows) in self.files().into_iter().zip(rows) {
                file.write(&rows.into_bytes())?;
            }
        }
        Ok(())
    }

    fn files(&mut self) -> [&mut Replacement; 5] {
        [
            &mut self.findings,
            &mut self.claims,
            &mut self.blocks,
            &mut self.facts,
            &mut self.marks,
        ]
    }

    /// Adds what belongs to no pair. Gives the complete files, not yet in their places.
    ///
    /// # Errors
    /// The first file that can't be written, with its name.
    pub fn complete(mut self, without_pair: &[Finding]) -> io::Result<[Replacement; 5]> {
        let mut rows = CsvRows::new();
        for finding in without_pair {
            finding_row(&mut rows, "", finding);
        }
        self.findings.write(&rows.into_bytes())?;
        Ok([
            self.findings,
            self.claims,
            self.blocks,
            self.facts,
            self.marks,
        ])
    }
}

fn findings_of(result: &PairResult) -> CsvRows {
    let mut rows = CsvRows::new();
    for finding in &result.findings {
        finding_row(&mut rows, &result.pair, finding);
    }
    rows
}

fn finding_row(rows: &mut CsvRows, pair: &str, finding: &Finding) {
    let id = finding.id(pair);
    let cells = evidence(&finding.places);
    rows.row([
        Field::from(&id),
        pair.into(),
        finding.check.into(),
        finding.weight.name().into(),
        Field::from(&finding.message),
        Field::from(&cells),
        finding.claimed.as_ref().into(),
        finding.recomputed.into(),
        Field::from(&finding.comment),
    ]);
}

fn claims_of(result: &PairResult) -> CsvRows {
    let mut rows = CsvRows::new();
    for examined in &result.claims {
        claim_row(&mut rows, result, examined);
    }
    rows
}

fn claim_row(rows: &mut CsvRows, result: &PairResult, examined: &ExaminedClaim) {
    let claim = &examined.claim;
    let recomputed = &examined.recomputed;
    let measure: Option<&str> = match &claim.measure {
        ClaimMeasure::Known(index) => result.measures.get(*index).map(|measure| &*measure.name),
        ClaimMeasure::Technique => Some("technique"),
        ClaimMeasure::Unknown(name) => Some(name),
    };
    let statistic = claim
        .statistic
        .map_or(&*claim.statistic_text, |statistic| statistic.name());
    let canonical_or_typed = |block: Option<crate::phase::BlockName>, typed: Option<&str>| {
        block.map_or_else(
            || typed.unwrap_or_default().to_owned(),
            |block| block.to_string(),
        )
    };
    let phase = canonical_or_typed(claim.phase, claim.phase_text.as_deref());
    let versus = canonical_or_typed(claim.versus, claim.versus_text.as_deref());
    let claimed = match claim.value {
        Some(stated) => Field::from(stated.value),
        None => Field::from(&*claim.value_text),
    };
    let explained = recomputed.explained_by();
    let cells = evidence(&recomputed.places.iter().collect::<Vec<_>>());
    rows.row([
        Field::from(&*result.pair),
        Field::from(&*claim.id),
        measure.into(),
        statistic.into(),
        Field::from(&phase),
        Field::from(&versus),
        claimed,
        recomputed.value.ok().into(),
        recomputed.verdict.name().into(),
        Field::from(&explained),
        recomputed
            .confidence
            .map(crate::claims::Confidence::name)
            .into(),
        Field::from(&cells),
    ]);
}

fn blocks_of(result: &PairResult) -> CsvRows {
    let mut rows = CsvRows::new();
    for block in &result.blocks {
        rows.field(Field::from(&*result.pair));
        rows.field(Field::from(&*block.measure));
        rows.field(Field::from(&block.phase.to_string()));
        rows.field(block.session.map(|number| number as usize).into());
        rows.field(block.n.into());
        rows.field(block.missing.into());
        for number in block.numbers() {
            rows.field(number.into());
        }
        rows.end_row();
    }
    rows
}

/// The names of the counts of findings, in the order of the checks.
static COUNTS: LazyLock<Vec<String>> = LazyLock::new(|| {
    let checks = checks::ALL.iter();
    checks.map(|check| catalogue::of_check(check.id)).collect()
});

fn facts_of(result: &PairResult) -> CsvRows {
    let mut rows = CsvRows::new();
    if result.hand_in.is_none() {
        return rows;
    }
    for (name, value) in result.facts.iter() {
        let pair = Field::from(&*result.pair);
        match value {
            FactValue::Number(number) => rows.row([pair, name.into(), (*number).into()]),
            FactValue::Text(text) => rows.row([pair, name.into(), Field::Text(text)]),
            FactValue::Truth(_) | FactValue::Date(_) => {
                rows.row([pair, name.into(), Field::Plain(&value.to_string())]);
            }
        }
    }
    for (check, name) in checks::ALL.iter().zip(&*COUNTS) {
        if let Some(count) = result.findings_of(check.id) {
            rows.row([Field::from(&*result.pair), name.into(), count.into()]);
        }
    }
    rows
}

/// The suggestions of a pair, and the levels of criteria that a person has completed.
fn marks_of(result: &PairResult, rubric: &Rubric, state: &State) -> CsvRows {
    let mut rows = CsvRows::new();
    let mut sums = [0.0; 3];
    let mut total = Some(0.0);
    for (criterion, suggestion) in rubric.criteria.iter().zip(&result.suggestions) {
        let mark: Option<f64> = state
            .pair(&result.pair)
            .and_then(|state| state.standing(&Subject::Mark(criterion.id.clone()), ""))
            .and_then(|held| held.value.parse().ok());
        total = total.zip(mark).map(|(total, mark)| total + mark);
        let level = mark.and_then(|mark| criterion.level(mark));
        let numbers = [
            suggestion.suggested,
            suggestion.out_of,
            suggestion.judged_out_of,
        ];
        for (sum, number) in sums.iter_mut().zip(numbers) {
            *sum += number;
        }
        marks_row(
            &mut rows,
            &result.pair,
            &criterion.id,
            numbers,
            level.map(|level| level.title.as_str()),
        );
    }
    if !result.suggestions.is_empty() {
        let level = total.and_then(|total| rubric.level(total));
        marks_row(
            &mut rows,
            &result.pair,
            TOTAL,
            sums,
            level.map(|level| level.title.as_str()),
        );
    }
    rows
}

fn marks_row(
    rows: &mut CsvRows,
    pair: &str,
    criterion: &str,
    numbers: [f64; 3],
    level: Option<&str>,
) {
    let [suggested, out_of, judged_out_of] = numbers;
    rows.row([
        pair.into(),
        criterion.into(),
        suggested.into(),
        out_of.into(),
        level.into(),
        judged_out_of.into(),
    ]);
}

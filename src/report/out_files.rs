//! `out/*.csv`: the interface for scripts and tests. Columns and their order are fixed.

use std::io::{self, BufWriter, Write as _};
use std::path::Path;

use rayon::prelude::*;

use super::csv_rows::{CsvRows, Field};
use crate::atomic;
use crate::checks::{self, Finding};
use crate::examination::{CohortResult, ExaminedClaim, PairResult};
use crate::expression::FactSource as _;
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

/// Pairs whose rows are made in parallel before they are written: enough to keep every core busy, few enough to keep memory flat.
pub(super) const PAIRS_AT_ONCE: usize = 256;

/// Writes all five files to a folder, each replaced whole.
///
/// # Errors
/// The first file that can't be written, with its name.
pub fn write_all(
    folder: &Path,
    cohort: &CohortResult,
    rubric: &Rubric,
    state: &State,
) -> io::Result<()> {
    let findings_without_pair = || {
        let mut rows = CsvRows::new();
        for finding in &cohort.without_pair {
            finding_row(&mut rows, "", finding);
        }
        rows
    };
    write(
        folder,
        "findings.csv",
        &FINDINGS,
        cohort,
        &findings_of,
        findings_without_pair(),
    )?;
    write(
        folder,
        "claims.csv",
        &CLAIMS,
        cohort,
        &claims_of,
        CsvRows::new(),
    )?;
    write(
        folder,
        "blocks.csv",
        &BLOCKS,
        cohort,
        &blocks_of,
        CsvRows::new(),
    )?;
    write(
        folder,
        "facts.csv",
        &FACTS,
        cohort,
        &facts_of,
        CsvRows::new(),
    )?;
    let marks = |result: &PairResult| marks_of(result, rubric, state);
    write(folder, "marks.csv", &MARKS, cohort, &marks, CsvRows::new())
}

fn write(
    folder: &Path,
    name: &str,
    header: &[&str],
    cohort: &CohortResult,
    rows_of: &(dyn Fn(&PairResult) -> CsvRows + Sync),
    last: CsvRows,
) -> io::Result<()> {
    let path = folder.join(name);
    let written = atomic::replace(&path, |file| {
        let mut file = BufWriter::new(file);
        file.write_all(&CsvRows::with_header(header).into_bytes())?;
        for some in cohort.pairs.chunks(PAIRS_AT_ONCE) {
            let parts: Vec<Vec<u8>> = some
                .par_iter()
                .map(|pair| rows_of(pair).into_bytes())
                .collect();
            for part in parts {
                file.write_all(&part)?;
            }
        }
        file.write_all(&last.into_bytes())?;
        file.flush()
    });
    written.map_err(|error| io::Error::new(error.kind(), format!("{}: {error}", path.display())))
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

fn facts_of(result: &PairResult) -> CsvRows {
    let mut rows = CsvRows::new();
    if result.hand_in.is_none() {
        return rows;
    }
    for (name, value) in result.facts.iter() {
        let text = value.to_string();
        let field = match value {
            FactValue::Text(_) => Field::Text(&text),
            _ => Field::Plain(&text),
        };
        rows.row([Field::from(&*result.pair), name.into(), field]);
    }
    for check in checks::ALL {
        let name = catalogue::of_check(check.id);
        if let Some(count) = result.fact(&name) {
            let count = count.to_string();
            rows.row([
                Field::from(&*result.pair),
                Field::from(&name),
                Field::Plain(&count),
            ]);
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

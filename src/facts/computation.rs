//! All facts of one pair.

use super::calendar::Calendar;
use super::record::Record;
use super::settings::FactSettings;
use super::subject::Subject;
use super::value::Facts;
use super::{about, estimate, practice, programme, raters, technique, test_block, testing};
use crate::logbook::model::Logbook;

/// All facts of a pair that its own logbook gives: of the primary measure by their bare names, of the others through
/// `measure["name"].`. Facts of claims, stages, theories and findings are added by later steps.
///
/// The same pair, logbook and settings give the same facts: every random stream is keyed by seed, pair, measure and fact.
pub fn compute(_pair: &str, logbook: &Logbook, record: &Record, _settings: &FactSettings) -> Facts {
    let mut facts = logbook
        .measures
        .first()
        .map_or_else(Facts::default, |primary| {
            Facts::of_primary(primary.name.clone())
        });
    let calendar = Calendar::new(logbook, record);
    about::record(&mut facts, logbook);
    programme::record(&mut facts, logbook, &calendar);
    technique::record(&mut facts, logbook);
    for (index, (measure, blocks)) in logbook.measures.iter().zip(&record.measures).enumerate() {
        let subject = Subject {
            logbook,
            record,
            measure,
            blocks,
            is_primary: index == 0,
            calendar: &calendar,
        };
        test_block::record(&mut facts, &subject);
        practice::record(&mut facts, &subject);
        testing::record(&mut facts, &subject);
        raters::record(&mut facts, &subject);
        estimate::record(&mut facts, &subject);
    }
    facts
}

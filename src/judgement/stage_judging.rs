//! The signs of the stage that a pair names, read from its record and weighed.

use super::naming::Naming;
use super::stage_models::{Sign, Stage, StageModel, StageModels};
use super::stage_verdict::{Moment, SignReading, Speaks, StageVerdict, Verdict};
use crate::expression::{FactSource, Outcome};
use crate::wording::counted;

/// Signs that must be recorded before anything is said.
const LEAST_SIGNS: usize = 3;

/// The model that a text means, and which of its stages it names.
struct Named<'m> {
    model: &'m StageModel,
    /// Indices of the stages, in their order.
    stages: Vec<usize>,
}

impl StageModels {
    fn named(&self, text: &str) -> Option<Named<'_>> {
        let naming = Naming::of(text);
        let found: Vec<Named<'_>> = self
            .models
            .iter()
            .map(|model| Named {
                model,
                stages: model
                    .stages
                    .iter()
                    .enumerate()
                    .filter(|(_, stage)| naming.names(&stage.spellings))
                    .map(|(at, _)| at)
                    .collect(),
            })
            .filter(|named| !named.stages.is_empty())
            .collect();
        let by_name = found
            .iter()
            .position(|named| naming.names(&named.model.spellings));
        found.into_iter().nth(by_name.unwrap_or(0))
    }

    /// What the record can say of the stage that the pair names.
    pub fn judge(
        &self,
        diagnosed: Option<&str>,
        moment: Moment,
        source: &dyn FactSource,
    ) -> StageVerdict {
        let Some(text) = diagnosed.filter(|text| !Naming::of(text).is_empty()) else {
            return StageVerdict::without_signs(
                Verdict::NotDiagnosed,
                "No stage of learning is named.",
            );
        };
        let Some(named) = self.named(text) else {
            return StageVerdict::without_signs(
                Verdict::Unknown,
                "The stage named belongs to no model that this course uses; a person has to read it.",
            );
        };
        judge(&named, moment, source)
    }

    /// Whether the diagnosis at the end is a stage before the one at the start, in words; none where it isn't, or where the two texts name
    /// no stages of one model.
    pub fn went_backwards(&self, start: &str, end: &str) -> Option<String> {
        let (start, end) = (self.named(start)?, self.named(end)?);
        if start.model.id != end.model.id {
            return None;
        }
        let first = *start.stages.first()?;
        let last = *end.stages.last()?;
        (last < first).then(|| {
            let title = |at: usize| {
                start
                    .model
                    .stages
                    .get(at)
                    .map_or_else(String::new, |stage| stage.title.clone())
            };
            format!(
                "The stage at the end ({}) comes before the stage at the start ({}) in this model.",
                title(last),
                title(first)
            )
        })
    }
}

fn judge(named: &Named<'_>, moment: Moment, source: &dyn FactSource) -> StageVerdict {
    let model = named.model;
    let stages: Vec<&Stage> = named
        .stages
        .iter()
        .filter_map(|at| model.stages.get(*at))
        .collect();
    let signs: Vec<SignReading> = model
        .signs
        .iter()
        .filter(|sign| sign.at == moment)
        .map(|sign| read(sign, model, &stages, source))
        .collect();
    // A stage needs what it requires only where the text names no earlier stage beside it.
    let required = stages.first().map_or(&[][..], |stage| &stage.requires);
    let not_shown: Vec<String> = required
        .iter()
        .filter_map(|id| {
            let sign = signs.iter().find(|sign| sign.id == *id)?;
            (sign.speaks != Speaks::For).then(|| sign.looks_at.clone())
        })
        .collect();
    let mut verdict = StageVerdict {
        verdict: Verdict::NoEvidence,
        model: Some(model.title.clone()),
        stages: stages.iter().map(|stage| stage.title.clone()).collect(),
        signs,
        not_shown,
        sentence: String::new(),
    };
    verdict.verdict = weigh(&verdict);
    verdict.sentence = sentence(&verdict);
    verdict
}

/// No sign decides alone: two at least, and more than speak the other way.
fn weigh(read: &StageVerdict) -> Verdict {
    let supports = read.count(Speaks::For);
    let against = read.count(Speaks::Against);
    let recorded = supports + against + read.count(Speaks::Neutral);
    if recorded < LEAST_SIGNS {
        Verdict::NoEvidence
    } else if !read.not_shown.is_empty() || (against >= 2 && against > supports) {
        Verdict::NotSupported
    } else if supports >= 2 && supports > against {
        Verdict::Supported
    } else {
        Verdict::Undecided
    }
}

fn read(sign: &Sign, model: &StageModel, named: &[&Stage], source: &dyn FactSource) -> SignReading {
    let mut reading = SignReading {
        id: sign.id.clone(),
        looks_at: sign.looks_at.clone(),
        shows: None,
        speaks: Speaks::NotRecorded,
        speaks_for: Vec::new(),
        because: sign.because.clone(),
        source: sign.source.clone(),
    };
    if sign.needs.evaluate(source) != Outcome::True {
        return reading;
    }
    let mut for_named = false;
    let mut undecided = false;
    for stage in &model.stages {
        let mut speaks = false;
        for (_, when) in sign.speaks_for.iter().filter(|(id, _)| *id == stage.id) {
            match when.evaluate(source) {
                Outcome::True => speaks = true,
                Outcome::Undecided { .. } => undecided = true,
                Outcome::False => {}
            }
        }
        if speaks {
            reading.speaks_for.push(stage.title.clone());
            for_named |= named.iter().any(|it| it.id == stage.id);
        }
    }
    reading.shows = Some(sign.shows.fill(source));
    reading.speaks = if for_named {
        Speaks::For
    } else if reading.speaks_for.is_empty() || undecided {
        Speaks::Neutral
    } else {
        Speaks::Against
    };
    reading
}

fn sentence(read: &StageVerdict) -> String {
    let supports = read.count(Speaks::For);
    let against = read.count(Speaks::Against);
    let neutral = read.count(Speaks::Neutral);
    let recorded = supports + against + neutral;
    let stage = read.stages.join(" and ");
    let counts = format!(
        "of {} recorded, {supports} for it, {against} for another stage, {neutral} for none",
        counted(recorded, "sign")
    );
    match read.verdict {
        Verdict::Supported => format!("The record speaks for the {stage}: {counts}."),
        Verdict::NotSupported if !read.not_shown.is_empty() => format!(
            "The {stage} needs more than this record shows. Not shown: {} ({counts}).",
            read.not_shown.join("; ")
        ),
        Verdict::NotSupported => {
            format!("The record speaks rather against the {stage}: {counts}.")
        }
        Verdict::Undecided => format!(
            "The signs don't agree on the {stage}: {counts}. A learner between two stages looks like this."
        ),
        Verdict::NoEvidence => format!(
            "The record shows too little to speak for or against the {stage}: {recorded} of the signs of this model {} recorded, and it takes {LEAST_SIGNS}.",
            if recorded == 1 { "is" } else { "are" }
        ),
        Verdict::NotDiagnosed | Verdict::Unknown => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::expression::fixture;
    use crate::facts::FactValue::{self, Number, Text, Truth};

    fn judged(text: &str, moment: Moment, facts: &[(&str, FactValue)]) -> StageVerdict {
        StageModels::shipped(&fixture::catalogue()).unwrap().judge(
            Some(text),
            moment,
            &fixture::facts(facts),
        )
    }

    /// A beginner who improved, kept it and adapted it.
    fn improver() -> Vec<(&'static str, FactValue)> {
        vec![
            ("pre.level", Number(0.3)),
            ("post.level", Number(0.7)),
            ("about.experience_kind", Text("none".into())),
            ("curve.gain_early", Number(0.2)),
            ("curve.gain_late", Number(0.08)),
            ("curve.tau_p", Number(0.01)),
            ("curve.sd_early", Number(0.9)),
            ("curve.sd_late", Number(0.6)),
            ("change.post.beyond_noise", Truth(true)),
            ("gain.retained", Number(85.0)),
            ("retention.days_after", Number(7.0)),
        ]
    }

    #[test]
    fn a_beginner_who_became_consistent_is_borne_out() {
        let start = judged(
            "Cognitive (Fitts & Posner, 1967)",
            Moment::Start,
            &improver(),
        );
        assert_eq!(start.verdict, Verdict::Supported, "{start:#?}");
        let end = judged("associative stage", Moment::End, &improver());
        assert_eq!(end.verdict, Verdict::Supported, "{end:#?}");
        let spread = end.signs.iter().find(|sign| sign.id == "spread").unwrap();
        assert_eq!(spread.speaks, Speaks::For);
        assert_eq!(
            spread.shows.as_deref(),
            Some("standard deviation 0.90, then 0.60")
        );
        let transfer = end.signs.iter().find(|sign| sign.id == "transfer").unwrap();
        assert_eq!(transfer.speaks, Speaks::NotRecorded);
    }

    #[test]
    fn a_beginner_called_autonomous_at_the_start_is_not() {
        let start = judged("autonomous", Moment::Start, &improver());
        assert_eq!(start.verdict, Verdict::NotSupported);
    }

    #[test]
    fn autonomous_needs_attention_retention_and_transfer() {
        let mut facts = improver();
        facts.extend([
            ("post.level", Number(0.85)),
            ("curve.gain_late", Number(0.01)),
            ("gain.retained", Number(95.0)),
            ("gain.transferred", Number(90.0)),
            ("tests.transfer_novel", Truth(true)),
        ]);
        let without = judged("autonomous stage", Moment::End, &facts);
        assert_eq!(without.verdict, Verdict::NotSupported);
        assert_eq!(without.not_shown.len(), 1);
        assert!(
            without.sentence.contains("attention"),
            "{}",
            without.sentence
        );
        facts.push((
            "about.novel_context",
            Text("Dual-task: counting back in sevens".into()),
        ));
        let with = judged("autonomous stage", Moment::End, &facts);
        assert_eq!(with.not_shown, Vec::<String>::new());
        assert_eq!(with.verdict, Verdict::Supported, "{with:#?}");
        facts.retain(|(name, _)| *name != "gain.retained");
        let unretained = judged("autonomous stage", Moment::End, &facts);
        assert_eq!(unretained.verdict, Verdict::NotSupported);
    }

    /// A learner at the top of a scale, or at its bottom, has little spread whatever the stage.
    #[test]
    fn neither_ceiling_nor_floor_is_consistency() {
        for level in [0.95, 0.05] {
            let mut facts = improver();
            facts.push(("post.level", Number(level)));
            let end = judged("associative", Moment::End, &facts);
            let spread = end.signs.iter().find(|sign| sign.id == "spread").unwrap();
            assert_eq!(spread.speaks, Speaks::NotRecorded, "{level}");
        }
        let mut facts = improver();
        facts.push(("post.level", Number(0.95)));
        let end = judged("autonomous", Moment::End, &facts);
        let level = end.signs.iter().find(|sign| sign.id == "level").unwrap();
        assert_eq!(level.speaks, Speaks::Against);
    }

    #[test]
    fn two_recorded_signs_are_no_evidence() {
        let facts = [
            ("pre.level", Number(0.3)),
            ("about.experience_kind", Text("none".into())),
        ];
        let start = judged("cognitive", Moment::Start, &facts);
        assert_eq!(start.verdict, Verdict::NoEvidence);
        assert!(
            start.sentence.contains("2 of the signs"),
            "{}",
            start.sentence
        );
        let empty = judged("cognitive", Moment::Start, &[]);
        assert_eq!(empty.verdict, Verdict::NoEvidence);
    }

    #[test]
    fn a_model_of_coordination_says_nothing_from_scores_alone() {
        let start = judged("freezing (Bernstein)", Moment::Start, &improver());
        assert_eq!(start.verdict, Verdict::NoEvidence);
        let mut facts = improver();
        facts.extend([
            ("technique.improved", Number(4.0)),
            ("technique.compared", Number(5.0)),
        ]);
        let start = judged("freezing (Bernstein)", Moment::Start, &facts);
        assert_eq!(start.verdict, Verdict::Supported);
    }

    #[test]
    fn none_named_and_none_known_are_told_apart() {
        let models = StageModels::shipped(&fixture::catalogue()).unwrap();
        let facts = fixture::facts(&[]);
        let verdict = |text| models.judge(text, Moment::Start, &facts).verdict;
        assert_eq!(verdict(None), Verdict::NotDiagnosed);
        assert_eq!(verdict(Some(" - ")), Verdict::NotDiagnosed);
        assert_eq!(verdict(Some("the purple stage")), Verdict::Unknown);
    }

    #[test]
    fn a_text_between_two_stages_names_both() {
        let end = judged(
            "late cognitive / early associative",
            Moment::End,
            &improver(),
        );
        assert_eq!(end.stages, ["cognitive stage", "associative stage"]);
        assert_eq!(end.verdict, Verdict::Supported);
        let model = judged("control (Newell)", Moment::End, &improver());
        assert_eq!(
            model.model.as_deref(),
            Some("coordination, control and skill of Newell")
        );
    }

    #[test]
    fn going_backwards_is_told_within_one_model_alone() {
        let models = StageModels::shipped(&fixture::catalogue()).unwrap();
        assert!(models.went_backwards("associative", "cognitive").is_some());
        assert_eq!(models.went_backwards("cognitive", "associative"), None);
        assert_eq!(models.went_backwards("cognitive", "late cognitive"), None);
        assert_eq!(models.went_backwards("associative", "initial stage"), None);
    }
}

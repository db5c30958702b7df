//! A condition: read once, evaluated for every pair.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, LazyLock};

use cel::common::ast::{CallExpr, Expr, IdedExpr, LiteralValue};
use cel::common::types::{CelBool, CelDouble, CelString, DOUBLE_TYPE};
use cel::common::value::CowVal;
use cel::context::VariableResolver;
use cel::{Context, Env, ExecutionError, Value};

use super::catalogue::Catalogue;
use super::lower::{DIVIDE, ExpressionFault, HAS_MARK, Kind, Lowering, VALUE_MARK, day_number};
use super::mistakes::{self, Refusal};
use super::{FactSource, number_range, words};
use crate::facts::FactValue;

/// Longer conditions are refused: nobody can proofread them.
const LONGEST: usize = 2_000;

/// The language's functions, with the mathematics and the lower case that conditions on scores and texts need.
static LANGUAGE: LazyLock<Arc<Env>> = LazyLock::new(|| {
    let mut env = Env::stdlib().with_optional_support(false);
    // None of their names is declared before: they can't fail.
    let _ = env.add_extension(cel::extensions::math);
    let _ = env.add_extension(cel::extensions::strings);
    let _ = env.add_overload(DIVIDE, "divide", vec![DOUBLE_TYPE, DOUBLE_TYPE], |args| {
        let number = |at: usize| {
            args.get(at)
                .and_then(|value| value.downcast_ref::<CelDouble>())
                .map(|value| *value.inner())
        };
        match (number(0), number(1)) {
            (Some(a), Some(b)) if b != 0.0 => Ok(CowVal::owned(CelDouble::from(a / b))),
            _ => Err(ExecutionError::DivisionByZero(Value::Float(
                number(0).unwrap_or_default(),
            ))),
        }
    });
    Arc::new(env)
});

/// What a condition says of one pair.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// It holds.
    True,
    /// It doesn't.
    False,
    /// Neither: facts that it needs are absent, or it divides by zero (then none is named).
    Undecided {
        /// The facts that were asked for and are absent, in the order in which they stand in the condition.
        absent: Vec<String>,
    },
}

/// A condition over facts, ready to be evaluated, on any number of threads at once.
#[derive(Debug, Clone)]
pub struct Condition {
    text: String,
    words: String,
    program: Arc<IdedExpr>,
    facts: Arc<[String]>,
    parts: Vec<String>,
    constant: Option<bool>,
}

/// Two conditions are equal where they read the same.
impl PartialEq for Condition {
    fn eq(&self, other: &Self) -> bool {
        self.words == other.words
    }
}

impl Condition {
    /// Reads a condition.
    ///
    /// # Errors
    /// Every fault of it: grammar, names that are no facts, types that don't go together, too long or loops in loops.
    pub fn read(text: &str, catalogue: &Catalogue) -> Result<Self, Vec<ExpressionFault>> {
        let whole = 0..text.len();
        let one = |message: String, help: &str| {
            vec![ExpressionFault {
                range: whole.clone(),
                message,
                help: Some(help.to_owned()),
            }]
        };
        if text.chars().count() > LONGEST {
            let message = format!("a condition has at most {LONGEST} characters");
            return Err(one(message, "split it into several evidence points"));
        }
        let (parsed, places) = LANGUAGE
            .parser()
            .parse_with_source_info(text)
            .map_err(|errors| mistakes::explain(text, &refusals(text, &errors)))?;
        let mut program = parsed.clone();
        let mut lowering = Lowering::new(catalogue, &places);
        let kind = lowering.lower(&mut program);
        let mut faults = lowering.faults;
        if faults.is_empty() && !matches!(kind, Kind::Truth | Kind::Any) {
            let message = format!(
                "this gives {}, and a condition must be true or false",
                kind.words()
            );
            faults = one(message, "compare it, for example > 0");
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let facts: Arc<[String]> = lowering.facts.into();
        let parts = words::conjuncts(&parsed);
        let mut condition = Self {
            text: text.to_owned(),
            words: words::of(&parsed),
            program: Arc::new(program),
            facts,
            parts,
            constant: None,
        };
        condition.constant = condition.settle(lowering.asks_presence, &parsed);
        Ok(condition)
    }

    /// The value that it has for every pair, where there is one.
    fn settle(&self, asks_presence: bool, parsed: &IdedExpr) -> Option<bool> {
        if number_range::contradicts_itself(parsed) {
            return Some(false);
        }
        if asks_presence {
            return None;
        }
        // What is settled although nothing is known stays settled whatever becomes known.
        let nothing: std::collections::BTreeMap<String, FactValue> =
            std::collections::BTreeMap::new();
        match self.evaluate(&nothing) {
            Outcome::True => Some(true),
            Outcome::False => Some(false),
            Outcome::Undecided { .. } => None,
        }
    }

    /// The condition as it was written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The condition in words, for proofreading and for explanations.
    pub fn words(&self) -> &str {
        &self.words
    }

    /// The facts that it names, in the order in which they stand in it.
    pub fn facts(&self) -> &[String] {
        &self.facts
    }

    /// The value that it has for every pair whatever its facts, where there is one: `pre.n > 10 && pre.n < 5` is never true.
    pub fn constant(&self) -> Option<bool> {
        self.constant
    }

    /// Whether it can only hold where `other` does, as far as can be seen from how they are written: it has all of its parts.
    pub fn has_all_parts_of(&self, other: &Self) -> bool {
        other.parts.iter().all(|part| self.parts.contains(part))
    }

    /// What it says of one pair.
    pub fn evaluate(&self, source: &dyn FactSource) -> Outcome {
        let values: Vec<Option<FactValue>> =
            self.facts.iter().map(|fact| source.fact(fact)).collect();
        let slots = Slots {
            unread: self
                .facts
                .iter()
                .zip(&values)
                .map(|(fact, value)| value.is_none() && source.is_unread(fact))
                .collect(),
            missed: values.iter().map(|_| AtomicBool::new(false)).collect(),
            values,
        };
        let mut context = Context::with_env(Arc::clone(&LANGUAGE));
        context.set_variable_resolver(&slots);
        let answer = Value::resolve(&self.program, &context);
        drop(context);
        match answer {
            Ok(Value::Bool(true)) => Outcome::True,
            Ok(Value::Bool(false)) => Outcome::False,
            _ => Outcome::Undecided {
                absent: slots
                    .missed
                    .iter()
                    .zip(self.facts.iter())
                    .filter(|(missed, _)| missed.load(Ordering::Relaxed))
                    .map(|(_, fact)| fact.clone())
                    .collect(),
            },
        }
    }
}

/// Whether a pattern for `matches` is one: an unsound one would decide nothing for any pair, in silence.
pub(super) fn is_pattern(pattern: &str) -> bool {
    let text = |text: &str| IdedExpr {
        id: 0,
        expr: Expr::Literal(LiteralValue::String(CelString::from(text.to_owned()))),
    };
    let call = IdedExpr {
        id: 0,
        expr: Expr::Call(CallExpr {
            func_name: "matches".to_owned(),
            target: Some(Box::new(text(""))),
            args: vec![text(pattern)],
        }),
    };
    Value::resolve(&call, &Context::with_env(Arc::clone(&LANGUAGE))).is_ok()
}

/// Where the grammar refuses a text, as bytes: it counts lines and characters from 1.
fn refusals(text: &str, errors: &cel::ParseErrors) -> Vec<Refusal> {
    let from_one = |number: isize| usize::try_from(number).unwrap_or(1).max(1) - 1;
    errors
        .errors
        .iter()
        .map(|error| {
            let line = from_one(error.pos.0);
            let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
            let rest = text.get(start..).unwrap_or_default();
            let within = rest
                .char_indices()
                .nth(from_one(error.pos.1))
                .map_or(rest.len(), |(at, _)| at);
            Refusal {
                place: start + within,
                said: error.msg.clone(),
            }
        })
        .collect()
}

/// The values of a condition's facts for one pair, and which of them were asked for and absent.
struct Slots {
    values: Vec<Option<FactValue>>,
    /// Which of those without a value may have one that could not be read.
    unread: Vec<bool>,
    missed: Vec<AtomicBool>,
}

impl VariableResolver for Slots {
    fn resolve<'b>(&'b self, variable: &str) -> Option<CowVal<'b, 'b>> {
        if let Some(slot) = variable.strip_prefix(HAS_MARK) {
            let slot: usize = slot.parse().ok()?;
            let value = self.values.get(slot)?;
            if value.is_none() && self.unread.get(slot).copied().unwrap_or(false) {
                if let Some(missed) = self.missed.get(slot) {
                    missed.store(true, Ordering::Relaxed);
                }
                return None;
            }
            return Some(CowVal::owned(CelBool::from(value.is_some())));
        }
        let slot: usize = variable.strip_prefix(VALUE_MARK)?.parse().ok()?;
        let value = self.values.get(slot)?;
        if value.is_none()
            && let Some(missed) = self.missed.get(slot)
        {
            missed.store(true, Ordering::Relaxed);
        }
        Some(match value.as_ref()? {
            FactValue::Number(number) => CowVal::owned(CelDouble::from(*number)),
            FactValue::Truth(truth) => CowVal::owned(CelBool::from(*truth)),
            FactValue::Text(text) => CowVal::owned(CelString::from(text.as_ref())),
            FactValue::Date(day) => CowVal::owned(CelDouble::from(day_number(*day))),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::expression::fixture;
    use FactValue::{Date, Number, Text, Truth};

    fn read(text: &str) -> Condition {
        Condition::read(text, &fixture::catalogue())
            .unwrap_or_else(|faults| panic!("{text}: {faults:?}"))
    }

    fn outcome(text: &str) -> Outcome {
        let facts = fixture::facts(&[
            ("pre.n", Number(10.0)),
            ("post.n", Number(12.0)),
            ("pre.mean", Number(2.5)),
            ("retention.mean", Number(3.0)),
            ("retention_2.mean", Number(2.0)),
            ("measure[\"distance\"].pre.mean", Number(41.0)),
            ("findings[\"testing.one-rater\"]", Number(0.0)),
            ("about.theory", Text("Schema theory".into())),
            ("about.learning_claimed", Truth(true)),
            ("post.date", Date(jiff::civil::date(2026, 3, 1))),
            ("retention.date", Date(jiff::civil::date(2026, 3, 9))),
        ]);
        read(text).evaluate(&facts)
    }

    fn undecided(absent: &[&str]) -> Outcome {
        Outcome::Undecided {
            absent: absent.iter().map(|fact| (*fact).to_owned()).collect(),
        }
    }

    #[test]
    fn whole_numbers_and_doubles_mix() {
        for text in [
            "pre.n >= 10",
            "pre.n + 1 > 5",
            "pre.n == 10.0",
            "pre.n / 4 == 2.5",
            "post.n - pre.n == 2",
            "-pre.n < 0",
            "pre.n in [9, 10]",
            "size(about.theory) > 3",
            "math.abs(pre.mean - 5) >= 2.5",
            "math.greatest(pre.n, post.n) == 12",
            "[pre.n, post.n].all(n, n >= 10)",
            "[pre.n, post.n].exists_one(n, n > 10)",
            "[pre.n, post.n].map(n, n + 1) == [11, 13]",
            "(pre.n > 5 ? 1 : 2) + 1 == 2",
        ] {
            assert_eq!(outcome(text), Outcome::True, "{text}");
        }
        assert_eq!(outcome("pre.n < 10"), Outcome::False);
    }

    #[test]
    fn every_way_to_name_a_fact_works() {
        for text in [
            "retention_2.mean < retention.mean",
            "measure[\"distance\"].pre.mean > 40",
            "measure['distance'].pre.mean > 40",
            "has(measure[\"distance\"].pre.mean)",
            "findings[\"testing.one-rater\"] == 0",
            "about.theory.contains(\"Schema\")",
            "about.theory.matches(\"(?i)schema\")",
            "about.theory.lowerAscii().contains(\"schema\")",
            "[\"loop\", \"schema\"].exists(word, about.theory.lowerAscii().contains(word))",
            "about.learning_claimed",
            "about.learning_claimed == true",
            "retention.date - post.date >= 7",
            "retention.date > date(\"2026-03-05\")",
        ] {
            assert_eq!(outcome(text), Outcome::True, "{text}");
        }
    }

    #[test]
    fn an_absent_fact_is_neither_true_nor_false() {
        assert_eq!(outcome("transfer.mean > 2"), undecided(&["transfer.mean"]));
        assert_eq!(
            outcome("!(transfer.mean > 2)"),
            undecided(&["transfer.mean"])
        );
        assert_eq!(outcome("has(transfer.mean)"), Outcome::False);
        assert_eq!(
            outcome("has(transfer.mean) && transfer.mean > 2"),
            Outcome::False
        );
        assert_eq!(
            outcome("has(retention.mean) && retention.days_after >= 7"),
            undecided(&["retention.days_after"])
        );
    }

    #[test]
    fn and_and_or_decide_from_either_side_where_one_side_is_enough() {
        assert_eq!(outcome("transfer.mean > 2 || pre.n == 10"), Outcome::True);
        assert_eq!(outcome("pre.n == 10 || transfer.mean > 2"), Outcome::True);
        assert_eq!(outcome("transfer.mean > 2 && pre.n == 11"), Outcome::False);
        assert_eq!(outcome("pre.n == 11 && transfer.mean > 2"), Outcome::False);
        assert_eq!(
            outcome("transfer.mean > 2 || mid.mean > 2"),
            undecided(&["transfer.mean", "mid.mean"])
        );
    }

    #[test]
    fn dividing_by_zero_decides_nothing() {
        assert_eq!(outcome("pre.n / (post.n - 12) > 3"), undecided(&[]));
    }

    #[test]
    fn a_misspelt_name_is_a_fault_even_where_it_would_not_matter() {
        let faults =
            Condition::read("pre.n >= 1 || retension.mean > 1", &fixture::catalogue()).unwrap_err();
        assert_eq!(faults.len(), 1);
        assert_eq!(faults[0].range, 14..28);
        assert_eq!(
            faults[0].help.as_deref(),
            Some("did you mean `retention.mean`?")
        );
    }

    #[test]
    fn faults_of_name_and_type_are_all_found() {
        let cases = [
            ("has(retention)", "full name"),
            ("retention > 1", "group of facts"),
            ("has(retention.maen)", "no fact"),
            ("has(findings[\"testing.one-rater\"])", "full name"),
            ("findings[\"testing.one_rater\"] > 0", "no check"),
            ("findings > 0", "needs a name"),
            ("pre.n", "must be true or false"),
            ("pre.n && true", "where a yes or no is needed"),
            ("about.theory > 3", "compared with"),
            ("about.learning_claimed == \"yes\"", "compared with"),
            ("about.learning_claimed > false", "neither more nor less"),
            ("retention.date > \"2026-03-09\"", "compared with"),
            ("pre.n + about.theory == 3", "can't be added"),
            ("pre.n % 2 == 0", "% has no place"),
            ("null == pre.n", "null"),
            ("pre.n.contains(\"x\")", "where a text is needed"),
            ("pre.n in 3", "where a list is needed"),
            ("round(pre.n) == 3", "no function `round`"),
            ("[1, \"a\"] == [1]", "one type"),
            ("[[1]].all(x, x.all(y, y > 0))", "loop within a loop"),
            ("date(\"9 March\") > pre.date", "year first"),
            ("about.theory.matches(\"(schema\")", "no pattern"),
            ("pre.n.lowerAscii() == \"x\"", "where a text is needed"),
            ("pre.n = 3", "not part of a condition"),
            ("pre.n >", "ends too early"),
            ("{1: 2} == {1: 2}", "maps"),
        ];
        for (text, wanted) in cases {
            let faults = Condition::read(text, &fixture::catalogue()).expect_err(text);
            assert!(
                faults.iter().any(|fault| fault.message.contains(wanted)
                    || fault
                        .help
                        .as_deref()
                        .is_some_and(|help| help.contains(wanted))),
                "{text}: {faults:?}"
            );
        }
        let two = Condition::read("pre.nn > 1 && about.skil == 3", &fixture::catalogue());
        assert_eq!(two.unwrap_err().len(), 2);
    }

    #[test]
    fn what_no_pair_can_change_is_known() {
        assert_eq!(read("1 > 2").constant(), Some(false));
        assert_eq!(read("true || pre.n > 3").constant(), Some(true));
        assert_eq!(read("pre.n > 3").constant(), None);
        assert_eq!(read("has(pre.n)").constant(), None);
        assert_eq!(read("pre.n > 10 && pre.n < 5").constant(), Some(false));
        assert_eq!(
            read("has(pre.n) && 10 < pre.n && pre.n <= 10").constant(),
            Some(false)
        );
        assert_eq!(read("pre.n >= 10 && pre.n <= 10").constant(), None);
        assert!(read("has(pre.n) && pre.n > 3").has_all_parts_of(&read("has(pre.n)")));
        assert!(!read("has(pre.n)").has_all_parts_of(&read("has(pre.n) && pre.n > 3")));
    }

    #[test]
    fn a_condition_reads_in_words() {
        assert_eq!(
            read("has(retention.mean) && retention.days_after >= 7").words(),
            "retention.mean is recorded, and retention.days_after is at least 7"
        );
        assert_eq!(
            read("!has(pre.n) || (pre.n < 5 && findings[\"testing.one-rater\"] == 0)").words(),
            "pre.n is not recorded, or (pre.n is less than 5 and the number of testing.one-rater findings is 0)"
        );
    }

    #[test]
    fn a_yes_or_no_and_arithmetic_read_in_words() {
        assert_eq!(
            read("about.consent && !about.screening").words(),
            "about.consent is yes, and about.screening is no"
        );
        assert_eq!(
            read("pre.n * 0.5 < (post.n - 1) / 2").words(),
            "pre.n × 0.5 is less than (post.n − 1) / 2"
        );
        assert_eq!(
            read("about.consent == false || pre.n + 1 > 3").words(),
            "about.consent is no, or (pre.n + 1) is more than 3"
        );
        assert_eq!(
            read("[pre.n, post.n].all(n, n >= 10)").words(),
            "for each n of [pre.n, post.n]: n is at least 10"
        );
    }

    #[test]
    fn one_condition_serves_many_threads() {
        let condition = read("pre.n >= 10 && transfer.mean > 2");
        let facts = fixture::facts(&[("pre.n", Number(10.0))]);
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| {
                    for _ in 0..100 {
                        assert_eq!(condition.evaluate(&facts), undecided(&["transfer.mean"]));
                    }
                });
            }
        });
    }

    proptest::proptest! {
        #[test]
        fn no_text_makes_the_reader_fall_over(text in "[a-z0-9.()\\[\\]\"'&|!<>=+*/?:,{} é≥“-]{0,60}") {
            if let Ok(condition) = Condition::read(&text, &fixture::catalogue()) {
                let _ = condition.evaluate(&fixture::facts(&[]));
            }
        }

        #[test]
        fn parts_of_sound_conditions_in_any_order_are_read_without_falling_over(
            parts in proptest::collection::vec(
                proptest::sample::select(vec![
                    "pre.n", "has(", ")", "(", "&&", "||", "!", ">=", "==", "10", "2.5", "\"x\"", "[", "]", ",", ".", "all(",
                    "n", "findings[\"testing.one-rater\"]", "measure[", "?", ":", "-", "math.abs(", "retention", "in", "{", "}",
                ]),
                0..14,
            ),
        ) {
            let text = parts.join(" ");
            match Condition::read(&text, &fixture::catalogue()) {
                Ok(condition) => { let _ = condition.evaluate(&fixture::facts(&[])); }
                Err(faults) => {
                    proptest::prop_assert!(!faults.is_empty());
                    for fault in faults {
                        proptest::prop_assert!(fault.range.start <= fault.range.end && fault.range.end <= text.len(), "{:?} in {}", fault, text);
                    }
                }
            }
        }
    }
}

//! From a parsed expression to one that can be evaluated: facts become numbered slots, whole numbers become doubles, and every name and
//! type is settled.

use std::ops::Range;

use cel::common::ast::{
    CallExpr, ComprehensionExpr, Expr, IdedExpr, ListExpr, LiteralValue, SelectExpr, SourceInfo,
    operators,
};

use super::catalogue::Catalogue;
use super::condition::is_pattern;
use super::words::indexed;
use crate::facts::FactKind;

/// What is wrong with an expression or a sentence, and where in it (bytes).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExpressionFault {
    /// The bytes of the text that are at fault.
    pub range: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
}

/// The type of a part of an expression.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Kind {
    Number,
    Truth,
    Text,
    Date,
    List(Box<Kind>),
    /// Not known, after a fault or in an empty list: fits everything, so that one fault isn't reported twice.
    Any,
}

impl From<FactKind> for Kind {
    fn from(kind: FactKind) -> Self {
        match kind {
            FactKind::Number => Self::Number,
            FactKind::Truth => Self::Truth,
            FactKind::Text => Self::Text,
            FactKind::Date => Self::Date,
        }
    }
}

impl Kind {
    pub fn words(&self) -> &'static str {
        match self {
            Self::Number => "a number",
            Self::Truth => "a yes or no",
            Self::Text => "a text",
            Self::Date => "a date",
            Self::List(_) => "a list",
            Self::Any => "anything",
        }
    }

    pub fn fits(&self, wanted: &Self) -> bool {
        match (self, wanted) {
            (Self::Any, _) | (_, Self::Any) => true,
            (Self::List(a), Self::List(b)) => a.fits(b),
            (a, b) => a == b,
        }
    }
}

/// The name under which the evaluator asks for the value of a slot; no expression can spell it.
pub(super) const VALUE_MARK: &str = "#";
/// The name under which it asks whether a slot has a value.
pub(super) const HAS_MARK: &str = "?";
/// Division that refuses 0 instead of giving infinity.
pub(super) const DIVIDE: &str = "divide#";

/// Lowers one expression.
pub(super) struct Lowering<'a> {
    catalogue: &'a Catalogue,
    places: &'a SourceInfo,
    /// The facts met so far; a slot is an index here.
    pub facts: Vec<String>,
    /// Whether presence of a fact is asked for anywhere.
    pub asks_presence: bool,
    pub faults: Vec<ExpressionFault>,
    scope: Vec<(String, Kind)>,
    depth_of_loops: usize,
}

impl<'a> Lowering<'a> {
    pub fn new(catalogue: &'a Catalogue, places: &'a SourceInfo) -> Self {
        Self {
            catalogue,
            places,
            facts: Vec::new(),
            asks_presence: false,
            faults: Vec::new(),
            scope: Vec::new(),
            depth_of_loops: 0,
        }
    }

    fn range(&self, expr: &IdedExpr) -> Range<usize> {
        let (start, stop) = self.extent(expr);
        start..stop
    }

    /// From the first to past the last byte of an expression, its parts included.
    fn extent(&self, expr: &IdedExpr) -> (usize, usize) {
        let own = self
            .places
            .offset_for(expr.id)
            .map_or((0, 0), |(start, stop)| (start as usize, stop as usize + 1));
        let parts: Vec<&IdedExpr> = match &expr.expr {
            Expr::Call(call) => call
                .target
                .as_deref()
                .into_iter()
                .chain(&call.args)
                .collect(),
            Expr::Select(select) if !select.test => vec![&select.operand],
            _ => Vec::new(),
        };
        let (mut start, mut stop) = own;
        for part in parts {
            let (first, last) = self.extent(part);
            start = start.min(first);
            stop = stop.max(last);
        }
        // The place of a selection is its dot: the field's name follows.
        if let Expr::Select(select) = &expr.expr {
            stop = stop.max(own.1 + select.field.len());
        }
        (start, stop.min(self.places.source.len()))
    }

    pub fn fault(
        &mut self,
        range: &Range<usize>,
        message: impl Into<String>,
        help: Option<&str>,
    ) -> Kind {
        self.faults.push(ExpressionFault {
            range: range.clone(),
            message: message.into(),
            help: help.map(str::to_owned),
        });
        Kind::Any
    }

    fn slot(&mut self, fact: &str) -> usize {
        if let Some(at) = self.facts.iter().position(|known| known == fact) {
            return at;
        }
        self.facts.push(fact.to_owned());
        self.facts.len() - 1
    }

    /// Rewrites an expression in place and gives its type.
    pub fn lower(&mut self, expr: &mut IdedExpr) -> Kind {
        let range = self.range(expr);
        if let Some(name) = self.fact_name(expr) {
            let Some(kind) = self.catalogue.kind_of(&name) else {
                return self.unknown(&range, &name);
            };
            let slot = self.slot(&name);
            expr.expr = Expr::Ident(format!("{VALUE_MARK}{slot}"));
            return kind.into();
        }
        let id = expr.id;
        let (lowered, kind) = match std::mem::take(&mut expr.expr) {
            Expr::Literal(literal) => self.literal(&range, literal),
            Expr::Ident(name) => {
                let local = self.scope.iter().rev().find(|(local, _)| *local == name);
                let kind = local.map_or(Kind::Any, |(_, kind)| kind.clone());
                (Expr::Ident(name), kind)
            }
            Expr::Select(select) => self.select(&range, select),
            Expr::Call(call) => self.call(id, &range, call),
            Expr::List(list) => self.list(list),
            Expr::Comprehension(loops) => self.comprehension(&range, loops),
            other @ (Expr::Map(_) | Expr::Struct(_) | Expr::Unspecified) => {
                let kind = self.fault(&range, "maps have no place in a condition", None);
                (other, kind)
            }
        };
        expr.expr = lowered;
        kind
    }

    /// The fact that an expression spells, in its listed form.
    fn fact_name(&self, expr: &IdedExpr) -> Option<String> {
        match &expr.expr {
            Expr::Ident(name) => {
                let local =
                    name.starts_with('@') || self.scope.iter().any(|(known, _)| known == name);
                (!local).then(|| name.clone())
            }
            Expr::Select(select) if !select.test => Some(format!(
                "{}.{}",
                self.fact_name(&select.operand)?,
                select.field
            )),
            Expr::Call(call) if call.func_name == operators::INDEX => {
                let [of, key] = call.args.as_slice() else {
                    return None;
                };
                let Expr::Literal(LiteralValue::String(key)) = &key.expr else {
                    return None;
                };
                indexed(&self.fact_name(of)?, key.inner())
            }
            _ => None,
        }
    }

    fn unknown(&mut self, range: &Range<usize>, name: &str) -> Kind {
        if self.catalogue.is_group(name) {
            let examples = self.catalogue.examples(name).join(", ");
            return self.fault(
                range,
                format!("`{name}` is a group of facts, not a fact"),
                Some(&format!("name one of them, such as {examples}")),
            );
        }
        if name == "findings" || name == "measure" {
            return self.fault(
                range,
                format!("`{name}` needs a name in brackets"),
                Some(
                    "for example findings[\"testing.one-rater\"] or measure[\"distance\"].pre.mean",
                ),
            );
        }
        let help = match name {
            "True" | "TRUE" | "yes" => "write true".to_owned(),
            "False" | "FALSE" | "no" => "write false".to_owned(),
            _ => self.catalogue.nearest(name).map_or_else(
                || "`evenhand explain` lists every fact and check".to_owned(),
                |near| format!("did you mean `{near}`?"),
            ),
        };
        let what = if name.starts_with("findings[") {
            "there is no check to count findings of:"
        } else {
            "there is no fact"
        };
        self.fault(range, format!("{what} `{name}`"), Some(&help))
    }

    fn literal(&mut self, range: &Range<usize>, literal: LiteralValue) -> (Expr, Kind) {
        let (literal, kind) = match literal {
            LiteralValue::Boolean(_) => (literal, Kind::Truth),
            LiteralValue::Double(_) => (literal, Kind::Number),
            LiteralValue::String(_) => (literal, Kind::Text),
            // Facts are doubles, and the language doesn't mix: 1 becomes 1.0. Numbers in a condition are far below 2^53.
            LiteralValue::Int(whole) => (
                LiteralValue::Double((*whole.inner() as f64).into()),
                Kind::Number,
            ),
            LiteralValue::UInt(whole) => (
                LiteralValue::Double((*whole.inner() as f64).into()),
                Kind::Number,
            ),
            LiteralValue::Null => {
                let help = "ask whether a fact is recorded with has(…)";
                let message = "`null` has no place in a condition";
                (literal, self.fault(range, message, Some(help)))
            }
            LiteralValue::Bytes(_) => {
                let kind = self.fault(range, "bytes have no place in a condition", None);
                (literal, kind)
            }
        };
        (Expr::Literal(literal), kind)
    }

    fn select(&mut self, range: &Range<usize>, select: SelectExpr) -> (Expr, Kind) {
        let name = self
            .fact_name(&select.operand)
            .map(|group| format!("{group}.{}", select.field));
        match name {
            Some(name) if select.test => {
                if self.catalogue.kind_of(&name).is_none() {
                    let place = self.presence(range, &select, &name);
                    let kind = self.unknown(&place, &name);
                    return (Expr::Select(select), kind);
                }
                self.asks_presence = true;
                let slot = self.slot(&name);
                (Expr::Ident(format!("{HAS_MARK}{slot}")), Kind::Truth)
            }
            _ => {
                let message = format!("`.{}` follows what is no group of facts", select.field);
                let kind = self.fault(range, message, None);
                (Expr::Select(select), kind)
            }
        }
    }

    /// The place of the fact in `has(fact)`: it begins where the group before the last point does.
    fn presence(&self, range: &Range<usize>, select: &SelectExpr, name: &str) -> Range<usize> {
        let start = self.extent(&select.operand).0;
        let place = start..start + name.len();
        if self.places.source.get(place.clone()) == Some(name) {
            place
        } else {
            range.clone()
        }
    }

    fn list(&mut self, mut list: ListExpr) -> (Expr, Kind) {
        let mut of = Kind::Any;
        for element in &mut list.elements {
            let range = self.range(element);
            let kind = self.lower(element);
            if !kind.fits(&of) {
                let message = format!(
                    "a list holds one type: this is {}, what stands before it is {}",
                    kind.words(),
                    of.words()
                );
                self.fault(&range, message, None);
            } else if of == Kind::Any {
                of = kind;
            }
        }
        (Expr::List(list), Kind::List(Box::new(of)))
    }

    /// `all`, `exists`, `exists_one`, `filter`, `map`: loops over a list.
    fn comprehension(
        &mut self,
        range: &Range<usize>,
        mut loops: Box<ComprehensionExpr>,
    ) -> (Expr, Kind) {
        if self.depth_of_loops > 0 {
            let kind = self.fault(
                range,
                "a loop within a loop has no place in a condition",
                Some("write it as two conditions"),
            );
            return (Expr::Comprehension(loops), kind);
        }
        self.depth_of_loops += 1;
        let over = self.range(&loops.iter_range);
        let item = match self.lower(&mut loops.iter_range) {
            Kind::List(of) => *of,
            Kind::Any => Kind::Any,
            other => {
                let message = format!(
                    "a loop (all, exists, map …) goes over a list in square brackets, not {}",
                    other.words()
                );
                self.fault(&over, message, None)
            }
        };
        let start = self.lower(&mut loops.accu_init);
        let outer = self.scope.len();
        self.scope.push((loops.iter_var.clone(), item));
        if let Some(second) = &loops.iter_var2 {
            self.scope.push((second.clone(), Kind::Any));
        }
        self.scope.push((loops.accu_var.clone(), start));
        self.lower(&mut loops.loop_cond);
        let step = self.lower(&mut loops.loop_step);
        if let Some(result) = self.scope.last_mut() {
            result.1 = step;
        }
        let kind = self.lower(&mut loops.result);
        self.scope.truncate(outer);
        self.depth_of_loops -= 1;
        (Expr::Comprehension(loops), kind)
    }

    fn call(&mut self, id: u64, range: &Range<usize>, mut call: CallExpr) -> (Expr, Kind) {
        // The namespace of `math.abs(…)` is no fact.
        let in_math = matches!(
            call.target.as_deref(),
            Some(IdedExpr { expr: Expr::Ident(name), .. }) if name == "math"
        );
        let mut parts = Vec::new();
        let target = call.target.as_deref_mut().filter(|_| !in_math);
        for part in target.into_iter().chain(&mut call.args) {
            let place = self.range(part);
            let kind = self.lower(part);
            parts.push(Part { kind, place });
        }
        let kind = self.kind_of_call(range, &call, in_math, &parts);
        if call.func_name == "matches"
            && let Some(part) = call.args.last()
            && let Expr::Literal(LiteralValue::String(pattern)) = &part.expr
            && !is_pattern(pattern.inner())
        {
            let place = parts
                .last()
                .map_or_else(|| range.clone(), |part| part.place.clone());
            let message = "this is no pattern: a bracket or a star without its partner";
            let help = "to look for words as they stand use contains(\"…\")";
            self.fault(&place, message, Some(help));
        }
        if call.func_name == "date" {
            return (self.date(range, &call), kind);
        }
        // Lengths and conversions give whole numbers, which don't mix with doubles.
        let whole = matches!(call.func_name.as_str(), "size" | "int" | "uint");
        if call.func_name == operators::DIVIDE {
            DIVIDE.clone_into(&mut call.func_name);
        }
        let mut lowered = Expr::Call(call);
        if whole {
            lowered = Expr::Call(CallExpr {
                func_name: "double".to_owned(),
                target: None,
                args: vec![IdedExpr { id, expr: lowered }],
            });
        }
        (lowered, kind)
    }

    /// `date("2026-03-09")`: a day as a number of days, as facts that are dates.
    fn date(&mut self, range: &Range<usize>, call: &CallExpr) -> Expr {
        let day = match call.args.as_slice() {
            [
                IdedExpr {
                    expr: Expr::Literal(LiteralValue::String(text)),
                    ..
                },
            ] => text.inner().parse().ok(),
            _ => None,
        };
        let Some(day) = day else {
            let help = "for example date(\"2026-03-09\")";
            self.fault(
                range,
                "`date` takes a day in quotes, year first",
                Some(help),
            );
            return Expr::Unspecified;
        };
        Expr::Literal(LiteralValue::Double(day_number(day).into()))
    }
}

/// One operand or argument: its type, and where it stands.
pub(super) struct Part {
    pub kind: Kind,
    pub place: Range<usize>,
}

/// A day as a number of days from 1970-01-01, so that days can be compared and subtracted.
pub(super) fn day_number(day: jiff::civil::Date) -> f64 {
    let epoch = jiff::civil::date(1970, 1, 1);
    (day.duration_since(epoch).as_secs() / 86_400) as f64
}

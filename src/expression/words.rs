//! A condition in words, as someone who has never seen the language proofreads it.

use cel::common::ast::{CallExpr, ComprehensionExpr, Expr, IdedExpr, LiteralValue, operators};

use crate::facts::catalogue;
use crate::number::plain;

/// The condition in words: `has(retention.mean) && retention.days_after >= 7` is
/// `retention.mean is recorded, and retention.days_after is at least 7`.
pub(super) fn of(expr: &IdedExpr) -> String {
    joined(expr, true)
}

/// The parts of a conjunction, each in words; one where it is none.
pub(super) fn conjuncts(expr: &IdedExpr) -> Vec<String> {
    let mut parts = Vec::new();
    for_each_conjunct(expr, &mut |part| parts.push(of(part)));
    parts
}

/// Calls `visit` with every part of a conjunction.
pub(super) fn for_each_conjunct<'e>(expr: &'e IdedExpr, visit: &mut impl FnMut(&'e IdedExpr)) {
    match &expr.expr {
        Expr::Call(call) if call.func_name == operators::LOGICAL_AND => {
            for part in &call.args {
                for_each_conjunct(part, visit);
            }
        }
        _ => visit(expr),
    }
}

/// The name of the fact that an expression spells.
pub(super) fn fact(expr: &IdedExpr) -> Option<String> {
    match &expr.expr {
        Expr::Ident(name) => Some(name.clone()),
        Expr::Select(select) if !select.test => {
            Some(format!("{}.{}", fact(&select.operand)?, select.field))
        }
        Expr::Call(call) if call.func_name == operators::INDEX => {
            let [of, key] = call.args.as_slice() else {
                return None;
            };
            let Expr::Literal(LiteralValue::String(key)) = &key.expr else {
                return None;
            };
            indexed(&fact(of)?, key.inner())
        }
        _ => None,
    }
}

/// The name of what stands in brackets after `findings` or `measure`, as the registry spells it.
pub(super) fn indexed(group: &str, key: &str) -> Option<String> {
    match group {
        "findings" => Some(catalogue::of_check(key)),
        "measure" => catalogue::of_measure(key, "")
            .strip_suffix('.')
            .map(str::to_owned),
        _ => None,
    }
}

/// At the top, parts of "and" and "or" are joined by commas; within, by bare words in brackets.
fn joined(expr: &IdedExpr, top: bool) -> String {
    // A fact that stands alone where a truth is needed is a yes or no.
    if let Some(name) = fact(expr) {
        return format!("{name} is yes");
    }
    let Expr::Call(call) = &expr.expr else {
        return plainly(expr);
    };
    let word = match call.func_name.as_str() {
        operators::LOGICAL_AND => "and",
        operators::LOGICAL_OR => "or",
        _ => return plainly(expr),
    };
    let mut parts = Vec::new();
    flatten(expr, &call.func_name, &mut parts);
    let parts: Vec<String> = parts.iter().map(|part| joined(part, false)).collect();
    if top {
        parts.join(&format!(", {word} "))
    } else {
        format!("({})", parts.join(&format!(" {word} ")))
    }
}

fn flatten<'e>(expr: &'e IdedExpr, operator: &str, parts: &mut Vec<&'e IdedExpr>) {
    match &expr.expr {
        Expr::Call(call) if call.func_name == operator => {
            for part in &call.args {
                flatten(part, operator, parts);
            }
        }
        _ => parts.push(expr),
    }
}

fn plainly(expr: &IdedExpr) -> String {
    if let Some(name) = fact(expr) {
        return counted(&name);
    }
    match &expr.expr {
        Expr::Literal(literal) => match literal {
            LiteralValue::Boolean(truth) => if *truth.inner() { "yes" } else { "no" }.to_owned(),
            LiteralValue::Int(whole) => whole.inner().to_string(),
            LiteralValue::UInt(whole) => whole.inner().to_string(),
            LiteralValue::Double(double) => plain(*double.inner()),
            LiteralValue::String(text) => format!("\"{}\"", text.inner()),
            LiteralValue::Null | LiteralValue::Bytes(_) => "nothing".to_owned(),
        },
        Expr::Select(select) if select.test => {
            let group = fact(&select.operand).unwrap_or_default();
            format!("{group}.{} is recorded", select.field)
        }
        Expr::Select(select) => format!("{}.{}", plainly(&select.operand), select.field),
        Expr::List(list) => {
            let items: Vec<String> = list.elements.iter().map(plainly).collect();
            format!("[{}]", items.join(", "))
        }
        Expr::Comprehension(loops) => looped(loops),
        Expr::Call(call) => called(call),
        Expr::Ident(_) | Expr::Map(_) | Expr::Struct(_) | Expr::Unspecified => String::new(),
    }
}

/// `[a, b].all(x, x > 1)`: "each x of [a, b]: x is more than 1".
fn looped(loops: &ComprehensionExpr) -> String {
    let step = match &loops.loop_step.expr {
        Expr::Call(call) => Some(call),
        _ => None,
    };
    let (quantity, body) = match step {
        Some(call) if call.func_name == operators::LOGICAL_AND => ("each", call.args.last()),
        Some(call) if call.func_name == operators::LOGICAL_OR => ("some", call.args.last()),
        _ => ("from each", None),
    };
    format!(
        "for {quantity} {} of {}: {}",
        loops.iter_var,
        plainly(&loops.iter_range),
        joined(body.unwrap_or(&loops.loop_step), false)
    )
}

/// `findings["testing.one-rater"]` is a count.
fn counted(name: &str) -> String {
    name.strip_prefix("findings[\"")
        .and_then(|rest| rest.strip_suffix("\"]"))
        .map_or_else(
            || name.to_owned(),
            |check| format!("the number of {check} findings"),
        )
}

fn called(call: &CallExpr) -> String {
    let target = call.target.as_deref();
    let parts: Vec<&IdedExpr> = target.into_iter().chain(&call.args).collect();
    let name = call.func_name.as_str();
    if let [a, b] = parts.as_slice() {
        let between = match name {
            operators::EQUALS => "is",
            operators::NOT_EQUALS => "is not",
            operators::GREATER => "is more than",
            operators::GREATER_EQUALS => "is at least",
            operators::LESS => "is less than",
            operators::LESS_EQUALS => "is at most",
            operators::ADD => "+",
            operators::SUBSTRACT => "−",
            operators::MULTIPLY => "×",
            operators::DIVIDE => "/",
            operators::IN => "is one of",
            "contains" => "contains",
            "startsWith" => "begins with",
            "endsWith" => "ends with",
            "matches" => "has the pattern",
            _ => "",
        };
        if !between.is_empty() {
            return format!("{} {between} {}", operand(a), operand(b));
        }
    }
    match (name, parts.as_slice()) {
        (operators::LOGICAL_NOT, [what]) => match &what.expr {
            Expr::Select(select) if select.test => {
                let group = fact(&select.operand).unwrap_or_default();
                format!("{group}.{} is not recorded", select.field)
            }
            _ if fact(what).is_some() => format!("{} is no", plainly(what)),
            _ => format!("not {}", joined(what, false)),
        },
        (operators::NEGATE, [what]) => format!("−{}", operand(what)),
        (operators::CONDITIONAL, [test, a, b]) => format!(
            "({} if {}, otherwise {})",
            joined(a, false),
            joined(test, false),
            joined(b, false)
        ),
        // How a text is compared is no matter of proofreading.
        (operators::NOT_STRICTLY_FALSE | "lowerAscii", [what]) => plainly(what),
        _ => {
            let parts: Vec<String> = parts.iter().map(|part| plainly(part)).collect();
            let name = name.trim_start_matches("math.").trim_start_matches('@');
            format!("{name}({})", parts.join(", "))
        }
    }
}

/// An operand, in brackets where it is itself made of two.
fn operand(expr: &IdedExpr) -> String {
    match &expr.expr {
        Expr::Call(call) if is_sum(call) => format!("({})", plainly(expr)),
        Expr::Call(call)
            if matches!(
                call.func_name.as_str(),
                operators::LOGICAL_AND | operators::LOGICAL_OR
            ) =>
        {
            joined(expr, false)
        }
        _ => plainly(expr),
    }
}

/// A sum or a difference: its operands would be read with what stands beside it.
fn is_sum(call: &CallExpr) -> bool {
    matches!(
        call.func_name.as_str(),
        operators::ADD | operators::SUBSTRACT
    )
}

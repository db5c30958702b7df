//! Conditions that no pair can meet because two of their parts bound one fact apart: `pre.n > 10 && pre.n < 5`.

use std::collections::BTreeMap;

use cel::common::ast::{Expr, IdedExpr, LiteralValue, operators};

use super::words;

/// The numbers that a fact may still have.
#[derive(Clone, Copy)]
struct Bounds {
    low: f64,
    low_open: bool,
    high: f64,
    high_open: bool,
}

/// Whether the parts of a conjunction leave one of their facts no number at all.
pub(super) fn contradicts_itself(expr: &IdedExpr) -> bool {
    let mut bounds: BTreeMap<String, Bounds> = BTreeMap::new();
    let mut impossible = false;
    words::for_each_conjunct(expr, &mut |part| {
        let Some((fact, operator, number)) = comparison(part) else {
            return;
        };
        let known = bounds.entry(fact).or_insert(Bounds {
            low: f64::NEG_INFINITY,
            low_open: false,
            high: f64::INFINITY,
            high_open: false,
        });
        let raise = |known: &mut Bounds, open: bool| {
            if number > known.low || (number >= known.low && open) {
                known.low = number;
                known.low_open = open;
            }
        };
        let lower = |known: &mut Bounds, open: bool| {
            if number < known.high || (number <= known.high && open) {
                known.high = number;
                known.high_open = open;
            }
        };
        match operator {
            operators::GREATER => raise(known, true),
            operators::GREATER_EQUALS => raise(known, false),
            operators::LESS => lower(known, true),
            operators::LESS_EQUALS => lower(known, false),
            _ => {
                raise(known, false);
                lower(known, false);
            }
        }
        let touching = known.low >= known.high && (known.low_open || known.high_open);
        impossible |= known.low > known.high || touching;
    });
    impossible
}

/// A comparison of a fact with a number, with the fact on the left.
fn comparison(part: &IdedExpr) -> Option<(String, &'static str, f64)> {
    let Expr::Call(call) = &part.expr else {
        return None;
    };
    let [a, b] = call.args.as_slice() else {
        return None;
    };
    let (straight, turned) = match call.func_name.as_str() {
        operators::GREATER => (operators::GREATER, operators::LESS),
        operators::GREATER_EQUALS => (operators::GREATER_EQUALS, operators::LESS_EQUALS),
        operators::LESS => (operators::LESS, operators::GREATER),
        operators::LESS_EQUALS => (operators::LESS_EQUALS, operators::GREATER_EQUALS),
        operators::EQUALS => (operators::EQUALS, operators::EQUALS),
        _ => return None,
    };
    match (words::fact(a), number(b), number(a), words::fact(b)) {
        (Some(fact), Some(number), _, _) => Some((fact, straight, number)),
        (_, _, Some(number), Some(fact)) => Some((fact, turned, number)),
        _ => None,
    }
}

fn number(expr: &IdedExpr) -> Option<f64> {
    match &expr.expr {
        Expr::Literal(LiteralValue::Int(whole)) => Some(*whole.inner() as f64),
        Expr::Literal(LiteralValue::UInt(whole)) => Some(*whole.inner() as f64),
        Expr::Literal(LiteralValue::Double(double)) => Some(*double.inner()),
        _ => None,
    }
}

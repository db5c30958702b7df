//! Which types an operator or a function takes, and which it gives.

use std::ops::Range;

use cel::common::ast::{CallExpr, operators};

use super::lower::{Kind, Lowering, Part};

impl Lowering<'_> {
    /// The type that a call gives; faults where its parts are of types that it doesn't take.
    pub(super) fn kind_of_call(
        &mut self,
        range: &Range<usize>,
        call: &CallExpr,
        in_math: bool,
        parts: &[Part],
    ) -> Kind {
        let name = call.func_name.as_str();
        if in_math || name.starts_with("math.") {
            return self.mathematics(range, name, parts);
        }
        match (name, parts) {
            (operators::LOGICAL_AND | operators::LOGICAL_OR, _) => self.all(parts, &Kind::Truth),
            (operators::LOGICAL_NOT | operators::NOT_STRICTLY_FALSE, _) => {
                self.all(parts, &Kind::Truth)
            }
            (operators::EQUALS | operators::NOT_EQUALS, [a, b]) => {
                self.alike(range, a, b);
                Kind::Truth
            }
            (
                operators::LESS
                | operators::LESS_EQUALS
                | operators::GREATER
                | operators::GREATER_EQUALS,
                [a, b],
            ) => {
                self.ordered(range, a, b);
                Kind::Truth
            }
            (operators::ADD, [a, b]) => self.sum(range, a, b),
            (operators::SUBSTRACT, [a, b]) => self.difference(range, a, b),
            (operators::MULTIPLY | operators::DIVIDE | operators::NEGATE, _) => {
                self.all(parts, &Kind::Number)
            }
            (operators::MODULO, _) => self.fault(
                range,
                "% has no place in a condition",
                Some("a percentage is written as the number that the fact has: 25 for 25 %"),
            ),
            (operators::CONDITIONAL, [test, a, b]) => {
                self.wants(test, &Kind::Truth);
                self.alike(range, a, b);
                if a.kind == Kind::Any { b.kind.clone() } else { a.kind.clone() }
            }
            (operators::IN, [item, list]) => {
                self.wants(list, &Kind::List(Box::new(item.kind.clone())));
                Kind::Truth
            }
            ("size", [what]) => {
                if !matches!(what.kind, Kind::Text | Kind::List(_) | Kind::Any) {
                    self.wants(what, &Kind::Text);
                }
                Kind::Number
            }
            ("contains" | "startsWith" | "endsWith" | "matches", [_, _]) => {
                self.all(parts, &Kind::Text);
                Kind::Truth
            }
            ("lowerAscii", [_]) => self.all(parts, &Kind::Text),
            ("double" | "int" | "uint", [_]) => Kind::Number,
            ("string", [_]) => Kind::Text,
            ("date", [_]) => Kind::Date,
            (operators::INDEX, _) => self.fault(
                range,
                "square brackets follow only `findings` and `measure`, with a name in quotes",
                Some("for example findings[\"testing.one-rater\"]"),
            ),
            _ => self.fault(
                range,
                format!("there is no function `{name}` here"),
                Some("known: has, size, contains, startsWith, endsWith, matches, lowerAscii, date, math.abs, math.least, math.greatest, math.round, all, exists, filter, map"),
            ),
        }
    }

    fn mathematics(&mut self, range: &Range<usize>, name: &str, parts: &[Part]) -> Kind {
        let plain = name.trim_start_matches("math.");
        let known = matches!(
            plain,
            "abs" | "ceil" | "floor" | "round" | "trunc" | "sqrt" | "sign" | "@max" | "@min"
        );
        if !known {
            return self.fault(
                range,
                format!("there is no function `math.{plain}` here"),
                Some("known: math.abs, math.ceil, math.floor, math.round, math.sqrt, math.least, math.greatest"),
            );
        }
        for part in parts {
            if part.kind != Kind::List(Box::new(Kind::Number)) {
                self.wants(part, &Kind::Number);
            }
        }
        Kind::Number
    }

    /// All parts are of that type, and so is the result.
    fn all(&mut self, parts: &[Part], wanted: &Kind) -> Kind {
        for part in parts {
            self.wants(part, wanted);
        }
        wanted.clone()
    }

    fn wants(&mut self, part: &Part, wanted: &Kind) {
        if part.kind.fits(wanted) {
            return;
        }
        let help = match (&part.kind, wanted) {
            (Kind::Number, Kind::Truth) => Some("compare it with a number, for example > 0"),
            (Kind::Text, Kind::Truth) => {
                Some("compare it with a text in quotes, for example == \"yes\"")
            }
            (Kind::Truth, Kind::Number) => {
                Some("a yes or no stands alone: write it without a comparison")
            }
            (_, Kind::List(_)) => Some("for example x in [1, 2, 3]"),
            _ => None,
        };
        let message = format!(
            "this is {}, where {} is needed",
            part.kind.words(),
            wanted.words()
        );
        self.fault(&part.place, message, help);
    }

    fn alike(&mut self, range: &Range<usize>, a: &Part, b: &Part) {
        if a.kind.fits(&b.kind) {
            return;
        }
        let help = match (&a.kind, &b.kind) {
            (Kind::Text, Kind::Truth) | (Kind::Truth, Kind::Text) => {
                Some("a yes or no stands alone, or is compared with true or false, without quotes")
            }
            (Kind::Date, Kind::Text) | (Kind::Text, Kind::Date) => {
                Some("write the day as date(\"2026-03-09\")")
            }
            (Kind::Number, Kind::Text) | (Kind::Text, Kind::Number) => {
                Some("a number is written without quotes")
            }
            _ => None,
        };
        let message = format!("{} is compared with {}", a.kind.words(), b.kind.words());
        self.fault(range, message, help);
    }

    fn ordered(&mut self, range: &Range<usize>, a: &Part, b: &Part) {
        self.alike(range, a, b);
        for part in [a, b] {
            if matches!(part.kind, Kind::Truth | Kind::List(_)) {
                let message = format!(
                    "{} is neither more nor less than another",
                    part.kind.words()
                );
                self.fault(&part.place, message, None);
                return;
            }
        }
    }

    fn sum(&mut self, range: &Range<usize>, a: &Part, b: &Part) -> Kind {
        match (&a.kind, &b.kind) {
            (Kind::Any, other) | (other, Kind::Any) => other.clone(),
            (Kind::Number, Kind::Number) => Kind::Number,
            (Kind::Text, Kind::Text) => Kind::Text,
            (Kind::Date, Kind::Number) | (Kind::Number, Kind::Date) => Kind::Date,
            (Kind::List(x), Kind::List(y)) if x.fits(y) => {
                if **x == Kind::Any {
                    b.kind.clone()
                } else {
                    a.kind.clone()
                }
            }
            (x, y) => {
                let message = format!("{} and {} can't be added", x.words(), y.words());
                self.fault(range, message, None)
            }
        }
    }

    fn difference(&mut self, range: &Range<usize>, a: &Part, b: &Part) -> Kind {
        match (&a.kind, &b.kind) {
            (Kind::Any, _) | (_, Kind::Any) => Kind::Any,
            // The difference of two days is a number of days.
            (Kind::Number, Kind::Number) | (Kind::Date, Kind::Date) => Kind::Number,
            (Kind::Date, Kind::Number) => Kind::Date,
            (x, y) => {
                let message = format!("{} can't be taken from {}", y.words(), x.words());
                self.fault(range, message, None)
            }
        }
    }
}

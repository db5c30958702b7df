//! The mistakes that people make in an expression, told in plain words rather than a grammar's.

use std::ops::Range;

use super::lower::ExpressionFault;

/// A mistake that is recognised wherever it stands outside quotes: what was written, and what to write.
const SLIPS: &[(&str, &str)] = &[
    ("and", "write && for \"and\""),
    ("or", "write || for \"or\""),
    ("not", "write ! for \"not\""),
    ("is", "write == for \"is\""),
    ("<>", "write != for \"is not\""),
    ("=>", "write >= for \"at least\""),
    ("=<", "write <= for \"at most\""),
    ("≥", "write >= for \"at least\""),
    ("≤", "write <= for \"at most\""),
    ("≠", "write != for \"is not\""),
    ("×", "write * for \"times\""),
    ("÷", "write / for \"divided by\""),
    ("−", "this is a typographic minus: write -"),
    ("&", "write && for \"and\""),
    ("|", "write || for \"or\""),
    ("=", "write == for \"is\": one = alone sets a value"),
    (
        "“",
        "a word processor has put curly quotes here: use \" or '",
    ),
    (
        "”",
        "a word processor has put curly quotes here: use \" or '",
    ),
    (
        "‘",
        "a word processor has put curly quotes here: use \" or '",
    ),
    (
        "’",
        "a word processor has put curly quotes here: use \" or '",
    ),
];

/// Operators that contain a slip's characters and are none.
const SOUND: &[&str] = &["&&", "||", "==", ">=", "<=", "!="];

/// A place that the grammar refuses, and what it says of it.
pub(super) struct Refusal {
    /// The byte of the text.
    pub place: usize,
    /// The grammar's own words.
    pub said: String,
}

/// What is wrong with a text that the grammar refuses: every slip that is recognised, else the grammar's own first place.
pub(super) fn explain(text: &str, refusals: &[Refusal]) -> Vec<ExpressionFault> {
    let grammar_place = refusals.first().map_or(text.len(), |refusal| refusal.place);
    let mut faults = recognised(text);
    faults.extend(
        refusals
            .iter()
            .filter(|refusal| refusal.said.contains("has() macro"))
            .map(|refusal| ExpressionFault {
                range: refusal.place..refusal.place + word_length(text, refusal.place),
                message: "`has` takes the full name of one fact".to_owned(),
                help: Some(
                    "for example has(retention.mean); a group such as retention alone, or findings[…], is never absent"
                        .to_owned(),
                ),
            }),
    );
    if faults.is_empty() {
        faults.extend(unbalanced(text));
    }
    if faults.is_empty() {
        let place = grammar_place.min(text.len());
        let rest = text.get(place..).unwrap_or_default().trim();
        let message = if rest.is_empty() {
            "the condition ends too early: something is missing here".to_owned()
        } else {
            let near: String = rest.chars().take(20).collect();
            format!("the condition can't be read from here on: `{near}`")
        };
        faults.push(ExpressionFault {
            range: place..text.len(),
            message,
            help: Some(
                "a condition compares facts, for example: has(retention.mean) && retention.days_after >= 7"
                    .to_owned(),
            ),
        });
    }
    faults
}

/// The bytes of the name that begins at a place.
fn word_length(text: &str, place: usize) -> usize {
    let rest = text.get(place..).unwrap_or_default();
    rest.find(|c: char| !c.is_alphanumeric() && c != '_')
        .unwrap_or(rest.len())
}

fn recognised(text: &str) -> Vec<ExpressionFault> {
    let mut faults: Vec<ExpressionFault> = Vec::new();
    let mut at = 0;
    let mut quote: Option<char> = None;
    while let Some(rest) = text.get(at..) {
        let Some(first) = rest.chars().next() else {
            break;
        };
        if let Some(open) = quote {
            if first == open {
                quote = None;
            }
            at += first.len_utf8();
            continue;
        }
        if first == '"' || first == '\'' {
            quote = Some(first);
            at += 1;
            continue;
        }
        if first.is_alphanumeric() || first == '_' {
            let word: String = rest
                .chars()
                .take_while(|c| c.is_alphanumeric() || matches!(c, '_' | '.'))
                .collect();
            let slip = SLIPS
                .iter()
                .find(|(written, _)| written.eq_ignore_ascii_case(&word));
            if let Some((written, help)) = slip {
                faults.push(fault(at..at + word.len(), written, help));
            }
            at += word.len();
            continue;
        }
        if let Some(sound) = SOUND.iter().find(|sound| rest.starts_with(**sound)) {
            at += sound.len();
            continue;
        }
        if let Some((written, help)) = SLIPS.iter().find(|(written, _)| rest.starts_with(written)) {
            faults.push(fault(at..at + written.len(), written, help));
            at += written.len();
        } else {
            at += first.len_utf8();
        }
    }
    faults
}

fn fault(range: Range<usize>, written: &str, help: &str) -> ExpressionFault {
    ExpressionFault {
        range,
        message: format!("`{written}` is not part of a condition"),
        help: Some(help.to_owned()),
    }
}

/// A bracket or a quote without its partner.
fn unbalanced(text: &str) -> Option<ExpressionFault> {
    let mut open: Vec<(usize, char)> = Vec::new();
    let mut quote: Option<(usize, char)> = None;
    for (at, c) in text.char_indices() {
        if let Some((_, mark)) = quote {
            if c == mark {
                quote = None;
            }
            continue;
        }
        match c {
            '"' | '\'' => quote = Some((at, c)),
            '(' | '[' | '{' => open.push((at, c)),
            ')' | ']' | '}' => {
                let partner = match c {
                    ')' => '(',
                    ']' => '[',
                    _ => '{',
                };
                if open.pop().map(|(_, opened)| opened) != Some(partner) {
                    return Some(ExpressionFault {
                        range: at..at + 1,
                        message: format!("this `{c}` closes nothing"),
                        help: Some(format!("put its `{partner}` before it, or take it out")),
                    });
                }
            }
            _ => {}
        }
    }
    let (at, c) = quote.or_else(|| open.pop())?;
    Some(ExpressionFault {
        range: at..at + 1,
        message: format!("this `{c}` is never closed"),
        help: None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn helps(text: &str) -> Vec<(usize, String)> {
        explain(text, &[])
            .into_iter()
            .map(|fault| (fault.range.start, fault.help.unwrap_or(fault.message)))
            .collect()
    }

    #[test]
    fn words_and_signs_of_other_languages_are_told_in_plain_words() {
        let found = helps("pre.n = 10 and post.n ≥ 10 AND not has(retention.mean)");
        let places: Vec<usize> = found.iter().map(|fault| fault.0).collect();
        assert_eq!(places, [6, 11, 22, 29, 33], "{found:?}");
        assert!(found[1].1.contains("&&"));
    }

    #[test]
    fn what_stands_in_quotes_is_text() {
        let found = helps("about.skill == \"rock and roll = fun\" &&");
        assert_eq!(found.len(), 1);
        assert!(
            explain("pre.n >", &[])[0]
                .message
                .contains("ends too early")
        );
    }

    #[test]
    fn a_bracket_without_its_partner_is_named() {
        assert!(
            explain("has(pre.mean", &[])[0]
                .message
                .contains("never closed")
        );
        assert!(
            explain("pre.n > 3)", &[])[0]
                .message
                .contains("closes nothing")
        );
    }
}

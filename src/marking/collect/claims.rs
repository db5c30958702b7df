//! Numbers that a marker typed, as lines for the ledger.

use std::collections::HashMap;

use super::{Taking, Typed, cell_text};
use crate::ledger::{Entry, Subject};
use crate::marking::refusal::Refusal;
use crate::marking::target::{Target, Whose};
use crate::marking::typed_claims::{self, TypedRow};

impl Taking<'_> {
    /// Takes the numbers that a marker typed. A row with an id is known by it; one without is new, unless this file said it before.
    pub(super) fn claims(&mut self, rows: &[TypedRow]) {
        let mut new_of_pair: Vec<(String, Vec<&TypedRow>)> = Vec::new();
        for row in rows {
            let pair = self.with.identities.pair(&row.pair);
            let withdrawn = !row.id.is_empty() && row.claim.value.is_empty();
            let unsound = if withdrawn {
                None
            } else {
                typed_claims::sound(row).err()
            };
            let refusal = unsound.or_else(|| {
                pair.is_none().then(|| Refusal {
                    place: row.place.clone(),
                    of: String::from("a number read in the report"),
                    stands: row.claim.value.clone(),
                    why: format!("is for pair {}: there is no such pair", row.pair),
                })
            });
            if let Some(refusal) = refusal {
                self.collected.refusals.push(refusal);
                continue;
            }
            let Some(pair) = pair else { continue };
            let subject = Subject::Claim(row.id.clone());
            let of = (pair.clone(), String::new(), subject.clone());
            if !row.id.is_empty() && (self.spoken_of.contains(&of) || self.base.contains_key(&of)) {
                let target = Target {
                    pair,
                    student: Whose::Pair,
                    subject,
                };
                let value = if withdrawn {
                    String::new()
                } else {
                    row.claim.joined()
                };
                let role = self.resolver.role(&target, "");
                self.compare(
                    &target,
                    role,
                    &Typed {
                        value,
                        place: row.place.clone(),
                    },
                );
            } else if !withdrawn {
                match new_of_pair.iter_mut().find(|(known, _)| *known == pair) {
                    Some((_, list)) => list.push(row),
                    None => new_of_pair.push((pair, vec![row])),
                }
            }
        }
        for (pair, rows) in new_of_pair {
            self.new_claims(&pair, &rows);
        }
    }

    fn new_claims(&mut self, pair: &str, rows: &[&TypedRow]) {
        let mut held = typed_claims::on_ledger(self.with.entries, pair);
        // Where each was typed in this file, for rows that were changed before they had an id.
        let mut typed_at: HashMap<u32, String> = HashMap::new();
        for ((of, _), said) in &self.said {
            if let (known, _, Subject::Claim(id)) = of
                && known == pair
                && let Some(number) = typed_claims::number(id)
            {
                typed_at.insert(number, said.cell.clone());
            }
        }
        let all: Vec<String> = rows.iter().map(|row| row.claim.joined()).collect();
        for (row, value) in rows.iter().zip(&all) {
            if held.values().any(|known| known == value) {
                continue;
            }
            let cell = cell_text(&row.place);
            let changed = typed_at.iter().find_map(|(number, at)| {
                let old = held.get(number)?;
                (*at == cell && !old.is_empty() && !all.contains(old))
                    .then(|| (*number, old.clone()))
            });
            let (number, old) = changed.unwrap_or_else(|| {
                let next = held.keys().next_back().map_or(1, |last| last + 1);
                (next, String::new())
            });
            held.insert(number, value.clone());
            let target = Target {
                pair: pair.to_owned(),
                student: Whose::Pair,
                subject: Subject::Claim(format!("m{number}")),
            };
            let entry = Entry {
                role: self.resolver.role(&target, "").name().into(),
                what: target.subject.to_string(),
                old,
                new: value.clone(),
                ..self.line(pair, &row.place)
            };
            self.collected.entries.push(entry);
        }
    }
}

//! What a cell to fill in is of: worked out from the ids of its row and the key of its column, never from where it stands.

use crate::ledger::Subject;

/// What a value is of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Target {
    /// The pair; empty for what concerns the whole cohort, and for a finding until it is known whose it is.
    pub pair: String,
    /// Which of the pair.
    pub student: Whose,
    /// What is decided.
    pub subject: Subject,
}

/// Which of a pair's students a value is of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Whose {
    /// Both.
    Pair,
    /// The student in this place of the pair, from 0, as the workbook lists them.
    Place(usize),
    /// The student with this id.
    Student(String),
}

/// The ids that a row carries.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RowIds {
    /// The pair.
    pub pair: String,
    /// The criterion, in sheets with a row a criterion.
    pub criterion: String,
    /// The judged part of the criterion, in sheets with a row a part.
    pub part: String,
    /// The student.
    pub student: String,
    /// The finding.
    pub finding: String,
    /// The check or slip.
    pub check: String,
    /// The proposal.
    pub proposal: String,
    /// The role in which the row's values are entered.
    pub role: String,
}

/// The keys of columns that hold the ids of a row.
pub const ID_KEYS: [&str; 8] = [
    "pair",
    "criterion",
    "part",
    "student",
    "finding",
    "check",
    "proposal",
    "role",
];

impl RowIds {
    /// The id under one of [`ID_KEYS`].
    pub fn slot(&mut self, key: &str) -> Option<&mut String> {
        Some(match key {
            "pair" => &mut self.pair,
            "criterion" => &mut self.criterion,
            "part" => &mut self.part,
            "student" => &mut self.student,
            "finding" => &mut self.finding,
            "check" => &mut self.check,
            "proposal" => &mut self.proposal,
            "role" => &mut self.role,
            _ => return None,
        })
    }

    fn student(&self) -> Whose {
        if self.student.is_empty() {
            Whose::Pair
        } else {
            Whose::Student(self.student.clone())
        }
    }
}

impl Target {
    /// The same for a pair that every marker marks, entered by one who is neither its first nor its second marker.
    #[must_use]
    pub fn common(mut self, marker: &str) -> Self {
        self.subject = Subject::Common(marker.to_owned(), Box::new(self.subject));
        self
    }
}

/// Whether the column with this key is to be filled in, on a sheet whose rows carry these ids.
pub fn is_entry(key: &str, ids: &[&str]) -> bool {
    let has = |id: &str| ids.contains(&id);
    match key.split_once(' ') {
        Some(("mark" | "comment" | "judged", of)) => has("pair") && !of.is_empty(),
        Some(_) => false,
        None => match key {
            "decision" | "note" => has("finding"),
            "decision-for-all" => has("check"),
            "entry" | "words" => has("pair") && has("criterion") && has("finding"),
            "mark" | "comment" => has("pair") && has("criterion"),
            "judged" => has("pair") && has("criterion") && has("part"),
            "accept" => has("proposal"),
            _ => false,
        },
    }
}

/// What the cell in a row with these ids and a column with this key is of; none where the row lacks the id that it would be of.
pub fn target(key: &str, ids: &RowIds) -> Option<Target> {
    let of_pair = |student: Whose, subject: Subject| {
        (!ids.pair.is_empty()).then(|| Target {
            pair: ids.pair.clone(),
            student,
            subject,
        })
    };
    let of_cohort = |id: &str, subject: Subject| {
        (!id.is_empty()).then_some(Target {
            pair: String::new(),
            student: Whose::Pair,
            subject,
        })
    };
    // One column for what its rows differ in: the ids of the row say what it is.
    let key = match key {
        "entry" if !ids.finding.is_empty() => "decision",
        "entry" if !ids.part.is_empty() => "judged",
        "entry" => "mark",
        "words" if !ids.finding.is_empty() => "note",
        "words" => "comment",
        key => key,
    };
    match key.split_once(' ') {
        Some(("mark", of)) => {
            let (criterion, student) = place_in_pair(of);
            let whose = match student {
                Some(place) => Whose::Place(place),
                None => ids.student(),
            };
            of_pair(whose, Subject::Mark(criterion.to_owned()))
        }
        Some(("judged", of)) => {
            let (of, student) = place_in_pair(of);
            let (criterion, part) = of.split_once('/')?;
            let whose = student.map_or_else(|| ids.student(), Whose::Place);
            of_pair(
                whose,
                Subject::Judged(criterion.to_owned(), part.to_owned()),
            )
        }
        Some(("comment", of)) => of_pair(Whose::Pair, Subject::Comment(of.to_owned())),
        Some(_) => None,
        None => match key {
            "decision" => of_cohort(&ids.finding, Subject::Decision(ids.finding.clone())),
            "note" => of_cohort(&ids.finding, Subject::Note(ids.finding.clone())),
            "decision-for-all" => of_cohort(&ids.check, Subject::DecisionForAll(ids.check.clone())),
            "accept" => of_cohort(&ids.proposal, Subject::Proposal(ids.proposal.clone())),
            "mark" if !ids.criterion.is_empty() && ids.part.is_empty() => {
                let (criterion, student) = place_in_pair(&ids.criterion);
                let whose = student.map_or_else(|| ids.student(), Whose::Place);
                of_pair(whose, Subject::Mark(criterion.to_owned()))
            }
            "comment" if !ids.criterion.is_empty() && ids.part.is_empty() => {
                let (criterion, _) = place_in_pair(&ids.criterion);
                of_pair(Whose::Pair, Subject::Comment(criterion.to_owned()))
            }
            "judged" if !ids.criterion.is_empty() && !ids.part.is_empty() => of_pair(
                ids.student(),
                Subject::Judged(ids.criterion.clone(), ids.part.clone()),
            ),
            _ => None,
        },
    }
}

/// `teamwork#2` is the criterion and the second student's place.
fn place_in_pair(text: &str) -> (&str, Option<usize>) {
    if let Some((criterion, number)) = text.rsplit_once('#')
        && let Ok(number) = number.parse::<usize>()
        && let Some(place) = number.checked_sub(1)
    {
        return (criterion, Some(place));
    }
    (text, None)
}

/// What a value on the hidden sheet was of: its row's id (a pair, finding, check or proposal) and its column's key.
pub fn of_written(id: &str, key: &str) -> Option<Target> {
    if let Some(claim) = key.strip_prefix("claim ") {
        return (!id.is_empty()).then(|| Target {
            pair: id.to_owned(),
            student: Whose::Pair,
            subject: Subject::Claim(claim.to_owned()),
        });
    }
    if let Subject::Common(marker, of) = Subject::from(key) {
        return Some(of_written(id, &of.to_string())?.common(&marker));
    }
    let mut ids = RowIds::default();
    let kind = match key {
        "decision" | "note" => "finding",
        "decision-for-all" => "check",
        "accept" => "proposal",
        _ => "pair",
    };
    id.clone_into(ids.slot(kind)?);
    target(key, &ids)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_is_known_by_its_row_and_column_in_either_layout() {
        let mut ids = RowIds {
            pair: "P07".into(),
            ..RowIds::default()
        };
        let wide = target("mark testing", &ids).unwrap();
        ids.criterion = "testing".into();
        assert_eq!(target("mark", &ids).unwrap(), wide);
        assert_eq!(of_written("P07", "mark testing").unwrap(), wide);
        assert_eq!(
            target("mark teamwork#2", &ids).unwrap().student,
            Whose::Place(1)
        );
        ids.part = "protocol".into();
        assert_eq!(target("mark", &ids), None);
        assert_eq!(
            target("judged", &ids).unwrap().subject,
            Subject::Judged("testing".into(), "protocol".into())
        );
        assert_eq!(
            target("judged", &ids),
            of_written("P07", "judged testing/protocol")
        );
    }

    #[test]
    fn a_row_without_its_id_is_of_nothing() {
        assert_eq!(target("mark testing", &RowIds::default()), None);
        assert_eq!(target("decision", &RowIds::default()), None);
    }

    #[test]
    fn columns_to_fill_in_are_told_from_columns_that_show() {
        assert!(is_entry("mark testing", &["pair"]));
        assert!(is_entry("decision", &["finding", "pair"]));
        // The sheet of findings shows a comment; a sheet with a row a criterion takes one.
        assert!(!is_entry("comment", &["finding", "pair"]));
        assert!(is_entry("comment", &["pair", "criterion"]));
        assert!(!is_entry("suggested testing", &["pair"]));
    }
}

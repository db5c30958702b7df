//! Many places in little memory: trials stand below or beside each other, so that a few stretches of cells say where all of them are.

use super::{Place, Spot};

/// Places in their order.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Places {
    stretches: Box<[Stretch]>,
}

/// Cells at equal distances along a row or column.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct Stretch {
    first: Place,
    rows: u32,
    columns: u32,
    /// How many they are.
    count: u32,
}

impl<'a> FromIterator<&'a Place> for Places {
    fn from_iter<I: IntoIterator<Item = &'a Place>>(places: I) -> Self {
        let mut stretches: Vec<Stretch> = Vec::new();
        let mut last: Option<&Place> = None;
        for place in places {
            let step = last.and_then(|last| step(last, place));
            let fits = match (stretches.last_mut(), step) {
                // The second cell of a stretch sets its step.
                (Some(stretch), Some((rows, columns))) if stretch.count == 1 => {
                    (stretch.rows, stretch.columns) = (rows, columns);
                    Some(stretch)
                }
                (Some(stretch), Some(step)) => {
                    ((stretch.rows, stretch.columns) == step).then_some(stretch)
                }
                _ => None,
            };
            match fits {
                Some(stretch) => stretch.count += 1,
                None => stretches.push(Stretch {
                    first: place.clone(),
                    rows: 0,
                    columns: 0,
                    count: 1,
                }),
            }
            last = Some(place);
        }
        Self {
            stretches: stretches.into(),
        }
    }
}

impl Places {
    /// Each place.
    pub fn iter(&self) -> impl Iterator<Item = Place> {
        self.stretches
            .iter()
            .flat_map(|stretch| (0..stretch.count).map(|along| stretch.place(along)))
    }

    /// The place at a position, counted from 0.
    pub fn get(&self, position: usize) -> Option<Place> {
        let mut along = u32::try_from(position).ok()?;
        for stretch in &self.stretches {
            if along < stretch.count {
                return Some(stretch.place(along));
            }
            along -= stretch.count;
        }
        None
    }
}

impl Stretch {
    fn place(&self, along: u32) -> Place {
        let moved = |at: u32, step: u32| at.saturating_add(step.saturating_mul(along));
        let mut place = self.first.clone();
        match &mut place.spot {
            Spot::Cell { row, column, .. } => {
                *row = moved(*row, self.rows);
                *column = moved(*column, self.columns);
            }
            Spot::Field { line, field } => {
                *line = moved(*line, self.rows);
                *field = moved(*field, self.columns);
            }
            Spot::File | Spot::Sheet(_) => {}
        }
        place
    }
}

/// How far one place lies behind another of the same sheet or file, in rows and columns; none where it lies elsewhere or before it.
fn step(from: &Place, to: &Place) -> Option<(u32, u32)> {
    if from.file != to.file {
        return None;
    }
    match (&from.spot, &to.spot) {
        (
            Spot::Cell { sheet, row, column },
            Spot::Cell {
                sheet: to_sheet,
                row: to_row,
                column: to_column,
            },
        ) if sheet == to_sheet => {
            Some((to_row.checked_sub(*row)?, to_column.checked_sub(*column)?))
        }
        (
            Spot::Field { line, field },
            Spot::Field {
                line: to_line,
                field: to_field,
            },
        ) => Some((to_line.checked_sub(*line)?, to_field.checked_sub(*field)?)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(sheet: &str, row: u32, column: u32) -> Place {
        Place::cell("a.xlsx".into(), sheet.into(), row, column)
    }

    #[test]
    fn every_place_comes_back_in_its_order() {
        let places = [
            cell("Claims", 3, 4),
            cell("Trials", 1, 2),
            cell("Trials", 1, 3),
            cell("Trials", 1, 4),
            cell("Trials", 5, 0),
            cell("Trials", 7, 0),
            cell("Trials", 7, 0),
            Place::file("a.xlsx"),
            Place::field("b.csv".into(), 4, 2),
            Place::field("b.csv".into(), 6, 2),
            Place::field("b.csv".into(), 8, 2),
            Place::field("b.csv".into(), 7, 2),
        ];
        let kept: Places = places.iter().collect();
        assert_eq!(kept.iter().collect::<Vec<_>>(), places);
        for (position, place) in places.iter().enumerate() {
            assert_eq!(kept.get(position).as_ref(), Some(place));
        }
        assert_eq!(kept.get(places.len()), None);
        assert!(kept.stretches.len() <= 8);
    }

    #[test]
    fn a_column_is_one_stretch() {
        let column: Vec<Place> = (1..200).map(|row| cell("Trials", 3 * row, 5)).collect();
        let kept: Places = column.iter().collect();
        assert_eq!(kept.stretches.len(), 1);
        assert_eq!(kept.iter().collect::<Vec<_>>(), column);
    }
}

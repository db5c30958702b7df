//! Marks summed up by pair and by marker: all that the equations need, in units in which numbers are about 1.

use crate::stats::Undefined;
use crate::stats::requirements::at_least;

/// Marks of one pair summed up.
#[derive(Debug, Clone)]
pub(super) struct Pair {
    pub(super) marks: f64,
    /// How many of them each marker gave.
    pub(super) by_marker: Vec<(usize, f64)>,
    /// Sums of the intercept's 1s and of the covariates.
    pub(super) fixed: Vec<f64>,
    pub(super) sum: f64,
}

/// The whole design.
pub(super) struct Design {
    pub(super) marks: usize,
    pub(super) markers: usize,
    pub(super) pairs: Vec<Pair>,
    /// For each marker: how many marks, sums of fixed columns, sum of marks.
    pub(super) marker_marks: Vec<f64>,
    pub(super) marker_fixed: Vec<Vec<f64>>,
    pub(super) marker_sums: Vec<f64>,
    /// Sums of products of fixed columns with each other, and with marks.
    pub(super) fixed_products: Vec<Vec<f64>>,
    pub(super) fixed_sums: Vec<f64>,
    /// Sum of squared marks.
    pub(super) squares: f64,
    /// Marks are (mark − centre)/scale here, covariates (x − centre)/scale.
    pub(super) centre: f64,
    pub(super) scale: f64,
    pub(super) covariate_centres: Vec<(f64, f64)>,
}

impl Design {
    pub(super) fn of(
        marks: &[f64],
        pairs: &[usize],
        markers: &[usize],
        covariates: &[&[f64]],
    ) -> Result<Self, Undefined> {
        let (centre, scale) = centre_and_scale(marks)?;
        let covariate_centres = covariates
            .iter()
            .map(|c| centre_and_scale(c))
            .collect::<Result<Vec<_>, _>>()?;
        let pair_count = pairs.iter().max().map_or(0, |most| most.saturating_add(1));
        let marker_count = markers
            .iter()
            .max()
            .map_or(0, |most| most.saturating_add(1));
        // Numbers without gaps can't exceed the marks; this also bounds what is allocated.
        if pair_count > marks.len() || marker_count > marks.len() {
            return Err(Undefined::OutOfRange);
        }
        let fixed_count = covariates.len() + 1;
        let empty = Pair {
            marks: 0.0,
            by_marker: Vec::new(),
            fixed: vec![0.0; fixed_count],
            sum: 0.0,
        };
        let mut design = Self {
            marks: marks.len(),
            markers: marker_count,
            pairs: vec![empty; pair_count],
            marker_marks: vec![0.0; marker_count],
            marker_fixed: vec![vec![0.0; fixed_count]; marker_count],
            marker_sums: vec![0.0; marker_count],
            fixed_products: vec![vec![0.0; fixed_count]; fixed_count],
            fixed_sums: vec![0.0; fixed_count],
            squares: 0.0,
            centre,
            scale,
            covariate_centres,
        };
        let mut row = vec![1.0; fixed_count];
        for (index, ((mark, &pair), &marker)) in marks.iter().zip(pairs).zip(markers).enumerate() {
            let y = (mark - centre) / scale;
            for ((slot, covariate), (centre, scale)) in row
                .iter_mut()
                .skip(1)
                .zip(covariates)
                .zip(&design.covariate_centres)
            {
                *slot = (covariate.get(index).copied().unwrap_or(*centre) - centre) / scale;
            }
            design.add(pair, marker, &row, y);
        }
        let all_used = design.pairs.iter().all(|pair| pair.marks > 0.0)
            && design.marker_marks.iter().all(|&n| n > 0.0);
        if !all_used {
            return Err(Undefined::OutOfRange);
        }
        let most_of_a_pair = design
            .pairs
            .iter()
            .map(|pair| pair.marks)
            .fold(0.0, f64::max);
        at_least(2, if most_of_a_pair > 1.5 { 2 } else { 1 })?;
        Ok(design)
    }

    /// How many fixed effects, the intercept counted.
    pub(super) fn fixed(&self) -> usize {
        self.fixed_sums.len()
    }

    /// What the criterion gains when marks and covariates go back to their own units.
    pub(super) fn scale_term(&self) -> f64 {
        let covariates: f64 = self
            .covariate_centres
            .iter()
            .map(|(_, scale)| scale.ln())
            .sum();
        2.0 * ((self.marks - self.fixed()) as f64 * self.scale.ln() + covariates)
    }

    fn add(&mut self, pair: usize, marker: usize, row: &[f64], y: f64) {
        let (Some(pair), Some(marks), Some(sum), Some(marker_fixed)) = (
            self.pairs.get_mut(pair),
            self.marker_marks.get_mut(marker),
            self.marker_sums.get_mut(marker),
            self.marker_fixed.get_mut(marker),
        ) else {
            return;
        };
        *marks += 1.0;
        *sum += y;
        add_to(marker_fixed, row, 1.0);
        pair.marks += 1.0;
        pair.sum += y;
        add_to(&mut pair.fixed, row, 1.0);
        match pair
            .by_marker
            .iter_mut()
            .find(|(known, _)| *known == marker)
        {
            Some((_, count)) => *count += 1.0,
            None => pair.by_marker.push((marker, 1.0)),
        }
        for (products, x) in self.fixed_products.iter_mut().zip(row) {
            add_to(products, row, *x);
        }
        add_to(&mut self.fixed_sums, row, y);
        self.squares += y * y;
    }
}

fn add_to(sums: &mut [f64], row: &[f64], factor: f64) {
    for (sum, x) in sums.iter_mut().zip(row) {
        *sum += factor * x;
    }
}

/// Mean and root mean squared deviation.
fn centre_and_scale(values: &[f64]) -> Result<(f64, f64), Undefined> {
    let n = values.len() as f64;
    let centre = values.iter().map(|v| v / n).sum::<f64>();
    let scale = (values.iter().map(|v| (v - centre).powi(2) / n).sum::<f64>()).sqrt();
    let constant = values.iter().all(|v| Some(v) == values.first());
    if constant || scale <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    crate::stats::requirements::finite_result(scale)?;
    Ok((centre, scale))
}

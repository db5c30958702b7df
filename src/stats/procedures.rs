//! What each procedure was checked against, and how many digits agree: measured by tests, never written by hand.

#[cfg(test)]
mod measured;
#[cfg(test)]
mod measured_learning;

use std::fmt::Write as _;

/// A procedure and the outside source that it was checked against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Procedure {
    /// What it computes.
    pub name: &'static str,
    /// Where the values that it was compared with come from.
    pub source: &'static str,
    /// How many significant digits the worst of them shares with ours, limited by how many are published; a test measures it.
    pub digits: u8,
}

const fn row(name: &'static str, source: &'static str, digits: u8) -> Procedure {
    Procedure {
        name,
        source,
        digits,
    }
}

/// Every procedure with its check. A new row needs a measurement of the same name in `procedures/measured.rs`.
pub const PROCEDURES: &[Procedure] = &[
    row(
        "mean, sd, lag-1 autocorrelation",
        "NIST StRD univariate, all nine sets",
        14,
    ),
    row("least-squares line", "NIST StRD Norris", 12),
    row(
        "normal, t, F and χ² tails and quantiles",
        "SciPy 1.17.1",
        14,
    ),
    row("noncentral t", "SciPy 1.17.1, mpmath", 14),
    row(
        "t paired, pooled, Welch, with intervals",
        "Student 1908; R 4.2.2 t.test",
        9,
    ),
    row(
        "Mann–Whitney, exact with ties",
        "R exactRankTests 0.8-35",
        10,
    ),
    row("Mann–Whitney, normal with ties", "SciPy 1.17.1", 14),
    row(
        "Wilcoxon signed ranks, exact",
        "Hollander & Wolfe 1973; SciPy 1.17.1",
        16,
    ),
    row(
        "Wilcoxon signed ranks, normal with ties",
        "SciPy 1.17.1",
        14,
    ),
    row(
        "permutation test of means",
        "Efron & Tibshirani 1993, all 11,440 splits listed",
        16,
    ),
    row("permutation test of pairs", "Fisher 1935, section 21", 16),
    row(
        "bootstrap standard error of a difference of means",
        "SciPy 1.17.1, 1,000,000 resamples",
        4,
    ),
    row(
        "d, g, Glass's Δ, d paired, d by mean sd",
        "Lakens 2013; R effectsize 0.8.3",
        9,
    ),
    row("Hedges's exact factor", "Hedges 1981; mpmath", 10),
    row(
        "nap, its standard error and interval",
        "Parker et al. 2011; R SingleCaseES",
        10,
    ),
    row("baseline-corrected tau", "Tarlow 2017; R SingleCaseES", 12),
    row(
        "PND, PEM, PAND, IRD, Tau-U",
        "Parker et al. 2011; R SingleCaseES, scan",
        12,
    ),
    row(
        "log response ratio, percent change",
        "Pustejovsky 2018; R SingleCaseES",
        9,
    ),
    row(
        "interval of a share of the gain",
        "Fieller 1954; SciPy 1.17.1 brentq",
        14,
    ),
    row(
        "CE, AE, VE, E",
        "a student laboratory's table, its wrong VE recomputed",
        10,
    ),
    row("MRE, SRE, BVE", "3–4–5 triangles, by hand", 15),
    row(
        "typical error with interval",
        "Hopkins 2000; SciPy 1.17.1",
        9,
    ),
    row(
        "detectable difference",
        "statsmodels 0.15.0, whose solver stops 3e-6 off",
        5,
    ),
    row("power of the t test", "statsmodels 0.15.0", 14),
    row("interval of d by noncentral t", "SciPy 1.17.1 nct", 14),
    row(
        "runs about the median",
        "NIST/SEMATECH e-Handbook 1.4.2.5; Swed & Eisenhart 1943",
        14,
    ),
    row("von Neumann's ratio", "NumPy 2.4.6 on NIST's Lew", 15),
    row(
        "variance inflation by autocorrelation",
        "NumPy 2.4.6, the matrix ρ^|i−j|",
        15,
    ),
    row(
        "Mann–Kendall, exact",
        "SciPy 1.17.1 kendalltau; Kendall 1970",
        16,
    ),
    row(
        "Mann–Kendall, normal with ties",
        "a seminar's sheet by hand; pymannkendall 1.4.3",
        16,
    ),
    row("Kendall's tau-b", "Kendall 1970, example 3.1", 16),
    row(
        "change-point, by ranks and by least squares",
        "Pettitt 1979; the Nile, Cobb 1978",
        15,
    ),
    row(
        "nonlinear least squares, from both starts",
        "NIST StRD Misra1a, Misra1b, DanWood, BoxBOD, MGH09, Chwirut2",
        7,
    ),
    row(
        "candidate shapes of a practice curve",
        "SciPy 1.17.1 curve_fit",
        13,
    ),
    row("monotone fit", "SciPy 1.17.1 isotonic_regression", 16),
    row(
        "Cohen's kappa: plain, linear, quadratic, with standard errors",
        "Landis & Koch 1977; statsmodels 0.15.0",
        14,
    ),
    row("Fleiss' kappa", "Fleiss 1971; statsmodels 0.15.0", 15),
    row("Gwet's AC1", "Gwet 2008", 16),
    row(
        "Krippendorff's alpha: nominal, ordinal, interval, ratio",
        "Krippendorff 2011; krippendorff 0.9.0",
        15,
    ),
    row(
        "six intraclass correlations with intervals",
        "Shrout & Fleiss 1979; R psych 2.2.9",
        9,
    ),
    row(
        "limits of agreement with intervals",
        "Bland & Altman 1986; SciPy 1.17.1",
        16,
    ),
    row("Lin's concordance with interval", "R epiR", 10),
    row(
        "Pearson, Spearman, partial correlation",
        "Efron & Tibshirani 1993; SciPy 1.17.1",
        12,
    ),
    row(
        "variance components, balanced (REML)",
        "Davies 1947, Davies & Goldsmith 1972 in closed form",
        13,
    ),
    row(
        "variance components, unbalanced with a covariate (REML)",
        "NumPy 2.4.6, SciPy 1.17.1 on the dense likelihood",
        13,
    ),
    row(
        "severity of markers (REML, Kenward & Roger's errors)",
        "statsmodels 0.15.0; NumPy 2.4.6 on dense matrices",
        13,
    ),
    row(
        "possible means and sds of whole numbers",
        "Brown & Heathers 2017; Allard 2018: every verdict",
        16,
    ),
    row("robust z", "SciPy 1.17.1", 16),
];

/// The table as Markdown, for the developers' page.
#[must_use]
pub fn table() -> String {
    let mut table =
        String::from("| procedure | checked against | digits agreed |\n| --- | --- | --: |\n");
    for row in PROCEDURES {
        // Writing to a string can't fail.
        let _ = writeln!(table, "| {} | {} | {} |", row.name, row.source, row.digits);
    }
    table
}

/// How many significant digits two numbers share: −log₁₀ of the relative error (NIST's LRE), of the absolute error where the expected value is 0;
/// 16 at most, 0 at least.
#[must_use]
pub fn digits_agreed(computed: f64, expected: f64) -> f64 {
    let error = if expected == 0.0 {
        computed.abs()
    } else {
        ((computed - expected) / expected).abs()
    };
    if error.is_nan() {
        return 0.0;
    }
    (-libm::log10(error)).clamp(0.0, 16.0)
}

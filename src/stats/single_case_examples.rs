//! Published single-case examples, against which the nonoverlap statistics are checked.
//!
//! The data and values are those of the tests of R's `SingleCaseES` and `scan`; values not printed there were recomputed with their formulas.

use super::Direction;

/// Two blocks of one person and what is published of them.
pub struct Case {
    pub earlier: &'static [f64],
    pub later: &'static [f64],
    pub better: Direction,
    pub nap: f64,
    pub slope: f64,
    pub corrected_tau: f64,
    pub pnd: f64,
    pub pem: f64,
    pub pand: f64,
    pub ird: f64,
    pub tau_u: f64,
}

pub const CASES: [Case; 11] = [
    // Parker, Vannest & Davis 2011, Behavior Modification 35:303–322.
    Case {
        earlier: &[20.0, 20.0, 26.0, 25.0, 22.0, 23.0],
        later: &[28.0, 25.0, 24.0, 27.0, 30.0, 30.0, 29.0],
        better: Direction::Higher,
        nap: 0.916_666_666_667,
        slope: 0.6,
        corrected_tau: 0.285_714_285_714,
        pnd: 0.714_285_714_286,
        pem: 1.0,
        pand: 0.846_153_846_154,
        ird: 0.690_476_190_476,
        tau_u: 0.738_095_238_095,
    },
    // Parker et al. 2011, their Tau-U example.
    Case {
        earlier: &[3.0, 3.0, 4.0, 5.0],
        later: &[4.0, 5.0, 6.0, 7.0, 7.0],
        better: Direction::Higher,
        nap: 0.9,
        slope: 0.833_333_333_333,
        corrected_tau: -1.0,
        pnd: 0.6,
        pem: 1.0,
        pand: 0.777_777_777_778,
        ird: 0.55,
        tau_u: 0.55,
    },
    // Parker, Vannest, Davis & Sauber 2011, Behavior Therapy 42:284–299.
    Case {
        earlier: &[2.0, 3.0, 5.0, 3.0],
        later: &[4.0, 5.0, 5.0, 7.0, 6.0],
        better: Direction::Higher,
        nap: 0.9,
        slope: 0.666_666_666_667,
        corrected_tau: -0.5,
        pnd: 0.4,
        pem: 1.0,
        pand: 0.888_888_888_889,
        ird: 0.775,
        tau_u: 0.65,
    },
    // Parker & Vannest 2009, Behavior Therapy 40:357–367.
    Case {
        earlier: &[4.0, 3.0, 4.0, 3.0, 4.0, 7.0, 5.0, 2.0, 3.0, 2.0],
        later: &[5.0, 9.0, 7.0, 9.0, 7.0, 5.0, 9.0, 11.0, 11.0, 10.0, 9.0],
        better: Direction::Higher,
        nap: 0.963_636_363_636,
        slope: -0.125,
        corrected_tau: 0.963_636_363_636,
        pnd: 0.636_363_636_364,
        pem: 1.0,
        pand: 0.904_761_904_762,
        ird: 0.809_090_909_091,
        tau_u: 1.018_181_818_182,
    },
    // Tarlow 2017, Behavior Modification 41:427–467.
    Case {
        earlier: &[1.0, 2.0, 3.0, 4.0, 5.0],
        later: &[6.0, 7.0, 8.0, 9.0, 10.0],
        better: Direction::Higher,
        nap: 1.0,
        slope: 1.0,
        corrected_tau: 0.0,
        pnd: 1.0,
        pem: 1.0,
        pand: 1.0,
        ird: 1.0,
        tau_u: 0.6,
    },
    // Tarlow 2017, example b.
    Case {
        earlier: &[1.0, 2.0, 3.0, 4.0, 5.0],
        later: &[2.0, 1.0, 0.0, 0.0, 0.0],
        better: Direction::Lower,
        nap: 0.92,
        slope: 1.0,
        corrected_tau: 1.0,
        pnd: 0.6,
        pem: 1.0,
        pand: 0.8,
        ird: 0.6,
        tau_u: 1.24,
    },
    // Tarlow's web page, in the tests of SingleCaseES.
    Case {
        earlier: &[33.0, 25.0, 17.0, 25.0, 19.0, 21.0, 19.0, 14.0, 19.0, 17.0],
        later: &[
            14.0, 15.0, 15.0, 9.0, 12.0, 7.0, 10.0, 6.0, 5.0, 2.0, 2.0, 3.0, 5.0, 4.0,
        ],
        better: Direction::Lower,
        nap: 0.982_142_857_143,
        slope: -1.2,
        corrected_tau: -0.2,
        pnd: 0.785_714_285_714,
        pem: 1.0,
        pand: 0.958_333_333_333,
        ird: 0.914_285_714_286,
        tau_u: 0.792_857_142_857,
    },
    // Parker, Hagan-Burke & Vannest 2007, Journal of Special Education 40:194–204.
    Case {
        earlier: &[20.0, 18.0, 20.0],
        later: &[20.0, 21.0, 23.0],
        better: Direction::Higher,
        nap: 0.888_888_888_889,
        slope: 0.0,
        corrected_tau: 0.777_777_777_778,
        pnd: 0.666_666_666_667,
        pem: 0.833_333_333_333,
        pand: 0.833_333_333_333,
        ird: 0.666_666_666_667,
        tau_u: 0.777_777_777_778,
    },
    // Parker et al. 2007, case 2.
    Case {
        earlier: &[18.0, 17.0, 16.0, 20.0],
        later: &[19.0, 22.0, 19.0, 20.0, 20.0, 24.0],
        better: Direction::Higher,
        nap: 0.875,
        slope: -0.166_666_666_667,
        corrected_tau: 0.833_333_333_333,
        pnd: 0.333_333_333_333,
        pem: 1.0,
        pand: 0.9,
        ird: 0.791_666_666_667,
        tau_u: 0.75,
    },
    // Parker et al. 2007, case 3.
    Case {
        earlier: &[19.0, 18.0, 24.0, 22.0, 21.0, 19.0],
        later: &[30.0, 21.0, 23.0, 28.0, 32.0, 34.0],
        better: Direction::Higher,
        nap: 0.902_777_777_778,
        slope: 0.0,
        corrected_tau: 0.805_555_555_556,
        pnd: 0.666_666_666_667,
        pem: 1.0,
        pand: 0.833_333_333_333,
        ird: 0.666_666_666_667,
        tau_u: 0.805_555_555_556,
    },
    // Lenz 2013, Measurement and Evaluation in Counseling and Development 46:64–73.
    Case {
        earlier: &[22.0, 25.0, 23.0, 26.0, 20.0, 22.0, 25.0],
        later: &[
            26.0, 25.0, 22.0, 22.0, 18.0, 21.0, 18.0, 20.0, 21.0, 18.0, 16.0, 16.0, 14.0, 14.0,
            12.0,
        ],
        better: Direction::Lower,
        nap: 0.828_571_428_571,
        slope: 0.0,
        corrected_tau: 0.657_142_857_143,
        pnd: 0.533_333_333_333,
        pem: 0.866_666_666_667,
        pand: 0.772_727_272_727,
        ird: 0.476_190_476_19,
        tau_u: 0.666_666_666_667,
    },
];

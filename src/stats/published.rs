//! Published data sets that several checks use, typed out; where each is from stands above it.
#![allow(
    dead_code,
    reason = "a set waits for the procedures that are checked against it"
)]

/// Yearly flow of the Nile at Aswan 1871–1970, 10⁸ m³: Cobb 1978, Biometrika 65:243–251 (statsmodels `datasets.nile`).
pub const NILE: [f64; 100] = [
    1120.0, 1160.0, 963.0, 1210.0, 1160.0, 1160.0, 813.0, 1230.0, 1370.0, 1140.0, 995.0, 935.0,
    1110.0, 994.0, 1020.0, 960.0, 1180.0, 799.0, 958.0, 1140.0, 1100.0, 1210.0, 1150.0, 1250.0,
    1260.0, 1220.0, 1030.0, 1100.0, 774.0, 840.0, 874.0, 694.0, 940.0, 833.0, 701.0, 916.0, 692.0,
    1020.0, 1050.0, 969.0, 831.0, 726.0, 456.0, 824.0, 702.0, 1120.0, 1100.0, 832.0, 764.0, 821.0,
    768.0, 845.0, 864.0, 862.0, 698.0, 845.0, 744.0, 796.0, 1040.0, 759.0, 781.0, 865.0, 845.0,
    944.0, 984.0, 897.0, 822.0, 1010.0, 771.0, 676.0, 649.0, 846.0, 812.0, 742.0, 801.0, 1040.0,
    860.0, 874.0, 848.0, 890.0, 744.0, 749.0, 838.0, 1050.0, 918.0, 986.0, 797.0, 923.0, 975.0,
    815.0, 1020.0, 906.0, 901.0, 1170.0, 912.0, 746.0, 919.0, 718.0, 714.0, 740.0,
];

/// Fleiss 1971, Psychological Bulletin 76:378–382: how many of six psychiatrists gave each of 30 patients each of five diagnoses.
pub const FLEISS_1971: [[usize; 5]; 30] = [
    [0, 0, 0, 6, 0],
    [0, 3, 0, 0, 3],
    [0, 1, 4, 0, 1],
    [0, 0, 0, 0, 6],
    [0, 3, 0, 3, 0],
    [2, 0, 4, 0, 0],
    [0, 0, 4, 0, 2],
    [2, 0, 3, 1, 0],
    [2, 0, 0, 4, 0],
    [0, 0, 0, 0, 6],
    [1, 0, 0, 5, 0],
    [1, 1, 0, 4, 0],
    [0, 3, 3, 0, 0],
    [1, 0, 0, 5, 0],
    [0, 2, 0, 3, 1],
    [0, 0, 5, 0, 1],
    [3, 0, 0, 1, 2],
    [5, 1, 0, 0, 0],
    [0, 2, 0, 4, 0],
    [1, 0, 2, 0, 3],
    [0, 0, 0, 0, 6],
    [0, 1, 0, 5, 0],
    [0, 2, 0, 1, 3],
    [2, 0, 0, 4, 0],
    [1, 0, 0, 4, 1],
    [0, 5, 0, 1, 0],
    [4, 0, 0, 0, 2],
    [0, 2, 0, 4, 0],
    [1, 0, 5, 0, 0],
    [0, 0, 0, 0, 6],
];

/// Stands for a missing rating in the tables below.
const NONE: f64 = f64::NAN;

/// Krippendorff 2011, example C: four observers (rows) of twelve units.
pub const KRIPPENDORFF_C: [[f64; 12]; 4] = [
    [
        1.0, 2.0, 3.0, 3.0, 2.0, 1.0, 4.0, 1.0, 2.0, NONE, NONE, NONE,
    ],
    [1.0, 2.0, 3.0, 3.0, 2.0, 2.0, 4.0, 1.0, 2.0, 5.0, NONE, 3.0],
    [NONE, 3.0, 3.0, 3.0, 2.0, 3.0, 4.0, 2.0, 2.0, 5.0, 1.0, NONE],
    [1.0, 2.0, 3.0, 3.0, 2.0, 4.0, 4.0, 1.0, 2.0, 5.0, 1.0, NONE],
];

/// A table of observers by things turned into ratings thing by thing.
pub fn things_of_observers<const THINGS: usize>(
    observers: &[[f64; THINGS]],
) -> Vec<Vec<Option<f64>>> {
    (0..THINGS)
        .map(|thing| {
            observers
                .iter()
                .map(|ratings| Some(ratings[thing]).filter(|rating| !rating.is_nan()))
                .collect()
        })
        .collect()
}

/// Shrout & Fleiss 1979, Psychological Bulletin 86:420–428: six targets (rows) by four judges.
pub const SHROUT_FLEISS: [[f64; 4]; 6] = [
    [9.0, 2.0, 5.0, 8.0],
    [6.0, 1.0, 3.0, 2.0],
    [8.0, 4.0, 6.0, 8.0],
    [7.0, 1.0, 2.0, 6.0],
    [10.0, 5.0, 6.0, 9.0],
    [6.0, 2.0, 4.0, 7.0],
];

/// Randall 1989, Biometrical Journal 31:781–793 (R ordinal `wine`): bitterness of eight bottles (rows) by nine judges, 0–100.
pub const WINE_BITTERNESS: [[f64; 9]; 8] = [
    [36.0, 17.0, 36.0, 46.0, 26.0, 46.0, 13.0, 25.0, 12.0],
    [48.0, 22.0, 50.0, 27.0, 45.0, 30.0, 19.0, 32.0, 29.0],
    [47.0, 14.0, 42.0, 48.0, 61.0, 54.0, 31.0, 39.0, 47.0],
    [67.0, 50.0, 23.0, 32.0, 41.0, 37.0, 29.0, 40.0, 28.0],
    [77.0, 30.0, 80.0, 57.0, 48.0, 32.0, 22.0, 51.0, 47.0],
    [60.0, 51.0, 81.0, 37.0, 41.0, 60.0, 43.0, 45.0, 38.0],
    [83.0, 90.0, 73.0, 84.0, 58.0, 88.0, 32.0, 42.0, 72.0],
    [90.0, 70.0, 62.0, 58.0, 55.0, 73.0, 49.0, 67.0, 65.0],
];

/// Bland & Altman 1986, Lancet i:307–310, table 1: peak expiratory flow by the Wright meter, first readings, l/min.
pub const PEAK_FLOW_WRIGHT: [f64; 17] = [
    494.0, 395.0, 516.0, 434.0, 476.0, 557.0, 413.0, 442.0, 650.0, 433.0, 417.0, 656.0, 267.0,
    478.0, 178.0, 423.0, 427.0,
];

/// The same people by the mini meter.
pub const PEAK_FLOW_MINI: [f64; 17] = [
    512.0, 430.0, 520.0, 428.0, 500.0, 600.0, 364.0, 380.0, 658.0, 445.0, 432.0, 626.0, 260.0,
    477.0, 259.0, 350.0, 451.0,
];

/// NIST StRD Misra1a and Misra1b: pressure in monomolecular adsorption.
pub const MISRA1_X: [f64; 14] = [
    77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0,
];

/// NIST StRD Misra1a and Misra1b: volume.
pub const MISRA1_Y: [f64; 14] = [
    10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.4, 75.47, 81.78,
];

/// NIST StRD `DanWood`: absolute temperature of a filament, 1000 K.
pub const DAN_WOOD_X: [f64; 6] = [1.309, 1.471, 1.49, 1.565, 1.611, 1.68];

/// NIST StRD `DanWood`: energy radiated.
pub const DAN_WOOD_Y: [f64; 6] = [2.138, 3.421, 3.597, 4.34, 4.882, 5.66];

/// NIST StRD Chwirut2: metal distance.
pub const CHWIRUT2_X: [f64; 54] = [
    0.5, 1.0, 1.75, 3.75, 5.75, 0.875, 2.25, 3.25, 5.25, 0.75, 1.75, 2.75, 4.75, 0.625, 1.25, 2.25,
    4.25, 0.5, 3.0, 0.75, 3.0, 1.5, 6.0, 3.0, 6.0, 1.5, 3.0, 0.5, 2.0, 4.0, 0.75, 2.0, 5.0, 0.75,
    2.25, 3.75, 5.75, 3.0, 0.75, 2.5, 4.0, 0.75, 2.5, 4.0, 0.75, 2.5, 4.0, 0.5, 6.0, 3.0, 0.5,
    2.75, 0.5, 1.75,
];

/// NIST StRD Chwirut2: ultrasonic response.
pub const CHWIRUT2_Y: [f64; 54] = [
    92.9, 57.1, 31.05, 11.5875, 8.025, 63.6, 21.4, 14.25, 8.475, 63.8, 26.8, 16.4625, 7.125, 67.3,
    41.0, 21.15, 8.175, 81.5, 13.12, 59.9, 14.62, 32.9, 5.44, 12.56, 5.44, 32.0, 13.95, 75.8, 20.0,
    10.42, 59.5, 21.67, 8.55, 62.0, 20.2, 7.76, 3.75, 11.81, 54.7, 23.7, 11.55, 61.3, 17.7, 8.74,
    59.2, 16.3, 8.62, 81.0, 4.87, 14.62, 81.7, 17.17, 81.3, 28.9,
];

/// Hours of sleep gained under the first of two drugs: Cushny & Peebles 1905 in Student 1908, Biometrika 6:1–25 (R `datasets::sleep`).
pub const DRUG_1: [f64; 10] = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];

/// Hours of sleep gained by the same ten people under the second drug.
pub const DRUG_2: [f64; 10] = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];

/// Days that treated mice survived: Efron & Tibshirani 1993, An Introduction to the Bootstrap, table 2.1.
pub const MICE_TREATED: [f64; 7] = [94.0, 197.0, 16.0, 38.0, 99.0, 141.0, 23.0];

/// Days that untreated mice survived, from the same table.
pub const MICE_CONTROL: [f64; 9] = [52.0, 104.0, 146.0, 10.0, 51.0, 30.0, 40.0, 27.0, 46.0];

/// Darwin's maize, crossed minus self-fertilised, eighths of an inch: Fisher 1935, The Design of Experiments (R `boot::darwin`).
pub const DARWIN: [f64; 15] = [
    49.0, -67.0, 8.0, 16.0, 6.0, 23.0, 28.0, 41.0, 14.0, 29.0, 56.0, 24.0, 75.0, 60.0, -48.0,
];

//! Names of the functions that a logbook's formulas use, by their number. Source: \[MS-XLS\] 2.5.198.17 (Ftab).

/// Functions with any number of arguments.
const OPEN: &[(u16, &str)] = &[
    (0, "COUNT"),
    (1, "IF"),
    (4, "SUM"),
    (5, "AVERAGE"),
    (6, "MIN"),
    (7, "MAX"),
    (12, "STDEV"),
    (14, "FIXED"),
    (36, "AND"),
    (37, "OR"),
    (46, "VAR"),
    (62, "IRR"),
    (102, "VLOOKUP"),
    (101, "HLOOKUP"),
    (100, "CHOOSE"),
    (29, "INDEX"),
    (64, "MATCH"),
    (169, "COUNTA"),
    (183, "PRODUCT"),
    (193, "STDEVP"),
    (194, "VARP"),
    (197, "TRUNC"),
    (227, "MEDIAN"),
    (228, "SUMPRODUCT"),
    (269, "AVEDEV"),
    (318, "DEVSQ"),
    (319, "GEOMEAN"),
    (320, "HARMEAN"),
    (321, "SUMSQ"),
    (330, "MODE"),
    (336, "CONCATENATE"),
    (345, "SUMIF"),
    (216, "RANK"),
    (361, "AVERAGEA"),
    (362, "MAXA"),
    (363, "MINA"),
    (366, "STDEVA"),
];

/// Functions with a fixed number of arguments.
const FIXED: &[(u16, &str, usize)] = &[
    (2, "ISNA", 1),
    (3, "ISERROR", 1),
    (19, "PI", 0),
    (20, "SQRT", 1),
    (21, "EXP", 1),
    (22, "LN", 1),
    (23, "LOG10", 1),
    (24, "ABS", 1),
    (25, "INT", 1),
    (26, "SIGN", 1),
    (27, "ROUND", 2),
    (34, "TRUE", 0),
    (35, "FALSE", 0),
    (38, "NOT", 1),
    (39, "MOD", 2),
    (65, "DATE", 3),
    (74, "NOW", 0),
    (129, "ISBLANK", 1),
    (212, "ROUNDUP", 2),
    (213, "ROUNDDOWN", 2),
    (221, "TODAY", 0),
    (301, "TDIST", 3),
    (307, "CORREL", 2),
    (311, "INTERCEPT", 2),
    (312, "PEARSON", 2),
    (313, "RSQ", 2),
    (315, "SLOPE", 2),
    (316, "TTEST", 4),
    (325, "LARGE", 2),
    (326, "SMALL", 2),
    (327, "QUARTILE", 2),
    (328, "PERCENTILE", 2),
    (337, "POWER", 2),
    (346, "COUNTIF", 2),
    (347, "COUNTBLANK", 1),
];

/// The name of a function that takes any number of arguments.
pub(super) fn open(number: u16) -> Option<&'static str> {
    OPEN.iter()
        .find_map(|(known, name)| (*known == number).then_some(*name))
}

/// The name of a function that takes a fixed number of arguments, and that number.
pub(super) fn fixed(number: u16) -> Option<(&'static str, usize)> {
    FIXED
        .iter()
        .find_map(|(known, name, arguments)| (*known == number).then_some((*name, *arguments)))
}

//! The slips: each a small change to a computation that gives another number.

/// A slip: what it does to a computation, and what is said about it.
#[derive(Debug)]
pub struct Slip {
    /// Its code, for ever: rubrics, claims.csv and scripts name it.
    pub code: &'static str,
    /// A convention or a matter of rounding rather than an error.
    pub convention: bool,
    /// What it is, in a few words.
    pub title: &'static str,
    /// How the number comes about.
    pub explanation: &'static str,
    /// Why it matters.
    pub matters: &'static str,
    /// What the pair can do.
    pub remedy: &'static str,
}

/// Every slip, in the order in which the reference lists them.
pub static ALL: &[&Slip] = &[];

/// The slip with this code.
pub fn by_code(code: &str) -> Option<&'static Slip> {
    ALL.iter().copied().find(|slip| slip.code == code)
}

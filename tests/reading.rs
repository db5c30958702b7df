//! Reading files as they are handed in: each file of `tests/awkward` is named for what is wrong with it, and read the way its snapshot says.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod reading {
    mod awkward;
    mod hostile;
    mod mutated;
    mod package;
}

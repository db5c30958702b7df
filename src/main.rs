//! The `evenhand` program.
fn main() {}

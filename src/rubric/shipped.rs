//! The rubrics that ship, compiled in so that the program works from a single file.

/// Name and text of every rubric that ships.
pub const SHIPPED: &[(&str, &str)] = &[
    ("full", include_str!("../../rubrics/full.toml")),
    ("short", include_str!("../../rubrics/short.toml")),
];

/// The text of a rubric that ships, to read or to copy into a cohort's folder; none where no rubric of that name does.
pub fn shipped_text(name: &str) -> Option<&'static str> {
    SHIPPED
        .iter()
        .find(|(shipped, _)| *shipped == name)
        .map(|(_, text)| *text)
}

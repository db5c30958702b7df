//! Every library in the program, and every one that tests it, may be used and passed on under terms like our own.

#![allow(clippy::unwrap_used)] // In a test, a panic is the report.

use std::process::Command;

/// Permissive licences: no duty but to keep their notice. Source: the SPDX licence list, <https://spdx.org/licenses>.
const ALLOWED: &[&str] = &[
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Whether an expression of licences leaves a choice that is allowed. Where anything must be met together, everything named must be allowed.
fn is_allowed(expression: &str) -> bool {
    let names = |separators: &[&str]| {
        separators
            .iter()
            .fold(expression.replace(['(', ')'], ""), |text, separator| {
                text.replace(separator, "|")
            })
            .split('|')
            .map(|name| name.trim().to_owned())
            .collect::<Vec<String>>()
    };
    let allowed = |name: &String| ALLOWED.contains(&name.as_str());
    if expression.contains(" AND ") {
        names(&[" AND ", " OR ", "/"]).iter().all(allowed)
    } else {
        names(&[" OR ", "/"]).iter().any(allowed)
    }
}

#[test]
fn every_library_may_be_used() {
    let listed = Command::new(env!("CARGO"))
        .args(["tree", "--locked", "--offline", "--prefix", "none"])
        .args([
            "--edges",
            "normal,build,dev",
            "--format",
            "{p} under \"{l}\"",
        ])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(
        listed.status.success(),
        "{}",
        String::from_utf8_lossy(&listed.stderr)
    );
    let listed = String::from_utf8(listed.stdout).unwrap();
    let licences: Vec<(&str, &str)> = listed
        .lines()
        .filter_map(|line| line.split_once(" under \""))
        .map(|(library, licence)| (library, licence.split('"').next().unwrap_or_default()))
        .collect();
    assert!(licences.len() > 50, "{listed}");
    let refused: Vec<&(&str, &str)> = licences
        .iter()
        .filter(|(_, licence)| !is_allowed(licence))
        .collect();
    assert!(refused.is_empty(), "{refused:?}");
}

#[test]
fn choices_and_joint_terms_are_told_apart() {
    assert!(is_allowed("MIT OR GPL-3.0-only"));
    assert!(is_allowed("Unlicense/MIT"));
    assert!(is_allowed("(MIT OR Apache-2.0) AND Unicode-3.0"));
    assert!(!is_allowed("MIT AND GPL-3.0-only"));
    assert!(!is_allowed("GPL-3.0-only"));
    assert!(!is_allowed(""));
}

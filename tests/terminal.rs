//! What a terminal is told, and what a pipe: the same words, and codes for the terminal alone.

#![allow(clippy::unwrap_used, clippy::panic)] // In a test, a panic is the report.

mod support;

use std::process::Output;

use support::Cohort;

/// The code that begins every command to a terminal.
const ESCAPE: char = '\u{1b}';

fn run(cohort: &Cohort, arguments: &[&str], settings: &[(&str, &str)]) -> Output {
    let mut command = assert_cmd::Command::cargo_bin("evenhand").unwrap();
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE"] {
        command.env_remove(name);
    }
    command
        .env("EVENHAND_NOW", "2026-04-01T09:00:00Z")
        .current_dir(cohort.dir())
        .args(arguments)
        .envs(settings.iter().copied())
        .output()
        .unwrap()
}

fn said(output: &Output) -> String {
    [&output.stdout, &output.stderr]
        .map(|bytes| String::from_utf8(bytes.clone()).unwrap())
        .concat()
}

/// The text without codes of the form escape, bracket, numbers, `m`.
fn without_codes(text: &str) -> String {
    let mut parts = text.split(ESCAPE);
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (code, rest) = part.split_once('m').unwrap();
        assert!(
            code.strip_prefix('[')
                .is_some_and(|code| code.chars().all(|c| c.is_ascii_digit() || c == ';')),
            "{code:?}"
        );
        out.push_str(rest);
    }
    out
}

#[test]
fn pipes_get_no_codes_and_a_terminal_the_same_words_with_them() {
    let cohort = Cohort::new(3);
    // Its second pair states a sum where it says mean.
    cohort.write("last.csv", "pair,mark\nP01,30\nP02,20\n");
    cohort.write("faulty.toml", "title = \"A\"\nout_off = 3\n");
    cohort.done("check", &[]);
    let shows: [(&[&str], &[&str]); 7] = [
        (
            &["check"],
            &["1 error", "1 differ", "./out/moderation.xlsx"],
        ),
        (&["pair", "P02"], &["Blocks", "error", "differs", "agrees"]),
        (&["explain", "numbers.differs"], &["Weight"]),
        (
            &["check", "--against", "last.csv"],
            &["Marks already given, beside what the evidence gives"],
        ),
        (
            &["rubric", "faulty.toml"],
            &["error:", "fault:", "faulty.toml:2:1", "^^^^^^^"],
        ),
        (&["pair", "P77"], &["error:"]),
        (&["moderate"], &["./out/moderation-report.xlsx"]),
    ];
    for (arguments, stand_out) in shows {
        let plain = said(&run(&cohort, arguments, &[]));
        assert!(!plain.contains(ESCAPE), "{arguments:?}: {plain:?}");
        let marks = plain
            .chars()
            .filter(|c| ('\u{FFF0}'..='\u{FFFF}').contains(c));
        assert_eq!(marks.count(), 0, "{arguments:?}");
        let forced = said(&run(&cohort, arguments, &[("CLICOLOR_FORCE", "1")]));
        assert_eq!(without_codes(&forced), plain, "{arguments:?}");
        for word in stand_out {
            assert!(
                forced.contains(&format!("m{word}{ESCAPE}[0m")),
                "{arguments:?} {word}: {forced:?}"
            );
        }
        for settings in [("NO_COLOR", "1"), ("TERM", "dumb")] {
            assert_eq!(said(&run(&cohort, arguments, &[settings])), plain);
        }
    }
}

#[test]
fn summaries_for_scripts_have_no_codes_even_where_they_are_forced() {
    let cohort = Cohort::new(2);
    for arguments in [&["check", "--json"], &["moderate", "--json"]] {
        let forced = said(&run(&cohort, arguments, &[("CLICOLOR_FORCE", "1")]));
        assert!(!forced.contains(ESCAPE), "{forced:?}");
        serde_json::from_str::<serde_json::Value>(&forced).unwrap();
    }
}

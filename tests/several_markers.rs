//! Several markers, the whole way: shared out, marked, taken back, compared.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // In a test, a panic is the report.

mod support;

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use support::{Cohort, Typed, enter_at, shown};

const MARKERS: [&str; 3] = ["Ann", "Ben", "Cara"];

fn shared_out(pairs: usize, rest: &[&str]) -> Cohort {
    let cohort = Cohort::new(pairs);
    let settings = cohort.read("cohort.toml");
    cohort.write(
        "cohort.toml",
        &format!("{settings}[moderation]\nsample_least = 4\n[conflicts]\nAnn = [\"P01\"]\n"),
    );
    let rest: Vec<&str> = ["--markers", "Ann,Ben,Cara"]
        .into_iter()
        .chain(rest.iter().copied())
        .collect();
    cohort.done("share", &rest);
    cohort
}

/// Who marks each pair by the ledger.
fn markers(cohort: &Cohort, what: &str) -> BTreeMap<String, String> {
    let ledger = cohort.ledger();
    let lines = ledger.iter().filter(|line| &line[5] == what);
    lines
        .map(|line| (line[3].to_owned(), line[7].to_owned()))
        .collect()
}

fn workbook(cohort: &Cohort, marker: &str) -> PathBuf {
    cohort.path(&format!("marking/{marker}.xlsx"))
}

fn mark(cohort: &Cohort, marker: &str, pair: &str, criterion: &str, mark: f64) {
    let typed = Typed::Number(mark);
    support::mark(&workbook(cohort, marker), pair, criterion, &typed);
}

#[test]
fn shared_pairs_come_back_in_the_roles_of_their_markers() {
    let cohort = shared_out(8, &["--common", "2"]);
    let first = markers(&cohort, "first-marker");
    let second = markers(&cohort, "second-marker");
    assert_eq!(first.len(), 8);
    assert_ne!(first["P01"], "Ann");
    for marker in MARKERS {
        assert!(first.values().any(|one| one == marker), "{first:?}");
    }
    let sample = markers(&cohort, "sample");
    let common: Vec<&String> = sample
        .iter()
        .filter(|(_, why)| *why == "given to every marker")
        .map(|(pair, _)| pair)
        .collect();
    assert_eq!(common.len(), 2, "{sample:?}");
    let pair = common[0].as_str();
    for (marker, given) in MARKERS.into_iter().zip([3.0, 4.0, 5.0]) {
        mark(&cohort, marker, pair, "testing", given);
    }
    let before = cohort.ledger().len();
    cohort.done("collect", &[]);
    let ledger = cohort.ledger();
    let taken: Vec<(&str, &str, &str)> = ledger[before..]
        .iter()
        .map(|line| (&line[1], &line[2], &line[5]))
        .collect();
    // Three marks and nothing else: comments that were started for the markers are nobody's entries.
    assert_eq!(taken.len(), 3, "{taken:?}");
    for (who, role, what) in taken {
        let expected = if first[pair] == who {
            ("marker", String::from("mark testing"))
        } else if second[pair] == who {
            ("second marker", String::from("mark testing"))
        } else {
            ("marker", format!("common mark testing by {who}"))
        };
        assert_eq!((role, what), (expected.0, expected.1.as_str()), "{who}");
    }
    cohort.done("collect", &[]);
    assert_eq!(cohort.ledger().len(), before + 3);
    // A second sharing moves nothing, and shows each marker their own mark.
    cohort.done("share", &[]);
    assert_eq!(cohort.ledger().len(), before + 3);
    for (marker, given) in MARKERS.into_iter().zip(["3", "4", "5"]) {
        let book = workbook(&cohort, marker);
        assert_eq!(shown(&book, "Marks", "pair", pair, "mark testing"), given);
        cohort.done("collect", &[]);
    }
    assert_eq!(cohort.ledger().len(), before + 3);
}

#[test]
fn a_comment_counts_once_it_was_changed() {
    let cohort = shared_out(4, &[]);
    let first = markers(&cohort, "first-marker");
    let book = workbook(&cohort, &first["P02"]);
    let started = shown(&book, "Marks", "pair", "P02", "comment testing");
    assert!(!started.is_empty());
    let changed = format!("{started} Well done.");
    let typed = Typed::Text(&changed);
    support::enter(&book, "Marks", "pair", "P02", "comment testing", &typed);
    cohort.done("share", &[]);
    assert_eq!(
        cohort.last("P02", "comment testing").as_deref(),
        Some(changed.as_str())
    );
    assert_eq!(
        shown(&book, "Marks", "pair", "P02", "comment testing"),
        changed
    );
}

#[test]
fn nobody_to_share_out_to_is_said() {
    let cohort = Cohort::new(2);
    let run = cohort.run("share", &[]);
    assert_eq!(run.code(), 2);
    assert!(run.said().contains("--markers"), "{}", run.said());
}

/// Rows of a marker's sheet to mark in: row, and the texts under some keys.
fn rows(workbook: &std::path::Path, keys: &[&str]) -> Vec<(u32, Vec<String>)> {
    let grids = support::grids(workbook);
    let grid = grids
        .iter()
        .find(|grid| support::sheet_name(grid) == "Marks")
        .unwrap();
    (5..grid.rows())
        .map(|row| {
            let texts = keys
                .iter()
                .map(|key| support::text(grid, row, support::column(grid, key)));
            (row, texts.collect())
        })
        .collect()
}

#[test]
fn all_that_a_marker_enters_in_one_column_comes_back_as_what_it_is() {
    let cohort = shared_out(6, &[]);
    let first = markers(&cohort, "first-marker");
    // The second pair states a sum for a mean: it has a finding.
    let book = workbook(&cohort, &first["P02"]);
    let rows = rows(&book, &["pair", "kind", "part", "finding", "criterion"]);
    let at = |kind: &str| {
        let found = rows
            .iter()
            .find(|(_, texts)| texts[0] == "P02" && texts[1] == kind);
        found.unwrap_or_else(|| panic!("no row of {kind}")).clone()
    };
    let (entry, words) = (5, 6);
    let (decision, texts) = at("decision");
    let finding = texts[3].clone();
    enter_at(&book, "Marks", decision, entry, &Typed::Text("Uphold"));
    enter_at(&book, "Marks", decision, words, &Typed::Text("Asked them."));
    let (points, texts) = at("points");
    let judged = format!("judged {}/{}", texts[4], texts[2]);
    enter_at(&book, "Marks", points, entry, &Typed::Text("1,5"));
    support::mark(&book, "P02", "numbers", &Typed::Number(3.0));
    let (comment, _) = at("comment");
    enter_at(
        &book,
        "Marks",
        comment,
        words,
        &Typed::Text("A clear report."),
    );
    // Nothing can be entered where nothing is asked for; what somebody forces in is refused with its cell.
    let (part, _) = at("part");
    enter_at(&book, "Marks", part, entry, &Typed::Number(7.0));
    let run = cohort.run("collect", &[]);
    assert_eq!(run.code(), 1, "{}", run.said());
    assert!(
        run.said().contains(&format!("Marks!F{}", part + 1)),
        "{}",
        run.said()
    );
    for (what, value) in [
        (format!("decision {finding}").as_str(), "uphold"),
        (format!("note {finding}").as_str(), "Asked them."),
        (judged.as_str(), "1.5"),
        ("mark numbers", "3"),
        ("comment overall", "A clear report."),
    ] {
        assert_eq!(cohort.last("P02", what).as_deref(), Some(value), "{what}");
    }
}

#[test]
fn a_markers_workbook_saved_again_by_another_program_comes_back_whole() {
    let cohort = shared_out(6, &[]);
    let first = markers(&cohort, "first-marker");
    let book = workbook(&cohort, &first["P02"]);
    support::mark(&book, "P02", "numbers", &Typed::Number(3.5));
    support::mark(&book, "P02", "testing", &Typed::Text("4"));
    for ending in ["xlsx", "ods"] {
        let Some(saved) = support::save_again(&book, ending, &cohort.path("elsewhere")) else {
            return;
        };
        let before = cohort.ledger().len();
        cohort.done("collect", &[saved.to_str().unwrap()]);
        let taken = cohort.ledger().len() - before;
        assert_eq!(taken, if ending == "xlsx" { 2 } else { 0 }, "{ending}");
        cohort.done("collect", &[saved.to_str().unwrap()]);
        assert_eq!(cohort.ledger().len(), before + taken);
    }
    assert_eq!(cohort.last("P02", "mark numbers").as_deref(), Some("3.5"));
}

#[test]
fn a_markers_workbook_has_a_chart_and_a_page_a_pair_and_its_entries_are_bounded() {
    let cohort = shared_out(6, &[]);
    let first = markers(&cohort, "first-marker");
    let second = markers(&cohort, "second-marker");
    let marker = &first["P02"];
    let book = workbook(&cohort, marker);
    let of = |map: &BTreeMap<String, String>| map.values().filter(|one| *one == marker).count();
    let pairs = of(&first) + of(&second);
    let parts = support::parts(&book);
    let charts = parts
        .keys()
        .filter(|name| name.starts_with("xl/charts/chart"));
    // One beside the entries, one on the page to print.
    assert_eq!(charts.count(), 2 * pairs);
    let evidence = &parts["xl/worksheets/sheet4.xml"];
    assert!(evidence.contains(&format!("<rowBreaks count=\"{}\"", pairs - 1)));
    let marks = &parts["xl/worksheets/sheet2.xml"];
    assert!(marks.contains("<dataValidation type=\"decimal\""));
    assert!(marks.contains("<dataValidation type=\"list\""));
    assert!(marks.contains("<sheetProtection"));
    let links = &parts["xl/worksheets/_rels/sheet2.xml.rels"];
    assert!(links.contains("../submissions/P02/"), "{links}");
}

#[test]
fn a_number_that_a_marker_typed_stays_with_them_whoever_takes_it_back() {
    let cohort = shared_out(6, &[]);
    let first = markers(&cohort, "first-marker");
    let second = markers(&cohort, "second-marker");
    let book = workbook(&cohort, &first["P03"]);
    let grids = support::grids(&book);
    let claims = grids
        .iter()
        .find(|grid| support::sheet_name(grid) == "Claims")
        .unwrap();
    let empty = (5..claims.rows())
        .find(|row| support::text(claims, *row, 0).is_empty())
        .unwrap_or(claims.rows());
    for (column, text) in [(0, "P03"), (2, "mean"), (4, "post"), (6, "9,90")] {
        enter_at(&book, "Claims", empty, column, &Typed::Text(text));
    }
    cohort.done("collect", &["--by", "Noor Haddad"]);
    let lines = cohort.ledger().len();
    cohort.done("share", &[]);
    assert_eq!(shown(&book, "Claims", "claim", "m1", "claimed"), "9,90");
    // The second marker reads the report alone.
    let other = workbook(&cohort, &second["P03"]);
    let grids = support::grids(&other);
    let theirs = grids
        .iter()
        .find(|grid| support::sheet_name(grid) == "Claims")
        .unwrap();
    assert!((5..theirs.rows()).all(|row| support::text(theirs, row, 1) != "m1"));
    cohort.done("collect", &[]);
    assert_eq!(cohort.ledger().len(), lines);
}

#[test]
fn second_markers_see_the_first_mark_only_where_the_course_says_so() {
    for (setting, seen) in [("blind", false), ("seen", true)] {
        let cohort = shared_out(6, &[]);
        let settings = cohort.read("cohort.toml");
        let settings = settings.replace(
            "[moderation]\n",
            &format!("[moderation]\nsecond = \"{setting}\"\n"),
        );
        cohort.write("cohort.toml", &settings);
        let (first, second) = (
            markers(&cohort, "first-marker"),
            markers(&cohort, "second-marker"),
        );
        let (pair, marker) = second
            .iter()
            .find(|(_, marker)| !marker.is_empty())
            .unwrap();
        mark(&cohort, &first[pair], pair, "testing", 2.75);
        cohort.done("share", &[]);
        let parts = support::parts(&workbook(&cohort, marker));
        let says = parts
            .values()
            .any(|part| part.contains("The first marker gave 2.75."));
        assert_eq!(says, seen, "{setting}");
        let all = parts.values().any(|part| part.contains("2.75"));
        assert_eq!(all, seen, "{setting}: nowhere, not even hidden");
    }
}

#[test]
fn workbooks_are_found_by_the_names_that_people_type() {
    let cohort = shared_out(6, &[]);
    let first = markers(&cohort, "first-marker");
    let folder = cohort.dir().file_name().unwrap().to_str().unwrap();
    let above = cohort.dir().parent().unwrap();
    let ways: [(&std::path::Path, Vec<&str>); 4] = [
        (above, vec![folder, "marking/*.xlsx"]),
        (cohort.dir(), vec!["marking/*.xlsx"]),
        (
            above,
            vec![
                folder,
                "marking/Ann.xlsx",
                "marking/Ben.xlsx",
                "marking/Cara.xlsx",
            ],
        ),
        (above, vec![folder]),
    ];
    for (given, (from, names)) in (1..).zip(ways) {
        mark(
            &cohort,
            &first["P02"],
            "P02",
            "numbers",
            f64::from(given) / 2.0,
        );
        let arguments: Vec<&str> = ["collect"].into_iter().chain(names).collect();
        let run = Cohort::run_in(from, &arguments);
        assert_eq!(run.code(), 0, "{arguments:?}: {}", run.said());
        let taken = cohort.last("P02", "mark numbers").unwrap();
        let taken: f64 = taken.parse().unwrap();
        assert!((taken - f64::from(given) / 2.0).abs() < 1e-9);
    }
    for (arguments, says) in [
        (
            vec!["collect", folder, "marking/*.xlsx"],
            "Leave the name out",
        ),
        (vec!["collect", "marking/Nobody.xlsx"], "no such workbook"),
        (vec!["collect", "marking/*.ods"], "no such workbook"),
    ] {
        let run = Cohort::run_in(cohort.dir(), &arguments);
        assert_eq!(run.code(), 2, "{arguments:?}");
        assert!(run.said().contains(says), "{}", run.said());
    }
}

#[test]
fn who_marked_stays_whoever_takes_it_back() {
    let cohort = shared_out(6, &[]);
    cohort.done("check", &[]);
    let first = markers(&cohort, "first-marker");
    mark(&cohort, &first["P02"], "P02", "testing", 3.0);
    support::mark(&cohort.workbook(), "P03", "testing", &Typed::Number(2.0));
    cohort.done("collect", &["--by", "Noor Haddad"]);
    let ledger = cohort.ledger();
    let who = |pair: &str| {
        let line = ledger
            .iter()
            .rfind(|line| &line[3] == pair && &line[5] == "mark testing");
        line.unwrap()[1].to_owned()
    };
    assert_eq!(who("P02"), first["P02"]);
    assert_eq!(who("P03"), "Noor Haddad");
    // Of a workbook that is named it says who filled it in.
    mark(&cohort, &first["P02"], "P02", "testing", 4.0);
    let named = format!("marking/{}.xlsx", first["P02"]);
    cohort.done("collect", &[&named, "--by", "Noor Haddad"]);
    let last = cohort.ledger().pop().unwrap();
    assert_eq!(&last[1], "Noor Haddad");
}

#[test]
fn sharing_again_takes_everything_back_or_nothing() {
    let cohort = shared_out(6, &[]);
    let first = markers(&cohort, "first-marker");
    let (pair, other) = ("P02", first.iter().find(|(_, by)| **by != first["P02"]));
    let (elsewhere, by) = other.unwrap();
    // Whichever workbook is read first, the other's cell stops both.
    for (whole, broken) in [
        ((pair, &first[pair]), (elsewhere.as_str(), by)),
        ((elsewhere, by), (pair, &first[pair])),
    ] {
        mark(&cohort, whole.1, whole.0, "testing", 3.0);
        mark(&cohort, broken.1, broken.0, "testing", 300.0);
        let before = cohort.read("ledger.csv");
        let run = cohort.run("share", &[]);
        assert_eq!(run.code(), 2);
        let said = run.said();
        assert!(said.contains("Nothing was written"), "{said}");
        assert!(
            said.contains(&format!("({}, Tests): `300`", broken.0)),
            "{said}"
        );
        assert_eq!(cohort.read("ledger.csv"), before);
    }
}

#[test]
fn a_renamed_workbook_is_taken_back_before_its_marker_gets_a_new_one() {
    let cohort = shared_out(6, &[]);
    let first = markers(&cohort, "first-marker");
    let marker = first["P02"].as_str();
    let new = format!("marking/{marker}.xlsx");
    // Endings are written in either case, and any office program's is read.
    let renamed = format!("marking/{marker} marked.XLSX");
    mark(&cohort, marker, "P02", "testing", 3.0);
    fs::rename(cohort.path(&new), cohort.path(&renamed)).unwrap();
    let said = cohort.done("share", &[]).said();
    assert_eq!(cohort.last("P02", "mark testing").as_deref(), Some("3"));
    assert!(
        said.contains(&format!("{renamed} is {marker}'s too, and older")),
        "{said}"
    );
    assert!(
        said.contains(&format!("on the ledger and in {new}")),
        "{said}"
    );
    // Who goes on in both is told so, and nothing of either is lost.
    mark(&cohort, marker, "P02", "testing", 4.0);
    let typed = Typed::Number(2.0);
    support::mark(&cohort.path(&renamed), "P02", "testing", &typed);
    let run = cohort.run("collect", &[]);
    let said = run.said();
    assert!(
        said.contains(&format!(
            "{renamed} and {new} are both {marker}'s, and each held something new, which was taken. Go on in {new}"
        )),
        "{said}"
    );
    assert!(said.contains("because files disagree"), "{said}");
}

#[test]
fn two_markers_who_decide_differently_leave_it_to_whoever_moderates() {
    let cohort = Cohort::new(4);
    let settings = cohort.read("cohort.toml");
    let settings = format!("{settings}[moderation]\nsample_least = 4\n");
    cohort.write("cohort.toml", &settings);
    cohort.done("share", &["--markers", "Ann,Ben"]);
    cohort.done("check", &[]);
    let findings = cohort.read("out/findings.csv");
    let line = findings
        .lines()
        .find(|line| line.contains(",P02,numbers.differs,"))
        .unwrap();
    let finding = line.split(',').next().unwrap().to_owned();
    for (marker, decision) in [("Ann", "dismiss"), ("Ben", "uphold")] {
        let book = workbook(&cohort, marker);
        let rows = rows(&book, &["pair", "kind", "finding"]);
        let (row, _) = rows
            .iter()
            .find(|(_, texts)| texts[1] == "decision" && texts[2] == finding)
            .unwrap_or_else(|| panic!("{marker} is not asked about {finding}"));
        enter_at(&book, "Marks", *row, 5, &Typed::Text(decision));
    }
    let said = cohort.done("collect", &[]).said();
    assert!(said.contains("two markers decided differently"), "{said}");
    assert!(said.contains(&format!("({finding}): ")), "{said}");
    let held = |says: bool| {
        let said = cohort.run("return", &[]).said();
        let told = said.contains("two markers decided differently about F-");
        assert_eq!(told, says, "{said}");
    };
    let compared = cohort.done("moderate", &[]).said();
    assert!(
        compared.contains("1 finding decided differently by two markers"),
        "{compared}"
    );
    cohort.done("check", &[]);
    held(true);
    let book = cohort.workbook();
    let cell = |key: &str| shown(&book, "Findings", "finding", &finding, key);
    assert_eq!(cell("decision"), "");
    assert!(
        cell("message").contains("dismiss by Ann"),
        "{}",
        cell("message")
    );
    // A decision for all settles it, as long as it stands.
    let for_all = |typed: &Typed<'_>| {
        let book = cohort.workbook();
        support::enter(
            &book,
            "Checks",
            "check",
            "numbers.differs",
            "decision-for-all",
            typed,
        );
        let said = cohort.done("collect", &[]).said();
        cohort.done("check", &[]);
        said.contains("two markers decided differently")
    };
    assert!(!for_all(&Typed::Text("uphold")));
    held(false);
    assert_eq!(cell("decision"), "");
    let message = cell("message");
    assert!(
        message.contains("dismiss by Ann")
            && message.contains("decision for all settles it: uphold"),
        "{message}"
    );
    assert!(for_all(&Typed::Nothing));
    held(true);
    let typed = Typed::Text("dismiss");
    support::enter(&book, "Findings", "finding", &finding, "decision", &typed);
    cohort.done("collect", &[]);
    held(false);
}

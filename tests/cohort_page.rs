//! `out/cohort.html`: what is on it, and that it works in a real browser where one is installed.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout
)] // In a test, a panic is the report.

mod support;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

use support::Cohort;

const PAGE: &str = "out/cohort.html";

/// A cohort of seven pairs of two markers; in the second and the seventh a claim differs.
fn checked() -> Cohort {
    let cohort = Cohort::new(7);
    let mut roster = String::from("student_id,pair,role,marker\n");
    for pair in 1..=7 {
        let marker = if pair < 4 { "Ines Roca" } else { "Noor Haddad" };
        writeln!(roster, "s{pair}a,P{pair:02},coach,{marker}").unwrap();
        writeln!(roster, "s{pair}b,P{pair:02},learner,").unwrap();
    }
    cohort.write("roster.csv", &roster);
    let trials = cohort.read("submissions/P03/trials.csv");
    let kept: Vec<&str> = trials
        .lines()
        .filter(|line| !line.contains(",retention,"))
        .collect();
    cohort.write("submissions/P03/trials.csv", &kept.join("\n"));
    cohort.done("check", &[]);
    cohort
}

/// The part of the page that is about a pair.
fn of_pair<'a>(page: &'a str, pair: &str) -> &'a str {
    let mut cards = page.split("<article ").skip(1);
    let named = format!("Pair {pair}</span>");
    cards.find(|card| card.contains(&named)).unwrap()
}

#[test]
fn a_pair_shows_its_curve_its_findings_and_its_claims_beside_the_recomputed() {
    let cohort = checked();
    let page = cohort.read(PAGE);
    let second = of_pair(&page, "P02");
    // P02 states the sum of its post-test where it says mean.
    let claims = cohort.read("out/claims.csv");
    let row = claims
        .lines()
        .find(|line| line.starts_with("P02,c2,"))
        .unwrap();
    let fields: Vec<&str> = row.split(',').collect();
    for number in [fields[6], fields[7]] {
        let number: f64 = number.parse().unwrap();
        assert!(
            second.contains(&format!("<td class=\"number\">{number:.2}</td>")),
            "{number}: {second}"
        );
    }
    assert!(second.contains("◆ claim</text>"), "{second}");
    assert!(second.contains("marked by Ines Roca"));
    let third = of_pair(&page, "P03");
    assert!(third.contains("▲ concern</text>"));
    assert!(
        third.contains("; retention test: 2 findings, the heaviest of weight concern"),
        "{third}"
    );
    let sound = of_pair(&page, "P01");
    // Nobody in this cohort has a transfer test.
    let absent = |card: &str| card.matches(">none</text>").count();
    assert!(!sound.contains("◆") && (absent(sound), absent(third)) == (1, 2));
    assert!(!page.contains("Ama Test"), "no names");
}

#[test]
fn what_could_not_be_told_stands_by_its_reason_in_words() {
    let cohort = checked();
    let page = cohort.read(PAGE);
    let third = of_pair(&page, "P03");
    for says in [
        "There is no retention test. Not looked for: a retention test too soon after practice.",
        "No landing points are recorded: mean radial error, centroid error and bivariate variable error of the pre-test and post-test.",
    ] {
        assert!(third.contains(says), "{says}: {third}");
    }
    for name in ["post.bve", "pre.bve", "technique.mid", "how practice was"] {
        assert!(!page.contains(name), "{name}");
    }
}

#[test]
fn the_page_is_the_same_every_time_and_is_named_among_the_files() {
    let cohort = checked();
    let first = cohort.read(PAGE);
    let run = cohort.done("check", &["--json"]);
    assert!(run.said().contains("\"out/cohort.html\""));
    assert!(first == cohort.read(PAGE), "the page changed");
}

#[test]
fn what_students_write_stays_text() {
    let cohort = Cohort::new(1);
    let about = cohort.read("submissions/P01/about.csv");
    let about = about.replace("Underarm lob", "<script>alert(1)</script>");
    cohort.write("submissions/P01/about.csv", &about);
    cohort.done("check", &[]);
    let page = cohort.read(PAGE);
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    assert_eq!(page.matches("<script").count(), 1);
}

/// What Chromium prints of an address: the document after its script has run, and all that it logs. None where it doesn't start.
fn printed(browser: &str, address: &str, dark: bool) -> Option<(String, String)> {
    let profile = tempfile::tempdir().unwrap();
    let scheme = if dark { "0" } else { "1" };
    let ran = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--dump-dom"])
        .args(["--disable-dev-shm-usage", "--enable-logging=stderr"])
        .arg("--virtual-time-budget=20000")
        .arg(format!("--blink-settings=preferredColorScheme={scheme}"))
        .arg(format!("--user-data-dir={}", profile.path().display()))
        .arg(address)
        .output()
        .ok()?;
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    Some((text(&ran.stdout), text(&ran.stderr)))
}

/// A browser that is here and can show an empty page. None (and said) where there is none.
fn browser() -> Option<&'static str> {
    let found = ["chromium", "chromium-browser", "google-chrome"]
        .into_iter()
        .find(|browser| {
            printed(browser, "about:blank", false)
                .is_some_and(|(document, _)| document.contains("</html>"))
        });
    if found.is_none() {
        println!(
            "Chromium is not here or doesn't start: looking at the page in a browser was passed over"
        );
    }
    found
}

/// What a browser makes of a page at an address: the document after its script has run, and what was said on the console.
fn browse(browser: &str, page: &Path, fragment: &str, dark: bool) -> (String, String) {
    let address = format!("file://{}{fragment}", page.display());
    let (document, said) = printed(browser, &address, dark).unwrap();
    assert!(document.contains("</html>"), "{browser}: {said}");
    let console: Vec<&str> = said
        .lines()
        .filter(|line| line.contains("CONSOLE"))
        .collect();
    (document, console.join("\n"))
}

/// The pairs that a document shows, and what it says about how many these are.
fn shown(document: &str) -> (Vec<&str>, &str) {
    let mut pairs = Vec::new();
    for card in document.split("<article ").skip(1) {
        let (tag, rest) = card.split_once('>').unwrap();
        if !tag.contains("hidden") {
            let (_, name) = rest.split_once("Pair ").unwrap();
            pairs.push(name.split('<').next().unwrap());
        }
    }
    let (_, status) = document.split_once("role=\"status\">").unwrap();
    (pairs, status.split('<').next().unwrap())
}

#[test]
fn filters_work_in_a_browser_and_nothing_is_said_on_the_console() {
    let Some(browser) = browser() else {
        return;
    };
    let cohort = checked();
    let page = cohort.path(PAGE);
    let cases: [(&str, &[&str], &str); 8] = [
        (
            "",
            &["P01", "P02", "P03", "P04", "P05", "P06", "P07"],
            "All 7 pairs are shown.",
        ),
        (
            "#check=numbers.differs",
            &["P02", "P07"],
            "2 of 7 pairs shown.",
        ),
        ("#check=claim&pair=7", &["P07"], "1 of 7 pairs shown."),
        (
            "#check=testing.no-retention-test",
            &["P03"],
            "1 of 7 pairs shown.",
        ),
        (
            "#marker=Noor+Haddad",
            &["P04", "P05", "P06", "P07"],
            "4 of 7 pairs shown.",
        ),
        ("#pair=p01,%20P03", &["P01", "P03"], "2 of 7 pairs shown."),
        ("#marker=Noor+Haddad&pair=P01", &[], "0 of 7 pairs shown."),
        (
            "#check=no.such-check",
            &["P01", "P02", "P03", "P04", "P05", "P06", "P07"],
            "All 7 pairs are shown.",
        ),
    ];
    for (fragment, pairs, status) in cases {
        let (document, console) = browse(browser, &page, fragment, false);
        assert_eq!(shown(&document), (pairs.to_vec(), status), "{fragment}");
        assert_eq!(console, "", "{fragment}");
        assert!(!document.contains("id=\"filters\" hidden"), "{fragment}");
    }
    // By criterion: those of whose evidence under it something is not met, as marks.csv has it.
    let (document, _) = browse(browser, &page, "#criterion=testing", false);
    let marks = cohort.read("out/marks.csv");
    let with_gaps: Vec<&str> = marks
        .lines()
        .map(|line| line.split(',').collect::<Vec<&str>>())
        .filter(|fields| fields[1] == "testing" && fields[2] != fields[3])
        .map(|fields| fields[0])
        .collect();
    assert!(with_gaps.contains(&"P03") && with_gaps.len() < 7, "{marks}");
    assert_eq!(shown(&document).0, with_gaps);
}

#[test]
fn a_script_that_slipped_in_would_not_run() {
    let Some(browser) = browser() else {
        return;
    };
    let cohort = checked();
    let page = cohort.read(PAGE);
    let slipped = page.replacen("<main>", "<main><script>document.title = 'ran'</script>", 1);
    let path = cohort.path("out/slipped.html");
    fs::write(&path, slipped).unwrap();
    let (document, console) = browse(browser, &path, "#pair=P02", false);
    assert!(!document.contains("<title>ran"));
    assert!(console.contains("Content Security Policy"), "{console}");
    assert_eq!(shown(&document).0, ["P02"]);
}

/// With `EVENHAND_AXE` naming a file of axe-core (`npm install axe-core`, `axe.min.js`), no page breaks one of its rules, light or dark.
#[test]
fn pages_pass_an_accessibility_audit_where_one_is_at_hand() {
    let Some(axe) = std::env::var_os("EVENHAND_AXE") else {
        println!("EVENHAND_AXE names no axe-core: the accessibility audit was passed over");
        return;
    };
    let Some(browser) = browser() else {
        return;
    };
    let axe = fs::read_to_string(axe).unwrap();
    let cohort = checked();
    let copy = cohort.path("out/audited.html");
    let page = cohort.read(PAGE);
    // The page's policy keeps every script out but its own: the audit runs on a copy without it.
    let (before, rest) = page.split_once("<meta http-equiv").unwrap();
    let (_, after) = rest.split_once('>').unwrap();
    let audit = format!(
        "<script>{axe}</script><script>axe.run().then((result) => {{ const said = document.createElement('pre'); said.id = 'audit';\
         said.textContent = result.passes.length + ' passed; ' + result.violations.map((rule) => rule.id + ' ' + rule.nodes[0].html).join('; ') + '.';\
         document.body.append(said); }});</script></body>"
    );
    let audited = format!("{before}{after}")
        .replace("<details>", "<details open>")
        .replace("</body>", &audit);
    fs::write(&copy, audited).unwrap();
    for dark in [false, true] {
        let (document, _) = browse(browser, &copy, "", dark);
        let (_, said) = document.split_once("<pre id=\"audit\">").unwrap();
        let (passed, broken) = said.split_once(" passed; ").unwrap();
        assert!(passed.parse::<usize>().unwrap() > 20, "{passed}");
        assert!(broken.starts_with(".</pre>"), "{broken:.2000}");
    }
}

//! `share`: shares the pairs out among the markers, and writes a workbook for each.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use serde::Serialize;

use super::collect::workbooks_in;
use super::load::{Loaded, load};
use super::one_run::OneRun;
use super::own_workbook::OwnWorkbook;
use super::take_back::{TakenBack, now};
use super::{Exit, Output, Stop, progress, same_marker};
use crate::cli::Share;
use crate::cohort::marking_settings::SampleRule;
use crate::cohort::roster::compared;
use crate::emphasis::Emphasis;
use crate::examination::{CohortResult, PairResult};
use crate::ledger::{Entry, PairState, Role, Slot, Subject};
use crate::marking::share::{COMMON, ShareRules, Shared, Sharing, ToShare, share};
use crate::report::workbook::marker::{Assigned, MarkerBook, MarkingAs, make};
use crate::report::workbook::style::Looks;
use crate::wording::counted;

/// The folder of the markers' workbooks, in the cohort's folder.
const MARKING: &str = "marking";

/// Runs the command.
///
/// # Errors
/// Why nothing was done.
pub fn run(arguments: &Share, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let mut loaded = load(&arguments.dir)?;
    let _run = OneRun::begin(&arguments.dir)?;
    let folder = arguments.dir.join(MARKING);
    // What markers entered comes first: it decides which pairs stay where they are.
    let found: Vec<OwnWorkbook> = workbooks_in(&folder)
        .into_iter()
        .map(|path| OwnWorkbook::find(path, false))
        .collect::<Result<_, Stop>>()?;
    let taken = OwnWorkbook::take_all_back(&found, &mut loaded, arguments.by.as_deref())?;
    for warning in &taken.warnings {
        output.warning(warning);
    }
    share_out(arguments, &mut loaded, &folder, &taken, output).map_err(|stop| {
        let entries: usize = taken.files.iter().map(|file| file.entries).sum();
        match entries {
            0 => stop,
            n => Stop::new(format!(
                "{stop}\n{} from {} went on the ledger first; nothing was shared out",
                counted(n, "entry"),
                folder.display()
            )),
        }
    })
}

fn share_out(
    arguments: &Share,
    loaded: &mut Loaded,
    folder: &Path,
    taken: &TakenBack,
    output: &mut Output<'_>,
) -> Result<Exit, Stop> {
    let bar = progress::bar(loaded.submissions.hand_ins.len(), output.quiet);
    let cohort = loaded.examine(&|| bar.inc(1));
    bar.finish_and_clear();
    let markers = markers(loaded, arguments);
    let names = file_names(&markers)?;
    let to_share = pairs_to_share(loaded, &cohort, &markers);
    let rules = rules(loaded, arguments, markers, to_share.len());
    let sharing = share(&to_share, &rules)?;
    let entries = ledger_lines(loaded, arguments, &rules, &sharing)?;
    loaded.record(entries)?;
    fs::create_dir_all(folder)
        .map_err(|error| Stop::new(format!("{}: {error}", folder.display())))?;
    let mut written = Vec::new();
    for marker in everybody(&rules, &sharing) {
        let name = match names.get(&marker) {
            Some(name) => name.clone(),
            None => file_name(&marker),
        };
        write(
            loaded,
            &cohort,
            &sharing,
            &rules,
            &marker,
            &folder.join(&name),
        )?;
        written.push((marker, format!("{MARKING}/{name}")));
    }
    if let Some(beside) = same_marker::left_beside(&arguments.dir, &taken.files, &written) {
        output.warning(&beside);
    }
    let files = written.into_iter().map(|(_, file)| file).collect();
    output.summary(&summary(&rules, &sharing, files))?;
    output.text(&text(&to_share, &rules, &sharing, folder, &cohort))?;
    Ok(Exit::Done)
}

/// The markers, and whoever has begun a pair and is none any more.
fn everybody(rules: &ShareRules, sharing: &Sharing) -> Vec<String> {
    let mut all = rules.markers.clone();
    for one in &sharing.pairs {
        for marker in std::iter::once(&one.first).chain(&one.second) {
            if !all.contains(marker) {
                all.push(marker.clone());
            }
        }
    }
    all
}

/// Those whom the roster names, those named now, and, where none is named now, those to whom pairs were given before.
fn markers(loaded: &Loaded, arguments: &Share) -> Vec<String> {
    let mut markers: Vec<String> = Vec::new();
    let mut add = |name: &str| {
        let name = name.trim();
        let new = markers
            .iter()
            .all(|known| compared(known) != compared(name));
        if new && !name.is_empty() {
            markers.push(name.to_owned());
        }
    };
    let students = loaded.roster.iter().flat_map(|roster| &roster.students);
    students
        .filter_map(|student| student.marker.as_deref())
        .for_each(&mut add);
    arguments.markers.iter().for_each(|name| add(name));
    if arguments.markers.is_empty() {
        for (_, state) in loaded.state.pairs() {
            for subject in [Subject::FirstMarker, Subject::SecondMarker] {
                if let Some(held) = state.standing(&subject, "") {
                    add(&held.value);
                }
            }
        }
    }
    markers
}

/// The name as the list of markers spells it.
fn spelled(markers: &[String], name: &str) -> String {
    let known = markers
        .iter()
        .find(|known| compared(known) == compared(name));
    known.map_or_else(|| name.trim().to_owned(), Clone::clone)
}

/// A file name that every system takes.
fn file_name(marker: &str) -> String {
    let safe: String = marker
        .chars()
        .map(|c| match c {
            '/' | '\\' | ':' | '*' | '?' | '"' | '<' | '>' | '|' => '-',
            c if c.is_control() => '-',
            c => c,
        })
        .collect();
    format!("{}.xlsx", safe.trim_matches(['.', ' ']))
}

fn file_names(markers: &[String]) -> Result<BTreeMap<String, String>, Stop> {
    let mut names: BTreeMap<String, String> = BTreeMap::new();
    for marker in markers {
        let name = file_name(marker);
        let same = |other: &&String| compared(other) == compared(&name);
        if names.values().any(|other| same(&other)) {
            return Err(Stop::new(format!(
                "two markers' names make the same file name, {name}; change one of them"
            )));
        }
        names.insert(marker.clone(), name);
    }
    Ok(names)
}

fn pairs_to_share(loaded: &Loaded, cohort: &CohortResult, markers: &[String]) -> Vec<ToShare> {
    cohort
        .results()
        .filter(|result| result.hand_in.is_some())
        .filter(|result| {
            let roster = loaded.roster.as_ref();
            roster.is_none_or(|roster| roster.takes_part(&result.pair))
        })
        .map(|result| to_share(loaded, &result, markers))
        .collect()
}

fn to_share(loaded: &Loaded, result: &PairResult, markers: &[String]) -> ToShare {
    let state = loaded.state.pair(&result.pair);
    let by_ledger = |subject: Subject| {
        let held = state?.standing(&subject, "")?;
        Some(held.value.clone())
    };
    let began = |slot: Slot| state.is_some_and(|state| has_entries(state, slot));
    let judged: f64 = result.suggestions.iter().map(|s| s.judged_out_of).sum();
    let wrong = |verdict| result.claims_with(verdict);
    let differ = wrong(crate::claims::Verdict::Differs) + wrong(crate::claims::Verdict::Impossible);
    let named = loaded
        .roster
        .as_ref()
        .and_then(|roster| roster.marker(&result.pair));
    ToShare {
        pair: result.pair.to_string(),
        work: judged + (result.findings.len() + differ) as f64,
        evidence: evidence_total(result, loaded.course.rubric.out_of),
        named: named.map(|name| spelled(markers, name)),
        first: by_ledger(Subject::FirstMarker).map(|name| spelled(markers, &name)),
        first_began: began(Slot::First),
        second: by_ledger(Subject::SecondMarker).map(|name| spelled(markers, &name)),
        drawn: by_ledger(Subject::Sample),
        second_began: began(Slot::Second),
        conflicts: conflicts(loaded, &result.pair, markers),
    }
}

/// Whether a marker entered anything in a slot.
fn has_entries(state: &PairState, slot: Slot) -> bool {
    state.all().any(|(key, _)| {
        key.slot == slot
            && matches!(
                key.subject,
                Subject::Mark(_) | Subject::Judged(..) | Subject::Comment(_) | Subject::Decision(_)
            )
    })
}

/// The total that the evidence would give if what is judged went the same way.
pub fn evidence_total(result: &PairResult, out_of: f64) -> Option<f64> {
    let earned: f64 = result.suggestions.iter().map(|s| s.suggested).sum();
    let settled: f64 = result.suggestions.iter().map(|s| s.out_of).sum();
    (settled > 0.0).then(|| earned / settled * out_of)
}

/// The markers who must not mark a pair: `[conflicts]` names pairs or students.
fn conflicts(loaded: &Loaded, pair: &str, markers: &[String]) -> Vec<String> {
    let roster = loaded.roster.iter();
    let mut ids: Vec<String> = roster
        .flat_map(|roster| roster.of_pair(pair))
        .map(|student| compared(&student.id))
        .collect();
    ids.push(compared(pair));
    let conflicts = &loaded.folder.settings.conflicts;
    conflicts
        .iter()
        .filter(|(_, of)| of.iter().any(|id| ids.contains(&compared(id))))
        .map(|(marker, _)| spelled(markers, marker))
        .collect()
}

fn rules(loaded: &Loaded, arguments: &Share, markers: Vec<String>, pairs: usize) -> ShareRules {
    let settings = &loaded.folder.settings;
    let rubric = &loaded.course.rubric;
    let moderation = &settings.moderation;
    ShareRules {
        markers,
        sample: moderation
            .sample
            .size(pairs)
            .max(moderation.sample_least)
            .min(pairs),
        all_twice: moderation.all_marked_twice,
        pass: rubric.pass,
        levels: rubric.levels.iter().map(|level| level.from).collect(),
        top_by_chance: moderation.top_by_chance,
        near: moderation
            .near_boundary
            .unwrap_or(loaded.course.thresholds.near_boundary),
        common: arguments.common.unwrap_or(0),
        seed: settings.seed,
    }
}

/// What changed, for the ledger.
fn ledger_lines(
    loaded: &Loaded,
    arguments: &Share,
    rules: &ShareRules,
    sharing: &Sharing,
) -> Result<Vec<Entry>, Stop> {
    let time = now()?;
    let line = |pair: &str, subject: &Subject, new: &str, why: String| {
        let state = if pair.is_empty() {
            Some(&loaded.state.cohort)
        } else {
            loaded.state.pair(pair)
        };
        let held = state.and_then(|state| state.standing(subject, ""));
        let old = held.map_or("", |held| held.value.as_str());
        (old != new).then(|| Entry {
            time: time.clone(),
            who: arguments.by.clone().unwrap_or_else(|| "instructor".into()),
            role: Role::Program.name().into(),
            pair: pair.to_owned(),
            what: subject.to_string(),
            old: old.to_owned(),
            new: new.to_owned(),
            why,
            rubric: loaded.course.rubric_digest.clone(),
            ..Entry::default()
        })
    };
    let mut lines = Vec::new();
    let (rule, seed) = (rule_in_words(loaded, rules, sharing), rules.seed);
    lines.extend(line("", &Subject::Sample, &rule, format!("seed {seed}")));
    for one in &sharing.pairs {
        let second = one.second.as_deref().unwrap_or("");
        let drawn = one.drawn.as_deref().unwrap_or("");
        let none = String::new;
        lines.extend(line(&one.pair, &Subject::FirstMarker, &one.first, none()));
        lines.extend(line(
            &one.pair,
            &Subject::SecondMarker,
            second,
            drawn.to_owned(),
        ));
        lines.extend(line(&one.pair, &Subject::Sample, drawn, none()));
    }
    Ok(lines)
}

fn rule_in_words(loaded: &Loaded, rules: &ShareRules, sharing: &Sharing) -> String {
    let moderation = &loaded.folder.settings.moderation;
    let pairs = sharing.pairs.len();
    let sampled = sharing.pairs.iter().filter(|one| one.second.is_some());
    let rule = match moderation.sample {
        _ if moderation.all_marked_twice => String::from("every pair"),
        SampleRule::SquareRoot => String::from("the square root of the number of pairs"),
        SampleRule::Share(share) => {
            format!("{} % of the pairs", crate::number::readable(100.0 * share))
        }
        SampleRule::Count(count) => counted(count, "pair"),
    };
    format!(
        "{} of {pairs} pairs; rule: {rule}, at least {}, and all whose evidence lies under the pass mark{} or near a boundary; seed {}",
        sampled.count(),
        moderation.sample_least,
        if moderation.top_by_chance {
            ""
        } else {
            ", at the top"
        },
        rules.seed
    )
}

fn write(
    loaded: &Loaded,
    cohort: &CohortResult,
    sharing: &Sharing,
    rules: &ShareRules,
    marker: &str,
    path: &Path,
) -> Result<(), Stop> {
    let assigned: Vec<(MarkingAs, PairResult)> = sharing
        .pairs
        .iter()
        .filter_map(|one| {
            let marking_as = marking_as(one, rules, loaded, marker)?;
            Some((marking_as, cohort.pair(&one.pair)?))
        })
        .collect();
    let mut pairs: Vec<Assigned<'_>> = assigned
        .iter()
        .map(|(marking_as, result)| Assigned {
            marking_as: *marking_as,
            result,
        })
        .collect();
    pairs.sort_by_key(|pair| pair.marking_as);
    let looks = Looks::default();
    let mut workbook = make(&MarkerBook {
        marker,
        pairs,
        rubric: &loaded.course.rubric,
        rubric_digest: &loaded.course.rubric_digest,
        roster: loaded.roster.as_ref(),
        entries: loaded.ledger.entries(),
        state: &loaded.state,
        moderation: &loaded.folder.settings.moderation,
        looks: &looks,
    })?;
    let place = OwnWorkbook::find(path.to_owned(), false)?;
    place.replace(loaded, &mut workbook)
}

fn marking_as(
    one: &Shared,
    rules: &ShareRules,
    loaded: &Loaded,
    marker: &str,
) -> Option<MarkingAs> {
    if one.first == marker {
        return Some(MarkingAs::First);
    }
    if one.second.as_deref() == Some(marker) {
        return Some(MarkingAs::Second);
    }
    let common = one.drawn.as_deref() == Some(COMMON) && rules.markers.iter().any(|m| m == marker);
    let may = || {
        !conflicts(loaded, &one.pair, &rules.markers)
            .iter()
            .any(|m| m == marker)
    };
    (common && may()).then_some(MarkingAs::Common)
}

#[derive(Serialize)]
struct Summary {
    command: &'static str,
    pairs: usize,
    sample: usize,
    markers: Vec<MarkerSummary>,
    remarks: Vec<String>,
    files: Vec<String>,
}

#[derive(Serialize)]
struct MarkerSummary {
    marker: String,
    first: usize,
    second: usize,
}

fn summary(rules: &ShareRules, sharing: &Sharing, files: Vec<String>) -> Summary {
    let count = |of: &dyn Fn(&Shared) -> bool| sharing.pairs.iter().filter(|one| of(one)).count();
    Summary {
        command: "share",
        pairs: sharing.pairs.len(),
        sample: count(&|one| one.second.is_some()),
        markers: everybody(rules, sharing)
            .into_iter()
            .map(|marker| MarkerSummary {
                first: count(&|one| one.first == marker),
                second: count(&|one| one.second.as_deref() == Some(marker.as_str())),
                marker,
            })
            .collect(),
        remarks: sharing.remarks.clone(),
        files,
    }
}

/// How many pairs were drawn for each reason, most first.
fn why_drawn(sharing: &Sharing) -> String {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for why in sharing.pairs.iter().filter_map(|one| one.drawn.as_deref()) {
        *counts.entry(why).or_default() += 1;
    }
    let mut counts: Vec<(&str, usize)> = counts.into_iter().collect();
    counts.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    let parts: Vec<String> = counts
        .into_iter()
        .map(|(why, count)| format!("{count} {why}"))
        .collect();
    if parts.is_empty() {
        String::new()
    } else {
        format!("  Why drawn: {}.\n", parts.join("; "))
    }
}

fn text(
    to_share: &[ToShare],
    rules: &ShareRules,
    sharing: &Sharing,
    folder: &Path,
    cohort: &CohortResult,
) -> String {
    let summary = summary(rules, sharing, Vec::new());
    let mut text = format!(
        "{} shared out among {}; {} drawn for second marking.\n",
        counted(summary.pairs, "pair"),
        counted(summary.markers.len(), "marker"),
        summary.sample
    );
    text += &why_drawn(sharing);
    let before = to_share.iter().filter(|pair| pair.drawn.is_some()).count();
    if before > 0 {
        let _ = writeln!(
            text,
            "  {} drawn earlier and stay drawn; [moderation] in cohort.toml governs what is drawn from now on.",
            match before {
                1 => String::from("1 of them was"),
                n => format!("{n} of them were"),
            }
        );
    }
    for marker in &summary.markers {
        let work: f64 = to_share
            .iter()
            .zip(&sharing.pairs)
            .filter(|(_, one)| one.first == marker.marker)
            .map(|(pair, _)| pair.work)
            .sum();
        // Writing to a string can't fail.
        let _ = writeln!(
            text,
            "  {}: {} to mark (some {} points, findings and numbers to judge), {} a second time",
            Emphasis::Heading.on(&marker.marker),
            counted(marker.first, "pair"),
            crate::number::readable(work),
            marker.second
        );
    }
    let waiting = cohort.pairs.len().saturating_sub(to_share.len());
    if waiting > 0 {
        let _ = writeln!(
            text,
            "{} not shared out: nothing that could be read was handed in, or nobody of it is to be marked.",
            counted(waiting, "pair")
        );
    }
    for remark in &summary.remarks {
        let _ = writeln!(text, "{} {remark}.", Emphasis::Heading.on("Note:"));
    }
    let _ = writeln!(
        text,
        "A workbook for each marker is in {}. Next, when they are filled in and back there: evenhand collect.",
        Emphasis::File.on(&folder.display().to_string())
    );
    text
}

//! What separates the fields of a text file.

use super::records::Records;

/// In the order of preference where two would do: a comma is also a decimal mark and stands in every sentence.
const CANDIDATES: [char; 4] = ['\t', ';', '|', ','];
/// Records that are counted.
const SAMPLE: usize = 200;
/// Records that are looked at, blank ones too.
const MOST_LOOKED_AT: usize = 5 * SAMPLE;
/// Characters of the text that are looked at for decimal commas.
const CHARACTERS: usize = 1 << 16;
/// Fields that are counted in a record of the sample.
const MOST_FIELDS: usize = 1_000;

/// The delimiter that the file itself names in a first line `sep=;`, and the text behind that line.
pub(super) fn stated(text: &str) -> (Option<char>, &str) {
    let line_end = text.find(['\r', '\n']).unwrap_or(text.len());
    let (line, rest) = text.split_at_checked(line_end).unwrap_or((text, ""));
    let line = line.trim_matches('"');
    let stated = line
        .get(..4)
        .filter(|key| key.eq_ignore_ascii_case("sep="))
        .and_then(|_| line.get(4..))
        .and_then(|value| value.chars().next());
    match stated {
        Some(delimiter) if !delimiter.is_alphanumeric() && delimiter != '"' => {
            let rest = rest.strip_prefix('\r').unwrap_or(rest);
            (Some(delimiter), rest.strip_prefix('\n').unwrap_or(rest))
        }
        _ => (None, text),
    }
}

/// The delimiter that makes the most regular table; by the ending where none makes one.
pub(super) fn sniff(text: &str, ending: &str) -> char {
    let mut best: Option<(f64, char)> = None;
    for candidate in CANDIDATES {
        let share = regularity(text, candidate);
        if candidate == ',' && best.is_some_and(|(so_far, _)| so_far > 0.5) && decimal_commas(text)
        {
            continue;
        }
        if share > 0.0 && best.is_none_or(|(so_far, _)| share > so_far + 0.05) {
            best = Some((share, candidate));
        }
    }
    match best {
        Some((_, candidate)) => candidate,
        None if matches!(ending, "tsv" | "tab") => '\t',
        None => ',',
    }
}

/// Whether nearly every comma stands between two digits: beside another delimiter it is then a decimal mark, however regular.
fn decimal_commas(text: &str) -> bool {
    let (mut commas, mut decimal) = (0_usize, 0_usize);
    let bytes = text.as_bytes();
    for around in bytes
        .get(..bytes.len().min(CHARACTERS))
        .unwrap_or_default()
        .windows(3)
    {
        if let [before, b',', after] = around {
            commas += 1;
            decimal += usize::from(before.is_ascii_digit() && after.is_ascii_digit());
        }
    }
    decimal > 0 && decimal * 10 >= commas * 9
}

/// The share of records that have the most common number of fields, where that is two or more; a lower share counts for irregular tables,
/// whose records merely have several fields.
fn regularity(text: &str, delimiter: char) -> f64 {
    let mut counts = Vec::new();
    let mut records = Records::new(text, delimiter, 0);
    let mut looked_at = 0;
    while counts.len() < SAMPLE && looked_at < MOST_LOOKED_AT && records.next_record().is_some() {
        looked_at += 1;
        let mut fields = 0;
        let mut empty = true;
        while let Some(field) = records.next_field()
            && fields < MOST_FIELDS
        {
            empty &= field.text.is_empty();
            fields += 1;
        }
        // Blank lines, and rows of nothing but delimiters, say nothing.
        if !empty {
            counts.push(fields);
        }
    }
    if counts.is_empty() {
        return 0.0;
    }
    let all = counts.len() as f64;
    counts.sort_unstable();
    let most_common = counts
        .chunk_by(|a, b| a == b)
        .filter(|same| same.first().is_some_and(|count| *count > 1))
        .map(<[usize]>::len)
        .max()
        .unwrap_or(0);
    let several = counts.iter().filter(|count| **count > 1).count();
    (most_common as f64 / all).max(0.8 * several as f64 / all)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_delimiter_is_the_one_that_makes_a_table() {
        assert_eq!(sniff("phase,trial,score\npre,1,3\npre,2,2\n", "csv"), ',');
        assert_eq!(
            sniff("phase;trial;score\npre;1;3,5\npre;2;2,25\n", "csv"),
            ';'
        );
        assert_eq!(sniff("3,5;2,5\n1,5;4,0\n", "csv"), ';');
        assert_eq!(sniff("phase\ttrial\tscore\npre\t1\t3,5\n", "txt"), '\t');
        assert_eq!(sniff("phase|trial|score\npre|1|3\n", "txt"), '|');
        // A sentence in quotes, notes with other marks, a title above, ragged rows.
        assert_eq!(
            sniff(
                "phase,notes\npre,\"a; b; c\"\npost,\"d; e\"\nmid,none\n",
                "csv"
            ),
            ','
        );
        assert_eq!(
            sniff("Our trials\n\nphase;score\npre;3\npre;2;late\n", "csv"),
            ';'
        );
        // Decimal commas more regular than the semicolons of rows of unequal length.
        assert_eq!(
            sniff(
                "a;b;c;d\n1;2;3,5\n1;2;3,5;x\n1;2;2,5;;x\n1;2;1,5\n1;2;7,5\n",
                "csv"
            ),
            ';'
        );
        assert_eq!(sniff("a,b\n1,2;3\n4,5\n", "csv"), ',');
        // One column: by the ending.
        assert_eq!(sniff("score\n3\n4\n", "csv"), ',');
        assert_eq!(sniff("score\n3\n4\n", "tsv"), '\t');
        assert_eq!(sniff("", "txt"), ',');
    }

    #[test]
    fn a_stated_delimiter_is_taken_and_its_line_left_out() {
        assert_eq!(stated("sep=;\r\na;b"), (Some(';'), "a;b"));
        assert_eq!(stated("\"sep=|\"\na|b"), (Some('|'), "a|b"));
        assert_eq!(stated("SEP=\t\ra"), (Some('\t'), "a"));
        assert_eq!(stated("separate,b"), (None, "separate,b"));
        assert_eq!(stated("sep=a\nb"), (None, "sep=a\nb"));
    }
}

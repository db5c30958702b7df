//! Tally marks: strokes that count, in groups of five where one stroke crosses four.

/// The number that a text of tally marks stands for: `III` is 3, `IIII/ II` is 7. None where it holds anything but strokes of one kind.
pub(crate) fn read_tally(text: &str) -> Option<u32> {
    let text = text.trim();
    let stroke = text
        .chars()
        .next()
        .filter(|c| matches!(c, '|' | 'I' | 'l'))?;
    let mut count = 0_u32;
    for group in text.split_whitespace() {
        // Four strokes and one across them.
        let (upright, crossed) = match group.strip_suffix(['/', '\\', '-']) {
            Some(upright) => (upright, 1),
            None => (group, 0),
        };
        let strokes = u32::try_from(upright.chars().count()).ok()?;
        let sound = upright.chars().all(|c| c == stroke) && (crossed == 0 || strokes == 4);
        if !sound || strokes > LONGEST_GROUP {
            return None;
        }
        count = count.checked_add(strokes + crossed)?;
    }
    Some(count)
}

/// Nobody counts more strokes than this that stand side by side.
const LONGEST_GROUP: u32 = 20;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strokes_count() {
        assert_eq!(read_tally("III"), Some(3));
        assert_eq!(read_tally(" |||| "), Some(4));
        assert_eq!(read_tally("IIII/ II"), Some(7));
        assert_eq!(read_tally("||||- ||||- |"), Some(11));
        assert_eq!(read_tally("l"), Some(1));
    }

    #[test]
    fn anything_else_is_no_tally() {
        for text in ["", "X", "II|", "III/", "IV", "1", "I2", "in"] {
            assert_eq!(read_tally(text), None, "{text}");
        }
        assert_eq!(read_tally(&"I".repeat(1_000)), None);
    }
}

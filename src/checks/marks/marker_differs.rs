//! A marker's severity or spread differs from the others'.

use super::entered::{Figure, MarksSeen};
use crate::checks::check::PlacedFindings;
use crate::checks::{Check, Explanation, Run, Weight};
use crate::number::readable;

/// A marker's severity or spread differs from the others'.
pub const CHECK: Check = Check {
    id: "marks.marker-differs",
    weight: Weight::Query,
    title: "a marker who differs from the others",
    explanation: Explanation {
        looks_at: "Each marker's severity (marks above or below the other marker, or where there are more the markers together, on the same reports, evidence taken into account) and spread (of the marks, over that of the others): whether the 95 % interval leaves out no difference.",
        matters: "Which marker a pair gets should not decide its mark. Raw means don't show it: reports differ too.",
        example: "A marker 4 marks below the others, with an interval from 1.5 to 6.5.",
        remedy: "Mark some common reports together and compare; a shift of a whole run is for the moderator to propose and to decide.",
        source: "severity from a mixed model, as the moderation report states; common practice",
    },
    thresholds: &[],
    run: Run::Marks(run),
};

fn run(seen: &MarksSeen, findings: &mut PlacedFindings) {
    let mut any = false;
    for marker in seen.markers {
        let severity = marker.severity.map(|figure| (figure, 0.0));
        let spread = marker.spread.map(|figure| (figure, 1.0));
        any |= severity.is_some() || spread.is_some();
        let mut says = Vec::new();
        // Of two markers who differ, it is said once: of the one who gives less.
        let once = |(figure, _): &(Figure, f64)| marker.than.is_none() || figure.value < 0.0;
        if let Some((figure, _)) = severity.filter(leaves_out).filter(once) {
            let (side, low, high) = if figure.value > 0.0 {
                ("more", figure.low, figure.high)
            } else {
                ("less", -figure.high, -figure.low)
            };
            says.push(format!(
                "gives {} {side} than {} on the same reports (95 % interval from {} to {}, {} reports)",
                readable(figure.value.abs()),
                marker.than.as_deref().unwrap_or("the markers together"),
                readable(low),
                readable(high),
                figure.n
            ));
        }
        if let Some((figure, _)) = spread.filter(leaves_out) {
            says.push(format!(
                "spreads marks {} times as widely as the others (95 % interval from {} to {}, {} reports)",
                readable(figure.value),
                readable(figure.low),
                readable(figure.high),
                figure.n
            ));
        }
        if says.is_empty() {
            continue;
        }
        let says = format!("{} {}.", marker.marker, says.join(" and "));
        findings.add(
            None,
            CHECK
                .finding(
                    says.clone(),
                    "Mark some common reports together and compare what each point was given for, before any mark is moved.",
                )
                .at(Vec::new(), says),
        );
    }
    if !any {
        findings.could_not(
            CHECK.id,
            "too few reports link the markers for severity or spread to be told",
        );
    }
}

fn leaves_out((figure, none): &(Figure, f64)) -> bool {
    figure.low > *none || figure.high < *none
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::marks::entered::MarkerFigures;
    use crate::checks::marks::sample::{Sample, only};

    fn figure(value: f64, low: f64, high: f64) -> Figure {
        Figure {
            value,
            low,
            high,
            n: 12,
        }
    }

    #[test]
    fn an_interval_that_leaves_out_no_difference_is_found() {
        let mut sample = Sample::marked();
        let marker = |severity, spread| MarkerFigures {
            marker: "Ann".into(),
            than: None,
            severity,
            spread,
        };
        sample.markers = vec![marker(
            Some(figure(-4.0, -6.5, -1.5)),
            Some(figure(1.0, 0.7, 1.4)),
        )];
        let found = only(sample.found(&CHECK));
        assert!(
            found
                .finding
                .message
                .starts_with("Ann gives 4 less than the markers together on the same reports (95 % interval from 1.5 to 6.5"),
            "{}",
            found.finding.message
        );
        // Of two markers, the one who gives less is named, and the other with it.
        let of_two = |name: &str, than: &str, sign: f64| MarkerFigures {
            marker: name.into(),
            than: Some(than.into()),
            severity: Some(figure(sign * 4.0, sign * 6.5, sign * 1.5)),
            spread: None,
        };
        sample.markers = vec![of_two("Ann", "Bea", -1.0), of_two("Bea", "Ann", 1.0)];
        let found = only(sample.found(&CHECK));
        assert!(
            found
                .finding
                .message
                .starts_with("Ann gives 4 less than Bea"),
            "{}",
            found.finding.message
        );
        sample.markers = vec![marker(
            Some(figure(-4.0, -8.5, 0.5)),
            Some(figure(0.5, 0.3, 0.8)),
        )];
        assert!(
            only(sample.found(&CHECK))
                .finding
                .message
                .contains("0.5 times")
        );
        sample.markers = vec![marker(Some(figure(-4.0, -8.5, 0.5)), None)];
        assert!(sample.found(&CHECK).is_empty());
    }

    #[test]
    fn without_figures_it_is_not_checked() {
        Sample::marked().not_checked(&CHECK);
    }
}

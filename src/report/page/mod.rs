//! Pages for people: each one file that needs nothing else, no script and no network, readable on a screen, on paper, by ear, light and dark.

pub mod chart;
pub mod cohort_feedback;
pub mod feedback;
mod style;

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// A whole page around its content.
pub(crate) fn page(title: &str, content: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(style::SHEET)) }
            }
            body { (content) }
        }
    };
    page.into_string()
}

/// Text with its line ends kept.
pub(crate) fn lines(text: &str) -> Markup {
    html! {
        @for (index, line) in text.lines().enumerate() {
            @if index > 0 { br; }
            (line)
        }
    }
}

/// The cautions that every page about a training programme carries.
pub const CAUTIONS: [&str; 2] = [
    "This feedback is about a training programme: consent, readiness screening, qualified supervision and your institution's own rules come \
     before anything that is said here.",
    "People decided the marks. The numbers were recomputed from the trials in the logbook; if one of them looks wrong to you, ask.",
];

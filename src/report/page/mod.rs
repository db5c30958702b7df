//! Pages for people: each one file that needs nothing else, no script and no network, readable on a screen, on paper, by ear, light and dark.

pub mod chart;
pub mod cohort;
pub mod cohort_feedback;
pub mod feedback;
mod style;

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// What a page begins with.
pub(crate) struct Head<'a> {
    /// Its title.
    pub title: &'a str,
    /// What it adds to the common style sheet.
    pub style: &'a str,
    /// What its own script carries, so that no other runs; empty for a page without one.
    pub nonce: &'a str,
    /// The class of its body.
    pub class: &'a str,
}

/// What a page ends with.
pub(crate) const CLOSING: &str = "</body></html>\n";

/// A page up to its content. A page with a script says that nothing may be loaded from anywhere and that no other script may run.
pub(crate) fn opening(head: &Head<'_>) -> String {
    let policy = (!head.nonce.is_empty()).then(|| {
        let nonce = head.nonce;
        format!("default-src 'none'; style-src 'unsafe-inline'; script-src 'nonce-{nonce}'")
    });
    let page = html! {
        (DOCTYPE)
        (PreEscaped("<html lang=\"en\">"))
        head {
            meta charset="utf-8";
            @if let Some(policy) = policy { meta http-equiv="Content-Security-Policy" content=(policy); }
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="color-scheme" content="light dark";
            title { (head.title) }
            style { (PreEscaped(style::SHEET)) (PreEscaped(head.style)) }
        }
        (PreEscaped(format!("<body class=\"{}\">", head.class)))
    };
    page.into_string()
}

/// A whole page around its content.
pub(crate) fn page(title: &str, content: &Markup) -> String {
    let head = Head {
        title,
        style: "",
        nonce: "",
        class: "feedback",
    };
    let mut page = opening(&head);
    page.push_str(&content.0);
    page.push_str(CLOSING);
    page
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

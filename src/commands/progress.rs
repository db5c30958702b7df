//! A progress bar on standard error, where that is a terminal.

use indicatif::{ProgressBar, ProgressStyle};

/// A bar over so many hand-ins; it shows nothing where nobody looks.
pub fn bar(count: usize, quiet: bool) -> ProgressBar {
    if quiet {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(count as u64);
    // A template that can't be read would be ours: the plain bar serves as well.
    if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {pos} of {len}, {eta} left") {
        bar.set_style(style);
    }
    // Short: with numbers and time it must fit a terminal of 40 columns.
    bar.set_message("Reading");
    bar
}

//! Progress of long work, on a terminal only.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// A bar towards a known end, counted in bytes.
pub fn bytes(total: u64, what: &str) -> ProgressBar {
    let bar = ProgressBar::new(total);
    styled(&bar, "{msg} {wide_bar} {bytes} of {total_bytes}, {eta} to go");
    bar.set_message(what.to_owned());
    bar
}

/// Work without a known end.
pub fn open_ended(what: &str) -> ProgressBar {
    let bar = ProgressBar::new_spinner();
    styled(&bar, "{spinner} {msg} {elapsed}");
    bar.set_message(what.to_owned());
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}

fn styled(bar: &ProgressBar, template: &str) {
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
}

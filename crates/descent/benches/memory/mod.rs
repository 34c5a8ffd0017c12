//! The memory that a piece of work takes at its highest, as Linux counts it.

/// A line of the process's status \[MB\].
fn status(line: &str) -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/status").ok()?;
    let found = text.lines().find_map(|l| l.strip_prefix(line))?;
    let kilobytes: f64 = found.trim_start_matches(':').split_whitespace().next()?.parse().ok()?;
    Some(kilobytes / 1000.0)
}

/// Does the work once and says what it took above what was there before.
pub fn told<T>(what: &str, work: impl FnOnce() -> T) -> T {
    // Writing 5 sets the highest back to what is held now.
    let set_back = std::fs::write("/proc/self/clear_refs", "5").is_ok();
    let before = status("VmRSS");
    let done = work();
    match (set_back, before, status("VmHWM")) {
        (true, Some(before), Some(highest)) => {
            println!("{what}: {:.0} MB above the {before:.0} MB before", highest - before);
        }
        _ => println!("{what}: memory is not told here"),
    }
    done
}

//! Lines of the file and their cells, without copies.

/// The lines of a text with their numbers from 1, blank ones left out.
pub(super) fn lines(text: &str) -> impl Iterator<Item = (u32, &str)> {
    (1u32..)
        .zip(text.split('\n'))
        .map(|(n, line)| (n, line.trim_end_matches('\r')))
        .filter(|(_, line)| !line.trim().is_empty())
}

/// Cuts a line into its cells, in the place of those of the line before. Quotes around a cell are
/// taken away; a delimiter within them does not count.
pub(super) fn cells<'t>(line: &'t str, delimiter: char, into: &mut Vec<&'t str>) {
    into.clear();
    // A whole line in quotes: some programs save a column of text that way.
    let line = match line.trim().strip_prefix('"').and_then(|l| l.strip_suffix('"')) {
        Some(inner) if !inner.contains('"') && inner.contains(delimiter) => inner,
        _ => line,
    };
    let mut start = 0;
    let mut quoted = false;
    for (at, c) in line.char_indices() {
        if c == '"' {
            quoted = !quoted;
        } else if c == delimiter && !quoted {
            into.push(bare(&line[start..at]));
            start = at + c.len_utf8();
        }
    }
    into.push(bare(&line[start..]));
}

fn bare(cell: &str) -> &str {
    let cell = cell.trim_matches([' ', '\u{a0}', '\t', '\u{feff}']);
    let inner = cell.strip_prefix('"').and_then(|c| c.strip_suffix('"')).unwrap_or(cell);
    // Some spreadsheets keep stamps as text by an equals sign or an apostrophe before them.
    let inner = inner.strip_prefix("=\"").and_then(|c| c.strip_suffix('"')).unwrap_or(inner);
    inner.strip_prefix('\'').unwrap_or(inner).trim_matches([' ', '\u{a0}', '\t'])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_cut_at_delimiters_outside_of_quotes() {
        let check = |line: &str, delimiter: char, expected: &[&str]| {
            let mut out = Vec::new();
            cells(line, delimiter, &mut out);
            assert_eq!(out, expected, "{line}");
        };
        check("a;b;c", ';', &["a", "b", "c"]);
        check("\"22,5\",\"60,1\"", ',', &["22,5", "60,1"]);
        check("\"2025-01-01,20,60\"", ',', &["2025-01-01", "20", "60"]);
        check(" a ,, '5 ", ',', &["a", "", "5"]);
        check("", ',', &[""]);
        check("a,\"b", ',', &["a", "\"b"]);
    }
}

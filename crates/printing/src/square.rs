//! The square code: which version and correction, and its outline as one drawing.

use fast_qr::{ECL, QRBuilder};

/// Blank modules that a reader needs around the square (ISO/IEC 18004).
pub(crate) const QUIET: f64 = 4.0;

/// A square code as a grid of modules.
#[derive(Debug, Clone, PartialEq)]
pub struct Square {
    /// Modules on a side, without the blank ones around.
    pub side: usize,
    dark: Vec<bool>,
}

/// The squares that can hold a payload, the one that survives most damage first: quarter of the
/// code words recoverable, then a seventh, then a fourteenth; each only if it is smaller than the
/// one before.
pub(crate) fn candidates(payload: &str) -> Result<Vec<Square>, String> {
    let alphanumeric =
        |c: char| c.is_ascii_digit() || c.is_ascii_uppercase() || " $%*+-./:".contains(c);
    if payload.is_empty() {
        return Err("it is empty. Give the address or the code.".into());
    }
    if let Some(c) = payload.chars().find(|c| !alphanumeric(*c)) {
        return Err(format!(
            "“{c}” is not among the digits, capital letters and $%*+-./: that keep its modules \
             large. Write the address in capitals."
        ));
    }
    let mut found: Vec<Square> = Vec::new();
    for level in [ECL::Q, ECL::M, ECL::L] {
        let Ok(code) = QRBuilder::new(payload).ecl(level).build() else { continue };
        if found.last().is_some_and(|last| last.side <= code.size) {
            continue;
        }
        let dark = (0..code.size).flat_map(|row| code[row].iter().map(|m| m.value()));
        found.push(Square { side: code.size, dark: dark.collect() });
    }
    if found.is_empty() {
        return Err("it is too long. Shorten the house's name.".into());
    }
    Ok(found)
}

impl Square {
    /// The square of a payload, at the correction that survives most damage.
    ///
    /// # Errors
    /// What is wrong with the payload: it is empty, too long, or holds other characters than
    /// digits, capital letters and `$%*+-./:`.
    pub fn of(payload: &str) -> Result<Self, String> {
        Ok(candidates(payload)?.swap_remove(0))
    }

    /// Whether the module in this column and row is dark; those around the square are not.
    #[must_use]
    pub fn is_dark(&self, x: i32, y: i32) -> bool {
        let side = self.side as i32;
        (0..side).contains(&x) && (0..side).contains(&y) && self.dark[(y * side + x) as usize]
    }

    /// The drawing: the outlines of all dark regions, one path, so that no seams show between
    /// modules. One unit is one module.
    #[must_use]
    pub fn svg(&self) -> String {
        let side = self.side;
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\">\
             <path fill-rule=\"evenodd\" d=\"{}\"/></svg>",
            self.outline()
        )
    }

    /// Walks each border between dark and light once, dark on the right-hand side.
    fn outline(&self) -> String {
        let n = self.side as i32 + 1;
        // For each grid point, which of the four ways (right, down, left, up) a border leaves it.
        let mut ways = vec![0u8; (n * n) as usize];
        for y in 0..n {
            for x in 0..n {
                let at = |dx: i32, dy: i32| self.is_dark(x + dx, y + dy);
                let (nw, ne, sw, se) = (at(-1, -1), at(0, -1), at(-1, 0), at(0, 0));
                let leaves = [se && !ne, sw && !se, nw && !sw, ne && !nw];
                ways[(y * n + x) as usize] =
                    leaves.iter().enumerate().map(|(i, l)| u8::from(*l) << i).sum();
            }
        }
        let mut path = String::new();
        for start in 0..n * n {
            while let Some(way) = first_way(ways[start as usize]) {
                walk(&mut ways, n, start, way, &mut path);
            }
        }
        path
    }
}

fn first_way(ways: u8) -> Option<usize> {
    (0..4).find(|way| ways & (1 << way) != 0)
}

/// Follows one border from `start` until it closes, taking the sharpest right turn, and appends it
/// to the path.
fn walk(ways: &mut [u8], n: i32, start: i32, first: usize, path: &mut String) {
    let step = [1, n, -1, -n];
    path.push_str(&format!("M{} {}", start % n, start / n));
    let (mut at, mut way, mut length) = (start, first, 0);
    loop {
        ways[at as usize] &= !(1 << way);
        at += step[way];
        length += 1;
        let turns = [(way + 1) % 4, way, (way + 3) % 4];
        let next = turns.into_iter().find(|t| ways[at as usize] & (1 << t) != 0);
        if next != Some(way) {
            path.push_str(&match way {
                0 => format!("h{length}"),
                1 => format!("v{length}"),
                2 => format!("h-{length}"),
                _ => format!("v-{length}"),
            });
            length = 0;
        }
        match next {
            Some(next) if at != start => way = next,
            // Back at the start: close here, even where two regions touch at a corner.
            _ => break,
        }
    }
    if length > 0 {
        let sign = if way < 2 { "" } else { "-" };
        path.push_str(&format!("{}{sign}{length}", if way % 2 == 0 { 'h' } else { 'v' }));
    }
    path.push('z');
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_of_25_characters_goes_into_21_modules_at_least_correction() {
        let sides: Vec<usize> = candidates("HTTP://UMBEL.LOCAL/K7QD3M")
            .unwrap()
            .iter()
            .map(|square| square.side)
            .collect();
        // ISO/IEC 18004 table 7: version 2-Q holds 29, version 1-L 25 alphanumeric characters.
        assert_eq!(sides, [25, 21]);
    }

    #[test]
    fn small_letters_are_refused_with_the_letter() {
        assert!(candidates("http://").unwrap_err().contains("“h”"));
        assert!(candidates("").is_err());
        assert!(candidates(&"A".repeat(5000)).unwrap_err().contains("too long"));
    }

    /// Fills the outline again by counting crossings to the left, and compares every module.
    #[test]
    fn the_outline_encloses_exactly_the_dark_modules() {
        for payload in ["K7QD3M", "HTTP://UMBEL.LOCAL/K7QD3M", "HTTP://GLASHAUS.LOCAL/2345AB"] {
            for square in candidates(payload).unwrap() {
                let uprights = uprights(&square.outline());
                for y in 0..square.side as i32 {
                    for x in 0..square.side as i32 {
                        let crossings =
                            uprights.iter().filter(|u| u.0 <= x && u.1 <= y && y < u.2).count();
                        assert_eq!(crossings % 2 == 1, square.is_dark(x, y), "{payload} {x} {y}");
                    }
                }
            }
        }
    }

    fn uprights(path: &str) -> Vec<(i32, i32, i32)> {
        let mut found = Vec::new();
        for ring in path.split('z').filter(|ring| !ring.is_empty()) {
            let spaced = ring.replace('h', " h ").replace('v', " v ").replace('M', "");
            let words: Vec<&str> = spaced.split_whitespace().collect();
            let (mut x, mut y): (i32, i32) = (words[0].parse().unwrap(), words[1].parse().unwrap());
            let start = (x, y);
            for pair in words[2..].chunks(2) {
                let by: i32 = pair[1].parse().unwrap();
                if pair[0] == "h" {
                    x += by;
                } else {
                    found.push((x, y.min(y + by), y.max(y + by)));
                    y += by;
                }
            }
            assert_eq!((x, y), start, "a border does not close");
        }
        found
    }
}

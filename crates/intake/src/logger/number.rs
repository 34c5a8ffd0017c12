//! Numbers of cells, with their decimal marks and units.

/// A number of a cell and the unit written behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Number<'t> {
    pub value: f64,
    pub unit: &'t str,
}

/// Reads a cell as a number; `comma` says that a lone comma is the decimal mark. `None` for words,
/// dashes and everything else that is no number.
pub(super) fn number(cell: &str, comma: bool) -> Option<Number<'_>> {
    let cell = cell.trim();
    let sign = |c: char| matches!(c, '-' | '+' | '−');
    let digits = cell.strip_prefix(sign).unwrap_or(cell);
    let negative = cell.starts_with(['-', '−']);
    let end = digits
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '\'' | '\u{202f}')))
        .unwrap_or(digits.len());
    let (body, unit) = digits.split_at(end);
    if !body.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',')) {
        return None;
    }
    // 2.1e1 is how some programs write 21.
    let (body, unit, power) = match unit.strip_prefix(['e', 'E']) {
        Some(rest) => {
            let end = rest
                .char_indices()
                .find(|(i, c)| !(c.is_ascii_digit() || *i == 0 && matches!(c, '-' | '+')))
                .map_or(rest.len(), |(i, _)| i);
            match rest[..end].parse::<i32>() {
                Ok(p) if p.abs() < 20 => (body, &rest[end..], p),
                _ => (body, unit, 0),
            }
        }
        None => (body, unit, 0),
    };
    let value = plain(body, comma)?;
    let value = value * 10f64.powi(power);
    Some(Number { value: if negative { -value } else { value }, unit: unit.trim() })
}

fn plain(body: &str, comma: bool) -> Option<f64> {
    // The quick way of nearly every cell.
    if body.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        && let Ok(value) = body.parse::<f64>()
    {
        return Some(value);
    }
    let (dots, commas) = (body.matches('.').count(), body.matches(',').count());
    let thousands = |mark: char| {
        let mut groups = body.split(['.', ',']).skip(1);
        body.contains(mark) && groups.all(|g| g.len() == 3)
    };
    let bare: String = body.chars().filter(|c| c.is_ascii_digit()).collect();
    let decimal = match (dots, commas) {
        (0, 0) => None,
        // The last of two different marks is the decimal one: 1.234,5 and 1,234.5.
        (1.., 1..) => body.rfind(['.', ',']),
        (1, 0) => body.find('.'),
        (0, 1) if comma || !thousands(',') => body.find(','),
        (0, 1) => None,
        _ if thousands('.') || thousands(',') => None,
        _ => return None,
    };
    let Some(at) = decimal else { return bare.parse().ok() };
    let keep = |part: &str| part.chars().filter(char::is_ascii_digit).collect::<String>();
    format!("{}.{}", keep(&body[..at]), keep(&body[at + 1..])).parse().ok()
}

/// Whether a cell is a number with a decimal comma and nothing else.
pub(super) fn has_decimal_comma(cell: &str) -> bool {
    let cell = cell.trim_start_matches(['-', '+', '−']);
    cell.split_once(',').is_some_and(|(whole, part)| {
        let part = part.trim_end_matches(|c: char| !c.is_ascii_digit());
        !whole.is_empty()
            && whole.bytes().all(|b| b.is_ascii_digit())
            && (1..=4).contains(&part.len())
            && part.bytes().all(|b| b.is_ascii_digit())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_in_the_ways_they_are_written() {
        let check = |cell: &str, comma: bool, value: f64, unit: &str| {
            assert_eq!(number(cell, comma), Some(Number { value, unit }), "{cell}");
        };
        check("22.5", false, 22.5, "");
        check("22,5", true, 22.5, "");
        check("22,5 °C", false, 22.5, "°C");
        check("72.1F", false, 72.1, "F");
        check("-3", false, -3.0, "");
        check("−3,25", true, -3.25, "");
        check("1,234.5", false, 1234.5, "");
        check("1.234,5", true, 1234.5, "");
        check("12,345", false, 12345.0, "");
        check("12,345", true, 12.345, "");
        check("1'250", false, 1250.0, "");
        check("2.1e1", false, 21.0, "");
        check("60%", false, 60.0, "%");
        for cell in ["", "--", "NaN", "error", "1.2.3", "OL", "-", "e5"] {
            assert_eq!(number(cell, false), None, "{cell}");
        }
        assert!(has_decimal_comma("22,5") && has_decimal_comma("-3,25 °C"));
        assert!(!has_decimal_comma("22.5") && !has_decimal_comma(",5,"));
    }
}

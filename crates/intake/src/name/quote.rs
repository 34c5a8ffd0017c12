//! Quotes of every kind, and the signs between parents.

use crate::fold::fold;

fn single_or_double(c: char) -> bool {
    c == '\'' || c == '"'
}

/// A quoted part: byte range with its quotes, the text inside, and whether the
/// quotes were straight single ones.
pub(super) struct Quoted {
    pub range: std::ops::Range<usize>,
    pub inside: String,
    pub straight: bool,
}

/// Finds the quoted cultivar epithet, if there is one.
pub(super) fn quoted(text: &str) -> Option<Quoted> {
    let chars: Vec<(usize, char)> = text.char_indices().collect();
    let folded: Vec<char> = fold(text).chars().collect();
    let opens = |i: usize| {
        single_or_double(folded[i])
            && (i == 0 || matches!(folded[i - 1], ' ' | '(' | '×' | '.' | '='))
            && folded.get(i + 1).is_some_and(|c| *c != ' ' || !matches!(chars[i].1, '\'' | '"'))
    };
    let start = (0..folded.len()).find(|i| opens(*i))?;
    let closes = |i: usize| {
        single_or_double(folded[i])
            && folded
                .get(i + 1)
                .is_none_or(|c| matches!(c, ' ' | ')' | ',' | '.' | ';' | ':' | '-' | '/'))
    };
    // The first mark that can close; one inside the epithet has a letter after it.
    let end = (start + 2..folded.len()).find(|i| closes(*i));
    let end = match end {
        // 'Copper' Lorry': of two that could close, an odd one out belongs to the epithet.
        Some(e) => last_of_pair(&folded, start, e),
        None => folded.len(),
    };
    let from = chars[start].0;
    let to = chars.get(end).map_or(text.len(), |c| c.0 + c.1.len_utf8());
    let inner_end = chars.get(end).map_or(text.len(), |c| c.0);
    let inside = text[from + chars[start].1.len_utf8()..inner_end].trim();
    let inside = inside.trim_matches(|c| matches!(c, '\'' | '"')).trim();
    let straight = chars[start].1 == '\'' && chars.get(end).is_some_and(|c| c.1 == '\'');
    if inside.is_empty() {
        return None;
    }
    Some(Quoted { range: from..to, inside: straighten(inside), straight })
}

fn last_of_pair(folded: &[char], start: usize, end: usize) -> usize {
    // ''Name'' is closed by two marks.
    if folded.get(start + 1) == Some(&folded[start]) && folded.get(end + 1) == Some(&folded[end]) {
        end + 1
    } else {
        end
    }
}

/// Apostrophes inside an epithet as straight ones.
pub(super) fn straighten(text: &str) -> String {
    text.chars().map(|c| if matches!(c, '’' | '‘' | '´' | '`' | '′') { '\'' } else { c }).collect()
}

/// A folded text with everything between quotes taken out.
pub(super) fn outside(folded: &str) -> String {
    let mut rest = folded.to_owned();
    while let Some(q) = quoted(&rest) {
        rest.replace_range(q.range, " ");
    }
    rest
}

/// Splits "A x B" at the first sign that stands outside quotes.
pub(super) fn split_formula(text: &str) -> Option<(&str, char, &str)> {
    let quoted = quoted(text).map(|q| q.range);
    let mut from = 0;
    for token in text.split(' ') {
        let start = from;
        from += token.len() + 1;
        let inside = quoted.as_ref().is_some_and(|q| q.contains(&start));
        let sign = match token {
            "x" | "X" | "×" | "✕" | "✖" | "*" => token.chars().next()?,
            _ => continue,
        };
        if inside || start == 0 || from >= text.len() {
            continue;
        }
        return Some((text[..start].trim(), sign, text[from..].trim()));
    }
    let at = text.find('×').filter(|i| *i > 0 && !text[..*i].ends_with(' '))?;
    Some((text[..at].trim(), '×', text[at + '×'.len_utf8()..].trim()))
}

//! Quotation marks of all kinds around an epithet.

/// An epithet that stood between quotes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Quoted {
    /// Without the outer marks; apostrophes inside as typed.
    pub text: String,
    /// Whether the marks were ' ' or ‘ ’.
    pub single: bool,
    /// Whether a closing mark was found.
    pub closed: bool,
    /// Whether the opening mark followed a letter without a space.
    pub glued: bool,
}

const SINGLE: &[char] = &['\'', '‘', '’', '‚', '‛', '`', '´', '′', '‹', '›', '＇', '❛', '❜'];
const DOUBLE: &[char] = &['"', '“', '”', '„', '‟', '«', '»', '″', '＂', '❝', '❞'];

/// Marks that French sets off with a space inside.
const GUILLEMETS: &[char] = &['«', '»', '‹', '›'];

/// Whether a character is used as a quotation mark.
pub(super) fn is_quote(c: char) -> bool {
    SINGLE.contains(&c) || DOUBLE.contains(&c)
}

/// Read a quoted epithet that begins at `start`, and where it ends.
pub(super) fn take_quoted(chars: &[char], start: usize) -> Option<(Quoted, usize)> {
    let open = *chars.get(start)?;
    if !is_quote(open) {
        return None;
    }
    let doubled = chars.get(start + 1).is_some_and(|c| is_quote(*c));
    let mut from = start + if doubled { 2 } else { 1 };
    while chars.get(from) == Some(&' ') {
        from += 1;
    }
    let close = closing(chars, from, open);
    if close.is_none() && is_small_word(chars, from) {
        return None;
    }
    let end = close.unwrap_or_else(|| unclosed_end(chars, from));
    let text: String = chars[from..end].iter().collect();
    let mut next = end;
    let mut marks = Vec::new();
    while next < chars.len() && close.is_some() && is_quote(chars[next]) {
        marks.push(chars[next]);
        next += 1;
    }
    let proper = matches!((open, marks.as_slice()), ('\'', ['\'']) | ('‘', ['’']));
    let single = proper && !doubled;
    let text = text.trim().to_owned();
    let glued = start > 0 && chars[start - 1].is_alphanumeric();
    let quoted = Quoted { text, single, closed: close.is_some(), glued };
    Some((quoted, next.max(start + 1)))
}

/// `'t` and `'s` before a space are Dutch small words, not opened quotes.
fn is_small_word(chars: &[char], from: usize) -> bool {
    matches!(chars.get(from), Some('t' | 's' | 'n'))
        && matches!(chars.get(from + 1), Some(' ') | None)
}

/// Whether an opening mark at `at` is closed further on.
pub(super) fn has_closing(chars: &[char], at: usize) -> bool {
    closing(chars, at + 1, chars[at]).is_some()
}

/// Position of the mark that closes an epithet whose first character is at `from`.
fn closing(chars: &[char], from: usize, open: char) -> Option<usize> {
    let marks = if GUILLEMETS.contains(&open) {
        GUILLEMETS
    } else if DOUBLE.contains(&open) {
        DOUBLE
    } else {
        SINGLE
    };
    let mut at = from;
    while at < chars.len() {
        if marks.contains(&chars[at])
            && can_close(chars, from, at)
            && !is_possessive(chars, at, marks)
        {
            return Some(at);
        }
        at += 1;
    }
    None
}

/// A mark can close where no letter follows and no space goes before.
fn can_close(chars: &[char], from: usize, at: usize) -> bool {
    let after = chars.get(at + 1);
    let free = after.is_none_or(|c| !c.is_alphanumeric());
    // A glued trade mark or award, as in 'Verweig'PBR, follows in capitals.
    let glued_mark = after.is_some_and(|c| c.is_uppercase())
        && chars.get(at + 2).is_some_and(|c| c.is_uppercase());
    (free || glued_mark) && at > from && (chars[at - 1] != ' ' || GUILLEMETS.contains(&chars[at]))
}

/// An apostrophe after a plural (`'Boys' Delight'`): behind it comes another closing mark before any
/// opening one.
fn is_possessive(chars: &[char], at: usize, marks: &[char]) -> bool {
    if chars.get(at + 1) != Some(&' ') {
        return false;
    }
    for next in at + 1..chars.len() {
        if matches!(chars[next], '×' | '+' | '(' | ')') {
            return false;
        }
        if marks.contains(&chars[next]) {
            let opens = chars[next - 1] == ' ';
            let inside = chars.get(next + 1).is_some_and(|c| c.is_alphanumeric());
            if opens {
                return false;
            }
            if !inside {
                return true;
            }
        }
    }
    false
}

/// An epithet without closing mark reaches to a bracket, a hybrid sign or the end.
fn unclosed_end(chars: &[char], from: usize) -> usize {
    let stop = (from..chars.len()).find(|at| {
        let spaced = chars.get(at + 2) == Some(&' ');
        chars[*at] == ' '
            && (matches!(chars.get(at + 1), Some('(' | '×'))
                || (spaced && matches!(chars.get(at + 1), Some('x' | 'X' | '+'))))
    });
    stop.unwrap_or(chars.len())
}

//! From bytes to text: the encodings lists come in.

use encoding_rs::{Encoding, MACINTOSH, UTF_16BE, UTF_16LE, WINDOWS_1252};

use crate::{ReadError, fold::compose};

pub(crate) fn decode(bytes: &[u8], file: &str) -> Result<String, ReadError> {
    let text = match Encoding::for_bom(bytes) {
        Some((encoding, skip)) => encoding.decode_without_bom_handling(&bytes[skip..]).0.into(),
        None => without_mark(bytes),
    };
    let strange = text
        .chars()
        .filter(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{b}' | '\u{c}'))
        .count();
    let replaced = text.chars().filter(|c| *c == '\u{fffd}').count();
    // A stray control character happens; one in fifty means this is not text.
    if (strange + replaced) * 50 > text.chars().count() {
        return Err(ReadError::Encoding { file: file.to_owned() });
    }
    Ok(compose(&text))
}

fn without_mark(bytes: &[u8]) -> String {
    if let Some(wide) = wide(bytes) {
        return wide.decode_without_bom_handling(bytes).0.into_owned();
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        return text.to_owned();
    }
    // Lists pasted together from two sources change encoding between lines.
    let single = single_byte(bytes);
    let mut out = String::with_capacity(bytes.len());
    for line in bytes.split_inclusive(|b| *b == b'\n') {
        match std::str::from_utf8(line) {
            Ok(text) => out.push_str(text),
            Err(_) => out.push_str(&single.decode_without_bom_handling(line).0),
        }
    }
    out
}

/// UTF-16 without its mark shows as a zero in every other byte.
fn wide(bytes: &[u8]) -> Option<&'static Encoding> {
    let sample = &bytes[..bytes.len().min(2000)];
    if sample.len() < 4 {
        return None;
    }
    let zeros = |offset: usize| sample.iter().skip(offset).step_by(2).filter(|b| **b == 0).count();
    let half = sample.len() / 2;
    if zeros(1) * 2 > half && zeros(0) * 10 < half {
        Some(UTF_16LE)
    } else if zeros(0) * 2 > half && zeros(1) * 10 < half {
        Some(UTF_16BE)
    } else {
        None
    }
}

/// Windows-1252 (which contains Latin-1) unless the letters only make sense as Mac Roman.
fn single_byte(bytes: &[u8]) -> &'static Encoding {
    let likely = |encoding: &'static Encoding| {
        let text = encoding.decode_without_bom_handling(bytes).0;
        text.chars()
            .map(|c| match c {
                'ä' | 'ö' | 'ü' | 'ß' | 'é' | 'è' | 'ê' | 'ë' | 'à' | 'â' | 'ç' | 'ñ' | 'å'
                | 'í' | 'ó' | 'á' | 'ú' | 'ô' | 'î' | 'ï' | 'û' | 'ù' | 'Ä' | 'Ö' | 'Ü' | 'É'
                | 'Å' | '×' | '£' | '€' | '–' | '“' | '”' | '‘' | '’' | '„' | '«' | '»' => {
                    1
                }
                '\u{80}'..='\u{9f}' => -3,
                c if c.is_ascii() => 0,
                _ => -1,
            })
            .sum::<i64>()
    };
    if likely(MACINTOSH) > likely(WINDOWS_1252) { MACINTOSH } else { WINDOWS_1252 }
}

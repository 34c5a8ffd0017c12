//! Names as runs of italic and roman text.

use crate::svg::{escape, safe_href};
use crate::width;

/// A stretch of text in one style.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// The text.
    pub text: String,
    /// Italic, as the codes of nomenclature ask for Latin names.
    pub italic: bool,
}

/// A name or other label: runs of text, with an address if it leads somewhere.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Label {
    /// The runs, in order; spaces between them belong to the runs.
    pub runs: Vec<Run>,
    /// Where a click leads: a relative or web address.
    pub href: Option<String>,
}

impl Label {
    /// Upright text.
    pub fn roman(text: impl Into<String>) -> Self {
        Label { runs: vec![Run { text: text.into(), italic: false }], href: None }
    }

    /// Italic text.
    pub fn italic(text: impl Into<String>) -> Self {
        Label { runs: vec![Run { text: text.into(), italic: true }], href: None }
    }

    /// The same label with more upright text.
    pub fn then_roman(mut self, text: impl Into<String>) -> Self {
        self.runs.push(Run { text: text.into(), italic: false });
        self
    }

    /// The same label with more italic text.
    pub fn then_italic(mut self, text: impl Into<String>) -> Self {
        self.runs.push(Run { text: text.into(), italic: true });
        self
    }

    /// The same label leading to `href`.
    pub fn linking(mut self, href: impl Into<String>) -> Self {
        self.href = Some(href.into());
        self
    }

    /// The text without styles.
    pub fn plain(&self) -> String {
        self.runs.iter().map(|r| r.text.as_str()).collect()
    }

    /// Approximate width as chart serif, in px.
    pub fn width(&self) -> f64 {
        self.runs.iter().map(|r| width::serif(&r.text)).sum()
    }

    /// Breaks at a space into up to `lines` lines of at most `room` px; the last one is shortened
    /// with "…" if the rest does not fit. The second value says whether anything was left out.
    pub(crate) fn fit(&self, room: f64, lines: usize) -> (Vec<Label>, bool) {
        let mut out = Vec::new();
        let mut rest = self.words();
        while !rest.is_empty() {
            let last = out.len() + 1 == lines;
            let fits = fitting(&rest, room);
            if fits == rest.len() || (fits > 0 && !last) {
                out.push(join(rest.drain(..fits), &self.href));
            } else if last || fits == 0 {
                // A single word wider than the line is cut even if more lines are left.
                let take = if last { rest.len() } else { 1 };
                let (cut, shortened) = shorten(&join(rest.drain(..take), &self.href), room);
                out.push(cut);
                if shortened {
                    return (out, true);
                }
            }
        }
        (out, false)
    }

    fn words(&self) -> Vec<Run> {
        let mut words: Vec<Run> = Vec::new();
        let mut glue = false;
        for run in &self.runs {
            for piece in run.text.split_inclusive(' ') {
                match words.last_mut() {
                    Some(last) if glue && last.italic == run.italic => last.text.push_str(piece),
                    // Roman quotes right after italics are not a place to break, but two runs.
                    _ => words.push(Run { text: piece.to_owned(), italic: run.italic }),
                }
                glue = !piece.ends_with(' ');
            }
        }
        words
    }

    /// The runs as `tspan`s, escaped, with the link around them and the full name as a title.
    pub(crate) fn markup(&self, text_attributes: &str, full: Option<&str>) -> String {
        let mut inner = String::new();
        for run in &self.runs {
            let text = escape(&run.text);
            if run.italic {
                inner.push_str(&format!(r#"<tspan class="si">{text}</tspan>"#));
            } else {
                inner.push_str(&text);
            }
        }
        let title = full.map(|f| format!("<title>{}</title>", escape(f))).unwrap_or_default();
        let text = format!("<text {text_attributes}>{title}{inner}</text>");
        match self.href.as_deref().and_then(safe_href) {
            Some(href) => format!(r#"<a href="{href}">{text}</a>"#),
            None => text,
        }
    }

    /// The runs as HTML, escaped: `<i>` for italics, in the serif of plant names.
    pub(crate) fn html(&self) -> String {
        let mut inner = String::new();
        for run in &self.runs {
            let text = escape(&run.text);
            inner.push_str(&if run.italic { format!("<i>{text}</i>") } else { text });
        }
        let name = format!(r#"<span class="n">{inner}</span>"#);
        match self.href.as_deref().and_then(safe_href) {
            Some(href) => format!(r#"<a href="{href}">{name}</a>"#),
            None => name,
        }
    }
}

fn fitting(words: &[Run], room: f64) -> usize {
    let mut used = 0.0;
    for (i, word) in words.iter().enumerate() {
        // A space at the end of a line takes no room.
        // Sums in another order may differ by rounding.
        if used + width::serif(word.text.trim_end()) > room + 0.01 {
            return i;
        }
        used += width::serif(&word.text);
    }
    words.len()
}

fn join(words: impl Iterator<Item = Run>, href: &Option<String>) -> Label {
    let mut label = Label { runs: Vec::new(), href: href.clone() };
    for word in words {
        match label.runs.last_mut() {
            Some(last) if last.italic == word.italic => last.text.push_str(&word.text),
            _ => label.runs.push(word),
        }
    }
    if let Some(last) = label.runs.last_mut() {
        last.text.truncate(last.text.trim_end().len());
    }
    label
}

/// Cuts letters from the end until the label and "…" fit.
fn shorten(label: &Label, room: f64) -> (Label, bool) {
    if label.width() <= room + 0.01 {
        return (label.clone(), false);
    }
    let mut cut = label.clone();
    while let Some(last) = cut.runs.last_mut() {
        if last.text.pop().is_none() {
            cut.runs.pop();
            continue;
        }
        if cut.width() + width::serif("…") <= room {
            break;
        }
    }
    match cut.runs.last_mut() {
        Some(last) => {
            last.text.truncate(last.text.trim_end().len());
            last.text.push('…');
        }
        None => cut.runs.push(Run { text: "…".to_owned(), italic: false }),
    }
    (cut, true)
}

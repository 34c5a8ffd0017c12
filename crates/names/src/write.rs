//! Setting a name: from its parts to styled pieces, and from those to HTML, Typst and plain text.

use crate::reading::{HybridSign, Kind, Parts, Qualifier, Rank, Reading, Sex};
use crate::text::fold;
use serde::Serialize;

/// How a piece of a name is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Style {
    /// Genus, species and infraspecific epithets.
    Italic,
    /// Everything else.
    Roman,
    /// Trade designations; the text is in capitals, to be set as small capitals throughout.
    SmallCaps,
}

/// A piece of a name in one style.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Span {
    /// The characters, with typographic quotes and non-breaking spaces where lines must not break.
    pub text: String,
    /// How it is set.
    pub style: Style,
    /// Whether the piece should stay on one line (a cultivar epithet with its quotes).
    pub keep_together: bool,
}

const NBSP: char = '\u{A0}';

/// How a name is written.
#[derive(Clone, Copy)]
struct Manner {
    /// ‘ ’ instead of ' '.
    print_quotes: bool,
    /// U+00A0 where lines must not break.
    no_breaks: bool,
    /// Write the genus with its initial already at first mention.
    genus_abbreviated: bool,
    /// Abbreviate a genus that is repeated in a formula.
    abbreviate_repeated: bool,
}

const DATA: Manner = Manner {
    print_quotes: false,
    no_breaks: false,
    genus_abbreviated: false,
    abbreviate_repeated: true,
};
const PRINT: Manner = Manner { print_quotes: true, no_breaks: true, ..DATA };

struct Composer<'a> {
    spans: Vec<Span>,
    manner: Manner,
    /// All genera of the name, to know whether an initial would be ambiguous.
    genera: Vec<&'a str>,
    seen: Vec<&'a str>,
}

/// The normal form in plain text. Outer quotes are U+0027, an apostrophe inside is U+2019.
pub(crate) fn normal_form(parts: &Parts) -> String {
    text_of(&compose(parts, DATA))
}

fn text_of(spans: &[Span]) -> String {
    spans.iter().map(|span| span.text.as_str()).collect()
}

fn compose(parts: &Parts, manner: Manner) -> Vec<Span> {
    let mut genera = Vec::new();
    collect_genera(parts, &mut genera);
    let mut composer = Composer { spans: Vec::new(), manner, genera, seen: Vec::new() };
    composer.any(parts);
    composer.spans
}

fn collect_genera<'a>(parts: &'a Parts, genera: &mut Vec<&'a str>) {
    if let Some(genus) = &parts.genus {
        genera.push(genus);
    }
    for operand in &parts.operands {
        collect_genera(operand, genera);
    }
}

impl<'a> Composer<'a> {
    fn push(&mut self, text: &str, style: Style) {
        match self.spans.last_mut() {
            Some(last) if last.style == style && !last.keep_together => last.text.push_str(text),
            _ => self.spans.push(Span { text: text.to_owned(), style, keep_together: false }),
        }
    }

    fn roman(&mut self, text: &str) {
        self.push(text, Style::Roman);
    }

    fn space(&mut self) {
        if !self.spans.is_empty() {
            self.roman(" ");
        }
    }

    fn bound_space(&self) -> char {
        if self.manner.no_breaks { NBSP } else { ' ' }
    }

    /// A roman word and a space after which no line may break.
    fn bound(&mut self, word: &str) {
        let text = format!("{word}{}", self.bound_space());
        self.roman(&text);
    }

    fn any(&mut self, parts: &'a Parts) {
        if parts.is_formula() {
            self.formula(parts);
        } else {
            self.simple(parts);
        }
        if let Some(sex) = parts.sex {
            let sign = if sex == Sex::Female { '♀' } else { '♂' };
            let text = format!("{}{sign}", self.bound_space());
            self.roman(&text);
        }
    }

    fn formula(&mut self, parts: &'a Parts) {
        let sign = if parts.joined_by == Some(HybridSign::Graft) { "+" } else { "×" };
        for (at, operand) in parts.operands.iter().enumerate() {
            if at > 0 {
                self.roman(" ");
                self.bound(sign);
            }
            if operand.is_formula() {
                self.roman("(");
                self.any(operand);
                self.roman(")");
            } else {
                self.any(operand);
            }
        }
    }

    fn simple(&mut self, parts: &'a Parts) {
        if parts.unknown {
            self.roman("?");
            return;
        }
        self.genus(parts);
        if let Some(author) = &parts.genus_author {
            self.space();
            self.roman(author);
        }
        if let Some(species) = &parts.species {
            self.space();
            self.qualifier(species.qualifier);
            if species.hybrid {
                self.roman("×");
            }
            self.push(&species.text, Style::Italic);
            self.author(species.author.as_deref());
        }
        for infra in &parts.infra {
            self.space();
            // `?` is glued to the doubted element, cf. and aff. stand before its rank term.
            let glued = infra.epithet.qualifier == Some(Qualifier::Doubt);
            if !glued {
                self.qualifier(infra.epithet.qualifier);
            }
            let term = rank_term(infra.rank);
            self.bound(&if infra.notho { format!("notho{term}") } else { term.to_owned() });
            if glued {
                self.roman("?");
            }
            self.push(&infra.epithet.text, Style::Italic);
            self.author(infra.epithet.author.as_deref());
        }
        self.cultivated(parts);
    }

    fn genus(&mut self, parts: &'a Parts) {
        let Some(genus) = parts.genus.as_deref() else { return };
        self.qualifier(parts.genus_qualifier);
        match parts.sign {
            Some(HybridSign::Hybrid) => self.roman("×"),
            Some(HybridSign::Graft) => self.roman("+"),
            None => {}
        }
        if parts.common_name {
            self.roman(genus);
            return;
        }
        let initial = genus.chars().next();
        let shared = self.genera.iter().any(|g| *g != genus && g.chars().next() == initial);
        let alone = parts.species.is_none()
            && parts.cultivar.is_none()
            && parts.group.is_none()
            && parts.grex.is_none()
            && parts.trade.is_none()
            && parts.open.is_none();
        let repeated = self.seen.contains(&genus) && self.manner.abbreviate_repeated;
        self.seen.push(genus);
        match initial {
            Some(letter) if !alone && !shared && (repeated || self.manner.genus_abbreviated) => {
                self.push(&format!("{letter}."), Style::Italic);
            }
            _ => self.push(genus, Style::Italic),
        }
    }

    fn qualifier(&mut self, qualifier: Option<Qualifier>) {
        match qualifier {
            Some(Qualifier::Cf) => self.bound("cf."),
            Some(Qualifier::Aff) => self.bound("aff."),
            Some(Qualifier::Doubt) => self.roman("?"),
            None => {}
        }
    }

    fn author(&mut self, author: Option<&str>) {
        if let Some(author) = author {
            self.space();
            self.roman(author);
        }
    }

    fn cultivated(&mut self, parts: &'a Parts) {
        for text in [&parts.open, &parts.tag].into_iter().flatten() {
            self.space();
            self.roman(text);
        }
        if let Some(trade) = &parts.trade {
            self.space();
            self.push(trade, Style::SmallCaps);
        }
        if let Some(group) = &parts.group {
            self.space();
            let with_cultivar = parts.cultivar.is_some() || parts.trade.is_some();
            let group = self.apostrophes(group);
            self.roman(&if with_cultivar {
                format!("({group} Group)")
            } else {
                format!("{group} Group")
            });
        }
        if let Some(grex) = &parts.grex {
            self.space();
            let grex = self.apostrophes(grex);
            self.roman(&format!("{grex} grex"));
        }
        if let Some(cultivar) = &parts.cultivar {
            self.space();
            self.qualifier(parts.cultivar_qualifier);
            let quoted = if self.manner.print_quotes {
                format!("‘{cultivar}’")
            } else {
                format!("'{cultivar}'")
            };
            let text = if parts.trade.is_some() { format!("({quoted})") } else { quoted };
            self.spans.push(Span { text, style: Style::Roman, keep_together: true });
        }
        if let Some(concept) = &parts.concept {
            self.space();
            self.roman(concept);
        }
    }

    fn apostrophes(&self, text: &str) -> String {
        text.replace('\'', "’")
    }
}

/// The rank term in roman type.
pub(crate) fn rank_term(rank: Rank) -> &'static str {
    match rank {
        Rank::Subgenus => "subg.",
        Rank::Section => "sect.",
        Rank::Subsection => "subsect.",
        Rank::Series => "ser.",
        Rank::Subseries => "subser.",
        Rank::Subspecies => "subsp.",
        Rank::Variety => "var.",
        Rank::Subvariety => "subvar.",
        Rank::Form => "f.",
        Rank::Subform => "subf.",
    }
}

impl Reading {
    /// The name in styled pieces, as it is printed. A name that could not be read is given back as
    /// it was typed, in roman.
    pub fn spans(&self) -> Vec<Span> {
        self.set(PRINT)
    }

    /// HTML: `<i>` for italics, `<span class="sc">` around a trade designation (its text is in
    /// capitals; style it with all small capitals), `<span class="nb">` around a cultivar epithet.
    pub fn html(&self) -> String {
        html_of(&self.spans())
    }

    /// HTML for running text; with `genus_abbreviated` the genus is written with its initial, which
    /// is right only where it was written in full before and no other genus there shares the initial.
    pub fn short_html(&self, genus_abbreviated: bool) -> String {
        html_of(&self.set(Manner { genus_abbreviated, ..PRINT }))
    }

    /// Plain text with straight quotes and apostrophes, as data files keep it.
    pub fn plain(&self) -> String {
        text_of(&self.set(DATA)).replace('’', "'")
    }

    /// Plain text like [`plain`](Self::plain), but every genus of a formula in full.
    pub fn full(&self) -> String {
        let manner = Manner { abbreviate_repeated: false, ..DATA };
        text_of(&self.set(manner)).replace('’', "'")
    }

    /// Typst markup, escaped.
    pub fn typst(&self) -> String {
        let mut out = String::new();
        for span in self.spans() {
            let text = escape_typst(&span.text);
            match span.style {
                Style::Italic => out.push_str(&format!("#emph[{text}]")),
                Style::Roman => out.push_str(&text),
                Style::SmallCaps => out.push_str(&format!("#smallcaps(all: true)[{text}]")),
            }
        }
        out
    }

    /// Key to sort by: genus, species, rank and epithet, cultivated parts; no hybrid signs, notho-,
    /// authors or marks; case and diacritics folded. Two spaces part the elements, so that a shorter
    /// name comes before its continuations.
    pub fn sort_key(&self) -> String {
        let mut fields = Vec::new();
        sort_fields(&self.parts, &mut fields);
        if self.kind == Kind::Unreadable || fields.iter().all(String::is_empty) {
            return fold(self.input.trim());
        }
        while fields.last().is_some_and(String::is_empty) {
            fields.pop();
        }
        fields.join("  ")
    }

    fn set(&self, manner: Manner) -> Vec<Span> {
        // An abbreviated genus that could not be completed leaves a name without its beginning.
        let headless = self.parts.genus.is_none() && !self.parts.is_formula();
        let spans = if self.kind == Kind::Unreadable || headless {
            Vec::new()
        } else {
            compose(&self.parts, manner)
        };
        if spans.is_empty() {
            let text = self.input.trim().to_owned();
            return vec![Span { text, style: Style::Roman, keep_together: false }];
        }
        spans
    }
}

fn sort_fields(parts: &Parts, fields: &mut Vec<String>) {
    if parts.is_formula() {
        for operand in &parts.operands {
            sort_fields(operand, fields);
        }
        return;
    }
    fields.push(fold(parts.genus.as_deref().unwrap_or_default()));
    fields.push(parts.species.as_ref().map(|s| fold(&s.text)).unwrap_or_default());
    for infra in &parts.infra {
        fields.push(format!("{} {}", infra.rank as u8, fold(&infra.epithet.text)));
    }
    let cultivated = [&parts.grex, &parts.cultivar, &parts.group, &parts.trade, &parts.tag];
    fields.extend(cultivated.into_iter().flatten().map(|text| letters_only(&fold(text))));
}

fn letters_only(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-')).collect()
}

fn html_of(spans: &[Span]) -> String {
    let mut out = String::new();
    for span in spans {
        let text = escape_html(&span.text);
        match (span.style, span.keep_together) {
            (Style::Italic, _) => out.push_str(&format!("<i>{text}</i>")),
            (Style::SmallCaps, _) => out.push_str(&format!("<span class=\"sc\">{text}</span>")),
            (Style::Roman, true) => out.push_str(&format!("<span class=\"nb\">{text}</span>")),
            (Style::Roman, false) => out.push_str(&text),
        }
    }
    out
}

fn escape_html(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            _ => out.push(c),
        }
    }
    out
}

/// Every mark that Typst could read as markup gets a backslash.
fn escape_typst(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_ascii_punctuation() {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

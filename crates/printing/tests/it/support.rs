//! Reads a PDF back: its letters with their places, and pictures of its pages.

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::Pdf as File;
use hayro::{RenderCache, RenderSettings, render};
use pdf_extract::{Document, MediaBox, OutputDev, OutputError, Transform};
use printing::{Label, Span};

pub const MM: f64 = 72.0 / 25.4;

/// A letter as it stands in the file; measures in mm from the top left corner of its page.
#[derive(Debug, Clone)]
pub struct Letter {
    pub page: usize,
    pub x: f64,
    pub y: f64,
    /// Size of the em.
    pub em: f64,
    pub width: f64,
    /// Whether it stands upside down.
    pub turned: bool,
    pub text: String,
}

#[derive(Default)]
struct Reader {
    letters: Vec<Letter>,
    pages: Vec<(f64, f64)>,
}

impl OutputDev for Reader {
    fn begin_page(
        &mut self,
        _: u32,
        media: &MediaBox,
        _: Option<(f64, f64, f64, f64)>,
    ) -> Result<(), OutputError> {
        self.pages.push(((media.urx - media.llx) / MM, (media.ury - media.lly) / MM));
        Ok(())
    }
    fn end_page(&mut self) -> Result<(), OutputError> {
        Ok(())
    }
    fn output_character(
        &mut self,
        trm: &Transform,
        width: f64,
        _: f64,
        size: f64,
        text: &str,
    ) -> Result<(), OutputError> {
        let scale = trm.m11.hypot(trm.m12);
        self.letters.push(Letter {
            page: self.pages.len() - 1,
            x: trm.m31 / MM,
            y: self.pages.last().unwrap().1 - trm.m32 / MM,
            em: size * scale / MM,
            width: width * size * scale / MM,
            turned: trm.m11 < -0.5 * scale,
            text: text.to_owned(),
        });
        Ok(())
    }
    fn begin_word(&mut self) -> Result<(), OutputError> {
        Ok(())
    }
    fn end_word(&mut self) -> Result<(), OutputError> {
        Ok(())
    }
    fn end_line(&mut self) -> Result<(), OutputError> {
        Ok(())
    }
}

/// All letters, and the sizes of the pages \[mm\].
pub fn read(bytes: &[u8]) -> (Vec<Letter>, Vec<(f64, f64)>) {
    let document = Document::load_mem(bytes).unwrap();
    let mut reader = Reader::default();
    pdf_extract::output_doc(&document, &mut reader).unwrap();
    (reader.letters, reader.pages)
}

/// The letters within a box of a page, in the order of the file, without spaces.
pub fn within(letters: &[Letter], page: usize, x: f64, y: f64, w: f64, h: f64) -> Vec<Letter> {
    let inside = |l: &&Letter| {
        l.page == page
            && (x..x + w).contains(&l.x)
            && (y..y + h).contains(&l.y)
            && !l.text.trim().is_empty()
    };
    letters.iter().filter(inside).cloned().collect()
}

/// Letters run together, ligatures opened.
pub fn run_together(letters: &[Letter]) -> String {
    let text: String = letters.iter().map(|l| l.text.as_str()).collect();
    text.replace('ﬁ', "fi").replace('ﬂ', "fl").replace('ﬀ', "ff")
}

/// A page as grey values, with `dots` pixels for each mm.
pub struct Picture {
    pub width: usize,
    pub height: usize,
    pub grey: Vec<u8>,
}

impl Picture {
    /// A part of the picture; measures in pixels.
    pub fn part(&self, x: usize, y: usize, width: usize, height: usize) -> Picture {
        let (width, height) = (width.min(self.width - x), height.min(self.height - y));
        let row = |row| {
            let start = row * self.width + x;
            self.grey[start..start + width].iter().copied()
        };
        Picture { width, height, grey: (y..y + height).flat_map(row).collect() }
    }
}

/// Draws the pages with a renderer that shares nothing with the writer.
pub fn pictures(bytes: &[u8], dots: f32) -> Vec<Picture> {
    let file = File::new(bytes.to_vec()).unwrap();
    let cache = RenderCache::new();
    let scale = dots / MM as f32;
    let settings = RenderSettings { x_scale: scale, y_scale: scale, ..RenderSettings::default() };
    let draw = |page| {
        let map = render(page, &cache, &InterpreterSettings::default(), &settings);
        let (width, height) = (usize::from(map.width()), usize::from(map.height()));
        // Ink over clear paper: what is not covered is white.
        let grey = map.data().iter().map(|p| 255 - p.a + p.g).collect();
        Picture { width, height, grey }
    };
    file.pages().iter().map(draw).collect()
}

/// A square found on a picture; measures in pixels.
#[derive(Debug, Clone)]
pub struct Found {
    pub text: String,
    pub module: f64,
    /// Outermost dark pixels: left, top, right, bottom.
    pub ink: [usize; 4],
}

/// Every square on a picture. The decoder says roughly where its corners are; the ink of the three
/// large marks in the corners says where exactly.
pub fn squares(picture: &Picture) -> Vec<Found> {
    let mut image =
        rqrr::PreparedImage::prepare_from_greyscale(picture.width, picture.height, |x, y| {
            picture.grey[y * picture.width + x]
        });
    let dark = |x: usize, y: usize| picture.grey[y * picture.width + x] < 128;
    let measure = |grid: &rqrr::Grid<_>| {
        let (meta, text) = grid.decode().ok()?;
        let n = meta.version.to_size();
        let [a, _, c, _] = grid.bounds;
        let (x, y) = (a.x as usize, a.y as usize);
        let rough = (c.x - a.x) as f64 / (n + 1) as f64;
        let inside = (2.5 * rough) as usize;
        let reach = (1.5 * rough) as usize;
        let (far_x, far_y) =
            ((c.x as usize).min(picture.width - 1), (c.y as usize).min(picture.height - 1));
        let ink = [
            (x.saturating_sub(reach)..far_x).find(|x| dark(*x, y + inside))?,
            (y.saturating_sub(reach)..far_y).find(|y| dark(x + inside, *y))?,
            (x..=far_x).rev().find(|x| dark(*x, y + inside))?,
            (y..=far_y).rev().find(|y| dark(x + inside, *y))?,
        ];
        let module = (ink[2] + 1 - ink[0]) as f64 / n as f64;
        Some(Found { text, module, ink })
    };
    image.detect_grids().iter().filter_map(measure).collect()
}

/// Cuts `*italic*` and `^trade designation^` out of a text.
pub fn spans(text: &str) -> Vec<Span> {
    let mut spans = Vec::new();
    for (i, part) in text.split('*').enumerate() {
        if i % 2 == 1 {
            spans.push(Span::italic(part));
            continue;
        }
        for (k, part) in part.split('^').enumerate() {
            spans.push(if k % 2 == 1 { Span::small_caps(part) } else { Span::roman(part) });
        }
    }
    spans
}

/// A label; `*` and `^` in the name mark italics and trade designations.
pub fn label(number: &str, code: &str, name: &str) -> Label {
    Label {
        number: number.into(),
        code: code.into(),
        qr: format!("HTTP://UMBEL.LOCAL/{code}"),
        name: spans(name),
        name_plain: name.replace(['*', '^'], ""),
        ..Label::default()
    }
}

/// An invented label with everything on it.
pub fn full() -> Label {
    Label {
        parents: vec![spans("‘Low Lantern’"), spans("‘Marl Evening’")],
        from_whom: Some("Ines Corvane".into()),
        when: Some("autumn 2022".into()),
        received_as: Some("tip cutting".into()),
        clone: Some("clone 96, 3 pieces".into()),
        ..label("214", "K7QD3M", "*Aeschynanthus* ‘Tally Ember’")
    }
}

/// `count` invented labels with different numbers, codes and names.
pub fn many(count: usize) -> Vec<Label> {
    let alphabet: Vec<char> = printing::CODE_ALPHABET.chars().collect();
    let genera = ["Begonia", "Streptocarpus", "Aeschynanthus", "Dischidia", "Peperomia"];
    let first = ["Quiet", "Pewter", "Tally", "Marl", "Hartley", "Brindle", "Argent"];
    let second = ["Ember", "Vesper", "Lantern", "Assize", "Dusk", "Saint", "Mill", "over the Pond"];
    let one = |i: usize| {
        let mut rest = i + 7;
        let code: String = (0..6)
            .map(|_| {
                let c = alphabet[rest % alphabet.len()];
                rest = rest / alphabet.len() * 7 + 3;
                c
            })
            .collect();
        let name = format!("*{}* ‘{} {}’", genera[i % 5], first[i % 7], second[i % 8]);
        let mut label = full();
        let named = super::support::label(&(i + 1).to_string(), &code, &name);
        label.number = named.number;
        label.code = named.code;
        label.qr = named.qr;
        label.name = named.name;
        label.name_plain = named.name_plain;
        label
    };
    (0..count).map(one).collect()
}

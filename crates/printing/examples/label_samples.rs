//! Writes sheets of sample labels into a folder, to look at.
//!
//! `cargo run -p printing --example label_samples -- FOLDER`

use printing::{Back, Label, Layout, Size, Span, Words, labels_pdf};
use std::path::Path;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("give the folder to write to")?;
    let labels = samples();
    let tape = Size::Tape { length: 40.0, width: 12.0 };
    let long_tape = Size::Tape { length: 80.0, width: 12.0 };
    let wide_tape = Size::Tape { length: 60.0, width: 18.0 };
    let own = Size::Own { width: 100.0, height: 60.0 };
    let high = Size::Own { width: 40.0, height: 60.0 };
    let hand = |size| Layout { hand: true, ..Layout::a4(size, Back::FoldBelow) };
    let layouts = [
        ("stake-fold", Layout::a4(Size::Stake60x25, Back::FoldBelow)),
        ("stake-front", Layout::a4(Size::Stake60x25, Back::None)),
        ("slim-fold", Layout::a4(Size::Stake75x20, Back::FoldBelow)),
        ("slim-front", Layout::a4(Size::Stake75x20, Back::None)),
        ("tag-front", Layout::a4(Size::Tag50x30, Back::None)),
        ("tag-duplex", Layout::a4(Size::Tag50x30, Back::DuplexLongEdge)),
        ("tape", Layout::a4(tape, Back::None)),
        ("tape-long", Layout::a4(long_tape, Back::None)),
        ("tape-wide", Layout::a4(wide_tape, Back::None)),
        ("own", Layout::a4(own, Back::None)),
        ("high", Layout::a4(high, Back::None)),
        ("hand", hand(Size::Stake60x25)),
        ("hand-slim", hand(Size::Stake75x20)),
    ];
    for (name, layout) in layouts {
        let mut chosen = labels.clone();
        if let Err(printing::PrintError::Labels(problems)) =
            labels_pdf(&chosen, &layout, &Words::english())
        {
            for problem in problems.iter().rev() {
                println!("{name}: {problem}");
                chosen.remove(problem.index);
            }
        }
        let pdf = labels_pdf(&chosen, &layout, &Words::english())?;
        println!("{name}: smaller {:?}, left off {:?}", pdf.set_smaller, pdf.left_off);
        std::fs::write(Path::new(&folder).join(format!("{name}.pdf")), pdf.bytes)?;
    }
    Ok(())
}

/// Cuts `*italic*` and `^trade designation^` out of a text.
fn name(text: &str) -> Vec<Span> {
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
    spans.retain(|span| !span.text.is_empty());
    spans
}

fn samples() -> Vec<Label> {
    let row = |number: &str, code: &str, text: &str, parents: &[&str], from: [&str; 4]| {
        let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        Label {
            number: number.into(),
            code: code.into(),
            qr: format!("HTTP://UMBEL.LOCAL/{code}"),
            name: name(text),
            name_plain: text.replace(['*', '^'], ""),
            parents: parents.iter().map(|parent| name(parent)).collect(),
            from_whom: some(from[0]),
            when: some(from[1]),
            received_as: some(from[2]),
            clone: some(from[3]),
        }
    };
    vec![
        row(
            "214",
            "K7QD3M",
            "*Aeschynanthus* ‘Tally Ember’",
            &["‘Low Lantern’", "‘Marl Evening’"],
            ["Ines Corvane", "autumn 2022", "tip cutting", "clone 96, 3 pieces"],
        ),
        row(
            "118",
            "4WTR9B",
            "*Streptocarpus* ‘Hartley Dusk’",
            &["‘Greta’s Slate’", ""],
            ["Fennick & Daughter", "2 April 2022", "plant in 9 cm", ""],
        ),
        row(
            "57",
            "H2XN6F",
            "*Begonia* ‘Pewter Vesper’",
            &["*B. listada*", "*B. venosa*"],
            ["raised here, cross 3", "9 March 2021", "seed", "clone 17, 2 pieces"],
        ),
        row(
            "219",
            "P93VCJ",
            "*Aeschynanthus radicans*",
            &["species; origin not recorded"],
            ["Oda Pike-Hallam", "autumn 2022", "division", ""],
        ),
        row(
            "126",
            "7DMKYS",
            "*Streptocarpus* ×*kewensis*",
            &["*S. rexii*", "*S. dunnii*"],
            ["Tobiah Wrenfield", "June 2024", "leaf", ""],
        ),
        row(
            "1233",
            "QB4H8T",
            "*Dischidia oiantha*",
            &[],
            ["Thursday exchange", "18 May 2024", "rooted piece", ""],
        ),
        row(
            "19-7",
            "R6FZ2W",
            "*Streptocarpus* 19-7",
            &["‘Hartley Dusk’", "‘Quiet Assize’"],
            ["raised here, cross 19", "March 2024", "seed", ""],
        ),
        row(
            "244",
            "3NJX7C",
            "*Begonia bowerae* var. *nigramarga*",
            &["species"],
            ["Ines Corvane", "2020 or 2021", "rhizome", ""],
        ),
        row(
            "88",
            "Y8GD5P",
            "*Streptocarpus* ‘Thousand Quiet Lanterns over the Pond’",
            &["", "*S. cyaneus*"],
            ["Fennick & Daughter", "2 April 2022", "plant in 7 cm", ""],
        ),
        row(
            "301",
            "AB2CD3",
            "*Begonia masoniana* var. *maculata* × *Begonia pustulata* ‘Argent Mill’",
            &["*Begonia masoniana* var. *maculata*", "*B. pustulata* ‘Argent Mill’"],
            [
                "Maria-Theresia von Hohenbrunn-Altmühl",
                "zwischen 2009 und 2012",
                "Blattsteckling",
                "clone 212, 14 pieces",
            ],
        ),
        row(
            "302",
            "AB2CD4",
            "*Begonia* ^Pale Harbour^ (‘KMB0417’)",
            &["‘Brindle Saint’", "‘Old Tin’"],
            ["Kestrel Row Nursery", "May 2025", "plug", ""],
        ),
        row(
            "303",
            "AB2CD5",
            "+*Peperomioides longissimifolia* (Rhexia Group) ‘Nachtgesang’",
            &["", ""],
            ["", "", "", ""],
        ),
        row(
            "304",
            "AB2CD6",
            "*Aeschynanthus* sp. aff. *parasiticus*",
            &["species, Đà Lạt; Έλλη Ωρίων"],
            ["Élodie Ångström", "2019", "cutting", ""],
        ),
    ]
}

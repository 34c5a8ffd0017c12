//! Kinds of mess crossed with each other: quotes, dates, orders, languages,
//! encodings, delimiters, layouts. The truth is known because the lists are
//! made from it. All 720 are one small list in other clothes, so the count of
//! rows says nothing about the variety of plants or remarks. That a row marked
//! as sown, with nothing in its column for kinds, came as seed is a decision.

use intake::{Language, Options, understand};
use serde_json::{Value, json};

use crate::compare::{FIELDS, Score, compare};

struct Tongue {
    lang: Language,
    header: [&'static str; 7],
    received: [(&'static str, &'static str); 4],
    own: &'static str,
    months: [&'static str; 3],
    autumn: &'static str,
    sown: &'static str,
    dead: &'static str,
    heading: &'static str,
    total: &'static str,
    mother: &'static str,
    places: [&'static str; 2],
}

const TONGUES: [Tongue; 6] = [
    Tongue {
        lang: Language::En,
        header: ["Plant", "From", "When", "Came as", "Pot", "Place", "Remarks"],
        received: [
            ("cutting", "cutting"),
            ("rooted cutting", "rooted_cutting"),
            ("bulb", "plant"),
            ("offset", "division"),
        ],
        own: "me",
        months: ["March", "Sept", "June"],
        autumn: "autumn",
        sown: "sown",
        dead: "died in the cold",
        heading: "GESNERIADS",
        total: "Total",
        mother: "mother:",
        places: ["north sill", "glass case"],
    },
    Tongue {
        lang: Language::De,
        header: [
            "Pflanze",
            "Von wem",
            "Erhalten am",
            "Erhalten als",
            "Topf",
            "Standort",
            "Bemerkungen",
        ],
        received: [
            ("Steckling", "cutting"),
            ("bewurzelter Steckling", "rooted_cutting"),
            ("Zwiebel", "plant"),
            ("Kindel", "division"),
        ],
        own: "eigene",
        months: ["März", "Sept.", "Juni"],
        autumn: "Herbst",
        sown: "Aussaat",
        dead: "im Winter eingegangen",
        heading: "GESNERIEN",
        total: "Summe",
        mother: "Mutter:",
        places: ["Fensterbank Süd", "Vitrine"],
    },
    Tongue {
        lang: Language::Fr,
        header: [
            "Plante",
            "Provenance",
            "Date d'achat",
            "Reçu comme",
            "Pot",
            "Emplacement",
            "Remarques",
        ],
        received: [
            ("bouture", "cutting"),
            ("bouture racinée", "rooted_cutting"),
            ("bulbe", "plant"),
            ("rejet", "division"),
        ],
        own: "perso",
        months: ["mars", "sept.", "juin"],
        autumn: "automne",
        sown: "semé",
        dead: "morte en hiver",
        heading: "GESNÉRIACÉES",
        total: "TOTAL",
        mother: "mère :",
        places: ["rebord nord", "vitrine"],
    },
    Tongue {
        lang: Language::Es,
        header: [
            "Planta",
            "Procedencia",
            "Fecha",
            "Recibida como",
            "Maceta",
            "Sitio",
            "Observaciones",
        ],
        received: [
            ("esqueje", "cutting"),
            ("esqueje enraizado", "rooted_cutting"),
            ("bulbo", "plant"),
            ("hijuelo", "division"),
        ],
        own: "propia",
        months: ["marzo de", "sept.", "junio"],
        autumn: "otoño",
        sown: "siembra",
        dead: "se secó",
        heading: "GESNERIÁCEAS",
        total: "TOTAL",
        mother: "madre:",
        places: ["alféizar", "vitrina"],
    },
    Tongue {
        lang: Language::Nl,
        header: ["Naam", "Van wie", "Datum", "Gekregen als", "Potmaat", "Plek", "Opmerking"],
        received: [
            ("stek", "cutting"),
            ("bewortelde stek", "rooted_cutting"),
            ("bol", "plant"),
            ("uitloper", "division"),
        ],
        own: "eigen",
        months: ["maart", "sept.", "juni"],
        autumn: "najaar",
        sown: "gezaaid",
        dead: "doodgegaan",
        heading: "GESNERIACEEËN",
        total: "Totaal",
        mother: "moeder:",
        places: ["raam noord", "vitrine"],
    },
    Tongue {
        lang: Language::Sv,
        header: ["Namn", "Från vem", "När", "Fick som", "Kruka", "Plats", "Anteckningar"],
        received: [
            ("stickling", "cutting"),
            ("rotad stickling", "rooted_cutting"),
            ("lök", "plant"),
            ("sidoskott", "division"),
        ],
        own: "egen",
        months: ["mars", "sept", "juni"],
        autumn: "hösten",
        sown: "sådd",
        dead: "dog i vintras",
        heading: "GESNERIAVÄXTER",
        total: "Summa",
        mother: "mor:",
        places: ["fönster norr", "vitrin"],
    },
];

const QUOTES: [(&str, &str); 8] = [
    ("'", "'"),
    ("‘", "’"),
    ("“", "”"),
    ("„", "“"),
    ("\"", "\""),
    ("`", "`"),
    ("´", "´"),
    ("«", "»"),
];
const GENERA: [&str; 3] = ["Begonia", "begonia", "B."];
const SIGNS: [&str; 3] = [" x ", " × ", " X "];

struct Style {
    quotes: usize,
    genus: usize,
    sign: usize,
    dates: usize,
    order: usize,
    delimiter: char,
    encoding: usize,
    heading: bool,
}

fn row(number: usize, fields: [Value; 6], state: &str) -> Value {
    let [name, source, acquired, received, pot, place] = fields;
    json!({"row": number, "sheet": null, "name": name, "needs_a_person": false, "source": source,
        "acquired": acquired, "acquired_ambiguous": false, "received_as": received,
        "price": null, "pot": pot, "place": place, "state": state,
        "seed_parent": null, "pollen_parent": null})
}

/// Three dates of one day, written in the given style: text and EDTF.
fn dates(t: &Tongue, style: &Style) -> [(String, &'static str); 3] {
    let [march, sept, june] = t.months;
    match style.dates {
        0 => [
            ("2021-03-14".into(), "2021-03-14"),
            ("2022-09-23".into(), "2022-09-23"),
            ("2020-06".into(), "2020-06"),
        ],
        1 => [
            ("14.03.2021".into(), "2021-03-14"),
            ("23.09.2022".into(), "2022-09-23"),
            ("06.2020".into(), "2020-06"),
        ],
        2 => [
            ("14/3/21".into(), "2021-03-14"),
            ("23/9/22".into(), "2022-09-23"),
            ("6/2020".into(), "2020-06"),
        ],
        3 => [
            (format!("14 {march} 2021"), "2021-03-14"),
            (format!("23 {sept} 2022"), "2022-09-23"),
            (format!("{june} 2020"), "2020-06"),
        ],
        _ => [
            (format!("{} 2021", t.autumn), "2021-23"),
            ("2022?".into(), "2022?"),
            ("2019-2020".into(), "2019/2020"),
        ],
    }
}

fn build(t: &Tongue, style: &Style) -> (Vec<u8>, Vec<Value>) {
    let (open, close) = QUOTES[style.quotes];
    let q = |s: &str| format!("{open}{s}{close}");
    let g = GENERA[style.genus];
    let d = dates(t, style);
    let cm = |n: f64| json!({"value": n, "unit": "cm"});
    let mut lines: Vec<[String; 7]> = vec![t.header.map(str::to_owned)];
    let mut truth = Vec::new();
    let mut add =
        |lines: &mut Vec<[String; 7]>, cells: [&str; 7], fields: Option<([Value; 6], &str)>| {
            lines.push(cells.map(str::to_owned));
            if let Some((fields, state)) = fields {
                truth.push(row(lines.len(), fields, state));
            }
        };
    let [p1, p2] = t.places;
    let [r0, r1, r2, r3] = t.received;
    add(
        &mut lines,
        ["Begonia masoniana", "Odile K", &d[0].0, r2.0, "12 cm", p1, ""],
        Some((
            [
                json!("Begonia masoniana"),
                json!("Odile K"),
                json!(d[0].1),
                json!(r2.1),
                cm(12.0),
                json!(p1),
            ],
            "alive",
        )),
    );
    let name = format!("{g} {}", q("Tin Lantern"));
    add(
        &mut lines,
        [&name, "Odile K", &d[1].0, r0.0, "9 cm", p1, ""],
        Some((
            [
                json!("Begonia 'Tin Lantern'"),
                json!("Odile K"),
                json!(d[1].1),
                json!(r0.1),
                cm(9.0),
                json!(p1),
            ],
            "alive",
        )),
    );
    let name = format!("{g} {}", q("Slow Orchard"));
    add(
        &mut lines,
        [&name, "Bastian", &d[2].0, r1.0, "9cm", p2, ""],
        Some((
            [
                json!("Begonia 'Slow Orchard'"),
                json!("Bastian"),
                json!(d[2].1),
                json!(r1.1),
                cm(9.0),
                json!(p2),
            ],
            "alive",
        )),
    );
    if style.heading {
        lines.push([t.heading, "", "", "", "", "", ""].map(str::to_owned));
        lines.push([""; 7].map(str::to_owned));
    }
    let mut add =
        |lines: &mut Vec<[String; 7]>, cells: [&str; 7], fields: [Value; 6], state: &str| {
            lines.push(cells.map(str::to_owned));
            truth.push(row(lines.len(), fields, state));
        };
    add(
        &mut lines,
        ["Kohleria hirsuta", "Bastian", "2018", r3.0, "10 cm", p2, t.dead],
        [
            json!("Kohleria hirsuta"),
            json!("Bastian"),
            json!("2018"),
            json!(r3.1),
            cm(10.0),
            json!(p2),
        ],
        "dead",
    );
    add(
        &mut lines,
        ["Tin Lantern", t.own, &d[0].0, r0.0, "7 cm", p2, ""],
        [
            json!("Begonia 'Tin Lantern'"),
            json!("own"),
            json!(d[0].1),
            json!(r0.1),
            cm(7.0),
            json!(p2),
        ],
        "alive",
    );
    let cross = format!("{}{}{}", q("Tin Lantern"), SIGNS[style.sign], q("Slow Orchard"));
    let sown = format!("{} {}", t.sown, d[1].0);
    let mother = format!("{} Slow Orchard", t.mother);
    if style.dates < 4 {
        add(
            &mut lines,
            [&cross, t.own, &sown, "", "6 cm", p2, &mother],
            [
                json!("Begonia 'Tin Lantern' × Begonia 'Slow Orchard'"),
                json!("own"),
                json!(d[1].1),
                json!("seed"),
                cm(6.0),
                json!(p2),
            ],
            "alive",
        );
        let last = truth.last_mut().expect("just added");
        last["seed_parent"] = json!("Begonia 'Slow Orchard'");
        last["pollen_parent"] = json!("Begonia 'Tin Lantern'");
    }
    lines.push([t.total, "", "", "", "", "", ""].map(str::to_owned));
    (encode(&lines, style), truth)
}

fn encode(lines: &[[String; 7]], style: &Style) -> Vec<u8> {
    let orders = [[0, 1, 2, 3, 4, 5, 6], [5, 0, 4, 3, 2, 1, 6], [2, 1, 0, 6, 3, 4, 5]];
    let mut text = String::new();
    for line in lines {
        let cells: Vec<String> = orders[style.order]
            .iter()
            .map(|i| {
                let cell = &line[*i];
                let quoted = cell.contains([style.delimiter, '"', '\n']);
                if quoted { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.clone() }
            })
            .collect();
        text.push_str(&cells.join(&style.delimiter.to_string()));
        text.push_str("\r\n");
    }
    match style.encoding {
        0 => text.into_bytes(),
        1 => [&[0xEF, 0xBB, 0xBF], text.as_bytes()].concat(),
        2 => {
            [0xFF, 0xFE].into_iter().chain(text.encode_utf16().flat_map(u16::to_le_bytes)).collect()
        }
        _ => encoding_rs::WINDOWS_1252.encode(&text).0.into_owned(),
    }
}

#[test]
fn kinds_of_mess() {
    let mut score = Score::default();
    let mut lists = 0;
    for t in &TONGUES {
        for quotes in 0..QUOTES.len() {
            for dates in 0..5 {
                for genus in 0..GENERA.len() {
                    // The other kinds turn with these, so that all pairs meet.
                    let turn = quotes + dates * 3 + genus * 7;
                    let style = Style {
                        quotes,
                        genus,
                        sign: turn % 3,
                        dates,
                        order: (turn / 2) % 3,
                        delimiter: [',', ';', '\t', '|'][(turn / 3 + quotes) % 4],
                        encoding: (turn + genus) % 4,
                        heading: turn % 2 == 0,
                    };
                    let (bytes, truth) = build(t, &style);
                    let name = format!("{:?} q{quotes} d{dates} g{genus}.csv", t.lang);
                    let read = understand(&bytes, &name, &Options::default()).expect("readable");
                    if read.language != t.lang {
                        score.wrong.push(format!("{name}: language {:?}", read.language));
                    }
                    compare(&name, &truth, &read.to_json(), &mut score);
                    lists += 1;
                }
            }
        }
    }
    assert_eq!(lists, 6 * 8 * 5 * 3);
    println!("{}", score.wrong.iter().take(60).cloned().collect::<Vec<_>>().join("\n"));
    println!("{}", score.table());
    crate::measure::assert_aims_without_tags(&score);
    assert!(FIELDS.iter().all(|f| score.right.contains_key(*f)));
}

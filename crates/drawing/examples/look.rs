//! Writes a page with every drawing in easy and hard cases, to be looked at in a browser:
//! `cargo run -p drawing --example look -- path/to/umbel.css > look.html`.

use drawing::*;

const TODAY: i64 = 20_413;
const AUTUMN_2022: i64 = 19_258;

fn words<'a>(start: &'a str, whole_life: &'a str) -> EvidenceWords<'a> {
    EvidenceWords {
        start,
        whole_life,
        today: "today",
        quarters: ["April", "July", "October"],
        gap: &|n| format!("no record, {n} months"),
        gap_short: &|n| format!("{n} months"),
    }
}

fn line(out: &mut String, title: &str, start: i64, label: &str, marks: &[Mark]) {
    let whole = format!("whole life, from {label}");
    let words = words(label, &whole);
    let svg =
        evidence_line(&EvidenceLine { start, today: TODAY, marks, aria: title, words: &words });
    out.push_str(&format!(
        r#"<section class="answer row"><div><p class="say">{title}</p>{svg}</div></section>"#
    ));
}

fn at(day: i64, seen: Seen) -> Mark {
    Mark::At { day, seen }
}

fn evidence(out: &mut String) {
    use Seen::*;
    let week = |from: i64, seen| Mark::Between { from, to: from + 7, seen };
    line(out, "Nothing recorded", AUTUMN_2022, "autumn 2022", &[]);
    let checks = [0, 38, 77, 112, 150, 218, 254].map(|d| week(TODAY - 262 + d, AtTheTime));
    line(out, "Two scales", AUTUMN_2022, "autumn 2022", &checks);
    let mut mixed =
        vec![at(TODAY - 169, FromPhoto), week(TODAY - 152, AtTheTime), week(TODAY - 120, Told)];
    mixed.extend([
        week(TODAY - 100, Remembered),
        week(TODAY - 60, FromPhoto),
        at(TODAY - 40, AtTheTime),
        at(TODAY - 30, Told),
    ]);
    mixed.push(Mark::Open { from: TODAY - 10, to: TODAY - 1, seen: AtTheTime });
    mixed.extend([
        at(TODAY - 500, Remembered),
        Mark::Borrowed { day: TODAY - 200 },
        Mark::Missing { count: 2 },
    ]);
    line(out, "Two scales, all kinds", AUTUMN_2022, "autumn 2022", &mixed);
    let grown = [346, 386, 538, 573, 600, 628, 662, 716, 895, 930, 964, 1019, 1060, 1115]
        .map(|d| at(AUTUMN_2022 + d, if d % 3 == 0 { FromPhoto } else { AtTheTime }));
    line(out, "One scale, gaps", AUTUMN_2022, "autumn 2022", &grown);
    let buds = [
        Mark::Between { from: 19_843, to: 19_873, seen: Remembered },
        at(20_230, AtTheTime),
        Mark::Missing { count: 2 },
    ];
    line(out, "Not enough yet", AUTUMN_2022, "autumn 2022", &buds);
    let crowd: Vec<Mark> = (0..600)
        .map(|i| {
            at(AUTUMN_2022 + 40 + i * 7 % 1100, if i % 5 == 0 { Remembered } else { AtTheTime })
        })
        .collect();
    line(out, "Six hundred records", AUTUMN_2022, "autumn 2022", &crowd);
    let looks: Vec<Mark> = (0..150).map(|i| week(AUTUMN_2022 + i * 7, AtTheTime)).collect();
    line(out, "A look every week", AUTUMN_2022, "autumn 2022", &looks);
    line(
        out,
        "Forty years",
        TODAY - 14_600,
        "about 1985",
        &[at(TODAY - 9_000, Told), at(TODAY - 3_000, Remembered), at(TODAY - 100, AtTheTime)],
    );
    line(
        out,
        "Three weeks",
        TODAY - 21,
        "31 October 2025",
        &[at(TODAY - 20, AtTheTime), at(TODAY, AtTheTime)],
    );
    line(
        out,
        "Fourteen months",
        TODAY - 430,
        "17 September 2024",
        &[at(TODAY - 400, AtTheTime), at(TODAY - 100, FromPhoto)],
    );
}

fn known(label: Label) -> Tree {
    Tree::leaf(Who::Known(label.linking("/plants/12")))
}

fn unknown() -> Tree {
    Tree::leaf(Who::Unknown(Label::roman("not recorded")))
}

fn species(name: &str) -> Tree {
    known(Label::italic(name))
}

fn cultivar(name: &str, a: Tree, b: Tree) -> Tree {
    Tree::cross(Label::roman(format!("‘{name}’")).linking("/plants/7"), a, b)
}

fn full(generations: usize, long: bool) -> Tree {
    let name = if long {
        "Streptocarpus ‘Evening over the Long Causeway’"
    } else {
        "‘Low Lantern’"
    };
    if generations == 0 {
        return if long {
            known(
                Label::italic("Streptocarpus parviflorus")
                    .then_roman(" subsp. ")
                    .then_italic("soutpansbergensis"),
            )
        } else {
            species("A. radicans")
        };
    }
    Tree::cross(Label::roman(name), full(generations - 1, long), full(generations - 1, long))
}

fn charts(out: &mut String) {
    let marl = cultivar(
        "Marl Evening",
        Tree::cross(Label::default(), species("A. radicans"), species("A. longicaulis")),
        unknown(),
    );
    let mockup = cultivar(
        "Tally Ember",
        cultivar("Low Lantern", species("A. speciosus"), species("A. radicans")),
        marl.clone(),
    );
    let one_of = Tree::leaf(Who::OneOf(Label::roman("‘Grey Ferry’ or ‘Pewter Vesper’")));
    let mut behind = known(Label::roman("‘Fen Candle’"));
    behind.behind = 12;
    let deep = (0..5).fold(species("B. boliviensis"), |t, i| {
        cultivar(
            ["Ash Lane", "Tin Weir", "Cold Harbour Lamp", "Ember Dyke", "Sallow Gate"][i],
            t,
            if i % 2 == 0 { unknown() } else { species("B. pearcei") },
        )
    });
    for (title, tree) in [
        ("As drawn by hand", mockup),
        ("One generation", cultivar("x", species("B. rex"), unknown())),
        ("One of several, left out behind", cultivar("x", one_of, behind)),
        (
            "Both unknown but the seed parent named",
            cultivar("x", cultivar("Low Lantern", unknown(), unknown()), unknown()),
        ),
        ("Two full", full(2, false)),
        ("Two full, long names", full(2, true)),
        ("Three full", full(3, false)),
        ("Back-crosses, five generations", deep),
        ("Four full", full(4, false)),
        ("Five full, long names", full(5, true)),
        (
            "Seven, cut at five",
            (0..7).fold(species("B. boliviensis"), |t, _| cultivar("Ash Lane", marl.clone(), t)),
        ),
    ] {
        let words = ChartWords {
            seed_parent: "seed parent",
            pollen_parent: "pollen parent",
            behind: &|n| format!("… and {n} more behind"),
            aria: title,
        };
        out.push_str(&format!(r#"<section class="sect"><h2>{title}</h2><div class="row"><div>{}</div></div></section>"#, parentage_charts(&tree, &words)));
    }
}

fn survival(out: &mut String) {
    let rows = [
        (3.0, 0.9, 0.7, 0.97),
        (5.0, 0.8, 0.58, 0.92),
        (8.0, 0.6, 0.39, 0.78),
        (9.0, 0.4, 0.2, 0.6),
        (10.0, 0.2, 0.06, 0.4),
    ];
    let points: Vec<SurvivalPoint> = rows
        .map(|(time, survival, l, u)| SurvivalPoint {
            time,
            survival,
            lower: Some(l),
            upper: Some(u),
        })
        .into();
    let chart =
        SurvivalChart { points: &points, still_open: &[4.0, 11.0], median: Some(9.0), last: 13.0 };
    let words = SurvivalWords {
        axis: "days since opening",
        all: "all",
        half: "half",
        none: "none",
        curve: "flowers still open",
        band: "80% interval",
        median: Some("half are over by day 9"),
        aria: "curve",
    };
    for size in [Size::Wide, Size::Narrow] {
        out.push_str(&survival_chart(&chart, &words, size));
    }
    out.push_str(&survival_table(
        &chart,
        "Flowers still open",
        ["Day", "Still open", "at least", "at most"],
        &|p| format!("{:.0}%", 100.0 * p),
    ));
}

fn main() {
    let css = std::env::args().nth(1).unwrap_or_else(|| "umbel.css".to_owned());
    let mut out = format!(
        r#"<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>Drawings</title><link rel="stylesheet" href="{css}"><main>"#
    );
    let seen = [
        (Seen::AtTheTime, "seen at the time"),
        (Seen::Remembered, "remembered later"),
        (Seen::FromPhoto, "from a photo"),
        (Seen::Told, "told by somebody else"),
    ];
    let mut kinds: Vec<(KnownKind, &str)> = seen.map(|(s, w)| (KnownKind::Day(s), w)).into();
    kinds.extend([
        (KnownKind::Between, "between two looks"),
        (KnownKind::Open, "still open"),
        (KnownKind::Borrowed, "borrowed"),
        (KnownKind::Missing, "missing"),
    ]);
    out.push_str(&known_line(&kinds));
    evidence(&mut out);
    charts(&mut out);
    let rows = [
        ("A. radicans", "3/8", 0.375, false),
        ("A. speciosus", "1/4", 0.25, false),
        ("A. longicaulis", "1/8", 0.125, false),
    ];
    let mut shares: Vec<ShareRow> = rows
        .map(|(n, f, share, unknown)| ShareRow {
            label: Label::italic(n),
            fraction: f.into(),
            share,
            unknown,
        })
        .into();
    shares.push(ShareRow {
        label: Label::roman("not recorded"),
        fraction: "1/4".into(),
        share: 0.25,
        unknown: true,
    });
    out.push_str(&format!(
        r#"<section class="sect"><div class="row"><div></div><div>{}</div></div></section>"#,
        shares_table("Shares, if each parent gave half", &shares)
    ));
    survival(&mut out);
    println!("{out}</main></html>");
}

//! From a pest's name as typed to what is known of it.

use culture::heat::{Stage, stage};

/// A species that a name may mean, with its stages in the table of heat sums.
#[derive(Debug, PartialEq)]
pub struct Suspect {
    /// Its name in the table.
    pub latin: &'static str,
    /// What is one generation: the fastest and slowest of several sources.
    pub generation: &'static [&'static str],
    /// Stages that a contact treatment spares; empty where none is published.
    pub spared: &'static [&'static str],
    /// Stages in a row in which what comes out of them can be hit, before it multiplies.
    pub exposed: &'static [&'static str],
}

impl Suspect {
    /// Its stages of these names.
    pub(crate) fn stages(&self, names: &[&str]) -> Vec<&'static Stage> {
        names.iter().filter_map(|n| stage(self.latin, n)).collect()
    }
}

const fn only_generation(latin: &'static str, generation: &'static [&'static str]) -> Suspect {
    Suspect { latin, generation, spared: &[], exposed: &[] }
}

static CITRUS_MEALYBUG: Suspect = Suspect {
    latin: "Planococcus citri",
    generation: &["egg to adult"],
    spared: &["egg"],
    exposed: &["nymph", "adult to first eggs"],
};
static LONGTAILED_MEALYBUG: Suspect = Suspect {
    latin: "Pseudococcus longispinus",
    generation: &["nymph"],
    spared: &[],
    exposed: &["nymph"],
};
static PAPAYA_MEALYBUG: Suspect = only_generation("Paracoccus marginatus", &["egg to adult"]);
static TWO_SPOTTED_MITE: Suspect = Suspect {
    latin: "Tetranychus urticae",
    generation: &["generation"],
    spared: &["egg"],
    exposed: &["larva", "protonymph", "deutonymph"],
};
static FLOWER_THRIPS: Suspect = Suspect {
    latin: "Frankliniella occidentalis",
    generation: &["egg to adult", "egg to adult, second source"],
    spared: &["egg", "pupa"],
    exposed: &["larva"],
};
static MELON_THRIPS: Suspect = only_generation("Thrips palmi", &["egg to adult"]);
static SHORE_FLY: Suspect = only_generation("Scatella stagnalis", &["egg to adult"]);
static GNAT: Suspect = only_generation("Scatopsciara", &["egg to adult"]);
static HEMISPHERICAL_SCALE: Suspect = only_generation("Saissetia coffeae", &["egg to adult"]);
static PEACH_APHID: Suspect = only_generation("Myzus persicae", &["birth to adult"]);
static WHITEFLY: Suspect = only_generation("Trialeurodes vaporariorum", &["egg to adult"]);

/// What kind of trouble it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nature {
    /// An animal that develops with heat.
    Animal,
    /// A fungus or bacterium: looks find it, heat sums do not apply.
    Rot,
    /// A virus: looks find next to nothing.
    Virus,
}

/// What a typed name means.
#[derive(Debug, PartialEq)]
pub struct Pest {
    /// What it is called, in words of the catalogue; empty when the name is not known.
    pub words: &'static str,
    /// Names, in the form of [`simple`], English, German and Latin.
    names: &'static [&'static str],
    /// Which species it may be.
    pub suspects: &'static [&'static Suspect],
    /// Whether these stand in for a species of which no heat sum is in the table.
    pub stand_in: bool,
    /// Whether it flies.
    pub flies: bool,
    /// Whether it lives on roots.
    pub roots: bool,
    /// What it is.
    pub nature: Nature,
}

const ANIMAL: Pest = Pest {
    words: "",
    names: &[],
    suspects: &[],
    stand_in: false,
    flies: false,
    roots: false,
    nature: Nature::Animal,
};

/// Common in houses, for newcomers and for names that are not known.
static ALL: &[&Suspect] = &[
    &CITRUS_MEALYBUG,
    &LONGTAILED_MEALYBUG,
    &TWO_SPOTTED_MITE,
    &FLOWER_THRIPS,
    &GNAT,
    &HEMISPHERICAL_SCALE,
    &PEACH_APHID,
    &WHITEFLY,
];

/// What a newcomer is watched for: the slow mealybug, mites and thrips (common practice).
pub(crate) static NEWCOMER: Pest =
    Pest { suspects: &[&CITRUS_MEALYBUG, &TWO_SPOTTED_MITE, &FLOWER_THRIPS], ..ANIMAL };

static UNKNOWN: Pest = Pest { suspects: ALL, stand_in: true, ..ANIMAL };

/// The table, the narrower name before the wider.
static PESTS: [Pest; 21] = [
    Pest {
        words: "root mealybug",
        names: &[
            "root mealybug",
            "root mealy bug",
            "root mealybugs",
            "wurzellaus",
            "wurzellaeuse",
            "wurzelschmierlaus",
            "wurzelwolllaus",
            "rhizoecus",
            "ripersiella",
        ],
        suspects: &[&CITRUS_MEALYBUG, &LONGTAILED_MEALYBUG],
        stand_in: true,
        roots: true,
        ..ANIMAL
    },
    Pest {
        words: "citrus mealybug",
        names: &[
            "citrus mealybug",
            "citrus mealy bug",
            "planococcus citri",
            "planococcus",
            "zitrusschmierlaus",
        ],
        suspects: &[&CITRUS_MEALYBUG],
        ..ANIMAL
    },
    Pest {
        words: "long-tailed mealybug",
        names: &[
            "longtailed mealybug",
            "long tailed mealybug",
            "long tailed mealy bug",
            "pseudococcus longispinus",
            "pseudococcus",
            "langschwaenzige schmierlaus",
        ],
        suspects: &[&LONGTAILED_MEALYBUG],
        ..ANIMAL
    },
    Pest {
        words: "papaya mealybug",
        names: &["papaya mealybug", "paracoccus marginatus", "paracoccus"],
        suspects: &[&PAPAYA_MEALYBUG],
        ..ANIMAL
    },
    Pest {
        words: "mealybug",
        names: &[
            "mealybug",
            "mealybugs",
            "mealy bug",
            "mealy bugs",
            "mealies",
            "wolllaus",
            "wollaus",
            "wolllaeuse",
            "wollaeuse",
            "schmierlaus",
            "schmierlaeuse",
        ],
        suspects: &[&CITRUS_MEALYBUG, &LONGTAILED_MEALYBUG],
        ..ANIMAL
    },
    Pest {
        words: "cyclamen or broad mite",
        names: &[
            "cyclamen mite",
            "broad mite",
            "tarsonemid",
            "weichhautmilbe",
            "weichhautmilben",
            "phytonemus pallidus",
            "polyphagotarsonemus latus",
            "flat mite",
            "brevipalpus",
        ],
        suspects: &[&TWO_SPOTTED_MITE],
        stand_in: true,
        ..ANIMAL
    },
    Pest {
        words: "spider mite",
        names: &[
            "spider mite",
            "spider mites",
            "red spider",
            "red spider mite",
            "two spotted mite",
            "spinnmilbe",
            "spinnmilben",
            "rote spinne",
            "bohnenspinnmilbe",
            "tetranychus urticae",
            "tetranychus",
            "mite",
            "mites",
            "milben",
        ],
        suspects: &[&TWO_SPOTTED_MITE],
        ..ANIMAL
    },
    Pest {
        words: "melon thrips",
        names: &["melon thrips", "thrips palmi"],
        suspects: &[&MELON_THRIPS],
        flies: true,
        ..ANIMAL
    },
    Pest {
        words: "western flower thrips",
        names: &[
            "western flower thrips",
            "flower thrips",
            "wft",
            "frankliniella occidentalis",
            "frankliniella",
            "kalifornischer bluetenthrips",
        ],
        suspects: &[&FLOWER_THRIPS],
        flies: true,
        ..ANIMAL
    },
    Pest {
        words: "thrips",
        names: &["thrips", "thrip", "thripse", "fransenfluegler"],
        suspects: &[&FLOWER_THRIPS, &MELON_THRIPS],
        flies: true,
        ..ANIMAL
    },
    Pest {
        words: "shore fly",
        names: &["shore fly", "shore flies", "sumpffliege", "sumpffliegen", "scatella"],
        suspects: &[&SHORE_FLY],
        flies: true,
        ..ANIMAL
    },
    Pest {
        words: "fungus gnat",
        names: &[
            "fungus gnat",
            "fungus gnats",
            "sciarid",
            "sciarid fly",
            "gnats",
            "trauermuecke",
            "trauermuecken",
            "bradysia",
            "sciara",
        ],
        suspects: &[&GNAT],
        stand_in: true,
        flies: true,
        ..ANIMAL
    },
    Pest {
        words: "hemispherical scale",
        names: &[
            "hemispherical scale",
            "brown scale",
            "saissetia coffeae",
            "saissetia",
            "halbkugelige napfschildlaus",
        ],
        suspects: &[&HEMISPHERICAL_SCALE],
        ..ANIMAL
    },
    Pest {
        words: "scale",
        names: &[
            "soft scale",
            "brown soft scale",
            "scale",
            "scale insect",
            "scale insects",
            "scales",
            "coccus hesperidum",
            "schildlaus",
            "schildlaeuse",
            "napfschildlaus",
            "deckelschildlaus",
        ],
        suspects: &[&HEMISPHERICAL_SCALE],
        stand_in: true,
        ..ANIMAL
    },
    Pest {
        words: "aphid",
        names: &[
            "aphid",
            "aphids",
            "greenfly",
            "blackfly",
            "blattlaus",
            "blattlaeuse",
            "myzus persicae",
            "myzus",
            "aphis",
        ],
        suspects: &[&PEACH_APHID],
        flies: true,
        ..ANIMAL
    },
    Pest {
        words: "whitefly",
        names: &[
            "whitefly",
            "whiteflies",
            "white fly",
            "weisse fliege",
            "weisse fliegen",
            "mottenschildlaus",
            "trialeurodes",
        ],
        suspects: &[&WHITEFLY],
        flies: true,
        ..ANIMAL
    },
    Pest {
        words: "virus",
        names: &[
            "virus",
            "viruses",
            "virosis",
            "viren",
            "virose",
            "mosaic",
            "mosaik",
            "ringspot",
            "ringflecken",
            "insv",
            "tswv",
            "cmv",
            "tmv",
            "odontoglossum ringspot",
        ],
        nature: Nature::Virus,
        ..ANIMAL
    },
    Pest {
        words: "powdery mildew",
        names: &["powdery mildew", "mildew", "echter mehltau", "mehltau"],
        nature: Nature::Rot,
        ..ANIMAL
    },
    Pest {
        words: "grey mould",
        names: &["grey mould", "gray mold", "botrytis", "grauschimmel"],
        nature: Nature::Rot,
        ..ANIMAL
    },
    Pest {
        words: "leaf spot",
        names: &["leaf spot", "blattflecken", "bacterial spot", "xanthomonas", "bakterienflecken"],
        nature: Nature::Rot,
        ..ANIMAL
    },
    Pest {
        words: "rot",
        names: &[
            "rot",
            "root rot",
            "stem rot",
            "faeule",
            "wurzelfaeule",
            "stammfaeule",
            "pythium",
            "phytophthora",
        ],
        nature: Nature::Rot,
        ..ANIMAL
    },
];

/// Words in small letters with single spaces, ä as ae, without accents that matter.
pub(crate) fn simple(typed: &str) -> String {
    let mut out = String::new();
    for c in typed.trim().to_lowercase().chars() {
        match c {
            'ä' => out.push_str("ae"),
            'ö' => out.push_str("oe"),
            'ü' => out.push_str("ue"),
            'ß' => out.push_str("ss"),
            c if c.is_alphanumeric() => out.push(c),
            _ if out.ends_with(' ') || out.is_empty() => {}
            _ => out.push(' '),
        }
    }
    out.trim_end().to_owned()
}

/// The pest that a typed name means: exactly, as whole words in it, or but for a slip of the
/// finger (one letter from five on, two from nine on). Otherwise unknown, with the fastest and
/// slowest of what is common.
#[must_use]
pub fn read(typed: &str) -> &'static Pest {
    let text = simple(typed);
    let exact = PESTS.iter().find(|p| p.names.contains(&text.as_str()));
    let padded = format!(" {text} ");
    let inside =
        || PESTS.iter().find(|p| p.names.iter().any(|n| padded.contains(&format!(" {n} "))));
    let slip = || {
        PESTS.iter().find(|p| {
            p.names.iter().any(|n| {
                let allowed = match n.chars().count() {
                    0..=4 => 0,
                    5..=8 => 1,
                    _ => 2,
                };
                allowed > 0 && distance(&text, n) <= allowed
            })
        })
    };
    exact.or_else(inside).or_else(slip).unwrap_or(&UNKNOWN)
}

/// Letters put in, left out or changed.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let change = corner + usize::from(x != *y);
            corner = row[j + 1];
            row[j + 1] = change.min(corner + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

/// Under which key finds of one pest belong together: a narrower name and the wider one are one
/// population where they stand together.
#[must_use]
pub fn population(typed: &str) -> String {
    let pest = read(typed);
    match pest.words {
        "" => simple(typed),
        "citrus mealybug" | "long-tailed mealybug" | "papaya mealybug" => "mealybug".to_owned(),
        "melon thrips" | "western flower thrips" => "thrips".to_owned(),
        "hemispherical scale" => "scale".to_owned(),
        words => words.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_read_in_two_languages_and_with_slips() {
        for (typed, words) in [
            ("mealybug", "mealybug"),
            ("Mealy bugs on the undersides", "mealybug"),
            ("mealeybug", "mealybug"),
            ("Wolläuse", "mealybug"),
            ("Wollläuse", "mealybug"),
            ("Schmierlaus", "mealybug"),
            ("Planococcus citri", "citrus mealybug"),
            ("planoccocus citri", "citrus mealybug"),
            ("root mealybugs", "root mealybug"),
            ("thrip", "thrips"),
            ("Thripse", "thrips"),
            ("red spider mite", "spider mite"),
            ("Rote Spinne", "spider mite"),
            ("cyclamen mite", "cyclamen or broad mite"),
            ("fungus gnats", "fungus gnat"),
            ("Trauermücken", "fungus gnat"),
            ("soft scale", "scale"),
            ("Weiße Fliege", "whitefly"),
            ("INSV", "virus"),
            ("Echter Mehltau", "powdery mildew"),
            ("white fluff", ""),
            ("mice", ""),
        ] {
            assert_eq!(read(typed).words, words, "{typed}");
        }
        assert_eq!(population("Planococcus citri"), population("Wollläuse"));
        assert_eq!(population("White  fluff"), "white fluff");
    }

    #[test]
    fn every_stage_named_here_is_in_the_table() {
        for pest in PESTS.iter().chain([&NEWCOMER, &UNKNOWN]) {
            for s in pest.suspects {
                for names in [s.generation, s.spared, s.exposed] {
                    assert_eq!(s.stages(names).len(), names.len(), "{}", s.latin);
                }
                assert!(!s.generation.is_empty());
            }
            assert_eq!(pest.suspects.is_empty(), pest.nature != Nature::Animal, "{}", pest.words);
        }
    }
}

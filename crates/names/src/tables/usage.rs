//! Usage around names: common names, authors' small words, nothogenera that were given up.

/// Common names that are clear enough to stand for a genus or species before a cultivar epithet.
pub(crate) const COMMON_NAMES: &[&str] = &[
    "apple",
    "pear",
    "quince",
    "plum",
    "cherry",
    "peach",
    "nectarine",
    "apricot",
    "almond",
    "grape",
    "strawberry",
    "raspberry",
    "blackberry",
    "gooseberry",
    "blueberry",
    "cranberry",
    "blackcurrant",
    "redcurrant",
    "tomato",
    "potato",
    "sweet potato",
    "aubergine",
    "pepper",
    "chilli",
    "cucumber",
    "melon",
    "watermelon",
    "pumpkin",
    "courgette",
    "lettuce",
    "cabbage",
    "cauliflower",
    "broccoli",
    "carrot",
    "parsnip",
    "beetroot",
    "sugar beet",
    "radish",
    "turnip",
    "swede",
    "onion",
    "leek",
    "garlic",
    "pea",
    "sweet pea",
    "runner bean",
    "broad bean",
    "French bean",
    "soybean",
    "barley",
    "wheat",
    "oat",
    "rye",
    "rice",
    "maize",
    "sweet corn",
    "cotton",
    "flax",
    "sunflower",
    "tobacco",
    "banana",
    "mango",
    "avocado",
    "olive",
    "fig",
    "pomegranate",
    "lemon",
    "grapefruit",
    "mandarin",
    "walnut",
    "hazelnut",
    "African violet",
    "rhubarb",
    "asparagus pea",
    "celery",
    "spinach",
    "pineapple",
    "papaya",
    "coffee",
    "tea",
    "cocoa",
    "hop",
];

/// Words that begin with a small letter inside an author citation.
pub(crate) const AUTHOR_SMALL: &[&str] = &[
    "ex", "in", "et", "and", "&", "f.", "fil.", "fil", "hort.", "al.", "de", "van", "von", "der",
    "den", "da", "du", "des", "la", "le", "del", "di", "dos", "do", "zu", "zur", "bis", "ter",
    "ten", "'t", "’t", "den", "und", "y", "e", "st.", "pro", "emend.", "corr.",
];

/// Particles before a family name, capital or small.
pub(crate) const PARTICLES: &[&str] = &[
    "de", "van", "von", "der", "den", "da", "du", "la", "le", "del", "di", "dos", "do", "zu",
    "ter", "ten", "mac", "st", "'t", "’t", "los", "las", "dello", "della",
];

/// Nothogenera formed from a parental name that is not the accepted one, and what takes their place.
/// The first was read; the others are from memory.
pub(crate) const GIVEN_UP_NOTHOGENERA: &[(&str, &str)] = &[
    ("Crindonna", "×Amarcrinum"),
    ("Gaulnettya", "Gaultheria (Pernettya is included in it)"),
    ("Ledodendron", "Rhododendron (Ledum is included in it)"),
    ("Azaleodendron", "Rhododendron (Azalea is included in it)"),
];

/// Terms of plant morphology that cannot be the name of a genus since 1912.
pub(crate) const MORPHOLOGY: &[&str] = &[
    "Radix",
    "Caulis",
    "Folium",
    "Flos",
    "Fructus",
    "Semen",
    "Spina",
    "Bulbus",
    "Tuber",
    "Stirps",
    "Petalum",
    "Sepalum",
    "Stamen",
    "Pistillum",
    "Lanceolatus",
    "Cortex",
    "Gemma",
    "Corolla",
];

/// Final epithets that claim to be the type (ICN 24.3).
pub(crate) const TYPE_CLAIMS: &[&str] =
    &["typic", "originalis", "originale", "originari", "genuin", "ver", "veridic"];

/// Marks of rights and awards that are no part of a name (lower case, no brackets).
pub(crate) const MARK_WORDS: &[&str] =
    &["pbr", "agm", "ppaf", "p.p.a.f.", "pvr", "pp", "uspp", "tm", "cpvo", "cpbr", "epbr"];

/// Linnaeus' symbols inside epithets, with the genitive they stand for.
pub(crate) const SYMBOLS: &[(char, &str)] = &[
    ('♀', "veneris"),
    ('♂', "martis"),
    ('☿', "mercurii"),
    ('♃', "jovis"),
    ('☽', "lunae"),
    ('☉', "solis"),
    ('▽', "aquatica"),
    ('∇', "aquatica"),
];

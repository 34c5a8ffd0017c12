//! The declarations.

use super::{EntryKind, FieldSpec, FieldType};
use crate::{
    Dimension,
    SubjectKind::{
        Batch, Clone as CloneKind, Cross, Keeper, Part, Place, Plant, PollenLot, Pollination,
    },
};
use FieldType::{Choice, Count, Flag, Mix, Money, Number, Quantity, Subject, Subjects, Words};

const fn may(key: &'static str, holds: FieldType) -> FieldSpec {
    FieldSpec { key, holds, needed: false }
}

const fn must(key: &'static str, holds: FieldType) -> FieldSpec {
    FieldSpec { key, holds, needed: true }
}

const fn kind(
    key: &'static str,
    about: &'static [crate::SubjectKind],
    fields: &'static [FieldSpec],
) -> EntryKind {
    EntryKind { key, about, fields, ends: false }
}

const fn ending(
    key: &'static str,
    about: &'static [crate::SubjectKind],
    fields: &'static [FieldSpec],
) -> EntryKind {
    EntryKind { key, about, fields, ends: true }
}

/// What a plant can come as.
const RECEIVED_AS: FieldType =
    Choice(&["cutting", "rooted_cutting", "plant", "seed", "seedling", "division"]);

/// How something was treated: what predators, traps and granules do not touch at once is not a
/// contact treatment.
const TREATED_HOW: FieldType =
    Choice(&["sprayed", "poured", "dipped", "wiped", "washed", "granules", "predators", "traps"]);

/// What a damaged leaf looks like.
const DAMAGE: FieldType = Choice(&[
    "spots",
    "burnt_edge",
    "scorched",
    "distorted",
    "yellowed",
    "holes",
    "dropped",
    "other",
]);

const PARTS: FieldType =
    Choice(&["stem", "peduncle", "umbel", "flower", "pod", "leaf", "tip", "root"]);

/// How far the roots fill the pot.
const ROOTS: FieldType = Choice(&["none", "few", "at_wall", "circling"]);

/// Every kind of entry, in the order in which they are offered.
pub const KINDS: &[EntryKind] = &[
    kind(
        "arrived",
        &[Plant, Batch, PollenLot],
        &[
            may("from", Subject(&[Keeper])),
            may("received_as", RECEIVED_AS),
            may("price", Money),
            may("swapped_for", Words),
            may("free", Flag),
            may("own", Flag),
            may("piece_of", Subject(&[Plant, CloneKind])),
            may("passport", Words),
        ],
    ),
    kind("placed", &[Plant, Batch], &[must("place", Subject(&[Place])), may("spot", Words)]),
    kind(
        "potted",
        &[Plant, Batch],
        &[
            may("pot", Quantity(Dimension::Pot)),
            may("container", Choice(&["pot", "basket", "tray", "mount", "jar", "glass"])),
            may("material", Choice(&["plastic", "terracotta", "glazed", "glass", "net", "wood"])),
            may("mix", Mix),
            may("why", Words),
            may("roots", ROOTS),
            may("rotten", Flag),
        ],
    ),
    kind(
        "watered",
        &[Plant, Batch, Place],
        &[
            may("amount", Quantity(Dimension::Volume)),
            may("water", Choice(&["rain", "tap", "osmosis", "distilled", "mixed", "melted"])),
            may("found", Choice(&["bone_dry", "dry", "moist", "wet"])),
            may("feed", Words),
            may("feed_rate", Words),
            may("conductivity", Quantity(Dimension::Conductivity)),
            may("weight_after", Quantity(Dimension::Mass)),
            may("drained", Quantity(Dimension::Volume)),
            may("drain_conductivity", Quantity(Dimension::Conductivity)),
            may("limp", Flag),
            may("round", Flag),
        ],
    ),
    kind(
        "checked",
        &[Plant, Batch],
        &[
            must("found", Choice(&["bone_dry", "dry", "moist", "wet"])),
            may("limp", Flag),
            may("round", Flag),
        ],
    ),
    kind("checked_roots", &[Plant, Batch], &[must("roots", ROOTS), may("rotten", Flag)]),
    kind("weighed", &[Plant, Batch], &[must("weight", Quantity(Dimension::Mass))]),
    kind(
        "reservoir",
        &[Plant, Batch, Place],
        &[
            may("found", Choice(&["empty", "water"])),
            may("level", Quantity(Dimension::Length)),
            may("filled", Flag),
            may("conductivity", Quantity(Dimension::Conductivity)),
        ],
    ),
    kind(
        "measured",
        &[Plant, Part, Batch, CloneKind],
        &[
            must("what", Words),
            may("length", Quantity(Dimension::Length)),
            may("value", Number(-1e9, 1e9)),
            may("unit", Words),
            may("count", Count),
        ],
    ),
    kind(
        "reading",
        &[Place, Plant],
        &[
            may("temperature", Quantity(Dimension::Temperature)),
            may("humidity", Quantity(Dimension::Percent)),
            may("illuminance", Quantity(Dimension::Illuminance)),
            may("photon_flux", Quantity(Dimension::PhotonFlux)),
            may("conductivity", Quantity(Dimension::Conductivity)),
            may("at", Words),
            may("spot", Words),
            may("by", Choice(&["lamps", "daylight", "both"])),
        ],
    ),
    kind(
        "logger_read",
        &[Place],
        &[
            must("logger", Words),
            must("file", Words),
            must("readings", Count),
            may("refused", Count),
        ],
    ),
    kind("bud_seen", &[Plant, Part], &[may("part", PARTS), may("count", Count)]),
    kind("opened", &[Plant, Part], &[may("part", PARTS), may("count", Count)]),
    kind("still_open", &[Plant, Part], &[may("part", PARTS), may("count", Count)]),
    kind(
        "ended",
        &[Plant, Part],
        &[
            may("part", PARTS),
            may("how", Choice(&["faded", "dropped", "cut", "broken", "other"])),
            may("open_until", Words),
        ],
    ),
    kind(
        "cuttings_taken",
        &[Plant],
        &[
            must("count", Count),
            may("part", PARTS),
            may("medium", Words),
            may("method", Words),
            may("batch", Subject(&[Batch])),
        ],
    ),
    kind(
        "rooted",
        &[Plant, Batch],
        &[may("rooted", Count), may("not_yet", Count), may("dead", Count)],
    ),
    kind(
        "pollinated",
        &[Pollination, Plant, Part],
        &[
            may("pollen_of", Subject(&[CloneKind, Plant])),
            may("pollen_one_of", Subjects(&[CloneKind, Plant])),
            may("pollen", Choice(&["known", "one_of", "open", "self", "unknown"])),
            may("flowers", Count),
            may("flower", Words),
            may("pollen_age", Quantity(Dimension::Time)),
            may("pollen_lot", Subject(&[PollenLot])),
            may("method", Words),
            may("emasculated", Flag),
            may("own_pollen", Flag),
            may("cross", Subject(&[Cross])),
        ],
    ),
    kind(
        "pod_seen",
        &[Pollination, Plant, Part],
        &[may("count", Count), may("length", Quantity(Dimension::Length))],
    ),
    kind("pod_ripe", &[Pollination, Plant, Part], &[may("count", Count)]),
    kind("pod_lost", &[Pollination, Plant, Part], &[may("count", Count), may("why", Words)]),
    kind(
        "seeds_counted",
        &[Pollination, Plant, Part, Batch],
        &[may("full", Count), may("empty", Count), may("guess", Flag)],
    ),
    kind(
        "sown",
        &[Batch, Pollination, Cross],
        &[
            may("count", Count),
            may("medium", Words),
            may("method", Words),
            may("warmth", Quantity(Dimension::Temperature)),
        ],
    ),
    kind("germinated", &[Batch], &[must("so_far", Count)]),
    kind("pricked_out", &[Batch, Plant], &[may("count", Count), may("left", Count)]),
    kind(
        "scored",
        &[Plant, CloneKind, Part, Batch],
        &[
            must("trait", Words),
            may("score", Number(0.0, 100.0)),
            may("state", Words),
            may("stage", Words),
        ],
    ),
    kind(
        "pest_seen",
        &[Plant, Part, Place, Batch],
        &[
            must("pest", Words),
            may("how_many", Choice(&["one", "few", "many"])),
            may("where", Words),
        ],
    ),
    kind(
        "clean",
        &[Plant, Place, Batch],
        &[may("looked_for", Words), may("how", Choice(&["naked_eye", "lens", "unpotted"]))],
    ),
    kind(
        "treated",
        &[Plant, Place, Batch],
        &[
            may("product", Words),
            may("unknown_product", Flag),
            may("label_group", Words),
            may("against", Words),
            may("how", TREATED_HOW),
            may("label_days_between", Count),
            may("label_most_a_year", Count),
            may("label_says", Words),
            may("look_again", Words),
        ],
    ),
    kind(
        "damage_seen",
        &[Plant, Part],
        &[must("damage", DAMAGE), may("part", PARTS), may("leaves", Count), may("where", Words)],
    ),
    kind(
        "shared",
        &[Plant, Batch],
        &[
            must("what", Choice(&["tool", "tray", "water", "cloth"])),
            must("with", Subjects(&[Plant, Batch])),
        ],
    ),
    kind("kept_apart", &[Plant, Batch, Place], &[may("trusted", Flag), may("why", Words)]),
    kind("let_in", &[Plant, Batch, Place], &[may("why", Words)]),
    kind(
        "promised",
        &[Plant, CloneKind, Batch],
        &[may("to", Subject(&[Keeper])), may("what", Words)],
    ),
    kind(
        "given",
        &[Plant, CloneKind, Batch],
        &[
            may("to", Subject(&[Keeper])),
            may("what", Words),
            may("whole", Flag),
            may("count", Count),
        ],
    ),
    kind(
        "sold",
        &[Plant, CloneKind, Batch],
        &[
            may("to", Subject(&[Keeper])),
            may("price", Money),
            may("what", Words),
            may("whole", Flag),
            may("count", Count),
        ],
    ),
    kind(
        "swapped",
        &[Plant, CloneKind, Batch],
        &[
            may("to", Subject(&[Keeper])),
            may("for", Words),
            may("what", Words),
            may("whole", Flag),
            may("count", Count),
        ],
    ),
    kind("shown", &[Plant, CloneKind], &[must("where", Words), may("result", Words)]),
    kind(
        "asked",
        &[Plant, CloneKind, Cross, Keeper],
        &[may("whom", Subject(&[Keeper])), must("what", Words)],
    ),
    kind("named", &[CloneKind, Plant], &[must("name", Words), may("by", Words), may("why", Words)]),
    kind(
        "note",
        &[Plant, Part, CloneKind, Batch, Cross, Pollination, PollenLot, Place, Keeper],
        &[],
    ),
    kind(
        "photo",
        &[Plant, Part, CloneKind, Batch, Cross, Pollination, PollenLot, Place, Keeper],
        &[must("photo", Subject(&[crate::SubjectKind::Photo]))],
    ),
    ending("lost", &[Plant, Batch, PollenLot], &[may("why", Words), may("count", Count)]),
    kind("doubtful", &[Plant], &[may("why", Words)]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn declarations_are_sound() {
        for (i, k) in KINDS.iter().enumerate() {
            assert!(!k.about.is_empty(), "{} is about nothing", k.key);
            assert!(KINDS[..i].iter().all(|o| o.key != k.key), "{} is declared twice", k.key);
            for (j, f) in k.fields.iter().enumerate() {
                assert!(k.fields[..j].iter().all(|o| o.key != f.key), "{}.{} twice", k.key, f.key);
                if let Choice(words) = f.holds {
                    assert!(words.len() > 1, "{}.{} offers no choice", k.key, f.key);
                }
            }
        }
    }
}

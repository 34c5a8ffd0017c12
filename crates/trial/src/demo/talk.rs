//! What others said, and what is still to ask.

use journal::{NewStatement, Uid};

use super::{
    scribe::About,
    timeline::{edtf, month},
    world::World,
};

/// About which clone, words, keeper, medium, address, spot, trust.
type Said = (
    &'static str,
    &'static str,
    Option<usize>,
    &'static str,
    Option<&'static str>,
    Option<&'static str>,
    &'static str,
);

const SAID: [Said; 14] = [
    (
        "Begonia 'Silt Choir'",
        "Made by Benedikt in the bakery in 2011; masoniana was the seed parent, of that he is sure.",
        Some(1),
        "letter",
        None,
        None,
        "certain",
    ),
    (
        "Begonia 'Rost und Regen'",
        "One of forty seedlings, the only one that kept its colour in winter.",
        Some(1),
        "message",
        None,
        None,
        "probable",
    ),
    (
        "Begonia 'Umbrella Thief'",
        "The pollen parent stood unlabelled on a window sill at the exchange.",
        Some(8),
        "message",
        None,
        None,
        "claimed",
    ),
    (
        "Begonia 'Slow Harbour'",
        "‘Old Tollgate’ is lost; nobody has seen it since 2015.",
        Some(5),
        "letter",
        None,
        None,
        "probable",
    ),
    (
        "Begonia 'Plumb Line'",
        "Found as a seedling in a pot of something else.",
        Some(10),
        "list",
        Some("https://example.org/thistledrift/list-2023"),
        Some("page 4"),
        "claimed",
    ),
    (
        "Begonia 'Green Telegram'",
        "The breeder writes that both parents were species, but not which.",
        Some(2),
        "letter",
        None,
        None,
        "doubted",
    ),
    (
        "Streptocarpus 'Bathtub Regatta'",
        "Dorian calls it the mother of half his shelf.",
        Some(6),
        "talk",
        Some("https://example.org/talks/streptocarpus-from-seed"),
        Some("minute 23"),
        "certain",
    ),
    (
        "Streptocarpus 'Wet Sleeve'",
        "dunnii pollen was two years old and came by post.",
        Some(6),
        "talk",
        Some("https://example.org/talks/streptocarpus-from-seed"),
        Some("minute 41"),
        "probable",
    ),
    (
        "Streptocarpus 'Postboten-Blau'",
        "Seed parent not written down; pollen from the blue one.",
        Some(11),
        "list",
        Some("https://example.org/quellmoos/liste"),
        None,
        "claimed",
    ),
    (
        "Aeschynanthus 'Ferryman's Match'",
        "Made twice, in 2009 and 2012; all plants about are of the second.",
        Some(7),
        "message",
        None,
        None,
        "probable",
    ),
    (
        "Aeschynanthus 'Coral Deposit'",
        "Said to be a seedling of speciosus. The leaf does not look it.",
        Some(7),
        "label",
        None,
        None,
        "doubted",
    ),
    (
        "Dischidia 'Ant Hotel'",
        "Makes pitchers only when the roots are out of the pot.",
        Some(4),
        "message",
        None,
        None,
        "certain",
    ),
    (
        "Dischidia 'Pocket Change'",
        "Set seed by itself in the hall; the other parent can be anything.",
        Some(4),
        "letter",
        None,
        None,
        "claimed",
    ),
    (
        "Begonia rex",
        "Accession 1987-0311 of the garden, wild origin not proven.",
        Some(13),
        "label",
        None,
        None,
        "probable",
    ),
];

/// About which clone, what, whom, the answer if there is one.
const ASKED: [(&str, &str, usize, Option<&str>); 9] = [
    ("Begonia 'Green Telegram'", "Which two species were the parents?", 2, None),
    (
        "Begonia 'Vieux Parapluie'",
        "Was the pollen parent on the same bench?",
        2,
        Some("It was, but so were thirty others; put unknown."),
    ),
    ("Streptocarpus 'Le Canal en Hiver'", "Which of the two was the seed parent?", 6, None),
    (
        "Streptocarpus 'Tea for the Bailiff'",
        "Do you still have the seed packet with the father on it?",
        6,
        Some("Thrown out with the shed."),
    ),
    ("Dischidia 'Millpond Coins'", "Is this a selection of nummularia or a hybrid?", 4, None),
    (
        "Aeschynanthus 'Coral Deposit'",
        "From whom did you have it?",
        7,
        Some("From a swap in 2014; there was a yellow label in the pot."),
    ),
    (
        "Begonia 'Tant Märtas Förkläde'",
        "Who was Märta?",
        4,
        Some("The aunt who wore it on Sundays."),
    ),
    ("Aeschynanthus 'Signal at Gorse Halt'", "Who made the cross?", 10, None),
    ("Begonia 'Harbour Umbrella'", "May I have pollen next spring?", 3, None),
];

pub(super) fn all(world: &mut World) {
    let mut rng = world.rng("talk");
    for (name, text, keeper, medium, address, spot, trust) in SAID {
        let Some((subject, from)) = subject(world, name) else { continue };
        let day = rng.range(from + 5, world.last.max(from + 6));
        let pen = world.scribe.act("log", About::Words(name.to_owned()), day);
        let keeper = keeper.map(|k| world.keepers[k]);
        world.scribe.statement(
            pen,
            NewStatement {
                address: address.map(str::to_owned),
                spot: spot.map(str::to_owned),
                said_on: Some(if rng.chance(0.5) { month(day - 20) } else { edtf("2022~") }),
                ..statement(subject, text, keeper, medium, trust)
            },
        );
    }
    for (name, text, whom, reply) in ASKED {
        let Some((subject, from)) = subject(world, name) else { continue };
        let day = rng.range(from + 1, (world.last - 90).max(from + 2));
        let pen = world.scribe.act("ask", About::Words(name.to_owned()), day);
        let keeper = world.keepers[whom];
        let question = world.scribe.question(pen, subject, text, Some(keeper));
        if let Some(reply) = reply {
            let back = day + rng.range(6, 60);
            let pen = world.scribe.act("log", About::Words(name.to_owned()), back);
            let answer = NewStatement {
                answers: Some(question),
                said_on: Some(month(back)),
                ..statement(subject, reply, Some(keeper), "message", "probable")
            };
            world.scribe.statement(pen, answer);
        }
    }
}

/// A clone and the first day on which it is in the record.
fn subject(world: &World, name: &str) -> Option<(Uid, i32)> {
    let clone = *world.by_name.get(name)?;
    let from = world.plants.iter().filter(|p| p.clone == clone).map(|p| p.since).min()?;
    Some((world.clones[clone].uid, from))
}

fn statement(
    subject: Uid,
    text: &str,
    keeper: Option<Uid>,
    medium: &str,
    trust: &str,
) -> NewStatement {
    NewStatement {
        uid: Uid::from_bytes([0; 16]),
        subject,
        text: text.to_owned(),
        keeper,
        said_by: None,
        medium: Some(medium.to_owned()),
        address: None,
        spot: None,
        said_on: None,
        trust: Some(trust.to_owned()),
        answers: None,
    }
}

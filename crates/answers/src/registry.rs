//! The questions that can be asked about a plant. A new question is a module and a line here.

use std::sync::Mutex;

use journal::Reader;

use crate::{Answer, Hand, Result, feed, flowers, potting, water};

/// A question.
pub struct Question {
    /// Its key, for addresses and the command.
    pub key: &'static str,
    /// The question in words of the catalogue.
    pub words: &'static str,
    /// How it is computed, in words of the catalogue.
    pub method: &'static str,
    ask: fn(&Reader<'_>, i64, &Hand) -> Result<Answer>,
}

/// All questions, in the order of the plant page.
pub const QUESTIONS: &[Question] = &[
    Question {
        key: "drying",
        words: "How long until it is dry?",
        method: "From one watering to the moment at which the pot is as dry as it is let become, on a clock that runs faster in dry air and bright light; how fast the weeks ran beside that is learnt from the looks at all pots. A look at which it was dry and one at which it was still moist bound that moment. A watering without a look says nothing about drying, since people water what they think is dry; a round that names the pots that were still wet is a look at all of them. Plants borrow from their species and genus here until they have records of their own, and look at pot, wall and mix; one look in twenty is taken to be misread. The first interval says where the plant's usual drying lies, the second where the coming one does, with 80 % probability.",
        ask: water::drying,
    },
    Question {
        key: "feed",
        words: "How much feed does it want now?",
        method: "The rate of its group of plants, in mg/L of nitrogen in every watering, less in proportion where there is less light than growing light; the light is the mean of the last fortnight at its place. Nothing is fed while it rests, has no or rotten roots, was potted less than three weeks ago, or has not grown for a month. Rates are common practice or published, as each says.",
        ask: feed::need,
    },
    Question {
        key: "salts",
        words: "Do salts build up in its pot?",
        method: "The water and salts of the pot are followed from watering to watering since it was potted. What is poured fills the pot first; what runs through mixes with what is there and takes its share of the salts along; roots take a part. What nobody wrote down (how dry it got, how much ran through, how much was taken, how much water the pot holds) is drawn four hundred times, once for the whole time; the interval holds 80 % of the draws. A reading of what ran out sets the pot to that reading. Above 1.5 mS/cm is too salty for epiphytes: common practice, no source.",
        ask: feed::salts,
    },
    Question {
        key: "repot",
        words: "Does it want a larger pot?",
        method: "Time to event, log-normal: from potting to the look at which roots circled. A look at which they had room says “later than that”; potting without a look at the roots says nothing, since people repot what they think is full. Behind the looks at all plants of its group stands a default of common practice: 24 months for thick-leaved climbers and orchids, 15 for aroids and gesneriads, 18 for others. “Usually” is where the typical time lies, “next” where that of this pot lies, given that its roots had room at the last look. Whether it dries faster or slower than after potting is compared apart from that: by at least three dryings of the first and of the latest four months.",
        ask: potting::repot,
    },
    Question {
        key: "flower_life",
        words: "How long does a flower last here?",
        method: "All flowers of a genus together: the logarithm of a life has a normal spread around what warmth, dry air and the clone make it; a clone with few flowers borrows from the others, and behind all stands a default of common practice or, for gesneriads, of a published study. Flowers of one umbel share an effect of their own and are not counted as independent. An end between two looks is known to lie there and nowhere in it; flowers still open, cut or pollinated count as “at least so long”. A flower that was first seen open at one look and not at the look before is taken given that it lived to be seen, for shorter ones may have been missed. “Usually” is where the typical life of this clone lies in the air of the last three weeks at its place; “next” is when the open flower ends, given the last look; both with 80 % probability.",
        ask: flowers::flower_life,
    },
    Question {
        key: "flowers_again",
        words: "When does it flower again?",
        method: "Time to event, log-normal: from the opening of one flowering to that of the next, of a peduncle where peduncles are told apart, else of the plant; flowers within two weeks of each other are one flowering. A gap that is still open counts as “at least so long”, up to the last entry about the plant; a peduncle that was cut waits no longer. From three flowerings of the clone on, else of the genus. A bud that was seen opens after what buds of the genus took, or two weeks by common practice. Season and light are not allowed for.",
        ask: flowers::flowers_again,
    },
    Question {
        key: "flower_months",
        words: "In which months is it in flower?",
        method: "For each month the share of years with an open flower among the years in which anything was written about the plant in that month: a month without a word is not a month without flowers. Pieces of the clone count together. The interval is that of Jeffreys, with 80 % probability. The coming weeks are drawn two thousand times: what is open now lasts as long as its fit says, and it flowers again after its gaps or, where too few are known, in its months.",
        ask: flowers::flower_months,
    },
];

/// What has been learnt already, so that a page need not learn it again.
#[derive(Debug, Clone, Copy)]
pub struct Learnt<'a> {
    /// Of drying.
    pub water: &'a water::Water,
    /// Of flowers, genus by genus.
    pub flowers: &'a Mutex<flowers::Flowers>,
}

/// Asks a question about a plant, with what has been learnt at hand.
///
/// # Errors
/// Those of [`ask`].
pub fn ask_with(
    reader: &Reader<'_>,
    key: &str,
    plant: i64,
    hand: &Hand,
    learnt: Learnt<'_>,
) -> Result<Answer> {
    match (key, learnt.water.plant(plant)) {
        ("drying", Some(housed)) => Ok(water::drying_of(learnt.water, housed, hand)),
        ("repot", _) => potting::repot_with(reader, plant, hand, Some(learnt.water)),
        ("flower_life" | "flowers_again" | "flower_months", _) => {
            flowers::ask_kept(learnt.flowers, reader, key, plant, hand)
        }
        _ => ask(reader, key, plant, hand),
    }
}

/// Asks a question about a plant by its number.
///
/// # Errors
/// If there is no such plant or question, or the record cannot be read.
pub fn ask(reader: &Reader<'_>, key: &str, plant: i64, hand: &Hand) -> Result<Answer> {
    let question =
        QUESTIONS.iter().find(|q| q.key == key).ok_or_else(|| crate::AskError::NotThere {
            kind: "question",
            which: key.to_owned(),
            next: "`umbel ask` lists the questions",
        })?;
    (question.ask)(reader, plant, hand)
}

//! The questions that can be asked about a plant. A new question is a module and a line here.

use journal::Reader;

use crate::{Answer, Hand, Result, feed, flower_life, potting, water};

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
        method: "The median of the survival curve: Kaplan–Meier where every end was seen, Turnbull's estimate where it lies between two looks. Flowers still open, cut, broken or pollinated count as “at least so long”. The interval says where the typical value lies, with 80 % probability.",
        ask: flower_life::flower_life,
    },
];

/// Asks a question about a plant, with what has been learnt about water at hand.
///
/// # Errors
/// Those of [`ask`].
pub fn ask_with(
    reader: &Reader<'_>,
    key: &str,
    plant: i64,
    hand: &Hand,
    water: &water::Water,
) -> Result<Answer> {
    match (key, water.plant(plant)) {
        ("drying", Some(housed)) => Ok(water::drying_of(water, housed, hand)),
        ("repot", _) => potting::repot_with(reader, plant, hand, Some(water)),
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

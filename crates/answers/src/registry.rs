//! The questions that can be asked about a plant. A new question is a module and a line here.

use journal::Reader;

use crate::{Answer, Hand, Result, flower_life, water};

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
    match water.plant(plant).filter(|_| key == "drying") {
        Some(housed) => Ok(water::drying_of(water, housed, hand)),
        None => ask(reader, key, plant, hand),
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

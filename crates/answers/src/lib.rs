//! One module for each question a grower asks: journal and calculators in, [`Answer`] out.
//!
//! This is the only crate that knows both the record and the calculators. Pages, labels and the
//! command ask here and lay out what comes back; nothing else computes anything. What is written
//! goes through [`acts`], so that names are judged and kinships checked in one place.

pub mod acts;
pub mod air;
mod answer;
pub mod checklists;
pub mod climate;
pub mod crossing;
pub mod due;
mod error;
pub mod feed;
pub mod flowers;
mod hand;
mod label_facts;
pub mod left_over;
pub mod light;
mod list;
mod name_text;
mod parentage;
pub mod pests;
mod plant_page;
pub mod potting;
mod registry;
mod said;
mod sentence;
mod things;
pub mod water;

pub use answer::{
    Answer, Basis, Caution, Estimate, Evidence, Forecast, Gap, Mark, NotEnough, Unit,
};
pub use error::{AskError, Result};
pub use hand::Hand;
pub use label_facts::{LabelFacts, label_facts};
pub use list::{ListPage, ListRow, PlantListQuery, list_plants};
pub use name_text::{NameText, Run, name_text, names_context, parents_text};
pub use parentage::{ParentNode, Parentage, ShareLine, kinship_words, parentage};
pub use plant_page::{
    JournalLine, NameClaim, PieceLine, PlantPage, StatementLine, clone_named, cross_of, plant_page,
    plant_page_with, whole_journal,
};
pub use registry::{Learnt, QUESTIONS, Question, ask, ask_with};
pub use said::{Bit, BitKind, Said, fraction_words, range_words, said_days, say};
pub use sentence::{Sentence, entry_sentence};
pub use things::{
    CrossPage, KeeperPage, PlacePage, cross_page, cross_title, keeper_page, parent_words,
    place_page,
};

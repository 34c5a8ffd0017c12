//! What can be written: every act becomes one operation, so that it is done whole or not at all,
//! and can be undone.

pub mod bring_in;
mod dates_typed;
mod entries;
pub(crate) mod light;
mod names_given;
mod pen;
pub(crate) mod plants;
mod readings;
mod said_by_others;
mod seedlings;
mod small;
mod supplies;
mod water;

pub use dates_typed::read_date;
pub use entries::{EntryInput, Logged, Target, log, move_entry, replace_entry, withdraw};
pub use light::{HouseTyped, describe_light, put_at_places, put_on_spots, set_house};
pub use names_given::{NameVerdict, judge_name, name_claim};
pub use pen::{ParentInput, Pen};
pub use plants::{
    Added, NewPlant, add_plant, add_plants, join_clones, rename_clone, set_parents, split_clone,
    suspect, tag_plant,
};
pub use readings::{
    Corrected, LoggerPair, Look, ReadingsInput, SaltReading, Span, Taken, channel_words,
    compare_loggers, correct, look_at_readings, salt_test, take_readings, why_words,
};
pub use said_by_others::{StatementInput, add_question, add_statement};
pub use seedlings::{NewPollination, pollinate, prick_out, sow};
pub use small::{
    add_keeper, add_photo, add_place, describe_keeper, describe_place, order_places, remove_view,
    rename_keeper, rename_place, save_view,
};
pub(crate) use supplies::recipe;
pub use supplies::{
    FeedInput, MixInput, WaterInput, keep_feed, keep_material, keep_mix, keep_water, use_up,
};
pub use water::{Round, round, set_growth, set_rounds, set_wish};

//! The pages, one module for each kind.

mod ask;
mod begin;
mod crosses;
pub(crate) mod door;
mod entries;
mod feed;
mod find;
mod flowers;
mod history;
mod house;
mod how;
mod import;
mod keepers;
mod left_over;
mod names;
pub(crate) mod pairing;
mod parts;
mod pests;
mod phones;
mod places;
mod plant;
mod plant_forms;
mod plants;
mod potting;
mod print;
mod today;

use crate::{
    assets,
    routes::{Routes, get, post},
};

/// All routes. Who may ask for each is said in [`crate::roles`].
pub(crate) fn routes() -> Routes {
    Routes::new()
        .route("/", get(today::today))
        .route("/today/look", post(today::look))
        .route("/today/rounds", post(today::rounds))
        .route("/today/done", post(today::done))
        .route("/today/put-off", post(today::put_off))
        .route("/today/table", get(today::table))
        .route("/predictions", get(today::predictions))
        .route("/begin", get(begin::begin))
        .route("/demo/in", post(begin::demo_in))
        .route("/demo/out", post(begin::demo_out))
        .route("/restore", get(begin::restore_form).post(begin::restore))
        .route("/plants", get(plants::list).post(plant_forms::add))
        .route("/plants/new", get(plant_forms::new_form))
        .route("/plants/log", get(plants::bulk_form).post(plants::bulk))
        .route("/plants/views", post(plants::save_view))
        .route("/plants/views/forget", post(plants::forget_view))
        .route("/plants/{n}", get(plant::plant))
        .route("/plants/{n}/journal", get(plant::journal))
        .route("/plants/{n}/history", get(history::of_plant))
        .route("/plants/{n}/log", get(entries::log_form).post(entries::log))
        .route("/plants/{n}/says", post(entries::says))
        .route("/plants/{n}/entries/{uid}", get(entries::mend_form).post(entries::mend))
        .route("/plants/{n}/name", get(plant_forms::name_form).post(plant_forms::name))
        .route("/plants/{n}/parents", get(plant_forms::parents_form).post(plant_forms::parents))
        .route("/plants/{n}/clone", get(plant_forms::clone_form).post(plant_forms::clone))
        .route("/plants/{n}/kin", get(plant::kin))
        .route("/plants/{n}/photos", post(entries::photo))
        .route("/plants/{n}/statements", get(parts::statement_form).post(parts::statement))
        .route("/plants/{n}/questions", get(parts::question_form).post(parts::question))
        .route("/plants/{n}/sprayed", get(pests::sprayed))
        .route("/pests", get(pests::house))
        .route("/photos/{file}", get(entries::photo_file))
        .route("/places", get(places::list).post(places::add))
        .route("/places/{n}", get(places::place).post(places::change))
        .route("/places/{n}/round", post(places::round))
        .route("/places/{n}/air", get(places::air::air_form).post(places::air::air_keep))
        .route("/places/{n}/air/compare", post(places::air::compare))
        .route("/places/{n}/air/salt", post(places::air::salt))
        .route("/places/{n}/readings", get(places::readings::choose).post(places::readings::take))
        .route(
            "/places/{n}/readings/{id}",
            get(places::readings::preview).post(places::readings::answer),
        )
        .route("/places/{n}/readings/{id}/write", post(places::readings::write))
        .route("/places/{n}/light", get(places::light::light_form).post(places::light::describe))
        .route("/places/{n}/spots", post(places::light::spots))
        .route("/places/{n}/what-if", get(places::light::what_if))
        .route("/places/{n}/arrange", get(places::light::arrange))
        .route("/plants/{n}/wish", post(plant_forms::wish))
        .route("/feed", get(feed::page).post(feed::add))
        .route("/potting", get(potting::page).post(potting::add))
        .route("/feed/{n}", get(feed::one).post(feed::change))
        .route("/places/{n}/log", get(entries::place_log_form).post(entries::place_log))
        .route("/keepers", get(keepers::list).post(keepers::add))
        .route("/keepers/{n}", get(keepers::keeper).post(keepers::change))
        .route("/plants/{n}/flowers", get(flowers::of_plant))
        .route("/plants/{n}/breeding", get(crosses::breeding::form).post(crosses::breeding::keep))
        .route("/flowers", get(flowers::likely))
        .route("/crosses", get(crosses::list))
        .route("/crosses/new", get(crosses::new_form).post(crosses::add))
        .route("/crosses/pair", get(crosses::pair::pair))
        .route("/crosses/plan", get(crosses::plan::plan))
        .route("/crosses/table", get(crosses::tried::table))
        .route("/crosses/others", post(crosses::tried::others))
        .route("/crosses/written", post(crosses::tried::written))
        .route("/crosses/beliefs", get(crosses::pair::beliefs).post(crosses::pair::change))
        .route("/pollen", get(crosses::tried::pollen).post(crosses::tried::put_by))
        .route("/crosses/{n}", get(crosses::cross))
        .route("/crosses/{n}/tags.pdf", get(print::tags))
        .route("/crosses/{n}/sow", post(crosses::sow))
        .route("/crosses/{n}/prick-out", post(crosses::prick_out))
        .route("/crosses/{n}/log", get(crosses::log_form).post(crosses::log))
        .route("/import", get(import::choose).post(import::take))
        .route("/import/{id}", get(import::preview).post(import::answer))
        .route("/import/{id}/write", post(import::write))
        .route("/import/{id}/written", get(import::written))
        .route("/import/{id}/drop", post(import::drop_draft))
        .route("/left-over", get(left_over::list))
        .route("/left-over/{uid}", get(left_over::mend_form).post(left_over::mend))
        .route("/left-over/{uid}/dismiss", post(left_over::dismiss))
        .route("/names", get(names::names).post(names::load))
        .route("/show", get(print::show))
        .route("/labels", get(print::choose))
        .route("/labels.pdf", get(print::pdf))
        .route("/find", get(find::find))
        .route("/how/{question}", get(how::how))
        .route("/keys", get(how::keys))
        .route("/history", get(history::history))
        .route("/undo", post(history::undo))
        .route("/house", get(house::house).post(house::change))
        .route("/house/where", post(house::place))
        .route("/house/backup", post(house::backup))
        .route("/house/export", post(house::export))
        .route("/house/passcode", post(door::set_passcode))
        .route("/house/phones/pair", post(pairing::offer))
        .route("/house/phones/end", post(phones::end))
        .route("/house/phones/forget", post(phones::end_all))
        .route("/house/name", post(door::name_house))
        // Strangers write here: no more than a passcode and an address.
        .route("/door", get(door::door).post(door::knock).at_most(16 * 1024))
        .route("/PAIR/{code}", get(pairing::page))
        .route("/pair", post(pairing::pair).at_most(16 * 1024))
        .route("/door/leave", post(door::leave))
        .route("/theme", post(house::theme))
        .route("/static/{*name}", get(assets::asset))
        .route("/{code}", get(find::code))
        .fallback(find::nowhere)
}

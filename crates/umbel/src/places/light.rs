//! The light of a place, on the terminal.

use answers::{
    acts,
    light::{self, ArrangeTyped, LightTyped, PlaceLight, Typed},
};
use clap::Args;

use crate::{
    clones::done,
    filter::place_number,
    house::House,
    out::{Form, Table},
    problem::Result,
};

/// Notes about a place, its size, its window and its lamps
#[derive(Debug, Args)]
pub struct DescribeArgs {
    /// The place, by number or name
    place: String,
    /// The notes
    note: Option<String>,
    #[command(flatten)]
    size: SizeArgs,
    #[command(flatten)]
    window: WindowArgs,
    /// A lamp, such as kind=plant_bar,watts=22,width=90,height=26,hours=12; may be repeated. Keys: kind (white_led, plant_bar, red_rich, sodium), watts, ppf, width, depth, beam, height, x, y, hours, summer_hours, new, dusty
    #[arg(long, value_name = "KEY=VALUE,…")]
    lamp: Vec<String>,
    /// Since when it is so [default: always for the first description, today for a later one]
    #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
    since: String,
}

#[derive(Debug, Args)]
struct SizeArgs {
    /// Begin with one lamp over one shelf, or with one window; what else is said changes it
    #[arg(long, value_name = "WHICH", value_parser = light::PRESETS)]
    begin_with: Option<String>,
    /// From left to right, such as 120 cm
    #[arg(long, value_name = "LENGTH")]
    width: Option<String>,
    /// From back to front
    #[arg(long, value_name = "LENGTH")]
    depth: Option<String>,
    /// What stands at its sides
    #[arg(long, value_name = "WALLS", value_parser = light::WALLS)]
    walls: Option<String>,
}

#[derive(Debug, Args)]
struct WindowArgs {
    /// Where its window looks: north, north_east … or n, ne …; unknown when nobody knows
    #[arg(long, value_name = "DIRECTION")]
    window: Option<String>,
    /// At which side of the place the window is, seen from the front
    #[arg(long, value_name = "SIDE", value_parser = light::SIDES)]
    side: Option<String>,
    /// Width of the glass
    #[arg(long, value_name = "LENGTH")]
    glass_width: Option<String>,
    /// Height of the glass
    #[arg(long, value_name = "LENGTH")]
    glass_height: Option<String>,
    /// From the glass to the nearest edge of the place
    #[arg(long, value_name = "LENGTH")]
    distance: Option<String>,
    /// Lower edge of the glass above the leaves; negative when the leaves stand higher
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    sill: Option<String>,
    /// The kind of glass
    #[arg(long, value_name = "GLASS", value_parser = light::GLASS)]
    glass: Option<String>,
    /// What is seen outside: open, houses, trees or unknown
    #[arg(long, value_name = "VIEW")]
    view: Option<String>,
    /// Up to which angle houses or trees hide the sky
    #[arg(long, value_name = "DEGREES")]
    angle: Option<String>,
    /// A net curtain hangs before it
    #[arg(long)]
    curtain: bool,
}

impl DescribeArgs {
    /// What was said about the light; none when nothing was.
    fn typed(&self) -> Result<Option<LightTyped>> {
        let (s, w) = (&self.size, &self.window);
        let said = [
            ("width", &s.width),
            ("depth", &s.depth),
            ("walls", &s.walls),
            ("window", &w.window),
            ("side", &w.side),
            ("glass_width", &w.glass_width),
            ("glass_height", &w.glass_height),
            ("distance", &w.distance),
            ("sill", &w.sill),
            ("glass", &w.glass),
            ("view", &w.view),
            ("angle", &w.angle),
        ];
        let said: Typed =
            said.into_iter().filter_map(|(k, v)| Some((k.to_owned(), v.clone()?))).collect();
        if said.is_empty() && self.lamp.is_empty() && s.begin_with.is_none() && !w.curtain {
            return Ok(None);
        }
        let begun = s.begin_with.as_deref().and_then(light::Described::preset);
        let mut typed = begun.map(|d| light::typed_of(&d)).unwrap_or_default();
        typed.place.extend(said);
        if w.curtain {
            typed.place.insert("curtain".to_owned(), "yes".to_owned());
        }
        if !self.lamp.is_empty() {
            let read = |l: &String| light::read_lamp_words(l);
            typed.lamps = self.lamp.iter().map(read).collect::<std::result::Result<_, _>>()?;
        }
        Ok(Some(typed))
    }
}

/// What a plant would get on another place
#[derive(Debug, Args)]
pub struct WhatIfArgs {
    /// The plant, by its number
    plant: i64,
    /// The place, by number or name
    place: String,
    /// Where on it, such as "40, 15" or "left front" [default: its middle]
    #[arg(long, value_name = "SPOT", default_value = "", hide_default_value = true)]
    spot: String,
    /// Its leaves are variegated or velvet: smaller steps
    #[arg(long)]
    tender: bool,
}

/// Which plants to move where, with few moves
#[derive(Debug, Args)]
pub struct ArrangeArgs {
    /// Places on which plants may stand, by number or name; free spots are those of the first
    #[arg(required = true)]
    places: Vec<String>,
    /// No more moves than this
    #[arg(long, value_name = "NUMBER", default_value_t = 3)]
    moves: usize,
    /// Numbers of plants that may move [default: all there whose spot is known]
    #[arg(long, value_name = "NUMBER,…", value_delimiter = ',')]
    plants: Vec<i64>,
    /// A free spot, such as "90, 20"; may be repeated [default: some are proposed]
    #[arg(long, value_name = "SPOT")]
    free: Vec<String>,
}

/// Describes a place.
pub fn describe(house: &House, args: &DescribeArgs) -> Result {
    let journal = house.journal()?;
    let number = house.read(&journal, |r| place_number(r, &args.place))?;
    let typed = args.typed()?;
    if let Some(note) = &args.note {
        let op = acts::describe_place(&journal, &house.hand, number, note)?;
        if typed.is_none() {
            return done(house, &format!("place {number} described"), op);
        }
    }
    let op = acts::describe_light(
        &journal,
        &house.hand,
        number,
        &typed.unwrap_or_default(),
        &args.since,
    )?;
    done(house, &format!("light of place {number} described"), op)
}

/// Shows the light of a place.
pub fn show(house: &House, typed: &str) -> Result {
    let journal = house.journal()?;
    let found = house.read(&journal, |r| {
        let number = place_number(r, typed)?;
        Ok(light::place_light(r, number, &house.hand)?)
    })?;
    match house.out.form() {
        Form::Json => house.out.json(&found),
        Form::Csv => house.out.table(&plants(&found)),
        Form::Table => printed(house, &found),
    }
}

fn plants(found: &PlaceLight) -> Table {
    let mut table = Table::new(&["mark", "plant", "name", "enough", "mol_m2_d", "8_in_10"]);
    for p in found.plants.iter().filter(|p| p.light.is_some()) {
        let amount = p.light.as_ref();
        table.row(vec![
            p.mark.into(),
            p.number.into(),
            p.name.clone().into(),
            p.words.as_str().into(),
            amount.map(|a| a.shown.as_str()).into(),
            amount.map(|a| a.range.as_str()).into(),
        ]);
    }
    table
}

fn printed(house: &House, found: &PlaceLight) -> Result {
    let (out, t) = (&house.out, house.hand.texts());
    out.line(&format!("{}  {}", out.strong(&found.place.to_string()), found.name));
    if !found.over.is_empty() {
        out.line(&out.weak(&found.over));
    }
    out.line(&found.lede);
    for case in &found.cases {
        out.heading(&format!("{}  {}", t.t("The year, on average over the place"), case.assumed));
        let mut table =
            Table::new(&["month", "lamps", "window", "both", "8_in_10", "direct_sun_min"]);
        for m in &case.months {
            table.row(vec![
                m.name.into(),
                format!("{:.1}", m.lamps).into(),
                format!("{:.1}", m.window).into(),
                m.total.shown.as_str().into(),
                m.total.range.as_str().into(),
                format!("{:.0}", m.direct_minutes).into(),
            ]);
        }
        out.table(&table)?;
    }
    let table = plants(found);
    if !table.is_empty() {
        out.heading(t.t("What each plant gets"));
        out.table(&table)?;
    }
    out.line("");
    let energy = found.energy.iter().flat_map(|e| [Some(&e.shown), e.money.as_ref()]);
    let energy: Vec<String> = energy.flatten().cloned().collect();
    let lines = found.basis.iter().chain(&found.gaps).chain(&energy);
    lines.for_each(|l| out.line(l));
    for caution in &found.cautions {
        out.line(&out.strong(caution));
    }
    Ok(())
}

/// Shows what a move would do.
pub fn what_if(house: &House, args: &WhatIfArgs) -> Result {
    let journal = house.journal()?;
    let found = house.read(&journal, |r| {
        let place = place_number(r, &args.place)?;
        Ok(light::what_if(r, args.plant, place, &args.spot, args.tender, &house.hand)?)
    })?;
    let out = &house.out;
    if out.form() == Form::Json {
        return out.json(&found);
    }
    let mut table = Table::new(&["from", "mol_m2_d"]);
    for step in &found.steps {
        table.row(vec![step.date.as_str().into(), step.light.as_str().into()]);
    }
    if out.form() == Form::Csv {
        return out.table(&table);
    }
    out.line(&format!("{} {}", out.name(&found.name), found.plant));
    out.line(&found.sentence);
    if !found.danger.is_empty() {
        out.line(&found.danger);
    }
    out.table(&table)?;
    found.cautions.iter().for_each(|c| out.line(&out.strong(c)));
    Ok(())
}

/// Shows who had better stand where.
pub fn arrange(house: &House, args: &ArrangeArgs) -> Result {
    let journal = house.journal()?;
    let found = house.read(&journal, |r| {
        let places: Result<Vec<i64>> = args.places.iter().map(|p| place_number(r, p)).collect();
        let typed = ArrangeTyped {
            places: places?,
            plants: args.plants.clone(),
            free: args.free.clone(),
            limit: args.moves,
        };
        Ok(light::arrange(r, &typed, &house.hand)?)
    })?;
    let out = &house.out;
    if out.form() == Form::Json {
        return out.json(&found);
    }
    let mut table = Table::new(&["plant", "name", "from", "to", "why", "way", "now", "then"]);
    for m in &found.moves {
        table.row(vec![
            m.plant.into(),
            m.name.clone().into(),
            m.from.as_str().into(),
            m.to.as_str().into(),
            m.reason.as_str().into(),
            m.way.as_str().into(),
            m.now.shown.as_str().into(),
            m.then.shown.as_str().into(),
        ]);
    }
    if out.form() == Form::Table {
        out.line(&found.sentence);
    }
    out.table(&table)
}

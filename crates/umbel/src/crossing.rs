//! `umbel crossing`: what is likely of crosses, and which to make.

use answers::{
    checklists::Checklists,
    crossing::{self, CAUTIONS, Engine, SeasonAsked, Wanted, slash},
    flowers::{AHEAD, Flowers},
};
use clap::{Args, Subcommand};
use journal::{Journal, Uid};

use crate::{
    clones::done,
    house::House,
    out::{Form, Table},
    problem::Result,
    target,
};

/// Will it take; which crosses to make with the pots there are; pollen in store
#[derive(Debug, Args)]
pub struct CrossingArgs {
    #[command(subcommand)]
    command: CrossingCommand,
}

#[derive(Debug, Subcommand)]
enum CrossingCommand {
    /// The chance that a pair takes, with everything that bears on it
    Pair {
        /// The plant that bears the flowers
        seed: String,
        /// The plant that gives the pollen
        pollen: String,
        /// How many flowers would be treated
        #[arg(long, value_name = "COUNT", default_value_t = 6, value_parser = clap::value_parser!(u64).range(1..=500))]
        flowers: u64,
        /// How many flowering seedlings are wanted
        #[arg(long, value_name = "COUNT", default_value_t = 5, value_parser = clap::value_parser!(u64).range(1..=500))]
        seedlings: u64,
    },
    /// Plan a season: which pairs, of how many flowers, in how many pots
    Plan {
        /// Candidates by number, range or code [default: all living plants]
        plants: Vec<String>,
        /// The scored trait that is to rise [default: none, look at every seedling]
        #[arg(long, value_name = "TRAIT", default_value = "", hide_default_value = true)]
        aim: String,
        /// Plants that went to others may give pollen
        #[arg(long)]
        friends: bool,
        /// The score from which a seedling is of the wanted kind [default: the best seedling counts]
        #[arg(long, value_name = "SCORE", allow_hyphen_values = true)]
        from: Option<f64>,
        /// Pots for seedlings
        #[arg(long, value_name = "COUNT", default_value_t = 60)]
        pots: u32,
        /// The most crosses
        #[arg(long, value_name = "COUNT", default_value_t = 5)]
        crosses: usize,
        /// Flowers of one plant that may be given
        #[arg(long, value_name = "COUNT", default_value_t = 8)]
        flowers: u32,
        /// What is given up for mean kinship lower by 1
        #[arg(long, value_name = "WEIGHT", default_value_t = 1.0)]
        weight: f64,
        /// Leave out pairs more closely related than this
        #[arg(long, value_name = "SHARE", default_value_t = 0.25)]
        kinship: f64,
    },
    /// Seed parents against pollen parents: what took, and what speaks for a barrier
    Table,
    /// The path of a cross from its flowers to its seedlings
    Path {
        /// The number of the cross
        cross: i64,
    },
    /// Pollen in store, or put some by
    Pollen {
        /// The plant whose pollen is put by
        plant: Option<String>,
        /// How cold: room, fridge or freezer
        #[arg(long, value_name = "WORD", default_value = "fridge")]
        cold: String,
        /// Where
        #[arg(long, value_name = "WORDS", default_value = "", hide_default_value = true)]
        place: String,
        /// When it was gathered [default: today]
        #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
        on: String,
    },
    /// What is believed before any record, or change it
    Beliefs {
        /// The key of a belief
        key: Option<String>,
        /// What to believe: "25 %" or "-1.5 ± 0.7"; empty for the default again
        #[arg(allow_hyphen_values = true)]
        to: Option<String>,
    },
    /// What bears on the crosses of a clone; an empty text takes it back
    Describe {
        /// A plant of the clone, by number or code
        plant: String,
        /// Sets of chromosomes: 2, 4x, tetraploid
        #[arg(long, value_name = "COUNT")]
        ploidy: Option<String>,
        /// Its section
        #[arg(long, value_name = "NAME")]
        section: Option<String>,
        /// Its clade
        #[arg(long, value_name = "NAME")]
        clade: Option<String>,
        /// Traits that follow one gene: "variegation Vv; double dd"
        #[arg(long, value_name = "GENES")]
        genes: Option<String>,
        /// The number of the clone that it is a sport of
        #[arg(long, value_name = "CLONE")]
        sport_of: Option<String>,
    },
    /// Bring in what others tried: a table of seed, pollen, flowers, pods, by
    Others {
        /// The file
        file: std::path::PathBuf,
    },
    /// Bring in a line of descent as breeders write it, such as A/B//C
    Written {
        /// The line
        text: String,
    },
}

fn engine(house: &House, journal: &Journal) -> Result<Engine> {
    let lists = Checklists::open(house.path())
        .map_err(|e| crate::problem::Problem::input(e.to_string(), "load the checklist again"))?;
    house.read(journal, |r| {
        let mut clones: Vec<Uid> = Vec::new();
        for plant in r.living()?.into_iter().chain(r.in_state("gone")?) {
            clones.extend(r.clone_by_id(plant.clone)?.map(|c| c.uid));
        }
        Ok(Engine::read(r, &house.hand, lists.list(), &clones)?)
    })
}

fn cautions(house: &House) {
    let t = house.hand.texts();
    for c in CAUTIONS {
        house.out.note(&format!("{} {}", t.t(c.lead), t.t(c.text)));
    }
}

/// Runs it.
pub fn run(house: &House, args: &CrossingArgs) -> Result {
    let journal = house.journal()?;
    match &args.command {
        CrossingCommand::Pair { seed, pollen, flowers, seedlings } => {
            let wanted = Wanted { flowers: *flowers, seedlings: *seedlings };
            pair(house, &journal, [seed, pollen], wanted)
        }
        CrossingCommand::Plan {
            plants,
            friends,
            aim,
            from,
            pots,
            crosses,
            flowers,
            weight,
            kinship,
        } => {
            let plants = if plants.is_empty() {
                Vec::new()
            } else {
                house.read(&journal, |r| target::plants(r, &house.hand, plants))?
            };
            let asked = SeasonAsked {
                plants,
                friends: *friends,
                aim: aim.clone(),
                from_score: *from,
                pots: *pots,
                crosses: *crosses,
                flowers: *flowers,
                weight: *weight,
                most_kinship: *kinship,
            };
            plan(house, &journal, &asked)
        }
        CrossingCommand::Table => table(house, &journal),
        CrossingCommand::Path { cross } => path(house, &journal, *cross),
        CrossingCommand::Pollen { plant: None, .. } => pollen(house, &journal),
        CrossingCommand::Pollen { plant: Some(plant), cold, place, on } => {
            let plant = house.read(&journal, |r| target::plant(r, &house.hand, plant))?;
            let (op, lot) = crossing::store_pollen(&journal, &house.hand, plant, on, cold, place)?;
            done(house, &format!("lot {lot}"), op)
        }
        CrossingCommand::Beliefs { key, to } => {
            beliefs(house, &journal, key.as_deref(), to.as_deref())
        }
        CrossingCommand::Describe { plant, ploidy, section, clade, genes, sport_of } => {
            let clone = house.read(&journal, |r| {
                let number = target::plant(r, &house.hand, plant)?;
                let row = r.plant(number)?.ok_or_else(|| target::no_plant(number))?;
                Ok(r.clone_by_id(row.clone)?.map(|c| c.number))
            })?;
            let all = [
                ("ploidy", ploidy),
                ("section", section),
                ("clade", clade),
                ("genes", genes),
                ("sport_of", sport_of),
            ];
            let typed: Vec<(&str, &str)> =
                all.iter().filter_map(|(key, text)| Some((*key, text.as_deref()?))).collect();
            let clone = clone.ok_or_else(|| target::no_plant(0))?;
            let op = crossing::describe(&journal, &house.hand, clone, &typed)?;
            done(house, &format!("clone {clone}"), op)
        }
        CrossingCommand::Others { file } => {
            let text = std::fs::read_to_string(file)
                .map_err(|e| crate::problem::Problem::file(file, &e))?;
            let added = crossing::bring_in_told(&journal, &house.hand, &text)?;
            house.out.line(&format!("{added} lines added"));
            Ok(())
        }
        CrossingCommand::Written { text } => {
            let (op, number) = slash::bring_in(&journal, &house.hand, text)?;
            done(house, &format!("cross {number}"), op)
        }
    }
}

fn pair(house: &House, journal: &Journal, typed: [&String; 2], wanted: Wanted) -> Result {
    let engine = engine(house, journal)?;
    let clones = house.read(journal, |r| {
        let mut out = Vec::new();
        for t in typed {
            let number = target::plant(r, &house.hand, t)?;
            let row = r.plant(number)?.ok_or_else(|| target::no_plant(number))?;
            out.extend(r.clone_by_id(row.clone)?.map(|c| c.uid));
        }
        Ok(out)
    })?;
    let [seed, pollen] = clones[..] else { return Err(target::no_plant(0)) };
    let found = engine.chance((seed, pollen), wanted, &house.hand)?;
    match house.out.form() {
        Form::Json => house.out.json(&found),
        Form::Csv => {
            let mut rows =
                Table::new(&["belief", "amount", "before", "before_sd", "now", "now_sd", "source"]);
            for term in &found.terms {
                rows.row(vec![
                    term.words.clone().into(),
                    term.amount.into(),
                    term.before.0.into(),
                    term.before.1.into(),
                    term.now.0.into(),
                    term.now.1.into(),
                    term.source.clone().into(),
                ]);
            }
            house.out.table(&rows)
        }
        Form::Table => {
            found.lines.iter().for_each(|l| house.out.line(l));
            cautions(house);
            Ok(())
        }
    }
}

fn plan(house: &House, journal: &Journal, asked: &SeasonAsked) -> Result {
    let engine = engine(house, journal)?;
    let today = house.hand.today_number();
    let plan = house.read(journal, |r| {
        let span = (today, today + AHEAD - 1);
        let meetings = Flowers::default().meetings(r, &house.hand, span)?;
        let meets = |a, b| meetings.chance(a, b);
        Ok(engine.season(r, &house.hand, asked, &meets, 20_000_000)?)
    })?;
    if house.out.form() == Form::Json {
        return house.out.json(&plan);
    }
    let mut rows = Table::new(&[
        "seed",
        "seed_name",
        "pollen",
        "pollen_name",
        "pod_chance",
        "lower",
        "upper",
        "flowers",
        "at_least_one",
        "seedlings",
        "seedlings_lower",
        "seedlings_upper",
        "both_in_flower",
        "kinship",
        "pots",
        "gain",
    ]);
    for o in &plan.chosen {
        let (a, b) = (&plan.candidates[o.seed], &plan.candidates[o.pollen]);
        rows.row(vec![
            a.plant.into(),
            a.name.clone().into(),
            b.plant.into(),
            b.name.clone().into(),
            rounded(o.chance.mean).into(),
            rounded(o.chance.lower).into(),
            rounded(o.chance.upper).into(),
            i64::from(o.flowers).into(),
            rounded(o.at_least_one).into(),
            rounded(o.seedlings.0).into(),
            i64::try_from(o.seedlings.1).unwrap_or(i64::MAX).into(),
            i64::try_from(o.seedlings.2).unwrap_or(i64::MAX).into(),
            o.meets.map(rounded).into(),
            rounded(o.kinship).into(),
            i64::from(o.pots).into(),
            rounded(o.gain).into(),
        ]);
    }
    house.out.table(&rows)?;
    if house.out.form() == Form::Table {
        plan.lines.iter().for_each(|l| house.out.note(l));
        cautions(house);
    }
    Ok(())
}

fn rounded(x: f64) -> f64 {
    (1000.0 * x).round() / 1000.0
}

fn table(house: &House, journal: &Journal) -> Result {
    let found = engine(house, journal)?.table(&house.hand)?;
    if house.out.form() == Form::Json {
        return house.out.json(&found);
    }
    let name = |uid: Uid| {
        let all = found.seeds.iter().chain(&found.pollens);
        all.into_iter().find(|n| n.0 == uid).map(|n| n.1.plain.clone()).unwrap_or_default()
    };
    let mut rows = Table::new(&["seed", "pollen", "flowers", "took", "says"]);
    for c in &found.cells {
        rows.row(vec![
            name(c.seed).into(),
            name(c.pollen).into(),
            i64::try_from(c.tally.flowers).unwrap_or(i64::MAX).into(),
            i64::try_from(c.tally.took).unwrap_or(i64::MAX).into(),
            c.text.clone().into(),
        ]);
    }
    house.out.table(&rows)?;
    if house.out.form() == Form::Table {
        found.hypotheses.iter().for_each(|h| house.out.note(&h.text));
    }
    Ok(())
}

fn path(house: &House, journal: &Journal, cross: i64) -> Result {
    let engine = engine(house, journal)?;
    let found = house.read(journal, |r| Ok(engine.path(r, cross, &house.hand)?))?;
    if house.out.form() == Form::Json {
        return house.out.json(&found);
    }
    let mut rows = Table::new(&["stage", "count", "of", "share", "lower", "upper"]);
    for s in found.stages.iter().filter(|s| s.count.is_some()) {
        let whole = |n: Option<u64>| n.and_then(|n| i64::try_from(n).ok());
        rows.row(vec![
            s.what.clone().into(),
            whole(s.count).into(),
            whole(s.of).into(),
            s.share.map(|x| rounded(x.0)).into(),
            s.share.map(|x| rounded(x.1)).into(),
            s.share.map(|x| rounded(x.2)).into(),
        ]);
    }
    house.out.table(&rows)?;
    if house.out.form() == Form::Table {
        found.lines.iter().for_each(|l| house.out.note(l));
    }
    Ok(())
}

fn pollen(house: &House, journal: &Journal) -> Result {
    let lots = engine(house, journal)?.pollen(&house.hand);
    if house.out.form() == Form::Json {
        return house.out.json(&lots);
    }
    let mut rows =
        Table::new(&["lot", "pollen_of", "kept", "place", "days", "works", "lower", "upper"]);
    for lot in &lots {
        rows.row(vec![
            lot.kept.number.into(),
            lot.name.clone().into(),
            lot.kept.cold.as_str().to_owned().into(),
            lot.kept.place.clone().into(),
            lot.age.into(),
            rounded(lot.works.mean).into(),
            rounded(lot.works.lower).into(),
            rounded(lot.works.upper).into(),
        ]);
    }
    house.out.table(&rows)
}

fn beliefs(house: &House, journal: &Journal, key: Option<&str>, to: Option<&str>) -> Result {
    if let (Some(key), Some(to)) = (key, to) {
        crossing::change_belief(journal, key, to)?;
    }
    let all = house.read(journal, |r| Ok(crossing::Beliefs::read(r)?))?;
    if house.out.form() == Form::Json {
        return house.out.json(&all.all);
    }
    let t = house.hand.texts();
    let mut rows = Table::new(&["key", "belief", "mean", "sd", "source"]);
    for b in all.all.iter().filter(|b| key.is_none_or(|k| b.key == k)) {
        rows.row(vec![
            b.key.clone().into(),
            t.t(b.words).to_owned().into(),
            rounded(b.mean).into(),
            rounded(b.sd).into(),
            if b.own { t.t("changed by this house") } else { t.t(b.source) }.to_owned().into(),
        ]);
    }
    house.out.table(&rows)
}

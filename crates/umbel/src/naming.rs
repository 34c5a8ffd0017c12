//! Names: giving one to a plant, checking names, loading a checklist of accepted names.

use std::{
    fs::{self, File},
    io::BufReader,
    path::{Path, PathBuf},
};

use answers::acts::{self, NameVerdict};
use clap::{Args, Subcommand};
use names::{
    Severity,
    checklist::{self, Builder, Checklist, NameCheck, OriginCheck, Spelling, TableKind},
};

use crate::{
    clones::done,
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
    progress, target,
};

/// Give a plant's clone another name; the old one stays in its history
#[derive(Debug, Args)]
pub struct NameArgs {
    /// The plant, by number or code
    pub plant: String,
    /// The name
    pub name: String,
    /// How firm the name is
    #[arg(long, value_name = "STANDING",
          value_parser = ["as_received", "believed", "determined", "doubted"])]
    pub standing: Option<String>,
    /// On whose word
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Why you think so
    #[arg(long, value_name = "WORDS")]
    pub why: Option<String>,
}

/// Check names, or load a checklist of accepted names
#[derive(Debug, Args)]
pub struct NamesArgs {
    #[command(subcommand)]
    command: NamesCommand,
}

#[derive(Debug, Subcommand)]
enum NamesCommand {
    /// Check names: form, rules, spelling, synonymy, native range, epithets already here
    Check {
        /// The names
        #[arg(required_unless_present = "all")]
        names: Vec<String>,
        /// Check every name of the collection
        #[arg(long, conflicts_with = "names")]
        all: bool,
        /// Where the plant is said to come from: an area, its code, a region or continent
        #[arg(long, value_name = "AREA")]
        origin: Option<String>,
    },
    /// Load the public World Checklist of Vascular Plants: its ZIP, or both of its tables
    Load {
        /// The files
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
}

/// Runs `name`.
pub fn name(house: &House, args: &NameArgs) -> Result {
    let journal = house.journal()?;
    let (plant, verdict) = house.read(&journal, |r| {
        Ok((target::plant(r, &house.hand, &args.plant)?, acts::judge_name(r, &args.name)?))
    })?;
    let op = acts::rename_clone(
        &journal,
        &house.hand,
        plant,
        &args.name,
        args.standing.as_deref(),
        args.by.as_deref(),
        args.why.as_deref(),
    )?;
    let shown = house.out.name(&verdict.shown);
    done(house, &format!("plant {plant}: {shown}"), op)?;
    if house.out.form() == Form::Table {
        print_problems(house, &verdict);
    }
    Ok(())
}

/// Says what is wrong with a name and which epithets here are alike.
pub fn print_problems(house: &House, verdict: &NameVerdict) {
    for p in &verdict.reading.problems {
        if p.severity != Severity::Note {
            house.out.line(&format!("  {} {}", p.message, house.out.weak(p.source)));
        }
    }
    for (name, why) in &verdict.alike {
        house.out.line(&format!("  {why}: {name} is in the collection already"));
    }
}

/// Runs `names`.
pub fn names(house: &House, args: &NamesArgs) -> Result {
    match &args.command {
        NamesCommand::Check { names, all, origin } => check(house, names, *all, origin.as_deref()),
        NamesCommand::Load { files } => load(house, files),
    }
}

struct Checked {
    verdict: NameVerdict,
    held: NameCheck,
}

fn check(house: &House, typed: &[String], all: bool, origin: Option<&str>) -> Result {
    let loaded = loaded_checklist(&house.checklist())?;
    let list = loaded.as_ref().unwrap_or_else(|| Checklist::shipped());
    let checked: Vec<Checked> = if all || house.path().exists() {
        let journal = house.journal()?;
        house.read(&journal, |reader| {
            let names = if all { all_names(reader)? } else { typed.to_vec() };
            names
                .iter()
                .map(|n| {
                    let verdict = acts::judge_name(reader, n)?;
                    let held = checklist::check_name(&verdict.reading, origin, list);
                    Ok(Checked { verdict, held })
                })
                .collect()
        })?
    } else {
        let context = answers::names_context();
        typed
            .iter()
            .map(|n| {
                let reading = names::read(n, &context);
                let shown = answers::name_text(reading.normalised.as_deref().unwrap_or(n));
                let held = checklist::check_name(&reading, origin, list);
                Checked { verdict: NameVerdict { reading, shown, alike: Vec::new() }, held }
            })
            .collect()
    };
    print_checked(house, &checked, all)
}

fn all_names(reader: &journal::Reader<'_>) -> Result<Vec<String>> {
    let total = usize::try_from(reader.totals()?.0).unwrap_or(usize::MAX);
    let found = reader.plants(
        &journal::PlantFilter::default(),
        journal::PlantSort::Name,
        0,
        total.max(1),
    )?;
    let mut names: Vec<String> =
        found.rows.into_iter().map(|p| p.name).filter(|n| !n.is_empty()).collect();
    names.dedup();
    Ok(names)
}

fn print_checked(house: &House, checked: &[Checked], short: bool) -> Result {
    match house.out.form() {
        Form::Json => {
            let all: Vec<_> = checked
                .iter()
                .map(|c| {
                    let mut value = c.verdict.reading.to_json();
                    value["alike"] = serde_json::json!(c.verdict.alike);
                    value["checklist"] = serde_json::json!(c.held);
                    value
                })
                .collect();
            house.out.json(&all)
        }
        Form::Table if !short => {
            for c in checked {
                print_one(house, c);
            }
            if let Some(c) = checked.first() {
                house.out.line("");
                house.out.line(&house.out.weak(&c.held.credit));
            }
            Ok(())
        }
        _ => house.out.table(&checked_table(checked)),
    }
}

fn checked_table(checked: &[Checked]) -> Table {
    let mut table =
        Table::new(&["name", "verdict", "normal_form", "problems", "spelling", "accepted"]);
    for c in checked {
        let r = &c.verdict.reading;
        let codes: Vec<_> = r.problems.iter().map(|p| p.code).collect();
        table.row(vec![
            (&r.input).into(),
            verdict_word(r).into(),
            r.normalised.clone().into(),
            codes.join(" ").into(),
            spelling(&c.held).into(),
            c.held.accepted.clone().into(),
        ]);
    }
    table
}

fn verdict_word(reading: &names::Reading) -> &'static str {
    match reading.verdict {
        names::Verdict::Valid => "valid",
        names::Verdict::Correctable => "correctable",
        names::Verdict::Invalid => "invalid",
    }
}

fn spelling(held: &NameCheck) -> String {
    match &held.spelling {
        Spelling::Exact => "as in the checklist".to_owned(),
        Spelling::Near { names } => {
            let near: Vec<_> = names.iter().map(|(n, d)| format!("{n} ({d} off)")).collect();
            format!("nearest {}", near.join(", "))
        }
        Spelling::NotFound => "not in the checklist".to_owned(),
        Spelling::GenusNotInList => "the checklist has nothing in this genus".to_owned(),
        Spelling::NothingToCheck => String::new(),
    }
}

fn print_one(house: &House, c: &Checked) {
    let out = &house.out;
    let r = &c.verdict.reading;
    out.line("");
    let shown = out.name(&c.verdict.shown);
    out.line(&format!("{}  {}", shown, out.weak(verdict_word(r))));
    if r.normalised.as_deref().is_some_and(|n| n != r.input) {
        out.line(&format!("  typed: {}", r.input));
    }
    for p in &r.problems {
        out.line(&format!("  {} {}", p.message, out.weak(p.source)));
    }
    for (name, why) in &c.verdict.alike {
        out.line(&format!("  {why}: {name} is in the collection already"));
    }
    let words = spelling(&c.held);
    if !words.is_empty() {
        out.line(&format!("  spelling: {words}"));
    }
    if let Some(accepted) = &c.held.accepted {
        out.line(&format!("  a synonym of {accepted}"));
    }
    if !c.held.native.is_empty() {
        out.line(&format!("  native: {}", c.held.native.join(" ")));
    }
    if let Some(origin) = c.held.origin {
        out.line(&format!("  stated origin: {}", origin_words(origin)));
    }
}

fn origin_words(origin: OriginCheck) -> &'static str {
    match origin {
        OriginCheck::Native => "native there",
        OriginCheck::Introduced => "introduced there",
        OriginCheck::Extinct => "was native there",
        OriginCheck::Doubtful => "the record there is doubtful",
        OriginCheck::Outside => "not known from there: the origin or the name may be wrong",
        OriginCheck::RangeUnknown => "the checklist tells no areas for this name",
        OriginCheck::PlaceUnknown => "the place was not recognised as an area",
    }
}

fn loaded_checklist(path: &Path) -> Result<Option<Checklist>> {
    if !path.exists() {
        return Ok(None);
    }
    let file = File::open(path).map_err(|e| Problem::file(path, &e))?;
    Checklist::read_from(BufReader::new(file)).map(Some).map_err(|e| {
        Problem::undone(
            format!("{}: {e}", path.display()),
            "load the checklist again with `umbel names load`, or move that file away",
        )
    })
}

/// Who is to be credited for the public checklist.
const CREDIT: &str = "World Checklist of Vascular Plants, R. Govaerts (ed.), Royal Botanic Gardens, Kew, CC BY; loaded by the user.";

fn load(house: &House, files: &[PathBuf]) -> Result {
    let mut builder = Builder::new();
    let mut read: Vec<(TableKind, u64)> = Vec::new();
    for path in files {
        read.extend(load_file(path, &mut builder)?);
    }
    if !read.iter().any(|(kind, _)| *kind != TableKind::Distribution) {
        return Err(Problem::input(
            "there is no table of names among these files",
            "give the names table as well, or the ZIP with both tables",
        ));
    }
    let bar = progress::open_ended("putting the names in order");
    let list = builder.finish(CREDIT);
    bar.finish_and_clear();
    let target = house.checklist();
    keep(&list, &target)?;
    let mut table = Table::new(&["names", "areas", "bytes", "file"]);
    table.row(vec![
        list.len().into(),
        list.area_count().into(),
        list.as_bytes().len().into(),
        target.display().to_string().into(),
    ]);
    house.out.table(&table)
}

fn load_file(path: &Path, builder: &mut Builder) -> Result<Vec<(TableKind, u64)>> {
    let failed = |e: std::io::Error| Problem::file(path, &e);
    let mut file = File::open(path).map_err(failed)?;
    let size = file.metadata().map_err(failed)?.len();
    let mut head = [0u8; 2];
    let zipped = std::io::Read::read(&mut file, &mut head).map_err(failed)? == 2 && &head == b"PK";
    std::io::Seek::rewind(&mut file).map_err(failed)?;
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let bar = if zipped { progress::open_ended(&name) } else { progress::bytes(size, &name) };
    let mut told = |p: checklist::Progress| {
        if zipped {
            bar.set_message(format!("{name}: {} rows", p.rows));
        } else {
            bar.set_position(p.bytes);
        }
        true
    };
    let done = if zipped {
        checklist::load_zip(BufReader::new(file), &name, builder, &mut told)
    } else {
        checklist::load_table(file, &name, builder, &mut told).map(|one| vec![one])
    };
    bar.finish_and_clear();
    done.map_err(|e| {
        let text = e.to_string();
        let (what, next) = text.rsplit_once(". ").unwrap_or((&text, "load it again"));
        Problem { status: 2, ..Problem::undone(what, next.trim_end_matches('.')) }
    })
}

/// Writes the checklist beside the collection: whole or not at all.
fn keep(list: &Checklist, target: &Path) -> Result {
    if let Some(folder) = target.parent().filter(|p| !p.as_os_str().is_empty()) {
        fs::create_dir_all(folder).map_err(|e| Problem::file(folder, &e))?;
    }
    let part = target.with_extension("checklist-part");
    let mut file = File::create(&part).map_err(|e| Problem::file(&part, &e))?;
    list.write_to(&mut file).map_err(|e| Problem::file(&part, &e))?;
    file.sync_all().map_err(|e| Problem::file(&part, &e))?;
    fs::rename(&part, target).map_err(|e| Problem::file(target, &e))
}

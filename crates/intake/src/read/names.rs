//! Name cells, with what the rest of the file tells about them.

use super::draft::{Draft, Setting};
use crate::{
    Language, Part,
    flora::FLORA,
    fold::{fold, squeeze},
    input::Input,
    layout::Layout,
    name::{self, Context, Name, Registry},
    words,
};

fn cells(input: &Input) -> [&str; 4] {
    [&input.name, &input.seed, &input.pollen, &input.parents]
}

/// Genera first, then the cultivars and species that can be read with them.
pub(super) fn registry(layout: &Layout, lang: Language) -> Registry {
    let mut genera = Registry::default();
    for input in &layout.inputs {
        for cell in cells(input) {
            let t = fold(&squeeze(cell));
            let Some(first) = t.split([' ', ',']).next() else { continue };
            let first = first.trim_end_matches('.');
            if let Some(genus) = FLORA.genus(first.trim_start_matches('×')) {
                genera.add_genus(genus);
            } else if let Some(genus) = words::vernacular(&t).or_else(|| words::vernacular(first)) {
                genera.add_genus(genus);
            } else if first.len() >= 9
                && let Some(genus) = FLORA.nearest_genus(first)
            {
                genera.add_genus(genus);
            }
        }
        if let Some(genus) = &input.genus {
            genera.add_genus(genus);
        }
    }
    let mut found: Vec<(Name, usize, bool)> = Vec::new();
    for (row, input) in layout.inputs.iter().enumerate() {
        let ctx = Context { registry: &genera, lang, genus: input.genus.clone(), parent: false };
        let name = name::read(&input.name, &ctx);
        let quoted = !name.codes.contains(&"quotes_missing");
        found.push((name, row, quoted));
        for cell in [&input.seed, &input.pollen] {
            let ctx = Context { registry: &genera, lang, genus: None, parent: true };
            if let Some(parent) = name::read_parent(cell, &ctx)
                && !parent.codes.contains(&"quotes_missing")
                && !parent.ask
            {
                found.push((parent, row, true));
            }
        }
    }
    let mut full = genera;
    // Quoted names first, so that they set the spelling.
    for pass in [true, false] {
        for (name, row, quoted) in &found {
            let usable = !name.ask && !name.codes.contains(&"genus_missing");
            if *quoted == pass && usable {
                full.add(name, *row, *quoted);
            }
        }
    }
    full
}

pub(super) fn read(d: &mut Draft, index: usize, set: &Setting<'_>, previous: Option<&Draft>) {
    let about = &set.layout.sheets[d.input.sheet];
    let raw = if about.labels { d.input.name.trim().to_owned() } else { d.input.name.clone() };
    let answer = set.options.answers.get(&format!("name:{}", squeeze(&raw)));
    let text = answer.cloned().unwrap_or(raw);
    let genus = genus_answer(&text, set).or_else(|| d.input.genus.clone());
    let answered_genus = genus_answer(&text, set).is_some();
    let ctx = Context { registry: &set.registry, lang: set.lang, genus, parent: false };
    let read_text = if answered_genus {
        let rest = text.split_once(' ').map_or("", |x| x.1);
        format!("{} {rest}", ctx.genus.clone().unwrap_or_default())
    } else {
        text.clone()
    };
    let mut name = name::read(&read_text, &ctx);
    if answered_genus {
        name.code("genus_abbreviated");
    }
    if name.ditto {
        name = as_above(name, previous);
    }
    if answer.is_none() {
        possible_slip(&mut name, index, set);
    }
    d.tag = name.tag.clone();
    d.count = name.count.unwrap_or(1);
    d.ask = name.ask;
    d.text = name.text();
    for code in &name.codes {
        d.code(*code);
    }
    if d.text.as_deref() != Some(squeeze(&d.input.name).as_str()) && !d.input.name.trim().is_empty()
    {
        d.corrected(Part::Name);
    }
    d.unnamed = name.formula.is_some();
    d.name = name;
}

/// The genus chosen for a shortened one ("P." stands for Peperomia).
fn genus_answer(text: &str, set: &Setting<'_>) -> Option<String> {
    set.options.answers.get(&format!("genus:{}", squeeze(text))).cloned()
}

/// "dito Nr. 5": the name above, with what this row adds.
fn as_above(read: Name, previous: Option<&Draft>) -> Name {
    let Some(previous) = previous else { return Name { ask: true, ..read } };
    let mut name = previous.name.clone();
    name.codes.clear();
    name.code("ditto");
    name.tag = read.tag;
    name.dead = read.dead;
    name.count = read.count;
    name.ditto = true;
    name.words = read.words;
    let also = read.codes.iter().find(|c| **c == "words_in_name");
    if let Some(code) = also {
        name.code(code);
    }
    if name.formula.is_some() || previous.unnamed {
        name.code("unnamed_seedling");
        name.code("parents_from_other_row");
        name.code("parent_genus_filled");
    }
    name
}

/// A cultivar that differs by one slip from another of the list.
fn possible_slip(name: &mut Name, index: usize, set: &Setting<'_>) {
    if name.ask || name.formula.is_some() || name.ditto {
        return;
    }
    let (Some(genus), Some(cultivar)) = (&name.genus, &name.cultivar) else { return };
    if let Some(other) = set.registry.nearly(cultivar, genus, index) {
        let choices = vec![format!("{genus} '{}'", other.epithet), format!("{genus} '{cultivar}'")];
        name.choices = choices;
        name.ask = true;
        name.code("possible_misspelling");
    }
}

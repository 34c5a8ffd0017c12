//! Gathering rows into an image.

use super::image::{Checklist, HEADER, Raw, write_image};
use super::lookup::key;
use super::{AreaRecord, NameRecord, Sink};
use std::collections::HashMap;

/// A sink that gathers a table and makes a [`Checklist`] of it.
#[derive(Debug, Default)]
pub struct Builder {
    text: String,
    names: Vec<Gathered>,
    areas: Vec<(u64, u16)>,
    strings: Interner,
}

/// A name while it waits for its place.
#[derive(Debug)]
struct Gathered {
    id: u64,
    accepted: Option<u64>,
    raw: Raw,
}

/// Short strings that occur often, each kept once.
#[derive(Debug, Default)]
struct Interner {
    list: Vec<String>,
    known: HashMap<String, u16>,
}

impl Interner {
    fn intern(&mut self, text: &str) -> Result<u16, String> {
        if let Some(at) = self.known.get(text) {
            return Ok(*at);
        }
        // Two bits of an area are taken by the kind of occurrence.
        let at = u16::try_from(self.list.len()).ok().filter(|at| *at < 1 << 14);
        let at = at.ok_or("too many different families, ranks and areas".to_owned())?;
        if text.len() > 255 {
            return Err(format!("“{}…” is too long", text.chars().take(40).collect::<String>()));
        }
        self.list.push(text.to_owned());
        self.known.insert(text.to_owned(), at);
        Ok(at)
    }
}

impl Sink for Builder {
    fn name(&mut self, record: NameRecord<'_>) -> Result<(), String> {
        let short = |text: &str, what: &str| {
            u16::try_from(text.len()).map_err(|_| format!("the {what} is too long"))
        };
        let ipni =
            u8::try_from(record.ipni.len()).map_err(|_| "the IPNI id is too long".to_owned())?;
        let text = u32::try_from(self.text.len()).map_err(|_| "the list is too long".to_owned())?;
        let raw = Raw {
            text,
            name: short(record.name, "name")?,
            authors: short(record.authors, "author citation")?,
            accepted: u32::MAX,
            areas: 0,
            area_count: 0,
            family: self.strings.intern(record.family)?,
            rank: self.strings.intern(record.rank)?,
            status: record.status as u8,
            ipni,
        };
        for piece in [record.name, record.authors, record.ipni] {
            self.text.push_str(piece);
        }
        self.names.push(Gathered { id: record.id, accepted: record.accepted, raw });
        Ok(())
    }

    fn area(&mut self, record: AreaRecord<'_>) -> Result<(), String> {
        let code = self.strings.intern(record.area)?;
        self.areas.push((record.name_id, code << 2 | record.occurrence as u16));
        Ok(())
    }
}

impl Builder {
    /// A builder without rows.
    pub fn new() -> Self {
        Self::default()
    }

    /// Number of names gathered so far.
    pub fn len(&self) -> usize {
        self.names.len()
    }

    /// Whether no name was gathered.
    pub fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    /// Make the checklist. `credit` says where the table comes from and under which licence.
    pub fn finish(mut self, credit: &str) -> Checklist {
        let mut order = self.order();
        // Accepted names first among equals.
        order.sort_unstable_by(|a, b| {
            let status = |at: &usize| self.names[*at].raw.status;
            a.0.cmp(&b.0).then_with(|| (status(&a.1), a.1).cmp(&(status(&b.1), b.1)))
        });
        let place: HashMap<u64, u32> = order
            .iter()
            .enumerate()
            .map(|(new, (_, old))| (self.names[*old].id, new as u32))
            .collect();
        self.areas.sort_unstable();
        self.areas.dedup();
        let mut entries: Vec<Raw> = Vec::with_capacity(order.len());
        let mut genera: Vec<u32> = Vec::new();
        let mut genus = String::new();
        let mut areas: Vec<u16> = Vec::with_capacity(self.areas.len());
        for (new, (sort_key, old)) in order.iter().enumerate() {
            let gathered = &self.names[*old];
            let mut raw = gathered.raw;
            raw.accepted =
                gathered.accepted.and_then(|id| place.get(&id)).copied().unwrap_or(u32::MAX);
            let own = self.areas_of(gathered.id);
            raw.areas = areas.len() as u32;
            raw.area_count = u16::try_from(own.len()).unwrap_or(u16::MAX);
            areas.extend(own.iter().take(usize::from(raw.area_count)).map(|(_, area)| *area));
            entries.push(raw);
            let first = sort_key.split(' ').next().unwrap_or_default();
            if first != genus || new == 0 {
                genus = first.to_owned();
                genera.push(new as u32);
            }
        }
        let bytes = write_image(&entries, &areas, &genera, &self.strings.list, &self.text, credit);
        debug_assert!(bytes.len() > HEADER);
        Checklist::trusted(bytes)
    }

    fn order(&self) -> Vec<(String, usize)> {
        let name = |raw: &Raw| {
            let start = raw.text as usize;
            self.text.get(start..start + usize::from(raw.name)).unwrap_or_default()
        };
        self.names.iter().enumerate().map(|(at, row)| (key(name(&row.raw)), at)).collect()
    }

    fn areas_of(&self, id: u64) -> &[(u64, u16)] {
        let from = self.areas.partition_point(|(name, _)| *name < id);
        let to = self.areas.partition_point(|(name, _)| *name <= id);
        &self.areas[from..to]
    }
}

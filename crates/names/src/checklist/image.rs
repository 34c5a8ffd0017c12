//! The image of a checklist: one run of bytes, searched where it lies.
//!
//! Header (magic, version, six section lengths, checksum), then entries of 24 bytes in the order of
//! their keys, areas, starts of genera, short strings, text, credit. Numbers are little-endian.

use super::{Occurrence, OpenError, Status};
use crate::nearest::NameList;
use std::io::{Read, Write};
use std::sync::OnceLock;

const MAGIC: &[u8; 7] = b"UMBLCHK";
const VERSION: u8 = 1;
/// Bytes before the first section: magic, version, six lengths, checksum.
pub(super) const HEADER: usize = 8 + 6 * 8 + 8;
const ENTRY: usize = 24;
const NONE: u32 = u32::MAX;

/// An entry as it lies in the image.
#[derive(Debug, Clone, Copy)]
pub(super) struct Raw {
    pub text: u32,
    pub name: u16,
    pub authors: u16,
    pub accepted: u32,
    pub areas: u32,
    pub area_count: u16,
    pub family: u16,
    pub rank: u16,
    pub status: u8,
    pub ipni: u8,
}

impl Raw {
    fn write(&self, out: &mut Vec<u8>) {
        out.extend(self.text.to_le_bytes());
        out.extend(self.name.to_le_bytes());
        out.extend(self.authors.to_le_bytes());
        out.extend(self.accepted.to_le_bytes());
        out.extend(self.areas.to_le_bytes());
        out.extend(self.area_count.to_le_bytes());
        out.extend(self.family.to_le_bytes());
        out.extend(self.rank.to_le_bytes());
        out.extend([self.status, self.ipni]);
    }

    fn read(bytes: &[u8]) -> Raw {
        let two = |at: usize| u16::from_le_bytes([bytes[at], bytes[at + 1]]);
        let four = |at: usize| u32::from(two(at)) | u32::from(two(at + 2)) << 16;
        Raw {
            text: four(0),
            name: two(4),
            authors: two(6),
            accepted: four(8),
            areas: four(12),
            area_count: two(16),
            family: two(18),
            rank: two(20),
            status: bytes[22],
            ipni: bytes[23],
        }
    }
}

/// A list of names with their standing and areas. See the [module](super).
#[derive(Debug, Clone)]
pub struct Checklist {
    bytes: Vec<u8>,
    /// Starts of the sections, and the end.
    sections: [usize; 7],
    strings: Vec<String>,
}

/// Which section a number of [`Checklist::sections`] belongs to.
const ENTRIES: usize = 0;
const AREAS: usize = 1;
const GENERA: usize = 2;
const STRINGS: usize = 3;
const TEXT: usize = 4;
const CREDIT: usize = 5;

pub(super) fn write_image(
    entries: &[Raw],
    areas: &[u16],
    genera: &[u32],
    strings: &[String],
    text: &str,
    credit: &str,
) -> Vec<u8> {
    let mut string_bytes = Vec::new();
    for string in strings {
        string_bytes.push(string.len() as u8);
        string_bytes.extend(string.as_bytes());
    }
    let lengths = [
        entries.len() * ENTRY,
        areas.len() * 2,
        genera.len() * 4,
        string_bytes.len(),
        text.len(),
        credit.len(),
    ];
    let mut out = Vec::with_capacity(HEADER + lengths.iter().sum::<usize>());
    out.extend(MAGIC);
    out.push(VERSION);
    for length in lengths {
        out.extend((length as u64).to_le_bytes());
    }
    out.extend([0; 8]);
    entries.iter().for_each(|entry| entry.write(&mut out));
    areas.iter().for_each(|area| out.extend(area.to_le_bytes()));
    genera.iter().for_each(|start| out.extend(start.to_le_bytes()));
    out.extend(string_bytes);
    out.extend(text.as_bytes());
    out.extend(credit.as_bytes());
    let sum = checksum(&out[HEADER..]).to_le_bytes();
    out[HEADER - 8..HEADER].copy_from_slice(&sum);
    out
}

/// FNV-1a over words of eight bytes: finds a cut or changed file, no more.
fn checksum(bytes: &[u8]) -> u64 {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    let mut mix = |word: u64| {
        hash ^= word;
        hash = hash.wrapping_mul(0x0000_0100_0000_01b3);
        hash ^= hash >> 29;
    };
    let (chunks, rest) = bytes.as_chunks::<8>();
    chunks.iter().for_each(|chunk| mix(u64::from_le_bytes(*chunk)));
    rest.iter().for_each(|byte| mix(u64::from(*byte)));
    mix(bytes.len() as u64);
    hash
}

impl Checklist {
    /// An image that was made in this process.
    pub(super) fn trusted(bytes: Vec<u8>) -> Self {
        let sections = sections(&bytes).unwrap_or([HEADER; 7]);
        let strings = strings(&bytes[sections[STRINGS]..sections[TEXT]]).unwrap_or_default();
        Checklist { bytes, sections, strings }
    }

    /// The extract that ships with the program: accepted names of 19 genera.
    pub fn shipped() -> &'static Checklist {
        static SHIPPED: OnceLock<Checklist> = OnceLock::new();
        SHIPPED.get_or_init(|| {
            let table = include_bytes!("../../data/accepted-names-and-ranges.csv");
            let mut builder = super::Builder::new();
            // The file is part of the program; a test reads all of it.
            let read = super::load_table(&table[..], "extract", &mut builder, &mut |_| true);
            debug_assert!(read.is_ok());
            builder.finish(super::CREDIT)
        })
    }

    /// Open an image.
    ///
    /// # Errors
    /// When the bytes are no image, an image of another version, or damaged.
    pub fn open(bytes: Vec<u8>) -> Result<Self, OpenError> {
        if bytes.len() < 8 || &bytes[..7] != MAGIC {
            return Err(OpenError::NotAChecklist);
        }
        if bytes[7] != VERSION {
            return Err(OpenError::Version(bytes[7]));
        }
        let sections = sections(&bytes).ok_or(OpenError::Damaged("its sections do not fit"))?;
        let sum: [u8; 8] = bytes[HEADER - 8..HEADER].try_into().unwrap_or_default();
        if checksum(&bytes[HEADER..]) != u64::from_le_bytes(sum) {
            return Err(OpenError::Damaged("its checksum does not agree"));
        }
        let strings = strings(&bytes[sections[STRINGS]..sections[TEXT]])
            .ok_or(OpenError::Damaged("its strings do not fit"))?;
        Ok(Checklist { bytes, sections, strings })
    }

    /// Read an image to its end and open it.
    ///
    /// # Errors
    /// What reading gave, or what [`open`](Self::open) said, as an error of kind invalid data.
    pub fn read_from(mut reader: impl Read) -> std::io::Result<Self> {
        let mut bytes = Vec::new();
        reader.read_to_end(&mut bytes)?;
        Self::open(bytes)
            .map_err(|error| std::io::Error::new(std::io::ErrorKind::InvalidData, error))
    }

    /// Write the image.
    ///
    /// # Errors
    /// What writing gave.
    pub fn write_to(&self, mut writer: impl Write) -> std::io::Result<()> {
        writer.write_all(&self.bytes)
    }

    /// The image itself.
    pub fn as_bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Number of names, synonyms included.
    pub fn len(&self) -> usize {
        (self.sections[AREAS] - self.sections[ENTRIES]) / ENTRY
    }

    /// Whether there is no name.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Number of areas of all names together.
    pub fn area_count(&self) -> usize {
        (self.sections[GENERA] - self.sections[AREAS]) / 2
    }

    /// Where the list comes from.
    pub fn credit(&self) -> &str {
        std::str::from_utf8(&self.bytes[self.sections[CREDIT]..self.sections[6]])
            .unwrap_or_default()
    }

    /// All names in the order of their keys.
    pub fn iter(&self) -> impl Iterator<Item = Entry<'_>> {
        (0..self.len()).filter_map(|at| self.entry(at))
    }

    pub(super) fn entry(&self, at: usize) -> Option<Entry<'_>> {
        let start = self.sections[ENTRIES] + at.checked_mul(ENTRY)?;
        let end = start + ENTRY;
        if end > self.sections[AREAS] {
            return None;
        }
        Some(Entry { list: self, raw: Raw::read(&self.bytes[start..end]), at })
    }

    /// Number of genera.
    pub(super) fn genus_count(&self) -> usize {
        (self.sections[STRINGS] - self.sections[GENERA]) / 4
    }

    /// The entries of a genus, by its number.
    pub(super) fn genus_range(&self, genus: usize) -> std::ops::Range<usize> {
        let start = |genus: usize| {
            let at = self.sections[GENERA] + genus * 4;
            match self.bytes.get(at..at + 4) {
                Some(b) if genus < self.genus_count() => {
                    u32::from_le_bytes([b[0], b[1], b[2], b[3]]) as usize
                }
                _ => self.len(),
            }
        };
        start(genus)..start(genus + 1)
    }

    fn text(&self, start: usize, length: usize) -> &str {
        let from = self.sections[TEXT].saturating_add(start);
        let to = from.saturating_add(length);
        if to > self.sections[CREDIT] {
            return "";
        }
        std::str::from_utf8(&self.bytes[from..to]).unwrap_or_default()
    }
}

impl NameList for Checklist {
    fn each_name(&self, visit: &mut dyn FnMut(&str) -> bool) {
        for entry in self.iter() {
            if !visit(entry.name()) {
                return;
            }
        }
    }
}

fn sections(bytes: &[u8]) -> Option<[usize; 7]> {
    if bytes.len() < HEADER {
        return None;
    }
    let mut starts = [HEADER; 7];
    for at in 0..6 {
        let from = 8 + at * 8;
        let length = u64::from_le_bytes(bytes.get(from..from + 8)?.try_into().ok()?);
        starts[at + 1] = starts[at].checked_add(usize::try_from(length).ok()?)?;
    }
    (starts[6] == bytes.len()).then_some(starts)
}

fn strings(mut bytes: &[u8]) -> Option<Vec<String>> {
    let mut out = Vec::new();
    while let Some((length, rest)) = bytes.split_first() {
        let (string, rest) = rest.split_at_checked(usize::from(*length))?;
        out.push(std::str::from_utf8(string).ok()?.to_owned());
        bytes = rest;
    }
    Some(out)
}

/// One name of a checklist.
#[derive(Debug, Clone, Copy)]
pub struct Entry<'a> {
    list: &'a Checklist,
    raw: Raw,
    at: usize,
}

impl<'a> Entry<'a> {
    /// The name without author.
    pub fn name(&self) -> &'a str {
        self.list.text(self.raw.text as usize, usize::from(self.raw.name))
    }

    /// Its authors; may be empty.
    pub fn authors(&self) -> &'a str {
        let start = self.raw.text as usize + usize::from(self.raw.name);
        self.list.text(start, usize::from(self.raw.authors))
    }

    /// Its identifier in the International Plant Names Index; may be empty.
    pub fn ipni(&self) -> &'a str {
        let before = usize::from(self.raw.name) + usize::from(self.raw.authors);
        self.list.text(self.raw.text as usize + before, usize::from(self.raw.ipni))
    }

    /// Its family; may be empty.
    pub fn family(&self) -> &'a str {
        self.string(self.raw.family)
    }

    /// Its rank as the table calls it; may be empty.
    pub fn rank(&self) -> &'a str {
        self.string(self.raw.rank)
    }

    /// Its standing.
    pub fn status(&self) -> Status {
        Status::from_byte(self.raw.status)
    }

    /// The accepted name it belongs to; itself if it is accepted.
    pub fn accepted(&self) -> Option<Entry<'a>> {
        if self.raw.accepted == NONE {
            return (self.status() == Status::Accepted).then_some(*self);
        }
        self.list.entry(self.raw.accepted as usize)
    }

    /// Its areas: level-3 code and how it occurs there.
    pub fn areas(&self) -> impl Iterator<Item = (&'a str, Occurrence)> {
        let list = self.list;
        let start = list.sections[AREAS] + self.raw.areas as usize * 2;
        let end = start + usize::from(self.raw.area_count) * 2;
        let bytes = if end <= list.sections[GENERA] { &list.bytes[start..end] } else { &[] };
        bytes.as_chunks::<2>().0.iter().map(move |pair| {
            let area = u16::from_le_bytes(*pair);
            let code = list.strings.get(usize::from(area >> 2)).map_or("", String::as_str);
            (code, Occurrence::from_bits(area))
        })
    }

    /// Whether two entries are the same row.
    pub fn is(&self, other: &Entry<'_>) -> bool {
        self.at == other.at
    }

    fn string(&self, at: u16) -> &'a str {
        self.list.strings.get(usize::from(at)).map_or("", String::as_str)
    }
}

//! A journal entry as a sentence.

use journal::{EntryRow, Reader, Uid};
use serde::Serialize;
use serde_json::Value;
use texts::Texts;

use crate::{NameText, Result, name_text};

/// An entry in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sentence {
    /// What happened.
    pub text: String,
    /// Words of the writer.
    pub note: Option<String>,
    /// Names mentioned, in order of the `{}` marks in `text`.
    pub names: Vec<NameText>,
}

struct Speaker<'a, 'c> {
    t: Texts,
    reader: &'a Reader<'c>,
    entry: &'a EntryRow,
    names: Vec<NameText>,
}

/// Says an entry in the reader's language.
///
/// # Errors
/// If the record cannot be read.
pub fn entry_sentence(reader: &Reader<'_>, entry: &EntryRow, t: Texts) -> Result<Sentence> {
    let mut speaker = Speaker { t, reader, entry, names: Vec::new() };
    let text = speaker.sentence()?;
    let mut text = part_prefix(&speaker, text)?;
    if !text.ends_with(['.', '?', '!']) && !text.is_empty() {
        text.push('.');
    }
    Ok(Sentence { text, note: entry.note.clone(), names: speaker.names })
}

/// Puts “Flower 7: …” before a sentence about a part.
fn part_prefix(s: &Speaker<'_, '_>, text: String) -> Result<String> {
    if s.entry.subject_kind != journal::SubjectKind::Part {
        return Ok(text);
    }
    let subject = s.reader.subject(s.entry.subject)?;
    let what = match subject {
        Some(row) => s.reader.claimed_words(row.id, "what")?,
        None => String::new(),
    };
    let what = if what.is_empty() { "part".to_owned() } else { what };
    let word = capital(&s.t.word(&what));
    // German nouns keep their capital wherever they stand.
    let text = if s.t.lang() == texts::Lang::De { text } else { lower_first(&text) };
    Ok(format!("{word} {}: {text}", s.entry.subject_number))
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().chain(chars).collect())
}

impl Speaker<'_, '_> {
    fn value(&self, key: &str) -> Option<&Value> {
        self.entry.detail.get(key)
    }

    fn words(&self, key: &str) -> Option<String> {
        self.value(key).and_then(Value::as_str).map(str::to_owned)
    }

    /// A word of a declared choice, in the reader's language.
    fn choice(&self, key: &str) -> Option<String> {
        self.words(key).map(|w| self.t.word(&w.replace('_', " ")))
    }

    fn typed(&self, key: &str) -> Option<String> {
        self.value(key).and_then(|v| v.get("typed")).and_then(Value::as_str).map(str::to_owned)
    }

    fn count(&self, key: &str) -> Option<u64> {
        self.value(key).and_then(Value::as_u64)
    }

    fn flag(&self, key: &str) -> bool {
        self.value(key).and_then(Value::as_bool).unwrap_or(false)
    }

    fn uid(&self, key: &str) -> Option<Uid> {
        self.words(key).and_then(|s| s.parse().ok())
    }

    fn keeper(&self, key: &str) -> Result<Option<String>> {
        let Some(uid) = self.uid(key) else { return Ok(None) };
        let Some(row) = self.reader.subject(uid)? else { return Ok(None) };
        Ok(self.reader.keeper(row.number)?.map(|k| k.name))
    }

    fn place(&self) -> Result<Option<String>> {
        let Some(uid) = self.uid("place") else { return Ok(None) };
        let Some(row) = self.reader.subject(uid)? else { return Ok(None) };
        Ok(self.reader.place(row.number)?.map(|p| p.name))
    }

    /// Notes the name of a plant or clone and returns its mark.
    fn name(&mut self, uid: Uid) -> Result<String> {
        let name = if let Some(c) = self.reader.clone_by_uid(uid)? {
            c.name
        } else if let Some(p) = self.reader.plant_by_uid(uid)? {
            let name = if p.name.is_empty() { self.t.t("not named").to_owned() } else { p.name };
            self.names.push(name_text(&name));
            return Ok(format!("{{}} ({})", p.number));
        } else {
            return Ok(self.t.t("something no longer recorded").to_owned());
        };
        self.names.push(name_text(&name));
        Ok("{}".to_owned())
    }

    fn joined(&self, head: &'static str, parts: Vec<Option<String>>) -> String {
        let mut out = self.t.t(head).to_owned();
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        if !parts.is_empty() {
            out.push_str(if out.contains(';') { ", " } else { "; " });
            out.push_str(&parts.join(", "));
        }
        out
    }

    fn sentence(&mut self) -> Result<String> {
        let t = self.t;
        Ok(match self.entry.kind.as_str() {
            "arrived" => self.arrived()?,
            "placed" => match (self.place()?, self.words("spot")) {
                (Some(place), Some(spot)) => {
                    t.f("Placed: {place}, at {spot}", &[("place", &place), ("spot", &spot)])
                }
                (Some(place), None) => t.f("Placed: {place}", &[("place", &place)]),
                (None, _) => t.t("Placed").to_owned(),
            },
            "potted" => self.potted(),
            "watered" => self.watered(),
            "checked" => {
                let limp = self.flag("limp").then(|| t.t("limp").to_owned());
                let found = self.choice("found").unwrap_or_default();
                let head = t.f("Looked: {found}", &[("found", &found)]);
                [Some(head), limp].into_iter().flatten().collect::<Vec<_>>().join(", ")
            }
            "checked_roots" => {
                let roots = [self.roots(), self.rotten()];
                self.joined("Roots looked at", roots.into())
            }
            "weighed" => t.f("Weighed {w}", &[("w", &self.typed("weight").unwrap_or_default())]),
            "reservoir" => self.joined(
                "Reservoir",
                vec![
                    self.typed("level"),
                    self.flag("filled").then(|| t.t("filled").to_owned()),
                    self.typed("conductivity"),
                ],
            ),
            "measured" => self.measured(),
            "reading" => self.joined(
                "Read by hand",
                ["temperature", "humidity", "illuminance", "photon_flux", "conductivity"]
                    .iter()
                    .map(|k| self.typed(k))
                    .collect(),
            ),
            "logger_read" => self.joined(
                "Logger read",
                vec![
                    self.words("logger"),
                    self.count("readings").map(|n| t.f("one reading|{n} readings", &[("n", &n)])),
                    self.count("refused")
                        .filter(|n| *n > 0)
                        .map(|n| t.f("one line not taken|{n} lines not taken", &[("n", &n)])),
                ],
            ),
            "bud_seen" => self.with_count("Bud seen", "One bud seen|{n} buds seen"),
            "opened" => self.with_count("Opened", "One opened|{n} opened"),
            "still_open" => self.with_count("Still open", "One still open|{n} still open"),
            "ended" => self.joined("Ended", vec![self.choice("how")]),
            "cuttings_taken" => self.joined(
                "Cuttings taken",
                vec![
                    self.count("count").map(|n| n.to_string()),
                    self.words("medium"),
                    self.words("method"),
                ],
            ),
            "rooted" => {
                let part =
                    |n: Option<u64>, words: &'static str| n.map(|n| t.f(words, &[("n", &n)]));
                self.joined(
                    "Rooting",
                    vec![
                        part(self.count("rooted"), "{n} rooted"),
                        part(self.count("not_yet"), "{n} not yet"),
                        part(self.count("dead"), "{n} dead"),
                    ],
                )
            }
            "pollinated" => self.pollinated()?,
            "pod_seen" if self.count("count") == Some(0) => {
                t.t("No pod: it did not take").to_owned()
            }
            "pod_seen" => self.with_count("Pod seen", "One pod seen|{n} pods seen"),
            "pod_ripe" => self.with_count("Pod ripe", "One pod ripe|{n} pods ripe"),
            "pod_lost" => self.joined("Pod lost", vec![self.words("why")]),
            "seeds_counted" => {
                let full = self.count("full").map(|n| t.f("{n} full", &[("n", &n)]));
                let empty = self.count("empty").map(|n| t.f("{n} empty", &[("n", &n)]));
                self.joined("Seeds counted", vec![full, empty])
            }
            "sown" => self.joined(
                "Sown",
                vec![
                    self.count("count").map(|n| n.to_string()),
                    self.words("medium"),
                    self.words("method"),
                ],
            ),
            "germinated" => {
                t.f("{n} germinated so far", &[("n", &self.count("so_far").unwrap_or(0))])
            }
            "pricked_out" => self.with_count("Pricked out", "One pricked out|{n} pricked out"),
            "scored" => self.scored(),
            "pest_seen" => self.joined(
                "Pest seen",
                vec![self.words("pest"), self.choice("how_many"), self.words("where")],
            ),
            "clean" => {
                self.joined("Looked and clean", vec![self.words("looked_for"), self.choice("how")])
            }
            "treated" => {
                let unknown =
                    self.flag("unknown_product").then(|| t.t("unknown product").to_owned());
                self.joined(
                    "Treated",
                    vec![
                        self.words("product"),
                        unknown,
                        self.choice("how"),
                        self.words("against"),
                        self.words("label_group"),
                        self.words("label_says").map(|w| format!("“{w}”")),
                    ],
                )
            }
            "damage_seen" => {
                let leaves = self.count("leaves").map(|n| t.f("one leaf|{n} leaves", &[("n", &n)]));
                self.joined("Damage seen", vec![self.choice("damage"), leaves, self.words("where")])
            }
            "shared" => self.shared()?,
            "kept_apart" => {
                let trusted = self.flag("trusted").then(|| t.t("from a trusted hand").to_owned());
                self.joined("Kept apart", vec![trusted, self.words("why")])
            }
            "let_in" => self.joined("Let in with the others", vec![self.words("why")]),
            "promised" => self.handed("Promised")?,
            "given" => self.handed("Given")?,
            "sold" => self.handed("Sold")?,
            "swapped" => self.handed("Swapped")?,
            "shown" => self.joined("Shown", vec![self.words("where"), self.words("result")]),
            "asked" => self.joined("Asked", vec![self.keeper("whom")?, self.words("what")]),
            "named" => {
                let name = self.words("name").unwrap_or_default();
                self.names.push(name_text(&name));
                self.joined("Named {}", vec![self.words("by"), self.words("why")])
            }
            "photo" => t.t("Photo").to_owned(),
            "note" => String::new(),
            "lost" => self.joined("Lost", vec![self.words("why")]),
            "doubtful" => {
                self.joined("Doubtful whether it is still there", vec![self.words("why")])
            }
            other => t.word(other),
        })
    }

    fn with_count(&self, one: &'static str, several: &'static str) -> String {
        match self.count("count") {
            Some(n) if n > 1 => self.t.f(several, &[("n", &n)]),
            _ => self.t.t(one).to_owned(),
        }
    }

    fn arrived(&mut self) -> Result<String> {
        let t = self.t;
        let as_what = self.choice("received_as");
        let head = match self.keeper("from")? {
            Some(keeper) => t.f("From {keeper}", &[("keeper", &keeper)]),
            None if self.flag("own") => t.t("Raised here").to_owned(),
            None => t.t("Came here").to_owned(),
        };
        let price = self.value("price").map(money);
        let swap =
            self.words("swapped_for").map(|w| t.f("in exchange for {what}", &[("what", &w)]));
        let free = self.flag("free").then(|| t.t("a gift").to_owned());
        Ok([Some(head), as_what, price, swap, free]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(", "))
    }

    fn potted(&self) -> String {
        let mix = self
            .value("mix")
            .and_then(Value::as_object)
            .map(|m| m.iter().map(|(k, v)| format!("{k} {v}")).collect::<Vec<_>>().join(", "));
        self.joined(
            "Potted",
            vec![
                self.typed("pot"),
                // A pot of a size needs no further word for what it is.
                self.choice("container").filter(|_| {
                    self.typed("pot").is_none() || self.words("container").as_deref() != Some("pot")
                }),
                self.choice("material"),
                mix,
                self.words("why"),
                self.roots(),
                self.rotten(),
            ],
        )
    }

    fn roots(&self) -> Option<String> {
        self.choice("roots").map(|how| self.t.f("roots: {how}", &[("how", &how)]))
    }

    fn rotten(&self) -> Option<String> {
        self.flag("rotten").then(|| self.t.t("some rotten").to_owned())
    }

    fn watered(&self) -> String {
        let t = self.t;
        let found = self.choice("found").map(|f| t.f("found {found}", &[("found", &f)]));
        let after = self.typed("weight_after").map(|w| t.f("{w} after", &[("w", &w)]));
        let feed = self.words("feed").map(|f| match self.words("feed_rate") {
            Some(rate) => t.f("fed {feed} at {rate}", &[("feed", &f), ("rate", &rate)]),
            None => t.f("fed {feed}", &[("feed", &f)]),
        });
        let round = self.flag("round").then(|| t.t("in the round").to_owned());
        let limp = self.flag("limp").then(|| t.t("limp").to_owned());
        let (amount, water) = (self.typed("amount"), self.choice("water"));
        let meter = self.typed("conductivity").map(|c| t.f("{c} poured", &[("c", &c)]));
        let drained = self.typed("drained").map(|d| t.f("{d} ran out", &[("d", &d)]));
        let drain = (self.typed("drain_conductivity"))
            .map(|c| t.f("what ran out showed {c}", &[("c", &c)]));
        let parts = vec![round, found, limp, amount, water, feed, meter, drained, drain, after];
        self.joined("Watered", parts)
    }

    fn measured(&self) -> String {
        let what = self.words("what").unwrap_or_default();
        let value = self.typed("length").or_else(|| {
            self.value("value").map(|v| match self.words("unit") {
                Some(unit) => format!("{v} {unit}"),
                None => v.to_string(),
            })
        });
        let value = value.or_else(|| self.count("count").map(|n| n.to_string()));
        let head = capital(&self.t.word(&what));
        value.map_or(head.clone(), |v| format!("{head}: {v}"))
    }

    fn scored(&self) -> String {
        let what = self.words("trait").unwrap_or_default();
        let value = self
            .value("score")
            .map(ToString::to_string)
            .or_else(|| self.words("state"))
            .unwrap_or_default();
        self.t.f("Scored: {what} {value}", &[("what", &what), ("value", &value)])
    }

    fn pollinated(&mut self) -> Result<String> {
        let t = self.t;
        let pollen = match self.uid("pollen_of") {
            Some(uid) => Some(t.f("with pollen of {name}", &[("name", &self.name(uid)?)])),
            None => match self.words("pollen").as_deref() {
                Some("open") => Some(t.t("left to insects").to_owned()),
                Some("self") => Some(t.t("with its own pollen").to_owned()),
                Some("unknown") => Some(t.t("with unknown pollen").to_owned()),
                Some("one_of") => Some(t.t("with one of several pollens").to_owned()),
                _ => None,
            },
        };
        let flowers = self.count("flowers").map(|n| t.f("one flower|{n} flowers", &[("n", &n)]));
        let clear = self.flag("emasculated").then(|| t.t("anthers taken out before").to_owned());
        let own = self.flag("own_pollen").then(|| t.t("own pollen got in too").to_owned());
        Ok(self.joined("Pollinated", vec![flowers, pollen, self.words("method"), clear, own]))
    }

    fn shared(&mut self) -> Result<String> {
        let list = self.value("with").and_then(Value::as_array).cloned().unwrap_or_default();
        let mut numbers = Vec::new();
        for uid in list.iter().filter_map(|v| v.as_str()?.parse::<Uid>().ok()) {
            if let Some(row) = self.reader.subject(uid)? {
                numbers.push(row.number.to_string());
            }
        }
        let what = self.choice("what").unwrap_or_default();
        let with = numbers.join(", ");
        Ok(self.t.f("Shared with {with}: {what}", &[("with", &with), ("what", &what)]))
    }

    fn handed(&mut self, head: &'static str) -> Result<String> {
        let t = self.t;
        let to = self.keeper("to")?.map(|k| t.f("to {keeper}", &[("keeper", &k)]));
        let whole = self.flag("whole").then(|| t.t("the whole plant").to_owned());
        let n = self.count("count").map(|n| n.to_string());
        let price = self.value("price").map(money);
        let against = self.words("for").map(|w| t.f("in exchange for {what}", &[("what", &w)]));
        Ok(self.joined(head, vec![n, self.words("what"), whole, to, price, against]))
    }
}

/// An amount with its currency; a currency that was left open is not guessed.
pub(crate) fn money(value: &Value) -> String {
    let amount = value.get("amount").and_then(Value::as_f64).unwrap_or(0.0);
    let amount =
        if amount.fract().abs() < 1e-9 { format!("{amount:.0}") } else { format!("{amount:.2}") };
    match value.get("currency").and_then(Value::as_str) {
        Some(c) => format!("{amount} {c}"),
        None => amount,
    }
}

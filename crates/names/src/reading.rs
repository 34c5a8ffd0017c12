//! What reading a name gives: verdict, parts, problems.

use serde::Serialize;

/// Whether a name may stand as it was typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Well formed for its kind; warnings are possible.
    Valid,
    /// One definite repair makes it well formed; the normal form has it.
    Correctable,
    /// Must not be accepted as a formal name; there is no normal form.
    Invalid,
}

/// How much a problem matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The name cannot stand.
    Error,
    /// A person has to confirm what was understood.
    Ask,
    /// Something was repaired.
    Fix,
    /// The name stands, but there is something to think about.
    Warn,
    /// For information.
    Note,
}

/// One thing that was noticed while reading a name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// Short, stable code, for instance `rank_abbreviation`.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// What was wrong with which part, and what to do.
    pub message: String,
    /// The rule it rests on; an article number only where the article itself was read.
    pub source: &'static str,
}

/// What kind of name was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A botanical name of any rank, nothotaxa included.
    Botanical,
    /// A hybrid formula.
    Formula,
    /// A graft-chimaera: a name with `+` before it, or a formula joined by `+`.
    Chimaera,
    /// A cultivar.
    Cultivar,
    /// A Group (without a cultivar epithet).
    Group,
    /// A grex (without a cultivar epithet).
    Grex,
    /// A trade designation, with or without its accepted epithet.
    TradeDesignation,
    /// Open nomenclature: sp., cf., aff., ?.
    Open,
    /// Material without a name, known by a tag.
    Tag,
    /// Nothing that could be read as a name.
    Unreadable,
}

/// The sign before a name or epithet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub enum HybridSign {
    /// ×, a sexual hybrid.
    #[serde(rename = "×")]
    Hybrid,
    /// +, a graft-chimaera.
    #[serde(rename = "+")]
    Graft,
}

/// A mark of doubt before an element.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub enum Qualifier {
    /// `cf.`: probably that, not confirmed.
    #[serde(rename = "cf.")]
    Cf,
    /// `aff.`: near, but thought different.
    #[serde(rename = "aff.")]
    Aff,
    /// `?`: doubtful.
    #[serde(rename = "?")]
    Doubt,
}

/// Which parent an operand of a formula is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub enum Sex {
    /// ♀, the seed parent.
    #[serde(rename = "♀")]
    Female,
    /// ♂, the pollen parent.
    #[serde(rename = "♂")]
    Male,
}

/// Ranks below the genus that take a rank term.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
pub enum Rank {
    /// Subgenus.
    #[serde(rename = "subg.")]
    Subgenus,
    /// Section.
    #[serde(rename = "sect.")]
    Section,
    /// Subsection.
    #[serde(rename = "subsect.")]
    Subsection,
    /// Series.
    #[serde(rename = "ser.")]
    Series,
    /// Subseries.
    #[serde(rename = "subser.")]
    Subseries,
    /// Subspecies.
    #[serde(rename = "subsp.")]
    Subspecies,
    /// Variety.
    #[serde(rename = "var.")]
    Variety,
    /// Subvariety.
    #[serde(rename = "subvar.")]
    Subvariety,
    /// Form.
    #[serde(rename = "f.")]
    Form,
    /// Subform.
    #[serde(rename = "subf.")]
    Subform,
}

/// A species epithet, or the epithet of a lower rank.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Epithet {
    /// The epithet, without sign and without mark of doubt.
    pub text: String,
    /// Whether × stands before it.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub hybrid: bool,
    /// Mark of doubt before it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub qualifier: Option<Qualifier>,
    /// Author citation after it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub author: Option<String>,
}

/// An element with a rank term, below the genus or below the species.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Infra {
    /// The rank.
    pub rank: Rank,
    /// Whether the rank term has the prefix notho-.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub notho: bool,
    /// Its epithet.
    #[serde(flatten)]
    pub epithet: Epithet,
}

/// The parts of a name. What the name does not have is absent, also in JSON.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Parts {
    /// Sign before the genus.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sign: Option<HybridSign>,
    /// Mark of doubt before the genus.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub genus_qualifier: Option<Qualifier>,
    /// Genus in full, or the common name that stands in its place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub genus: Option<String>,
    /// Whether `genus` is a common name.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub common_name: bool,
    /// Author of the genus, where nothing lower follows.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub genus_author: Option<String>,
    /// Species epithet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub species: Option<Epithet>,
    /// Elements with a rank term, in the order written.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub infra: Vec<Infra>,
    /// `sp.`, `spp.` or `sp. nov.`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub open: Option<String>,
    /// Tag of the material: collector and number, importer's code, place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tag: Option<String>,
    /// Group epithet without the word Group.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub group: Option<String>,
    /// Grex epithet without the word grex.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grex: Option<String>,
    /// Mark of doubt before the cultivar epithet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cultivar_qualifier: Option<Qualifier>,
    /// Cultivar epithet without quotes; an apostrophe inside is U+2019.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cultivar: Option<String>,
    /// Trade designation in capitals.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trade: Option<String>,
    /// Concept mark after the name: `s.l.`, `s.str.`, `auct. non Raddi`, `nom. nud.`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub concept: Option<String>,
    /// Another name of the same plant, given in brackets, without `syn.`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub synonym: Option<String>,
    /// A parentage given in brackets after the name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parentage: Option<Box<Parts>>,
    /// Marks of rights and awards that are no part of a name: ™, ®, PBR.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<String>,
    /// Spellings as typed that are worth keeping beside the repaired ones.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub as_typed: Vec<String>,
    /// Words that could not be given a place.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub left_over: Vec<String>,
    /// Sex sign of an operand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sex: Option<Sex>,
    /// Whether this operand is an unknown parent, written `?`.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub unknown: bool,
    /// Sign that joins the operands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub joined_by: Option<HybridSign>,
    /// Operands of a formula, in the order written (never reordered for a hybrid).
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub operands: Vec<Parts>,
}

impl Parts {
    /// Whether these are the parts of a formula.
    pub fn is_formula(&self) -> bool {
        !self.operands.is_empty()
    }
}

/// A name that was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reading {
    /// As it was typed.
    pub input: String,
    /// Whether it may stand.
    pub verdict: Verdict,
    /// The normal form in plain text; `None` exactly when the verdict is invalid.
    pub normalised: Option<String>,
    /// What kind of name it is.
    pub kind: Kind,
    /// Its parts; also filled, as far as they were understood, when the verdict is invalid.
    pub parts: Parts,
    /// Everything that was noticed, the gravest first.
    pub problems: Vec<Problem>,
}

impl Reading {
    /// The genus in full without hybrid sign (of a formula: the genus shared by all parents).
    pub fn genus(&self) -> Option<&str> {
        genus_of(&self.parts)
    }

    /// The cultivar epithet without quotes.
    pub fn cultivar(&self) -> Option<&str> {
        self.parts.cultivar.as_deref()
    }

    /// The species epithet without hybrid sign.
    pub fn species(&self) -> Option<&str> {
        self.parts.species.as_ref().map(|epithet| epithet.text.as_str())
    }

    /// Whether there is a problem with this code.
    pub fn has(&self, code: &str) -> bool {
        self.problems.iter().any(|problem| problem.code == code)
    }

    /// One JSON object: input, verdict, normal form, kind, parts, problems, html.
    pub fn to_json(&self) -> serde_json::Value {
        let mut value = serde_json::to_value(self).unwrap_or_default();
        if let Some(object) = value.as_object_mut() {
            object.insert("html".to_owned(), self.html().into());
        }
        value
    }
}

fn genus_of(parts: &Parts) -> Option<&str> {
    if !parts.is_formula() {
        return parts.genus.as_deref().filter(|_| !parts.common_name);
    }
    let mut known = parts.operands.iter().filter(|operand| !operand.unknown).map(genus_of);
    let first = known.next()??;
    known.all(|genus| genus == Some(first)).then_some(first)
}

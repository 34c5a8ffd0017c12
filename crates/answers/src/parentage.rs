//! Parents over several generations, shares of founders, kinship.

use std::collections::HashMap;

use descent::{Founder, Individual, Node, Parent, Pedigree, Relation, Tree};
use journal::{ParentClaim, PedigreeRow, Reader, Uid};
use serde::Serialize;
use texts::Texts;

use crate::{AskError, NameText, Result, name_text, said::fraction_words};

/// One place in the tree of parents.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ParentNode {
    /// The name, or words for what is not recorded.
    pub name: NameText,
    /// Whether nothing is recorded here.
    pub unknown: bool,
    /// Number of a plant here that is a piece of it.
    pub plant: Option<i64>,
    /// Share of the plant that comes along this line, from 0 to 1.
    pub share: f64,
    /// The share as a fraction.
    pub fraction: String,
    /// Seed parent and pollen parent, in this order, or nobody.
    pub parents: Vec<ParentNode>,
    /// How many known ancestors lie behind that are not shown.
    pub behind: usize,
}

/// One line of the table of shares.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShareLine {
    /// The founder, or “not recorded”.
    pub name: NameText,
    /// Its share, from 0 to 1.
    pub share: f64,
    /// The share as a fraction.
    pub fraction: String,
    /// Whether nothing is recorded.
    pub unknown: bool,
}

/// What is recorded of a clone's descent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Parentage {
    /// The tree.
    pub tree: ParentNode,
    /// Shares of founders, the largest first, not recorded last.
    pub shares: Vec<ShareLine>,
    /// Coefficient of inbreeding, from 0 to 1, with unknown parents taken as unrelated.
    pub inbreeding: f64,
    /// Whether some line of it is not recorded.
    pub unknown: bool,
}

/// How many generations are drawn.
const GENERATIONS: u8 = 4;

fn parent(claim: &ParentClaim) -> Parent {
    match claim {
        ParentClaim::NotTold | ParentClaim::Unknown => Parent::Unknown,
        ParentClaim::Clone(uid) => Parent::Known(uid.to_string()),
        ParentClaim::OneOf(list) => Parent::OneOf(list.iter().map(Uid::to_string).collect()),
    }
}

pub(crate) fn pedigree(rows: &[PedigreeRow]) -> Result<Pedigree> {
    let individuals = rows
        .iter()
        .map(|r| Individual {
            id: r.uid.to_string(),
            seed_parent: parent(&r.seed),
            pollen_parent: parent(&r.pollen),
            clone_of: None,
        })
        .collect();
    Pedigree::new(individuals).map_err(|e| AskError::field("parents", "", e.to_string()))
}

struct Names<'a, 'c> {
    reader: &'a Reader<'c>,
    /// The genus that the page's title writes in full.
    genus: String,
    t: Texts,
    known: HashMap<String, String>,
}

impl Names<'_, '_> {
    fn of(&self, id: &str) -> NameText {
        match self.known.get(id) {
            Some(name) if !name.is_empty() => name_text(name).short(&self.genus),
            _ => NameText::words(self.t.t("not named")),
        }
    }

    fn plant(&self, id: &str) -> Result<Option<i64>> {
        let Ok(uid) = id.parse::<Uid>() else { return Ok(None) };
        let Some(clone) = self.reader.clone_by_uid(uid)? else { return Ok(None) };
        let pieces = self.reader.pieces(clone.id)?;
        Ok(pieces.iter().find(|p| p.state == "alive").or(pieces.first()).map(|p| p.number))
    }

    fn node(&self, tree: &Tree, at_root: bool) -> Result<ParentNode> {
        let share = tree.share.value();
        let (name, unknown, plant) = match &tree.node {
            Node::Known(id) => (self.of(id), false, if at_root { None } else { self.plant(id)? }),
            Node::Unknown => (NameText::words(self.t.t("not recorded")), true, None),
            Node::OneOf(ids) => {
                let names: Vec<String> = ids.iter().map(|i| self.of(i).plain).collect();
                let words = names.join(self.t.t(" or "));
                (NameText::words(&words), true, None)
            }
        };
        let parents = match &tree.parents {
            Some(both) => both.iter().map(|p| self.node(p, false)).collect::<Result<_>>()?,
            None => Vec::new(),
        };
        Ok(ParentNode {
            name,
            unknown,
            plant,
            share,
            fraction: fraction_words(share),
            parents,
            behind: tree.behind,
        })
    }
}

/// The descent of a clone, or none when neither parent is recorded.
///
/// # Errors
/// If the record cannot be read.
pub fn parentage(reader: &Reader<'_>, clone: Uid, t: Texts) -> Result<Option<Parentage>> {
    let rows = reader.ancestry(&[clone])?;
    let told = rows
        .iter()
        .find(|r| r.uid == clone)
        .is_some_and(|r| r.seed != ParentClaim::NotTold || r.pollen != ParentClaim::NotTold);
    if !told {
        return Ok(None);
    }
    let pedigree = pedigree(&rows)?;
    let genus = reader.clone_by_uid(clone)?.map(|c| c.genus).unwrap_or_default();
    let names = Names {
        genus,
        reader,
        t,
        known: rows.iter().map(|r| (r.uid.to_string(), r.name.clone())).collect(),
    };
    let id = clone.to_string();
    let missing = |e: descent::NoSuchIndividual| AskError::field("parents", &id, e.to_string());
    let tree = pedigree.ancestors(&id, GENERATIONS).map_err(missing)?;
    let mut known: Vec<(String, f64)> = Vec::new();
    let mut unknown = 0.0;
    for share in pedigree.founders(&id).map_err(missing)? {
        match share.founder {
            Founder::Known(founder) => known.push((founder, share.share)),
            _ => unknown += share.share,
        }
    }
    // Founders of one name are one line: two imports of one species are one species.
    let mut lines: Vec<ShareLine> = Vec::new();
    for (founder, share) in known {
        let name = names.of(&founder);
        match lines.iter_mut().find(|l| l.name == name) {
            Some(line) => line.share += share,
            None => lines.push(ShareLine { name, share, fraction: String::new(), unknown: false }),
        }
    }
    lines.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.name.plain.cmp(&b.name.plain)));
    if unknown > 0.0 {
        lines.push(ShareLine {
            name: NameText::words(t.t("not recorded")),
            share: unknown,
            fraction: String::new(),
            unknown: true,
        });
    }
    for line in &mut lines {
        line.fraction = fraction_words(line.share);
    }
    Ok(Some(Parentage {
        tree: names.node(&tree, true)?,
        shares: lines,
        inbreeding: pedigree.inbreeding(&id).map_err(missing)?,
        unknown: unknown > 0.0,
    }))
}

/// How two clones are related: kinship from 0 to 1 and words for it.
///
/// # Errors
/// If one is not in the record.
pub fn kinship_words(reader: &Reader<'_>, a: Uid, b: Uid, t: Texts) -> Result<(f64, String, bool)> {
    let rows = reader.ancestry(&[a, b])?;
    let gaps = rows.iter().any(|r| {
        matches!(r.seed, ParentClaim::Unknown | ParentClaim::OneOf(_))
            || matches!(r.pollen, ParentClaim::Unknown | ParentClaim::OneOf(_))
            || (r.seed == ParentClaim::NotTold) != (r.pollen == ParentClaim::NotTold)
    });
    let pedigree = pedigree(&rows)?;
    let (ida, idb) = (a.to_string(), b.to_string());
    let missing = |e: descent::NoSuchIndividual| AskError::field("plant", "", e.to_string());
    let kinship = pedigree.kinship(&ida, &idb).map_err(missing)?;
    let words = match pedigree.relation(&ida, &idb).map_err(missing)? {
        Relation::Same | Relation::SameClone => t.t("the same clone"),
        Relation::SelfedParent => t.t("this is both parents of that"),
        Relation::Parent(_) => t.t("this is a parent of that"),
        Relation::SelfedSeedling | Relation::Seedling(_) => t.t("this is a seedling of that"),
        Relation::FullSibs => t.t("full sibs"),
        Relation::HalfSibs => t.t("half sibs"),
        Relation::Ancestor(_) => t.t("this is an ancestor of that"),
        Relation::Descendant(_) => t.t("this descends from that"),
        Relation::Related => t.t("they share ancestors"),
        Relation::NotKnownToBeRelated => t.t("no common ancestor is recorded"),
    };
    Ok((kinship, words.to_owned(), gaps))
}

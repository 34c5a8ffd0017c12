//! Where the lines of two plants meet.

use serde::Serialize;

use crate::error::NoSuchIndividual;
use crate::pedigree::Pedigree;

/// An ancestor that two individuals share and that no other shared ancestor descends from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CommonAncestor {
    /// The id that its clone is called by.
    pub id: String,
    /// Generations up to it from the first, by the shortest line; 0 if it is the first itself.
    pub from_a: u32,
    /// Generations up to it from the second, by the shortest line.
    pub from_b: u32,
}

impl Pedigree {
    /// The most recent common ancestors of two individuals, the nearest first: every shared ancestor
    /// without a descendant that is shared too. Of a plant and its descendant it is the plant. Only
    /// parents that are known for certain are followed. Nothing when no ancestor is shared.
    ///
    /// # Errors
    /// When one of them is not in the pedigree.
    pub fn common_ancestors(
        &self,
        a: &str,
        b: &str,
    ) -> Result<Vec<CommonAncestor>, NoSuchIndividual> {
        let up_a = self.generations_up(self.genet(a)?);
        let up_b = self.generations_up(self.genet(b)?);
        let mut shared: Vec<u32> = up_a.keys().filter(|g| up_b.contains_key(g)).copied().collect();
        // Parents of what is shared are shared as well, so that the progeny of a shared ancestor
        // that is further down tells that it is not the most recent.
        let mut further: Vec<u32> =
            shared.iter().flat_map(|&g| self.known_parents(g)).flatten().collect();
        further.sort_unstable();
        shared.retain(|g| further.binary_search(g).is_err());
        let mut found: Vec<CommonAncestor> = shared
            .into_iter()
            .map(|g| CommonAncestor {
                id: self.genet_id(g).to_owned(),
                from_a: up_a[&g],
                from_b: up_b[&g],
            })
            .collect();
        found.sort_by(|x, y| {
            (x.from_a + x.from_b).cmp(&(y.from_a + y.from_b)).then_with(|| x.id.cmp(&y.id))
        });
        Ok(found)
    }
}

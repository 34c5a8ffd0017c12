//! Kinship and inbreeding, by whichever way is the shortest for what is asked.

use crate::column::{Columns, TOGETHER};
use crate::error::NoSuchIndividual;
use crate::front;
use crate::lineage::Made;
use crate::pedigree::Pedigree;
use crate::schedule::Schedule;
use crate::walk::{self, Walk};

/// A front whose matrix is larger than this is not begun \[bytes\].
const MOST_BYTES: u64 = 1 << 30;

/// Up to so many nodes everything is computed at the first question.
const FEW: usize = 20_000;

impl Pedigree {
    /// Inbreeding coefficient F of an individual: the probability that two of its copies of a gene,
    /// drawn without replacement, descend from one copy in a founder \[0 to 1\]. Unknown parents count
    /// as unrelated, so with gaps in the pedigree the true value may be higher. A haploid has 0.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn inbreeding(&self, id: &str) -> Result<f64, NoSuchIndividual> {
        let genet = self.genet(id)?;
        if !self.has_f(genet) {
            self.fill_inbreeding_of(&[genet]);
        }
        Ok(self.f(genet))
    }

    /// Inbreeding of every individual, in the order of [`Pedigree::ids`].
    pub fn all_inbreeding(&self) -> Vec<f64> {
        self.fill_all_inbreeding();
        self.genet_of.iter().map(|&g| self.f(g)).collect()
    }

    /// Kinship of an individual with itself: two copies drawn with replacement, (1 + (k − 1)F)/k with
    /// ploidy k \[0 to 1\].
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn self_kinship(&self, id: &str) -> Result<f64, NoSuchIndividual> {
        self.inbreeding(id)?;
        Ok(self.self_kinship_of(self.genet(id)?))
    }

    /// Kinship (coancestry) of two individuals: the probability that a gene drawn from one and a
    /// gene drawn from the other descend from one copy in a founder \[0 to 1\]. Parent and seedling,
    /// or full sibs, of unrelated diploids: 1/4. Two pieces of one clone: as with itself. With a
    /// parent that is one of several it is what is to be expected.
    ///
    /// Only the ancestors of the two are looked at; inbreeding found on the way is kept.
    ///
    /// # Errors
    /// When one of them is not in the pedigree.
    pub fn kinship(&self, a: &str, b: &str) -> Result<f64, NoSuchIndividual> {
        let (a, b) = (self.genet(a)?, self.genet(b)?);
        self.fill_inbreeding_of(&[a, b]);
        if a == b {
            return Ok(self.self_kinship_of(a));
        }
        Ok(Walk::new(self.lineage.len()).kinship(self, a, b))
    }

    /// Kinship of many pairs, without the matrix: quicker than one after the other.
    ///
    /// # Errors
    /// When one of them is not in the pedigree.
    pub fn kinships<S: AsRef<str>>(&self, pairs: &[(S, S)]) -> Result<Vec<f64>, NoSuchIndividual> {
        let mut known = Vec::with_capacity(pairs.len());
        for (a, b) in pairs {
            known.push([self.genet(a.as_ref())?, self.genet(b.as_ref())?]);
        }
        let different = |side: usize| {
            let mut all: Vec<u32> = known.iter().map(|p| p[side]).collect();
            all.sort_unstable();
            all.dedup();
            all
        };
        let (first, second) = (different(0), different(1));
        let (side, columns) = if first.len() <= second.len() { (0, &first) } else { (1, &second) };
        let mut both = first.clone();
        both.extend(&second);
        let mut by_column: Vec<usize> = (0..known.len()).collect();
        by_column.sort_unstable_by_key(|&i| known[i][side]);
        let mut kinship = vec![0.0; known.len()];
        let mut next = by_column.into_iter().peekable();
        let mut computed = self.columns(&both);
        for with in columns.chunks(TOGETHER) {
            computed.compute(with);
            for (lane, &column) in with.iter().enumerate() {
                while let Some(i) = next.next_if(|&i| known[i][side] == column) {
                    kinship[i] = computed.get(known[i][1 - side], lane);
                }
            }
        }
        Ok(kinship)
    }

    /// Kinship of all pairs of these: row after row, from each to itself and those behind it.
    ///
    /// # Errors
    /// When one of them is not in the pedigree.
    pub fn kinship_triangle<S: AsRef<str>>(&self, ids: &[S]) -> Result<Vec<f64>, NoSuchIndividual> {
        let nodes: Vec<u32> =
            ids.iter().map(|id| self.genet(id.as_ref())).collect::<Result<_, _>>()?;
        let mut computed = self.columns(&nodes);
        let mut kinship = Vec::with_capacity(nodes.len() * (nodes.len() + 1) / 2);
        for (block, with) in nodes.chunks(TOGETHER).enumerate() {
            computed.compute(with);
            for lane in 0..with.len() {
                let rest = &nodes[block * TOGETHER + lane..];
                kinship.extend(rest.iter().map(|&n| computed.get(n, lane)));
            }
        }
        Ok(kinship)
    }

    /// Kinship of one individual with every individual, in the order of [`Pedigree::ids`], in time
    /// proportional to their number.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn kinship_with_all(&self, id: &str) -> Result<Vec<f64>, NoSuchIndividual> {
        let genet = self.genet(id)?;
        self.fill_all_inbreeding();
        let mut computed = Columns::new(self, (0..self.lineage.len() as u32).collect());
        computed.compute(&[genet]);
        Ok(self.genet_of.iter().map(|&g| computed.get(g, 0)).collect())
    }

    /// Additive relationship of two individuals, kinship times √(k·k′) with their ploidies: twice the
    /// kinship for diploids, 1 + (k − 1)F with itself.
    ///
    /// # Errors
    /// When one of them is not in the pedigree.
    pub fn relationship(&self, a: &str, b: &str) -> Result<f64, NoSuchIndividual> {
        let ploidy = f64::from(self.gametes(a)?.ploidy()) * f64::from(self.gametes(b)?.ploidy());
        Ok(self.kinship(a, b)? * ploidy.sqrt())
    }

    fn columns(&self, of: &[u32]) -> Columns<'_> {
        self.fill_inbreeding_of(of);
        Columns::new(self, self.ancestry(of))
    }

    /// The nodes and all their ancestors, those in doubt and their candidates too, oldest first.
    pub(crate) fn ancestry(&self, of: &[u32]) -> Vec<u32> {
        let mut seen = vec![false; self.lineage.len()];
        let mut stack = of.to_vec();
        let mut found = Vec::new();
        while let Some(node) = stack.pop() {
            if !std::mem::replace(&mut seen[node as usize], true) {
                found.push(node);
                self.lineage.sources(node, |source, _| stack.push(source));
            }
        }
        found.sort_unstable();
        found
    }

    pub(crate) fn fill_all_inbreeding(&self) {
        let all: Vec<u32> = (0..self.lineage.len() as u32).collect();
        self.fill(&all, None);
    }

    /// Computes the inbreeding of these and of all their ancestors.
    pub(crate) fn fill_inbreeding_of(&self, of: &[u32]) {
        if self.lineage.len() <= FEW {
            // Who is missing at all is missing everywhere.
            if !of.iter().all(|&n| self.has_f(n)) {
                self.fill_all_inbreeding();
            }
        } else {
            self.fill(&self.ancestry(of), None);
        }
    }

    /// Computes the inbreeding of `nodes`, a whole ancestry, where it is missing; by the way that is
    /// said, or else by the one that costs less.
    pub(crate) fn fill(&self, nodes: &[u32], way: Option<Way>) {
        if nodes.iter().all(|&n| self.has_f(n)) {
            return;
        }
        let schedule = Schedule::new(&self.lineage, nodes, |n| !self.has_f(n));
        match way.unwrap_or_else(|| self.cheaper(nodes, &schedule)) {
            Way::Front => front::fill(self, nodes, &schedule),
            Way::Walk => walk::fill(self, nodes),
        }
    }

    fn cheaper(&self, nodes: &[u32], schedule: &Schedule) -> Way {
        if schedule.bytes() > MOST_BYTES {
            return Way::Walk;
        }
        if schedule.work < 100_000_000 {
            return Way::Front;
        }
        // A number in the front costs some two nanoseconds, an ancestor on a walk some eighty.
        let every = nodes.len() / 16 + 1;
        let ancestors: usize =
            nodes.iter().step_by(every).map(|&n| self.ancestry(&[n]).len()).sum();
        let walk = ancestors as u64 * every as u64;
        if walk * 40 < schedule.work { Way::Walk } else { Way::Front }
    }
}

/// How inbreeding is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    /// The tabular method on a moving front.
    Front,
    /// A walk over the ancestors of each pair of parents.
    Walk,
}

/// Inbreeding of a plant, or the kinship of two candidates for a parent in doubt, given how kinship
/// of two sources is found.
pub(crate) fn value(
    pedigree: &Pedigree,
    node: u32,
    mut between: impl FnMut(u32, u32) -> f64,
) -> f64 {
    let f = |g| pedigree.f(g);
    let mut kin = |a, b| if a == b { pedigree.self_kinship_of(a) } else { between(a, b) };
    match pedigree.lineage.made(node) {
        Made::Plant([Some(s), Some(p)]) => pedigree.lineage.inbreeding(node, kin(s, p), &f),
        Made::Plant(_) => pedigree.lineage.inbreeding(node, 0.0, &f),
        Made::Doubt(d) => {
            let mut sum = 0.0;
            for a in &d.candidates {
                sum += d.candidates.iter().map(|b| a.1 * b.1 * kin(a.0, b.0)).sum::<f64>();
            }
            sum
        }
    }
}

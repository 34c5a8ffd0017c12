//! Breeding values at given variances, where the structure of a pedigree can be made use of.

use serde_json::{Value, json};
use stats::{
    mixed::{MixedError, RESIDUAL, Random, Settings, chance_best},
    model::Fixed,
    pedigree::{
        Effect, Equations, Given, Lines, Options, PedigreeError, PedigreeFit, Records, Solver,
    },
    random::Random as Dice,
};

use crate::{
    Found, Problem, Result, Table,
    lines::Parents,
    mixed::{ADDITIVE, MixedArgs, PERMANENT, add_best, problem},
    model::coefficient,
    table::Input,
};

/// A model of breeding values and, perhaps, lasting effects, all variances given.
pub struct Asked<'a> {
    lines: Lines,
    additive: &'a Random,
    permanent: Option<&'a Random>,
    given: Given,
    weights: Option<&'a [f64]>,
}

impl<'a> Asked<'a> {
    /// Whether this is such a model.
    pub fn of(
        parents: &Parents,
        random: &'a [Random],
        settings: &'a Settings,
    ) -> Result<Option<Self>> {
        let (additive, permanent) = match random {
            [a] if a.name == ADDITIVE => (a, None),
            [a, p] if a.name == ADDITIVE && p.name == PERMANENT => (a, Some(p)),
            _ => return Ok(None),
        };
        let find = |name: &str| settings.given.iter().find(|(n, _)| n == name).map(|(_, v)| *v);
        let expected = 2 + usize::from(permanent.is_some());
        let (Some(additive_variance), Some(residual)) = (find(ADDITIVE), find(RESIDUAL)) else {
            return Ok(None);
        };
        let lasting = if permanent.is_some() { find(PERMANENT) } else { Some(0.0) };
        // What is odd is left to the general model, which says what.
        let fine = additive_variance > 0.0 && residual > 0.0;
        let (Some(permanent_variance), true) = (lasting.filter(|v| *v >= 0.0), fine) else {
            return Ok(None);
        };
        if settings.given.len() != expected {
            return Ok(None);
        }
        let Some(lines) = parents.lines()? else { return Ok(None) };
        let given = Given { additive: additive_variance, permanent: permanent_variance, residual };
        let weights = settings.weights.as_deref();
        Ok(Some(Asked { lines, additive, permanent, given, weights }))
    }

    /// Solves and reports as every mixed model does.
    pub fn answer(
        &self,
        input: &Input,
        args: &MixedArgs,
        response: &[f64],
        fixed: &Fixed,
    ) -> Result {
        let failed = |e: PedigreeError| refused(input, &e);
        let permanent = self.permanent.map(|p| p.term.index.as_slice());
        let individual = &self.additive.term.index;
        let weights = self.weights;
        let records = Records { response, fixed, individual, permanent, weights };
        let equations = Equations::new(&self.lines, records, self.given, Options::default());
        let equations = equations.map_err(failed)?;
        let solver = equations.prepare().map_err(failed)?;
        let found = solver.fit(true).map_err(failed)?;
        let mut value = self.as_json(&found);
        if let Some(count) = args.draws {
            let chances = self.best(&solver, count as usize, args.seed).map_err(failed)?;
            add_best(&mut value, &chances);
        }
        Found::one(&value, self.as_table(&found))
    }

    fn best(
        &self,
        solver: &Solver<'_>,
        count: usize,
        seed: u64,
    ) -> std::result::Result<Vec<f64>, PedigreeError> {
        let drawn = solver.draws(count, &mut Dice::new(seed))?;
        let levels: Vec<Vec<f64>> =
            drawn.into_iter().map(|d| [d.additive, d.permanent].concat()).collect();
        let groups: Vec<&str> = self.groups().map(|(r, _)| r.name.as_str()).collect();
        Ok(chance_best(&groups, &levels))
    }

    /// Levels with their terms, in the order of results.
    fn groups(&self) -> impl Iterator<Item = (&Random, &String)> {
        let terms = std::iter::once(self.additive).chain(self.permanent);
        terms.flat_map(|r| r.term.levels.iter().map(move |l| (r, l)))
    }

    fn effects<'f>(
        &'f self,
        found: &'f PedigreeFit,
    ) -> impl Iterator<Item = (&'f Random, &'f String, &'f Effect)> {
        let effects = found.additive.iter().chain(&found.permanent);
        self.groups().zip(effects).map(|((r, l), e)| (r, l, e))
    }

    fn as_json(&self, found: &PedigreeFit) -> Value {
        let terms: Vec<Value> = found
            .terms
            .iter()
            .map(|t| coefficient(&t.coefficient, t.estimate, Some(t.se)))
            .collect();
        let variance = |group: &str, v: f64| {
            json!({
                "group": group, "variance": v, "sd": v.sqrt(), "se": null,
                "boundary": false, "given": true,
            })
        };
        let mut variances = vec![variance(ADDITIVE, self.given.additive)];
        if self.permanent.is_some() {
            variances.push(variance(PERMANENT, self.given.permanent));
        }
        variances.push(variance(RESIDUAL, self.given.residual));
        let levels: Vec<Value> = self
            .effects(found)
            .map(|(r, level, e)| {
                json!({
                    "group": r.name, "level": level, "estimate": e.estimate, "pev": e.pev,
                    "conditional_sd": e.conditional_sd, "reliability": e.reliability,
                })
            })
            .collect();
        json!({
            "terms": terms,
            "variances": variances,
            "covariances": [],
            "log_restricted_likelihood": found.log_restricted_likelihood,
            "levels": levels,
            "n": found.n,
            "iterations": 0,
            "gradient_norm": 0.0,
            "residual": found.residual,
        })
    }

    fn as_table(&self, found: &PedigreeFit) -> Table {
        let mut table =
            Table::new(["group", "level", "estimate", "pev", "conditional_sd", "reliability"]);
        for (r, level, e) in self.effects(found) {
            table.row(vec![
                r.name.clone().into(),
                level.clone().into(),
                e.estimate.into(),
                e.pev.into(),
                e.conditional_sd.into(),
                e.reliability.into(),
            ]);
        }
        table
    }
}

fn refused(input: &Input, error: &PedigreeError) -> Problem {
    match error {
        PedigreeError::Mixed(e) => problem(input, e),
        PedigreeError::Sparse(e) => problem(input, &MixedError::Sparse(e.clone())),
        other => {
            let text = other.to_string();
            let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
            let what = format!("{}: {what}", input.file());
            match other {
                PedigreeError::NotReached { .. } => Problem::unfinished(what, next),
                _ => Problem::input(what, next),
            }
        }
    }
}

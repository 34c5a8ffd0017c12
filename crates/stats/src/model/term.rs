//! Terms as they are written.

use super::ModelError;

/// A term of the fixed part: the columns whose product it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Term {
    /// The columns, in order.
    pub columns: Vec<String>,
    /// Which of them are factors although they hold numbers.
    pub as_factor: Vec<bool>,
}

impl Term {
    /// Reads one written term, which may stand for several: `a/b` is `a` and `a:b`.
    ///
    /// # Errors
    /// A term that cannot be read.
    pub fn read(text: &str) -> Result<Vec<Term>, ModelError> {
        let bad = || ModelError::BadTerm(text.to_owned());
        let parts: Vec<&str> = text.split('/').collect();
        let mut sofar: Vec<(String, bool)> = Vec::new();
        let mut terms = Vec::new();
        for part in parts {
            for piece in part.split(':') {
                sofar.push(column(piece).ok_or_else(bad)?);
            }
            let (columns, as_factor) = sofar.iter().cloned().unzip();
            terms.push(Term { columns, as_factor });
        }
        Ok(terms)
    }

    /// Reads a list of terms; one written twice counts once.
    ///
    /// # Errors
    /// A term that cannot be read.
    pub fn read_all<S: AsRef<str>>(texts: &[S]) -> Result<Vec<Term>, ModelError> {
        let mut terms: Vec<Term> = Vec::new();
        for text in texts {
            for term in Term::read(text.as_ref())? {
                if !terms.contains(&term) {
                    terms.push(term);
                }
            }
        }
        // Main effects before interactions, each otherwise as written.
        terms.sort_by_key(|t| t.columns.len());
        Ok(terms)
    }

    /// The term as its coefficients are called.
    pub fn name(&self) -> String {
        self.columns.join(":")
    }
}

fn column(piece: &str) -> Option<(String, bool)> {
    let piece = piece.trim();
    let (name, factor) = match piece.strip_prefix("factor(").and_then(|p| p.strip_suffix(')')) {
        Some(inner) => (inner.trim(), true),
        None => (piece, false),
    };
    let good = !name.is_empty() && !name.contains(['(', ')', '|']);
    good.then(|| (name.to_owned(), factor))
}

/// A random term as it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RandomSpec {
    /// An intercept for each level of these columns taken together (`g`, `g:h`).
    Intercept(Vec<String>),
    /// An intercept and a slope on a column of numbers, correlated (`x|g`).
    Slope {
        /// The column of numbers.
        covariate: String,
        /// The grouping columns.
        group: Vec<String>,
    },
    /// One effect for each level, whichever of the columns it stands in (`mm(a,b)`).
    Members(Vec<String>),
}

impl RandomSpec {
    /// Reads one written term, which may stand for several: `g/h` is `g` and `g:h`.
    ///
    /// # Errors
    /// A term that cannot be read.
    pub fn read(text: &str) -> Result<Vec<RandomSpec>, ModelError> {
        let bad = || ModelError::BadTerm(text.to_owned());
        let plain = |names: Vec<&str>| -> Result<Vec<String>, ModelError> {
            let names: Vec<String> = names.iter().map(|n| n.trim().to_owned()).collect();
            let good = names.iter().all(|n| !n.is_empty() && !n.contains(['(', ')', '|']));
            if good { Ok(names) } else { Err(bad()) }
        };
        let text = text.trim();
        if let Some(inner) = text.strip_prefix("mm(").and_then(|t| t.strip_suffix(')')) {
            let names = plain(inner.split(',').collect())?;
            return if names.len() > 1 { Ok(vec![RandomSpec::Members(names)]) } else { Err(bad()) };
        }
        if let Some((covariate, group)) = text.split_once('|') {
            let covariate = plain(vec![covariate])?.remove(0);
            return Ok(vec![RandomSpec::Slope {
                covariate,
                group: plain(group.split(':').collect())?,
            }]);
        }
        let mut sofar = Vec::new();
        let mut specs = Vec::new();
        for part in text.split('/') {
            sofar.extend(plain(part.split(':').collect())?);
            specs.push(RandomSpec::Intercept(sofar.clone()));
        }
        Ok(specs)
    }

    /// The term as its results are called.
    pub fn name(&self) -> String {
        match self {
            RandomSpec::Intercept(group) => group.join(":"),
            RandomSpec::Slope { group, .. } => group.join(":"),
            RandomSpec::Members(columns) => format!("mm({})", columns.join(",")),
        }
    }
}

/// Splits a written list at its commas, but not inside brackets: `a,mm(b,c)` is two terms.
pub fn split_terms(text: &str) -> Vec<String> {
    let mut depth = 0;
    let mut terms = vec![String::new()];
    for c in text.chars() {
        match c {
            '(' => depth += 1,
            ')' => depth -= 1,
            _ => {}
        }
        if c == ',' && depth == 0 {
            terms.push(String::new());
        } else if let Some(last) = terms.last_mut() {
            last.push(c);
        }
    }
    terms.into_iter().map(|t| t.trim().to_owned()).filter(|t| !t.is_empty()).collect()
}

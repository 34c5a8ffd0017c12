//! The list of what was noticed while reading.

use crate::reading::{Problem, Severity};

/// Collects problems; the same thing is said once.
#[derive(Debug, Default)]
pub(crate) struct Problems {
    list: Vec<Problem>,
}

impl Problems {
    fn add(
        &mut self,
        code: &'static str,
        severity: Severity,
        message: String,
        source: &'static str,
    ) {
        let problem = Problem { code, severity, message, source };
        if !self.list.contains(&problem) {
            self.list.push(problem);
        }
    }

    pub(crate) fn error(
        &mut self,
        code: &'static str,
        message: impl Into<String>,
        source: &'static str,
    ) {
        self.add(code, Severity::Error, message.into(), source);
    }

    pub(crate) fn ask(
        &mut self,
        code: &'static str,
        message: impl Into<String>,
        source: &'static str,
    ) {
        self.add(code, Severity::Ask, message.into(), source);
    }

    pub(crate) fn fix(
        &mut self,
        code: &'static str,
        message: impl Into<String>,
        source: &'static str,
    ) {
        self.add(code, Severity::Fix, message.into(), source);
    }

    pub(crate) fn warn(
        &mut self,
        code: &'static str,
        message: impl Into<String>,
        source: &'static str,
    ) {
        self.add(code, Severity::Warn, message.into(), source);
    }

    pub(crate) fn note(
        &mut self,
        code: &'static str,
        message: impl Into<String>,
        source: &'static str,
    ) {
        self.add(code, Severity::Note, message.into(), source);
    }

    /// The gravest severity so far.
    pub(crate) fn gravest(&self) -> Option<Severity> {
        self.list.iter().map(|problem| problem.severity).min()
    }

    /// Whether anything of a severity is there.
    pub(crate) fn any(&self, severity: Severity) -> bool {
        self.list.iter().any(|problem| problem.severity == severity)
    }

    /// Forget what made the name invalid: it was replaced by another.
    pub(crate) fn keep_only_fixes(&mut self) {
        self.list.retain(|problem| problem.severity >= Severity::Fix);
    }

    /// Take in the problems of a second reading.
    pub(crate) fn absorb(&mut self, problems: Vec<Problem>) {
        for p in problems {
            self.add(p.code, p.severity, p.message, p.source);
        }
    }

    /// The list, the gravest first, otherwise in the order noticed.
    pub(crate) fn into_sorted(mut self) -> Vec<Problem> {
        self.list.sort_by_key(|problem| problem.severity);
        self.list
    }
}

//! What a name is judged by: the date whose rules apply, and tables that the caller may have.

use jiff::civil::Date;

/// One row of a table of names that are replaced by another name.
///
/// Both sides are in plain normal form, with straight apostrophes: `Rosa 'Peace'`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Synonym<'a> {
    /// The name that is looked up.
    pub name: &'a str,
    /// The name that takes its place.
    pub accepted: &'a str,
    /// Why, as a sentence for the grower; empty if the table does not say.
    pub why: &'a str,
}

/// A Group that is known to exist, so that it is recognised inside wrong quotes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KnownGroup<'a> {
    /// Genus, without hybrid sign.
    pub genus: &'a str,
    /// Group epithet without the word Group.
    pub group: &'a str,
}

/// What a name is judged by. The default judges a name that is proposed now, without any table.
#[derive(Debug, Clone, Copy, Default)]
pub struct Context<'a> {
    /// The date whose rules apply; `None` is "proposed now", the newest rules.
    pub today: Option<Date>,
    /// Names that are replaced by others.
    pub synonyms: &'a [Synonym<'a>],
    /// Genera that are known, without hybrid sign: used to complete an abbreviated genus.
    pub known_genera: &'a [&'a str],
    /// Groups that are known.
    pub known_groups: &'a [KnownGroup<'a>],
}

impl<'a> Context<'a> {
    /// Judge by the rules in force on a date.
    pub fn on(today: Date) -> Self {
        Context { today: Some(today), ..Context::default() }
    }

    /// The same context with a table of synonyms.
    pub fn with_synonyms(self, synonyms: &'a [Synonym<'a>]) -> Self {
        Context { synonyms, ..self }
    }

    /// The same context with a list of known genera.
    pub fn with_genera(self, known_genera: &'a [&'a str]) -> Self {
        Context { known_genera, ..self }
    }

    /// The same context with a list of known Groups.
    pub fn with_groups(self, known_groups: &'a [KnownGroup<'a>]) -> Self {
        Context { known_groups, ..self }
    }

    /// Whether a rule that came into force on 1 January of `year` applies.
    pub(crate) fn since(&self, year: i16) -> bool {
        self.today.is_none_or(|today| today.year() >= year)
    }
}

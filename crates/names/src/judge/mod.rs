//! What the rules say about parts, and the repairs they allow.

mod botanical;
mod capitals;
mod claims;
mod epithet;
pub(crate) mod formula;
mod marks;

use crate::context::Context;
use crate::read::Problems;
use crate::reading::{HybridSign, Parts};
use crate::rules;
use crate::tables::orchids::is_orchid;

/// Judge one name (not a formula) and repair what has one repair.
pub(crate) fn name(parts: &mut Parts, context: &Context, problems: &mut Problems) {
    if parts.is_formula() {
        return;
    }
    let cultivated = parts.cultivar.is_some()
        || parts.group.is_some()
        || parts.grex.is_some()
        || parts.trade.is_some();
    if cultivated {
        drop_authors(parts, problems);
    }
    botanical::check(parts, problems);
    let genus = parts.genus.clone().unwrap_or_default();
    if let Some(typed) = parts.cultivar.take() {
        let epithet = epithet::cultivar(&typed, &genus, context, problems);
        keep_typed(parts, &typed, &epithet);
        parts.cultivar = Some(epithet);
    }
    if let Some(typed) = parts.grex.take() {
        let epithet = epithet::cultivar(&typed, &genus, context, problems);
        keep_typed(parts, &typed, &epithet);
        parts.grex = Some(epithet);
        let notho = parts.sign == Some(HybridSign::Hybrid);
        if parts.genus.is_some() && !is_orchid(&genus, notho) {
            let message = format!(
                "A grex exists in orchids only, and {genus} is not in the table of orchid genera; a cross elsewhere keeps its number."
            );
            problems.error("grex_not_orchid", message, rules::ICNCP_4_3);
        }
    }
    if let Some(typed) = parts.group.take() {
        let epithet = epithet::group(&typed, problems);
        parts.group = Some(epithet);
    }
    if parts.trade.is_some() && parts.cultivar.is_none() {
        let message = "A trade designation is no name: the accepted epithet belongs beside it.";
        problems.warn("trade_alone", message, rules::PRINCIPLE_6);
    }
    if parts.trade.is_some() && parts.grex.is_some() {
        let message = "A grex and a trade designation cannot be told apart here.";
        problems.error("grex_and_trade", message, rules::PRINCIPLE_6);
    }
}

fn keep_typed(parts: &mut Parts, typed: &str, epithet: &str) {
    let apostrophes = |text: &str| text.replace(['\'', '‘', '`', '´'], "’");
    if apostrophes(typed) != epithet {
        parts.as_typed.push(typed.to_owned());
    }
}

fn drop_authors(parts: &mut Parts, problems: &mut Problems) {
    let mut dropped = parts.genus_author.take().is_some();
    if let Some(species) = &mut parts.species {
        dropped |= species.author.take().is_some();
    }
    for infra in &mut parts.infra {
        dropped |= infra.epithet.author.take().is_some();
    }
    if dropped {
        let message = "Authors are left off the name of a cultivated plant.";
        problems.fix("author_dropped", message, rules::ACRA);
    }
}

//! Rules about formulae of hybrids and graft-chimaeras.

use crate::read::Problems;
use crate::reading::{HybridSign, Parts};
use crate::rules;
use crate::text::fold;
use crate::write::normal_form;

/// Judge a formula whose operands were judged already.
pub(crate) fn formula(parts: &mut Parts, problems: &mut Problems) {
    if parts.operands.iter().all(|operand| operand.unknown) {
        let message = "At least one parent must be known or postulated.";
        problems.error("parents_unknown", message, rules::ICN_H3_2);
    }
    if parts.operands.len() < 2 && !parts.operands.is_empty() {
        problems.error("parent_missing", "A formula joins at least two parents.", rules::ICN_H2);
    }
    if parts.joined_by == Some(HybridSign::Graft) {
        order_graft(parts, problems);
        return;
    }
    sexes(parts, problems);
    order_hybrid(parts, problems);
}

fn key(operand: &Parts) -> String {
    let text = fold(&normal_form(operand));
    text.trim_start_matches(['×', '+', '(']).to_owned()
}

/// The partners of a graft have no direction: they stand in alphabetical order.
fn order_graft(parts: &mut Parts, problems: &mut Problems) {
    if !parts.operands.is_sorted_by_key(key) {
        parts.operands.sort_by_key(key);
        let message = "The partners of a graft-chimaera stand in alphabetical order.";
        problems.fix("graft_order", message, rules::ICNCP);
    }
}

fn sexes(parts: &Parts, problems: &mut Problems) {
    let mut given: Vec<_> = parts.operands.iter().filter_map(|operand| operand.sex).collect();
    let before = given.len();
    given.dedup();
    if before > 1 && given.len() < before {
        let message = "Two parents cannot have the same role.";
        problems.error("sex_repeated", message, rules::ICN_H2A);
    }
}

/// The order of parents is never changed: it may say which was the seed parent.
fn order_hybrid(parts: &Parts, problems: &mut Problems) {
    let told = parts.operands.iter().any(|operand| operand.sex.is_some());
    let plain = parts.operands.iter().all(|operand| !operand.unknown && !operand.is_formula());
    if !told && plain && !parts.operands.is_sorted_by_key(key) {
        let message = "The parents are not in alphabetical order; say on what the order rests.";
        problems.warn("order_unstated", message, rules::ICN_H2A);
    }
}

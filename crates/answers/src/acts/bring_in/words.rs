//! What is said about rows, in words.

use intake::Row;
use texts::Texts;

/// Between where a left-over row came from and the mark by which it is known again.
const MARK: &str = " · ";

/// Where a row came from: file, sheet, row.
#[must_use]
pub fn origin(file: &str, row: &Row) -> String {
    match &row.sheet {
        Some(sheet) => format!("{file}, {sheet}, row {}", row.row),
        None => format!("{file}, row {}", row.row),
    }
}

/// Where a left-over row came from, with its mark.
pub(super) fn marked_origin(file: &str, row: &Row) -> String {
    format!("{}{MARK}{}", origin(file, row), row.fingerprint)
}

/// The mark in the origin of a left-over row.
pub(crate) fn fingerprint_of(origin: &str) -> Option<&str> {
    origin
        .rsplit_once(MARK)
        .map(|p| p.1)
        .filter(|m| m.len() == 32 && m.bytes().all(|b| b.is_ascii_hexdigit()))
}

/// The origin without its mark, as a reader sees it.
pub(crate) fn without_fingerprint(origin: &str) -> &str {
    match fingerprint_of(origin) {
        Some(_) => origin.rsplit_once(MARK).map_or(origin, |p| p.0),
        None => origin,
    }
}

/// Why the name of a row is doubted.
pub(super) fn doubt(row: &Row, t: Texts) -> String {
    let mut words: Vec<String> = row
        .problems
        .iter()
        .filter(|p| {
            matches!(
                p.as_str(),
                "genus_unclear"
                    | "possible_misspelling"
                    | "owner_unsure"
                    | "not_a_name"
                    | "several_kinds_in_one_row"
            )
        })
        .filter_map(|p| problem_words(p, t))
        .collect();
    if words.is_empty() {
        words.push(t.t("to be asked: the list does not say it clearly").to_owned());
    }
    words.join("; ")
}

/// A problem of a row that a reader should know about, in words; `None` for small corrections.
#[must_use]
pub fn problem_words(code: &str, t: Texts) -> Option<String> {
    if let Some((what, which)) = code.split_once(':') {
        let at = which
            .rsplit_once('!')
            .map_or_else(|| which.to_owned(), |(sheet, row)| format!("{row} ({sheet})"));
        let which: &[(&str, &dyn std::fmt::Display)] = &[("row", &at)];
        return match what {
            "duplicate_of_row" => Some(t.f("the same plant as row {row}", which)),
            "possible_duplicate_of_row" => Some(t.f("perhaps the same plant as row {row}", which)),
            "same_clone_as_row" => Some(t.f("a piece of the clone of row {row}", which)),
            "same_clone_uncertain_row" => {
                Some(t.f("perhaps a piece of the clone of row {row}", which))
            }
            "number_used_twice" => Some(t.f("its number stands in row {row} too", which)),
            "several_in_one_row" => Some(t.f("{row} plants in one row", which)),
            _ => None,
        };
    }
    let words = match code {
        "genus_unclear" => t.t("the shortened genus fits several"),
        "possible_misspelling" => t.t("perhaps misspelt; kept as typed"),
        "owner_unsure" => t.t("the list itself doubts the name"),
        "not_a_name" => t.t("a description, not a name"),
        "several_kinds_in_one_row" => t.t("several kinds in one row"),
        "unidentified" => t.t("said to have no name"),
        "old_name" => t.t("an older name, kept"),
        "parent_order_assumed" => t.t("which is the seed parent is assumed: the one named first"),
        "parents_owner_unsure" => t.t("the list itself doubts a parent"),
        "parent_order_contradicted" => t.t("the words about the parents decide, not their order"),
        "failed_cross" => t.t("a cross of which nothing came"),
        "pending_cross" => t.t("a cross without seed yet"),
        "date_impossible" => t.t("no such day"),
        "date_no_year" => t.t("no year is told"),
        "date_not_a_date" => t.t("the words give no date"),
        "price_for_lot" => t.t("the price is for several together"),
        "pot_not_a_size" => t.t("the pot is no size"),
        "received_in_swap" => t.t("in exchange"),
        "free" => t.t("a gift"),
        "dead" => t.t("dead"),
        "given_away" => t.t("given away"),
        "state_unclear" => t.t("whether it is still there is not clear"),
        "state_by_colour_only" => t.t("its state is told by the colour of the cell only"),
        _ => return None,
    };
    Some(words.to_owned())
}

//! The rules that problems rest on, as they are printed. An article number appears only where the
//! article itself was read; the numbers are those of the Shenzhen Code (2018).

pub(crate) const ICN_20_1: &str = "ICN 20.1";
pub(crate) const ICN_20_2: &str = "ICN 20.2";
pub(crate) const ICN_23_1: &str = "ICN 23.1, 60.11";
pub(crate) const ICN_23_3: &str = "ICN 23.3";
pub(crate) const ICN_23_4: &str = "ICN 23.4";
pub(crate) const ICN_23_5: &str = "ICN 23.5, 24.2";
pub(crate) const ICN_24_1: &str = "ICN 24.1";
pub(crate) const ICN_24_3: &str = "ICN 24.3";
pub(crate) const ICN_24_4: &str = "ICN 24.4";
pub(crate) const ICN_26_1: &str = "ICN 22.1, 26.1";
pub(crate) const ICN_28: &str = "ICN 28 Note 4";
pub(crate) const ICN_60: &str = "ICN 60.1, 60.4-60.14";
pub(crate) const ICN_60_7: &str = "ICN 60.7";
pub(crate) const ICN_H2: &str = "ICN H.2.1";
pub(crate) const ICN_H2_EX2: &str = "ICN H.2 Ex. 2, 23.1";
pub(crate) const ICN_H2A: &str = "ICN Rec. H.2A.1";
pub(crate) const ICN_H3_1: &str = "ICN H.3.1";
pub(crate) const ICN_H3_2: &str = "ICN H.3.2";
pub(crate) const ICN_H3A: &str = "ICN Rec. H.3A";
pub(crate) const ICN_H6_3: &str = "ICN H.6.3-4";
pub(crate) const ICN_H8_1: &str = "ICN H.6 Ex. 2, H.8.1";
/// Small letters for epithets.
pub(crate) const SMALL_LETTERS: &str = "advice of the ICN, from memory";
/// House style for rank terms.
pub(crate) const RANK_STYLE: &str = "RHS printing style 2004";
pub(crate) const AUTHORS: &str = "author citation, from memory";
pub(crate) const ACRA: &str = "ACRA naming page";
/// The code of cultivated plants, where only the rule was read.
pub(crate) const ICNCP: &str = "ICNCP; rule read, article number not checked";
pub(crate) const ICNCP_MEMORY: &str = "ICNCP, from memory";
pub(crate) const ICNCP_21_12: &str = "ICNCP 21.12";
pub(crate) const ICNCP_4_3: &str = "ICNCP 4.3";
pub(crate) const PRINCIPLE_4: &str = "ICNCP Principle 4 (8th ed.)";
pub(crate) const PRINCIPLE_6: &str = "ICNCP Principle 6, Art. 13 (8th ed.)";
pub(crate) const REGISTRARS: &str = "rule of some registrars, not of the ICNCP";
/// No code governs open nomenclature.
pub(crate) const OPEN: &str = "open nomenclature, no code; usage after Bengtson 1988";
/// Repairs of what was typed.
pub(crate) const INPUT: &str = "input repaired, no rule";
/// A table that the caller gave.
pub(crate) const TABLE: &str = "table of synonyms";

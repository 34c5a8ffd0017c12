//! Parentage: composition, kinship, inbreeding, clones.

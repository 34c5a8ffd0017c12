//! Every constant says where it comes from.

use std::collections::HashSet;

use culture::{
    Basis, Constant, Spread, air, clock, evapotranspiration, feed, heat, light, machine, reservoir,
    substrate,
};

fn all() -> Vec<(&'static str, Vec<Constant>)> {
    vec![
        ("air", air::constants()),
        ("clock", clock::constants()),
        ("evapotranspiration", evapotranspiration::constants()),
        ("feed", feed::constants()),
        ("heat", heat::constants()),
        ("light", light::constants()),
        ("machine", machine::constants()),
        ("reservoir", reservoir::constants()),
        ("substrate", substrate::constants()),
    ]
}

#[test]
fn constants_have_names_sources_and_sensible_spreads() {
    for (module, constants) in all() {
        assert!(constants.len() >= 4, "{module}: {}", constants.len());
        let names: HashSet<_> = constants.iter().map(|c| c.name).collect();
        assert_eq!(names.len(), constants.len(), "{module}: a name occurs twice");
        for c in constants {
            assert!(c.value.is_finite() && !c.unit.is_empty(), "{module}: {c:?}");
            if c.basis != Basis::CommonPractice {
                assert!(!c.source.is_empty(), "{module}: {} has no source", c.name);
            }
            match c.spread {
                Spread::Range(a, b) => {
                    assert!(a < b && (a..=b).contains(&c.value), "{module}: {c:?}");
                }
                Spread::Sd(sd) | Spread::LogSd(sd) => assert!(sd > 0.0, "{module}: {c:?}"),
                Spread::None => {}
            }
        }
    }
}

#[test]
fn cautions_are_there() {
    for cautions in [
        &machine::CAUTIONS[..],
        &feed::CAUTIONS,
        &heat::CAUTIONS,
        &light::CAUTIONS,
        &substrate::CAUTIONS,
    ] {
        assert!(cautions.len() >= 2 && cautions.iter().all(|c| c.ends_with('.')));
    }
}

//! Pedigrees and records that cannot be used, by name.

use stats::{
    mixed::MixedError,
    pedigree::{Given, Lines, Options, PedigreeError as E},
};

use super::{Case, made, without_factor};

fn lines(parents: &[[Option<u32>; 2]], inbreeding: &[f64]) -> E {
    Lines::new(parents.to_vec(), inbreeding.to_vec()).unwrap_err()
}

#[test]
fn pedigrees() {
    assert_eq!(lines(&[], &[]), E::Empty);
    let two = [[None, None], [Some(0), None]];
    assert!(matches!(lines(&two, &[0.0]), E::Lengths { found: 1, expected: 2, .. }));
    let e = lines(&[[Some(4), None]], &[0.0]);
    assert!(matches!(e, E::NoIndividual { at: 1, individual: 5, individuals: 1, .. }), "{e}");
    assert_eq!(lines(&two, &[0.0, 1.5]), E::Inbreeding { individual: 2, value: 1.5 });
    assert!(matches!(lines(&two, &[0.0, f64::NAN]), E::Inbreeding { individual: 2, .. }));
    // 2 descends from 3, and 3 from 2. What stands above a circle waits with it and may be named.
    let circle = [[None, None], [Some(2), None], [Some(0), Some(1)]];
    assert!(matches!(lines(&circle, &[0.0; 3]), E::Circle { individual: 1..=3 }));
    let selfed = [[None, None], [Some(0), Some(0)]];
    assert_eq!(lines(&selfed, &[1.0, 1.0]), E::NoOwnVariance { individual: 2 });
}

fn refused(change: impl Fn(&mut Case)) -> E {
    let mut case = made(1, 12, 30, 1, true);
    change(&mut case);
    case.try_fit(Options::default()).unwrap_err()
}

#[test]
fn records() {
    let e = refused(|c| c.individual[3] = 12);
    assert!(matches!(e, E::NoIndividual { what: "record", at: 4, individual: 13, .. }), "{e}");
    let e = refused(|c| {
        c.individual.pop();
    });
    assert!(matches!(e, E::Lengths { found: 29, expected: 30, .. }), "{e}");
    let e = refused(|c| c.permanent = Some(vec![0; 30]));
    assert!(matches!(e, E::SharedEffect { .. }), "{e}");
    let e = refused(|c| c.permanent = Some(vec![0]));
    assert!(matches!(e, E::Lengths { found: 1, expected: 30, .. }), "{e}");
    for weight in [0.0, -1.0, f64::NAN] {
        let e = refused(|c| c.weights = Some([vec![1.0; 29], vec![weight]].concat()));
        assert!(matches!(e, E::Mixed(MixedError::Weight { row: 30, .. })), "{e}");
    }
    let e = refused(|c| c.weights = Some(vec![1.0]));
    assert_eq!(e, E::Mixed(MixedError::Weights { weights: 1, records: 30 }));
    let e = refused(|c| c.response[0] = f64::NAN);
    assert!(matches!(e, E::Mixed(MixedError::Response { row: 1, .. })), "{e}");
}

#[test]
fn variances() {
    for (name, value) in [
        ("additive", 0.0),
        ("additive", -1.0),
        ("residual", 0.0),
        ("permanent", -0.5),
        ("residual", f64::NAN),
    ] {
        let e = refused(|c| {
            let given = &mut c.given;
            *match name {
                "additive" => &mut given.additive,
                "permanent" => &mut given.permanent,
                _ => &mut given.residual,
            } = value;
        });
        assert!(matches!(e, E::Given { name: n, .. } if n == name), "{e}");
    }
    // None for lasting effects is no fault.
    let mut case = made(1, 12, 30, 1, true);
    case.given = Given { permanent: 0.0, ..case.given };
    let found = case.fit(Options::default());
    assert!(found.permanent.iter().all(|e| e.estimate == 0.0 && e.reliability.is_none()));
}

#[test]
fn gradients_that_do_not_come_down() {
    let case = made(30, 300, 500, 0, false);
    let options = Options { steps: 2, ..without_factor() };
    let e = case.try_fit(options).unwrap_err();
    assert!(matches!(e, E::NotReached { steps: 2, residual } if residual > 1e-10), "{e}");
}

//! Designs against what the contrasts must be by their definition.

use stats::model::{Column, Fixed, Frame, ModelError, RandomSpec, RandomTerm, Term, split_terms};

fn words(text: &str) -> Column {
    Column::Words(text.split(' ').map(str::to_owned).collect())
}

fn frame() -> Frame {
    Frame::new(6)
        .with("mix", words("bark moss bark grit moss grit"))
        .unwrap()
        .with("lamp", words("on on off off off on"))
        .unwrap()
        .with("warm", Column::Numbers(vec![1.0, 2.0, 3.0, 5.0, 8.0, 13.0]))
        .unwrap()
}

fn labels(fixed: &Fixed) -> Vec<String> {
    let label = |c: &stats::model::Coefficient| match &c.level {
        None => c.term.clone(),
        Some(level) => format!("{}={level}", c.term),
    };
    fixed.coefficients.iter().map(label).collect()
}

#[test]
fn words_have_contrasts_with_the_first_level() {
    let terms = Term::read_all(&["mix", "warm"]).unwrap();
    let fixed = Fixed::build(&frame(), &terms).unwrap();
    assert_eq!(labels(&fixed), ["(intercept)", "mix=grit", "mix=moss", "warm"]);
    assert_eq!(fixed.column(1), [0.0, 0.0, 0.0, 1.0, 0.0, 1.0]);
    let other = frame().reference("mix", "moss");
    let fixed = Fixed::build(&other, &terms).unwrap();
    assert_eq!(labels(&fixed), ["(intercept)", "mix=bark", "mix=grit", "warm"]);
    assert_eq!(fixed.column(1), [1.0, 0.0, 1.0, 0.0, 0.0, 0.0]);
}

#[test]
fn a_nested_term_has_all_levels_and_an_interaction_contrasts() {
    let nested = Fixed::build(&frame(), &Term::read_all(&["lamp/warm"]).unwrap()).unwrap();
    assert_eq!(labels(&nested), ["(intercept)", "lamp=on", "lamp:warm=off", "lamp:warm=on"]);
    assert_eq!(nested.column(2), [0.0, 0.0, 3.0, 5.0, 8.0, 0.0]);
    let crossed = Term::read_all(&["lamp", "warm", "lamp:warm"]).unwrap();
    let crossed = Fixed::build(&frame(), &crossed).unwrap();
    assert_eq!(labels(&crossed), ["(intercept)", "lamp=on", "warm", "lamp:warm=on"]);
}

#[test]
fn numbers_become_levels_when_asked() {
    let frame = Frame::new(4).with("n", Column::Numbers(vec![10.0, 2.0, 10.0, 7.0])).unwrap();
    let fixed = Fixed::build(&frame, &Term::read_all(&["factor(n)"]).unwrap()).unwrap();
    // By size, not by the alphabet.
    assert_eq!(labels(&fixed), ["(intercept)", "n=7", "n=10"]);
    let referred = frame.reference("n", "10");
    let fixed = Fixed::build(&referred, &Term::read_all(&["n"]).unwrap()).unwrap();
    assert_eq!(labels(&fixed), ["(intercept)", "n=2", "n=7"]);
}

#[test]
fn rows_to_predict_get_the_columns_of_the_fit() {
    let fit = frame();
    let fixed = Fixed::build(&fit, &Term::read_all(&["mix", "warm"]).unwrap()).unwrap();
    let asked = Frame::new(2)
        .with("mix", words("moss bark"))
        .unwrap()
        .with("warm", Column::Numbers(vec![4.0, 6.0]))
        .unwrap();
    let rows = fixed.for_rows(&asked, &fit).unwrap();
    assert_eq!(rows.column(2), [1.0, 0.0]);
    assert_eq!(rows.column(3), [4.0, 6.0]);
    let strange = asked.with("mix", words("moss peat")).unwrap();
    let refused = fixed.for_rows(&strange, &fit).unwrap_err();
    assert!(refused.to_string().contains("“peat”"), "{refused}");
}

#[test]
fn random_terms_know_the_levels_of_each_row() {
    let frame = frame()
        .with("seed", words("P1 P1 P2 P3 P2 P3"))
        .unwrap()
        .with("pollen", words("P2 P4 P4 P1 P1 P3"))
        .unwrap();
    let spec = RandomSpec::read("mm(seed,pollen)").unwrap().remove(0);
    let term = RandomTerm::build(&frame, &spec).unwrap();
    assert_eq!(term.levels, ["P1", "P2", "P3", "P4"]);
    assert_eq!((term.of_row(0), term.of_row(5)), (&[0, 1][..], &[2, 2][..]));
    let slope = RandomSpec::read("warm|mix").unwrap().remove(0);
    let term = RandomTerm::build(&frame, &slope).unwrap();
    assert_eq!((term.width(), term.name.as_str()), (2, "mix"));
    let nested = RandomSpec::read("mix/lamp").unwrap();
    let names: Vec<String> = nested.iter().map(RandomSpec::name).collect();
    assert_eq!(names, ["mix", "mix:lamp"]);
    assert_eq!(split_terms("a, mm(b,c),x|g"), ["a", "mm(b,c)", "x|g"]);
}

#[test]
fn what_cannot_be_estimated_is_named() {
    let double = frame().with("cold", Column::Numbers(vec![-1.0, -2.0, -3.0, -5.0, -8.0, -13.0]));
    let terms = Term::read_all(&["warm", "cold"]).unwrap();
    let fixed = Fixed::build(&double.unwrap(), &terms).unwrap();
    let refused = fixed.check_independent().unwrap_err();
    assert_eq!(refused, ModelError::Singular { coefficient: "cold".to_owned() });
    let one = Frame::new(2).with("mix", words("bark bark")).unwrap();
    let refused = Fixed::build(&one, &Term::read_all(&["mix"]).unwrap()).unwrap_err();
    assert!(matches!(refused, ModelError::OneLevel { .. }), "{refused}");
    let refused = Fixed::build(&frame(), &Term::read_all(&["mx"]).unwrap()).unwrap_err();
    assert!(refused.to_string().contains("there is no column mx"), "{refused}");
    for text in ["a:", "mm(a)", "x|", "a b|", "factor()"] {
        let read = Term::read(text).is_err() || RandomSpec::read(text).is_err();
        assert!(read, "{text} was read");
    }
    let bad = Frame::new(1).with("x", Column::Numbers(vec![f64::NAN]));
    assert!(matches!(bad, Err(ModelError::NotFinite { row: 1, .. })), "{bad:?}");
}

//! What is refused, and in which words.

use crate::support::{full, label, many, spans};
use printing::*;

fn refuse(labels: &[Label], layout: &Layout) -> PrintError {
    labels_pdf(labels, layout, &Words::english()).unwrap_err()
}

fn problem(labels: &[Label], layout: &Layout) -> LabelProblem {
    match refuse(labels, layout) {
        PrintError::Labels(mut problems) if problems.len() == 1 => problems.remove(0),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_name_of_300_characters_names_the_size_that_would_hold_it() {
    let long: String = "Lantern ".repeat(38).chars().take(300).collect();
    let tape = Size::Tape { length: 40.0, width: 12.0 };
    for size in [Size::Stake60x25, Size::Stake75x20, Size::Tag50x30, tape] {
        for hand in [false, true] {
            let layout = Layout { hand, ..Layout::single(size) };
            let one = label("214", "K7QD3M", &long);
            let found = problem(std::slice::from_ref(&one), &layout);
            assert_eq!((found.index, found.number.as_str()), (0, "214"));
            let ProblemKind::NameTooLong { ref name, size: tried, fits } = found.kind else {
                panic!("{found:?}")
            };
            assert_eq!((name, tried), (&long, size));
            let fits = fits.unwrap();
            let said = found.to_string();
            assert!(said.contains(&size.to_string()) && said.contains(&fits.to_string()), "{said}");
            // The proposed size does hold it.
            let wider = Layout { hand, ..Layout::single(fits) };
            assert!(labels_pdf(&[one], &wider, &Words::english()).is_ok());
        }
    }
}

#[test]
fn a_word_without_an_end_is_refused_not_cut() {
    let one = label("3", "K7QD3M", &"x".repeat(400));
    let found = problem(&[one], &Layout::single(Size::Stake60x25));
    assert!(matches!(found.kind, ProblemKind::NameTooLong { fits: None, .. }));
}

#[test]
fn all_bad_labels_are_listed() {
    let mut labels = many(30);
    for (i, label) in labels.iter_mut().enumerate().skip(5) {
        match i % 3 {
            0 => label.code = "K1QD3M".into(),
            1 => label.qr = "http://umbel.local".into(),
            _ => label.from_whom = Some("蘭園".into()),
        }
    }
    let error = refuse(&labels, &Layout::a4(Size::Stake60x25, Back::FoldBelow));
    let PrintError::Labels(ref problems) = error else { panic!("{error:?}") };
    assert_eq!(problems.iter().map(|p| p.index).collect::<Vec<_>>(), (5..30).collect::<Vec<_>>());
    let said = error.to_string();
    assert!(said.contains("“K1QD3M” is not a permanent code"));
    assert!(said.contains("“h” is not among"));
    assert!(said.contains("“蘭” (U+862D)"));
    assert!(said.ends_with("and 5 more labels."), "{said}");
}

#[test]
fn a_number_too_long_is_not_called_a_name() {
    let one = label(&"9".repeat(40), "K7QD3M", "*Begonia listada*");
    let found = problem(&[one], &Layout::single(Size::Stake60x25));
    assert_eq!(found.kind, ProblemKind::NumberTooLong { size: Size::Stake60x25 });
}

#[test]
fn impossible_measures_are_refused_with_their_values() {
    let own = |width, height| Layout::single(Size::Own { width, height });
    for (w, h) in [(0.0, 20.0), (-3.0, 20.0), (f64::NAN, 20.0), (60.0, f64::INFINITY)] {
        assert!(matches!(refuse(&[full()], &own(w, h)), PrintError::Measures(_)), "{w} {h}");
    }
    let sheet = SheetMeasures { columns: 4, ..SheetMeasures::a4(Size::Stake60x25, Back::None) };
    let wide = Layout { sheet: Some(sheet), ..Layout::single(Size::Stake60x25) };
    let said = refuse(&[full()], &wide).to_string();
    assert!(said.contains("4 labels of 60 mm") && said.contains("210 mm wide"), "{said}");
    let used = Layout { start_at: 99, ..Layout::a4(Size::Stake60x25, Back::None) };
    assert!(refuse(&[full()], &used).to_string().contains("99 are used up"));
    assert_eq!(refuse(&[], &own(60.0, 25.0)), PrintError::NoLabels);
    // Too small for anything: a message, not a panic.
    for (w, h) in [(1.0, 1.0), (10.0, 10.0), (5.0, 100.0), (300.0, 3.0)] {
        assert!(matches!(refuse(&[full()], &own(w, h)), PrintError::Labels(_)), "{w} {h}");
    }
}

#[test]
fn a_formula_that_is_too_long_for_tape_fits_the_size_named() {
    let mut one = full();
    one.name = spans("*Begonia masoniana* var. *maculata* × *Begonia pustulata* ‘Argent Mill’");
    let tape = Layout::single(Size::Tape { length: 40.0, width: 12.0 });
    let said = refuse(&[one], &tape).to_string();
    assert!(said.starts_with("Label 214: the name “"), "{said}");
}

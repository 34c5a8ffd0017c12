//! Pages, cells, backs and the smallest print, measured in the finished file.

use crate::support::{Letter, full, many, pictures, read, run_together, within};
use printing::*;

/// A hundredth of a millimetre: far below what a printer places.
const NEAR: f64 = 0.01;

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < NEAR
}

#[test]
fn a_label_without_a_sheet_is_a_page_of_its_size() {
    let tape = Size::Tape { length: 40.0, width: 12.0 };
    let own = Size::Own { width: 100.0, height: 60.0 };
    for size in [Size::Stake60x25, Size::Stake75x20, Size::Tag50x30, tape, own] {
        let pdf = labels_pdf(&[full(), full()], &Layout::single(size), &Words::english()).unwrap();
        let (_, pages) = read(&pdf.bytes);
        let (w, h) = size.measures();
        assert_eq!((pages.len(), pdf.pages), (2, 2));
        assert!(pages.iter().all(|page| near(page.0, w) && near(page.1, h)), "{size}: {pages:?}");
    }
}

#[test]
fn each_cell_stands_where_the_measures_say() {
    let sheet = SheetMeasures {
        page_width: 210.0,
        page_height: 297.0,
        margin_left: 7.0,
        margin_top: 15.0,
        columns: 3,
        rows: 9,
        gap_x: 2.5,
        gap_y: 1.0,
    };
    let layout = Layout { sheet: Some(sheet), start_at: 4, ..Layout::single(Size::Stake60x25) };
    let labels = many(30);
    let pdf = labels_pdf(&labels, &layout, &Words::english()).unwrap();
    let (letters, pages) = read(&pdf.bytes);
    assert_eq!(pages.len(), 2, "30 labels from the fifth of 27 cells on");
    assert!(pages.iter().all(|page| near(page.0, 210.0) && near(page.1, 297.0)));
    for (i, label) in labels.iter().enumerate() {
        let cell = (i + 4) % 27;
        let (x, y) = (7.0 + (cell % 3) as f64 * 62.5, 15.0 + (cell / 3) as f64 * 26.0);
        let text = run_together(&within(&letters, (i + 4) / 27, x, y, 60.0, 25.0));
        assert!(text.contains(&label.code), "{} is not in its cell: {text}", label.number);
        assert!(text.contains(&label.number));
    }
    // The used cells stay blank.
    assert!(within(&letters, 0, 0.0, 0.0, 210.0, 15.0 + 25.0).is_empty());
}

/// Where the code of the first label stands on its front, and the keeper on its back.
fn back_of(layout: &Layout, index: usize) -> Vec<Letter> {
    let mut labels = many(8);
    for (i, label) in labels.iter_mut().enumerate() {
        label.from_whom = Some(format!("Keeper{i}"));
    }
    let pdf = labels_pdf(&labels, layout, &Words::english()).unwrap();
    let (letters, _) = read(&pdf.bytes);
    let letters: Vec<Letter> = letters.into_iter().filter(|l| !l.text.trim().is_empty()).collect();
    let wanted: Vec<char> = format!("Keeper{index}").chars().collect();
    let found = letters
        .windows(wanted.len())
        .find(|run| run.iter().zip(&wanted).all(|(letter, c)| letter.text == c.to_string()));
    found.unwrap().to_vec()
}

fn sheet(w: f64, h: f64) -> SheetMeasures {
    SheetMeasures {
        page_width: w,
        page_height: h,
        margin_left: 7.0,
        margin_top: 15.0,
        columns: 3,
        rows: 4,
        gap_x: 2.0,
        gap_y: 3.0,
    }
}

#[test]
fn a_duplex_back_lies_behind_its_front() {
    let (portrait, landscape) = (sheet(210.0, 297.0), sheet(297.0, 210.0));
    // Turned about its upright edge, x is mirrored; about the level one, y.
    let cases = [
        (portrait, Back::DuplexLongEdge, true),
        (portrait, Back::DuplexShortEdge, false),
        (landscape, Back::DuplexLongEdge, false),
        (landscape, Back::DuplexShortEdge, true),
    ];
    for (sheet, back, mirrored) in cases {
        let layout = Layout { sheet: Some(sheet), back, ..Layout::single(Size::Stake60x25) };
        for index in 0..8 {
            let x = 7.0 + (index % 3) as f64 * 62.0;
            let y = 15.0 + (index / 3) as f64 * 28.0;
            let behind = match mirrored {
                true => (sheet.page_width - x - 60.0, y),
                false => (x, sheet.page_height - y - 25.0),
            };
            for letter in back_of(&layout, index) {
                assert_eq!(letter.page, 1);
                // Turned about the level edge, the back must stand on its head to read upright.
                assert_eq!(letter.turned, !mirrored);
                assert!((behind.0..behind.0 + 60.0).contains(&letter.x), "{index} {letter:?}");
                assert!((behind.1..behind.1 + 25.0).contains(&letter.y), "{index} {letter:?}");
            }
        }
    }
}

#[test]
fn a_folded_back_stands_on_its_head_below_the_fold() {
    let layout = Layout::a4(Size::Stake60x25, Back::FoldBelow);
    let sheet = layout.sheet.unwrap();
    for index in 0..8 {
        let x = sheet.margin_left + (index % sheet.columns) as f64 * 60.0;
        let fold = sheet.margin_top + (index / sheet.columns) as f64 * 50.0 + 25.0;
        for letter in back_of(&layout, index) {
            assert!(letter.turned && letter.page == 0);
            assert!((x..x + 60.0).contains(&letter.x) && (fold..fold + 25.0).contains(&letter.y));
        }
    }
}

#[test]
fn no_capital_is_lower_than_the_smallest_print() {
    let mut labels = many(40);
    labels[3].name = crate::support::spans("*Begonia* ^Pale Harbour^ (‘KMB0417’)");
    labels[4].name =
        crate::support::spans("*Streptocarpus* ‘Thousand Quiet Lanterns over the Pond’");
    for size in [
        Size::Stake60x25,
        Size::Stake75x20,
        Size::Tag50x30,
        Size::Tape { length: 70.0, width: 12.0 },
        Size::Own { width: 40.0, height: 60.0 },
    ] {
        for back in [Back::None, Back::FoldBelow] {
            for hand in [false, true] {
                let layout = Layout { hand, ..Layout::a4(size, back) };
                if hand && (size.measures().1 < 20.0 || size.measures().0 < 50.0) {
                    continue;
                }
                let pdf = labels_pdf(&labels, &layout, &Words::english()).unwrap();
                let (letters, _) = read(&pdf.bytes);
                // Capitals are 0.658 em (sans) or 0.670 em (serif): the lower of the two, and a
                // micrometre for rounding in the file.
                let least = letters.iter().map(|l| l.em).fold(f64::INFINITY, f64::min);
                assert!(least * 0.670 > SMALLEST_CAPITALS - 1e-3, "{size} {back:?}: {least}");
            }
        }
    }
}

#[test]
fn the_number_is_the_largest_print() {
    for size in [Size::Stake60x25, Size::Stake75x20, Size::Tag50x30] {
        for label in many(20) {
            let pdf =
                labels_pdf(std::slice::from_ref(&label), &Layout::single(size), &Words::english())
                    .unwrap();
            let (letters, _) = read(&pdf.bytes);
            let largest = letters.iter().map(|l| l.em).fold(0.0, f64::max);
            let set: Vec<_> = letters.iter().filter(|l| l.em > largest - 1e-6).cloned().collect();
            assert_eq!(run_together(&set), label.number);
        }
    }
}

/// Each letter as the box that nothing else may enter: from its baseline up to the x-height.
#[test]
fn no_letter_lies_on_another_and_none_leaves_its_label() {
    let words = Words::english();
    for size in [Size::Stake60x25, Size::Stake75x20, Size::Tag50x30] {
        let (w, h) = size.measures();
        for back in [Back::None, Back::FoldBelow] {
            let layout = Layout { back, ..Layout::single(size) };
            let pdf = labels_pdf(&many(30), &layout, &words).unwrap();
            let (letters, pages) = read(&pdf.bytes);
            for (page, (_, height)) in pages.iter().copied().enumerate() {
                assert!(near(height, h) || near(height, 2.0 * h));
                let boxes: Vec<[f64; 4]> = letters
                    .iter()
                    .filter(|l| l.page == page && !l.text.trim().is_empty())
                    .map(|l| {
                        let (x, y) =
                            if l.turned { (l.x - l.width, l.y) } else { (l.x, l.y - 0.47 * l.em) };
                        [x, y, x + l.width, y + 0.47 * l.em]
                    })
                    .collect();
                for (i, a) in boxes.iter().enumerate() {
                    assert!(a[0] > 0.5 && a[2] < w - 0.5 && a[1] > 0.5 && a[3] < height - 0.5);
                    for b in &boxes[i + 1..] {
                        // Neighbours in a word may be kerned into each other a little.
                        let over =
                            (a[2].min(b[2]) - a[0].max(b[0])).min(a[3].min(b[3]) - a[1].max(b[1]));
                        assert!(over < 0.35, "{size} page {page}: {a:?} {b:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn the_rule_is_a_hundred_millimetres() {
    let layout = Layout::a4(Size::Stake60x25, Back::None);
    let pdf = labels_pdf(&[full()], &layout, &Words::english()).unwrap();
    assert!(pdf.ruled);
    let picture = &pictures(&pdf.bytes, 10.0)[0];
    // The longest upright dark run on the page.
    let dark = |x: usize, y: usize| picture.grey[y * picture.width + x] < 160;
    let longest = (0..picture.width)
        .map(|x| {
            let mut best = 0;
            let mut run = 0;
            for y in 0..picture.height {
                run = if dark(x, y) { run + 1 } else { 0 };
                best = best.max(run);
            }
            best
        })
        .max()
        .unwrap();
    // Two pixels of 0.1 mm: the end strokes are 0.15 mm thick.
    assert!((998..=1004).contains(&longest), "{longest}");
    let single = labels_pdf(&[full()], &Layout::single(Size::Stake60x25), &Words::english());
    assert!(!single.unwrap().ruled);
}

#[test]
fn equal_labels_give_equal_bytes() {
    let layout = Layout::a4(Size::Stake60x25, Back::DuplexLongEdge);
    let once = labels_pdf(&many(25), &layout, &Words::english()).unwrap();
    let again = labels_pdf(&many(25), &layout, &Words::english()).unwrap();
    assert!(once == again);
    let other = labels_pdf(&many(24), &layout, &Words::english()).unwrap();
    assert!(once.bytes != other.bytes);
}

//! Squares, decoded from pictures of the pages.

use crate::support::{full, label, many, pictures, squares};
use printing::*;

#[test]
fn every_square_of_a_sheet_is_read_and_large_enough() {
    let labels = many(24);
    let tape = Size::Tape { length: 70.0, width: 12.0 };
    for (size, least) in
        [(Size::Stake60x25, 0.5), (Size::Stake75x20, 0.5), (Size::Tag50x30, 0.5), (tape, 0.42)]
    {
        let layout = Layout::a4(size, Back::None);
        let pdf = labels_pdf(&labels, &layout, &Words::english()).unwrap();
        let (dots, sheet) = (20.0, layout.sheet.unwrap());
        let (w, h) = size.measures();
        let pages = pictures(&pdf.bytes, dots);
        let pixels = |mm: f64| (mm * f64::from(dots)) as usize;
        let mut found = Vec::new();
        for (i, label) in labels.iter().enumerate() {
            let (page, cell) = (i / (sheet.columns * sheet.rows), i % (sheet.columns * sheet.rows));
            let x = sheet.margin_left + (cell % sheet.columns) as f64 * w;
            let y = sheet.margin_top + (cell / sheet.columns) as f64 * h;
            let read = squares(&pages[page].part(pixels(x), pixels(y), pixels(w), pixels(h)));
            assert_eq!(read.len(), 1, "{size} {i}");
            assert_eq!(read[0].text, label.qr);
            found.extend(read);
        }
        for square in found {
            // Edges fall between pixels: one of 1/20 mm, shared by at least 21 modules.
            let module = square.module / f64::from(dots);
            assert!(module > least - 0.0025, "{size} {square:?}: {module}");
        }
    }
}

#[test]
fn tape_printed_in_black_dots_at_180_an_inch_is_read() {
    for label in many(12) {
        let tape = Layout::single(Size::Tape { length: 70.0, width: 12.0 });
        let pdf = labels_pdf(std::slice::from_ref(&label), &tape, &Words::english()).unwrap();
        let dots = &pictures(&pdf.bytes, 180.0 / 25.4)[0];
        // Each dot of the head is black or nothing; a camera sees it as several pixels.
        let zoom = 4;
        let (width, height) = (dots.width * zoom, dots.height * zoom);
        let dot = |i: usize| dots.grey[(i / width / zoom) * dots.width + i % width / zoom];
        let grey = (0..width * height).map(|i| if dot(i) < 128 { 0 } else { 255 }).collect();
        let seen = squares(&crate::support::Picture { width, height, grey });
        assert_eq!(seen.iter().map(|s| s.text.as_str()).collect::<Vec<_>>(), [label.qr.as_str()]);
    }
}

#[test]
fn the_border_of_four_modules_is_blank() {
    let cases = [
        (Size::Stake60x25, 4.0),
        (Size::Stake75x20, 4.0),
        (Size::Tag50x30, 4.0),
        // The tape's edge takes a quarter of a module above and below.
        (Size::Tape { length: 40.0, width: 12.0 }, 3.75),
    ];
    for (size, border) in cases {
        let pdf = labels_pdf(&[full()], &Layout::single(size), &Words::english()).unwrap();
        let dots = 20.0;
        let picture = &pictures(&pdf.bytes, dots)[0];
        let found = squares(picture).remove(0);
        let [left, top, right, bottom] = found.ink;
        // A pixel on each side of the square is the softness of its edge.
        let reach = (border * found.module).floor() as usize - 1;
        let (from_x, from_y) = (left.checked_sub(reach), top.checked_sub(reach));
        let (from_x, from_y) = (from_x.unwrap(), from_y.unwrap());
        let (to_x, to_y) = (right + reach, bottom + reach);
        assert!(to_x < picture.width && to_y < picture.height, "{size}");
        for y in from_y..=to_y {
            for x in from_x..=to_x {
                let square = x + 1 >= left && x <= right + 1 && y + 1 >= top && y <= bottom + 1;
                let grey = picture.grey[y * picture.width + x];
                assert!(square || grey > 200, "{size}: ink at {x} {y}");
            }
        }
    }
}

#[test]
fn an_address_too_long_for_the_tape_says_how_high_it_must_be() {
    let mut one = label("214", "K7QD3M", "*Begonia listada*");
    one.qr = "HTTP://THE-LONG-GLASSHOUSE.LOCAL/K7QD3M".into();
    let tape = Layout::single(Size::Tape { length: 40.0, width: 12.0 });
    let error =
        labels_pdf(std::slice::from_ref(&one), &tape, &Words::english()).unwrap_err().to_string();
    assert!(error.contains("214") && error.contains("39 characters"), "{error}");
    let stake = labels_pdf(
        std::slice::from_ref(&one),
        &Layout::single(Size::Stake60x25),
        &Words::english(),
    );
    let picture = &pictures(&stake.unwrap().bytes, 16.0)[0];
    assert_eq!(squares(picture)[0].text, one.qr);
}

#[test]
fn narrow_tape_has_the_code_but_no_square() {
    let tape = Layout::single(Size::Tape { length: 60.0, width: 9.0 });
    let pdf = labels_pdf(&[full()], &tape, &Words::english()).unwrap();
    assert!(squares(&pictures(&pdf.bytes, 16.0)[0]).is_empty());
    let text = crate::support::run_together(&crate::support::read(&pdf.bytes).0);
    assert!(text.contains("K7QD3M"));
}

/// The square that pairs a phone, read from its modules as a camera reads them.
#[test]
fn a_pairing_address_is_read_back() {
    let address = "HTTPS://GLASSHOUSE.LOCAL:8465/PAIR/K7QD3M9F22XA";
    let square = printing::Square::of(address).unwrap();
    // Eight dots to a module, four modules of margin.
    let side = 8 * (square.side + 8);
    let module = |at: usize| i32::try_from(at / 8).unwrap() - 4;
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| {
        if square.is_dark(module(x), module(y)) { 0 } else { 255 }
    });
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1);
    assert_eq!(grids[0].decode().unwrap().1, address);
}

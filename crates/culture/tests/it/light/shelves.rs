use culture::light::{
    lamp::{Emitter, Lamp, Leaf},
    shelf::{Shelf, Surround, Walls, below_canopy, map, mean_by_utilisation, reflected},
};

use crate::reference::near;

const SHELF: Shelf = Shelf { across: (0.0, 0.9), along: (0.0, 0.4), height: 0.1 };

fn bars() -> Vec<Lamp> {
    let bar = Emitter::Panel { width: 0.85, length: 0.03 };
    [0.1, 0.3].map(|y| Lamp::new(bar, 30.0, [0.45, y, 0.4]).unwrap()).to_vec()
}

#[test]
fn a_map_holds_each_point_of_the_shelf() {
    let lamps = bars();
    let found = map(&lamps, &SHELF, (9, 4), Walls::Open).unwrap();
    assert_eq!((found.columns, found.rows, found.ppfd.len()), (9, 4, 36));
    near(found.reflected, 0.0, 0.0);
    // Third column, second row: x = 0.25, y = 0.15.
    let point = [0.25, 0.15, 0.1];
    let slow: f64 = lamps.iter().map(|l| l.ppfd(point, Leaf::FLAT)).sum();
    near(found.ppfd[9 + 2], slow, 1e-12);
    // The shelf is symmetric, so is its light.
    near(found.ppfd[0], found.ppfd[35], 1e-9);
    near(found.mean(), found.ppfd.iter().sum::<f64>() / 36.0, 1e-12);
}

#[test]
fn what_misses_the_shelf_comes_back_in_part() {
    let lamps = bars();
    let open = map(&lamps, &SHELF, (40, 20), Walls::Open).unwrap();
    near(open.direct_share, open.mean() * SHELF.area() / 60.0, 1e-12);
    let mut last = open.mean();
    for walls in [Walls::Wood, Walls::WhitePaint, Walls::Film] {
        let found = map(&lamps, &SHELF, (40, 20), walls).unwrap();
        assert!(found.mean() > last, "{walls:?}");
        last = found.mean();
        let reflectance = walls.reflectance().unwrap().value;
        let added = 60.0 * (1.0 - open.direct_share) * reflectance * 0.5 / 0.36;
        near(found.reflected, added, 1e-9);
        // No shelf gets more than its lamps give.
        assert!(found.mean() * SHELF.area() < 60.0);
    }
    // By experience an open rack catches 45 %, with a wide spread.
    let usual = mean_by_utilisation(60.0, Surround::OpenRack, SHELF.area()).unwrap();
    near(usual, 60.0 * 0.45 / 0.36, 1e-9);
    assert!((open.mean() / usual - 1.0).abs() < 0.5, "{} {usual}", open.mean());
    near(mean_by_utilisation(10.0, Surround::Cabinet, 2.0).unwrap(), 4.0, 1e-12);
}

#[test]
fn a_large_shelf_catches_all_light() {
    let wide = Shelf { across: (-60.0, 60.0), along: (-60.0, 60.0), height: 0.0 };
    let lamp =
        Lamp::new(Emitter::Panel { width: 0.6, length: 0.6 }, 80.0, [0.0, 0.0, 1.0]).unwrap();
    let found = map(&[lamp], &wide, (600, 600), Walls::Open).unwrap();
    near(found.direct_share, 1.0, 0.002);
}

#[test]
fn leaves_above_take_light() {
    // Beer's law: computed from the stated formula.
    near(below_canopy(0.0).unwrap(), 1.0, 0.0);
    near(below_canopy(2.0).unwrap(), (-1.2_f64).exp(), 1e-12);
    assert!(below_canopy(-1.0).is_err());
}

#[test]
fn shelves_that_cannot_be_are_refused() {
    let flat = Shelf { across: (1.0, 1.0), ..SHELF };
    assert!(map(&bars(), &flat, (9, 4), Walls::Open).is_err());
    assert!(map(&bars(), &SHELF, (0, 4), Walls::Open).is_err());
    assert!(map(&bars(), &SHELF, (10_000, 10_000), Walls::Open).is_err());
    assert!(reflected(10.0, 1.5, 0.8, 1.0).is_err());
    assert!(reflected(10.0, 0.5, 0.8, 0.0).is_err());
    let dark = map(&[], &SHELF, (3, 3), Walls::Film).unwrap();
    near(dark.mean(), 0.0, 0.0);
}

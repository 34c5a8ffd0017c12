//! The light of lamps all over a shelf, with what walls and neighbours do to it.

use super::{
    LightError, amount,
    lamp::{Lamp, Leaf, together},
    positive, share, within,
};
use crate::{Basis, Constant, Spread};

const fn habit(name: &'static str, value: f64, (low, high): (f64, f64)) -> Constant {
    Constant {
        name,
        value,
        unit: "1",
        spread: Spread::Range(low, high),
        basis: Basis::CommonPractice,
        source: "",
    }
}

const WOOD: Constant = habit("reflectance_wood", 0.4, (0.25, 0.55));
const WHITE_PAINT: Constant = habit("reflectance_white_paint", 0.8, (0.7, 0.88));
const FILM: Constant = habit("reflectance_film", 0.9, (0.8, 0.96));
/// Share of once reflected light that comes back to the shelf \[1\].
pub const RETURNED: Constant = habit("returned_by_walls", 0.5, (0.3, 0.7));
const OPEN_RACK: Constant = habit("utilisation_open_rack", 0.45, (0.3, 0.6));
const THREE_WHITE_SIDES: Constant = habit("utilisation_three_white_sides", 0.65, (0.5, 0.75));
const CABINET: Constant = habit("utilisation_cabinet", 0.8, (0.65, 0.9));
/// What a neighbour that leans over a plant leaves of its light \[1\].
pub const SHADED_BY_NEIGHBOUR: Constant = habit("shaded_by_neighbour", 0.5, (0.25, 0.75));
/// Extinction of light in a canopy for each layer of leaves \[1\].
pub const EXTINCTION: Constant = Constant {
    name: "canopy_extinction",
    value: 0.6,
    unit: "1",
    spread: Spread::Range(0.5, 0.7),
    basis: Basis::Memory,
    source: "Monsi & Saeki 1953, broad leaves (from memory)",
};

pub(super) const CONSTANTS: &[Constant] = &[
    WOOD,
    WHITE_PAINT,
    FILM,
    RETURNED,
    OPEN_RACK,
    THREE_WHITE_SIDES,
    CABINET,
    SHADED_BY_NEIGHBOUR,
    EXTINCTION,
];

/// What stands at the sides of a shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Walls {
    /// Nothing.
    Open,
    /// Wood.
    Wood,
    /// White paint.
    WhitePaint,
    /// Reflecting film.
    Film,
}

impl Walls {
    /// Share of light that they send back; none where there are none.
    #[must_use]
    pub const fn reflectance(self) -> Option<Constant> {
        match self {
            Self::Open => None,
            Self::Wood => Some(WOOD),
            Self::WhitePaint => Some(WHITE_PAINT),
            Self::Film => Some(FILM),
        }
    }
}

/// A shelf as a whole, for a check of the mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Surround {
    /// An open wire rack.
    OpenRack,
    /// White on three sides.
    ThreeWhiteSides,
    /// A cabinet that reflects on all sides.
    Cabinet,
}

impl Surround {
    /// Share of the lamps' photons that arrives on the shelf.
    #[must_use]
    pub const fn utilisation(self) -> Constant {
        match self {
            Self::OpenRack => OPEN_RACK,
            Self::ThreeWhiteSides => THREE_WHITE_SIDES,
            Self::Cabinet => CABINET,
        }
    }
}

/// A rectangle of leaves at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shelf {
    /// From and to along x \[m\].
    pub across: (f64, f64),
    /// From and to along y \[m\].
    pub along: (f64, f64),
    /// Height of the leaves \[m\].
    pub height: f64,
}

impl Shelf {
    fn check(&self) -> Result<(), LightError> {
        positive("width of the shelf", self.across.1 - self.across.0)?;
        positive("depth of the shelf", self.along.1 - self.along.0)?;
        within("height", self.height, (-1e6, 1e6), "a length in metres", "check the number")?;
        Ok(())
    }

    /// Area \[m²\].
    #[must_use]
    pub fn area(&self) -> f64 {
        (self.across.1 - self.across.0) * (self.along.1 - self.along.0)
    }
}

/// Light on a grid over a shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Map {
    /// How many points along x.
    pub columns: usize,
    /// How many points along y.
    pub rows: usize,
    /// Photons at each point \[µmol m⁻² s⁻¹\], row by row from the least y, each from the least x;
    /// points lie in the middle of equal cells.
    pub ppfd: Vec<f64>,
    /// Of that, what walls send back, the same at each point \[µmol m⁻² s⁻¹\].
    pub reflected: f64,
    /// Share of the lamps' photons that falls straight on the shelf \[1\].
    pub direct_share: f64,
}

impl Map {
    /// Mean \[µmol m⁻² s⁻¹\].
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.ppfd.iter().sum::<f64>() / self.ppfd.len() as f64
    }
}

/// Light of lamps on flat leaves all over a shelf.
///
/// What misses the shelf strikes the walls; of that, their reflectance and [`RETURNED`] come back,
/// spread evenly (one reflection).
///
/// # Errors
/// When the shelf has no area or the grid has no points or more than a million.
pub fn map(
    lamps: &[Lamp],
    shelf: &Shelf,
    (columns, rows): (usize, usize),
    walls: Walls,
) -> Result<Map, LightError> {
    shelf.check()?;
    let next = "100 by 100 points are plenty";
    let points = columns.saturating_mul(rows);
    within("points", points as f64, (1.0, 1e6), "from 1 to a million", next)?;
    let middle = |(from, to): (f64, f64), k: usize, n: usize| {
        from + (to - from) * (k as f64 + 0.5) / n as f64
    };
    let mut ppfd = Vec::with_capacity(points);
    for row in 0..rows {
        let y = middle(shelf.along, row, rows);
        for column in 0..columns {
            let point = [middle(shelf.across, column, columns), y, shelf.height];
            ppfd.push(together(lamps, point, Leaf::FLAT));
        }
    }
    let given: f64 = lamps.iter().map(Lamp::photon_flux).sum();
    let caught = ppfd.iter().sum::<f64>() * shelf.area() / points as f64;
    let direct_share = if given > 0.0 { (caught / given).min(1.0) } else { 0.0 };
    let reflectance = walls.reflectance().map_or(0.0, |c| c.value);
    let reflected = reflected(given, direct_share, reflectance, shelf.area())?;
    ppfd.iter_mut().for_each(|p| *p += reflected);
    Ok(Map { columns, rows, ppfd, reflected, direct_share })
}

/// What walls add to a shelf \[µmol m⁻² s⁻¹\], from the photons of its lamps \[µmol s⁻¹\], the share
/// of them that falls straight on it, the reflectance of the walls \[both 0 to 1\] and its area
/// \[m²\].
///
/// # Errors
/// When one of them is out of its range.
pub fn reflected(
    photon_flux: f64,
    direct_share: f64,
    reflectance: f64,
    area: f64,
) -> Result<f64, LightError> {
    let missing =
        amount("photon flux", photon_flux)? * (1.0 - share("direct share", direct_share)?);
    Ok(missing * share("reflectance", reflectance)? * RETURNED.value / positive("area", area)?)
}

/// Mean light on a shelf by experience with such shelves \[µmol m⁻² s⁻¹\]: a check of a map.
///
/// # Errors
/// When the photon flux \[µmol s⁻¹\] is negative or the area \[m²\] not above zero.
pub fn mean_by_utilisation(
    photon_flux: f64,
    surround: Surround,
    area: f64,
) -> Result<f64, LightError> {
    Ok(amount("photon flux", photon_flux)? * surround.utilisation().value / positive("area", area)?)
}

/// Share of light below a canopy with so many layers of leaves (leaf area index).
///
/// # Errors
/// When the leaf area index is negative.
pub fn below_canopy(leaf_area_index: f64) -> Result<f64, LightError> {
    Ok((-EXTINCTION.value * amount("leaf area index", leaf_area_index)?).exp())
}

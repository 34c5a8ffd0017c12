//! The colour of a flower from several photographs of several flowers, with its scatter.

use crate::{
    error::ColourError,
    lab::Lab,
    matrix::{Matrix3, Vector3, ZERO, add, minus, plus},
};

/// How many flowers, and photographs of each, a colour should rest on (common practice, no source).
pub const WISHED: (usize, usize) = (3, 2);

/// A mean colour and how well it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct ColourMean {
    /// The mean, each unit with the same weight.
    pub lab: Lab,
    /// How many units it rests on: flowers, or photographs where there is only one flower.
    pub units: usize,
    /// How many photographs there are in all.
    pub photos: usize,
    /// The covariance of the units round their mean (divisor n − 1); `None` for one unit.
    pub scatter: Option<Matrix3>,
    /// Whether the units are flowers. If not, only the error of photography is in the scatter, and a
    /// difference says something about these two flowers, not about two clones.
    pub of_flowers: bool,
}

impl ColourMean {
    /// The mean of photographs, flower by flower.
    ///
    /// Photographs of one flower are averaged first: they share what is peculiar to that flower, so
    /// only flowers count as independent. With a single flower its photographs are the units.
    /// Flowers without a photograph are passed over.
    ///
    /// # Errors
    /// [`ColourError::TooFewPhotos`] when there is none; [`ColourError::OutOfRange`] for a coordinate
    /// that no surface has.
    pub fn of_flowers(flowers: &[Vec<Lab>]) -> Result<Self, ColourError> {
        for photo in flowers.iter().flatten() {
            Lab::checked(photo.l, photo.a, photo.b)?;
        }
        let shown: Vec<&Vec<Lab>> = flowers.iter().filter(|f| !f.is_empty()).collect();
        let photos = shown.iter().map(|f| f.len()).sum();
        let units: Vec<Vector3> = match shown.as_slice() {
            [] => return Err(ColourError::TooFewPhotos { have: 0, need: 1 }),
            [only] => only.iter().map(|p| p.vector()).collect(),
            several => several
                .iter()
                .map(|f| mean(&f.iter().map(|p| p.vector()).collect::<Vec<_>>()))
                .collect(),
        };
        Ok(Self {
            lab: Lab::from_vector(mean(&units)),
            units: units.len(),
            photos,
            scatter: covariance(&units),
            of_flowers: shown.len() > 1,
        })
    }

    /// The mean of photographs that were each taken of another flower.
    ///
    /// # Errors
    /// As [`ColourMean::of_flowers`].
    pub fn of_photos(photos: &[Lab]) -> Result<Self, ColourError> {
        Self::of_flowers(&photos.iter().map(|p| vec![*p]).collect::<Vec<_>>())
    }

    /// The covariance of the mean; its scatter divided by the number of units.
    ///
    /// # Errors
    /// [`ColourError::TooFewPhotos`] for one unit, which has no scatter.
    pub fn error(&self) -> Result<Matrix3, ColourError> {
        let scatter =
            self.scatter.ok_or(ColourError::TooFewPhotos { have: self.units, need: 2 })?;
        Ok(add(&ZERO, 1.0 / self.units as f64, &scatter))
    }
}

fn mean(units: &[Vector3]) -> Vector3 {
    let sum = units.iter().fold([0.0; 3], |sum, v| plus(sum, 1.0, *v));
    sum.map(|v| v / units.len() as f64)
}

fn covariance(units: &[Vector3]) -> Option<Matrix3> {
    if units.len() < 2 {
        return None;
    }
    let centre = mean(units);
    let mut squares = ZERO;
    for unit in units {
        let off = minus(*unit, centre);
        for i in 0..3 {
            squares[i] = plus(squares[i], off[i], off);
        }
    }
    Some(add(&ZERO, 1.0 / (units.len() - 1) as f64, &squares))
}

//! What keeps a colour from being measured.

use std::fmt;

use thiserror::Error;

/// A channel of a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Channel {
    /// Red.
    Red,
    /// Green.
    Green,
    /// Blue.
    Blue,
}

impl Channel {
    /// All three, in the order of a pixel.
    pub const ALL: [Self; 3] = [Self::Red, Self::Green, Self::Blue];
}

impl fmt::Display for Channel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Red => "red",
            Self::Green => "green",
            Self::Blue => "blue",
        })
    }
}

/// Why a colour, or a comparison of colours, cannot be had. Each says what to do next after the
/// semicolon.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ColourError {
    /// A text that is no colour.
    #[error("“{text}” is not a colour in hexadecimal; write it as #2E8B57")]
    BadHex {
        /// The text as it was typed.
        text: String,
    },
    /// A Lab coordinate that no surface can have.
    #[error("{coordinate} = {value} is not between {low} and {high}; correct it")]
    OutOfRange {
        /// `L`, `a` or `b`.
        coordinate: &'static str,
        /// What was given.
        value: f64,
        /// The least that is accepted.
        low: f64,
        /// The most that is accepted.
        high: f64,
    },
    /// A patch without pixels.
    #[error("the patch has no pixels; choose a larger one")]
    NoPixels,
    /// Too many pixels at the end of the scale: what was brighter is lost.
    #[error(
        "{share:.0} % of the pixels are clipped in {channel} (255); photograph again with less \
         exposure",
        share = share * 100.0
    )]
    Clipped {
        /// The channel that is at its end.
        channel: Channel,
        /// The share of pixels at 255, from 0 to 1.
        share: f64,
    },
    /// A card so dark that the steps of its numbers decide the colour.
    #[error(
        "the card is too dark in {channel} ({value:.0} of 255); photograph again with more light on \
         the card"
    )]
    CardTooDark {
        /// The channel.
        channel: Channel,
        /// Its mean as an encoded value \[0 to 255\].
        value: f64,
    },
    /// A reflectance that a card cannot have.
    #[error("a card cannot reflect {value}; give a share such as 0.18 (grey) or 0.9 (white)")]
    BadReflectance {
        /// What was given.
        value: f64,
    },
    /// Too few patches for nine numbers.
    #[error("{have} patches are too few for a correction; use at least {need}")]
    TooFewPatches {
        /// How many there are.
        have: usize,
        /// How many are needed.
        need: usize,
    },
    /// As many photographed patches as true ones are needed.
    #[error("{seen} patches were read and {known} are known; give one for each")]
    UnevenPatches {
        /// Read from the picture.
        seen: usize,
        /// Known.
        known: usize,
    },
    /// Patches that are all of one colour, or of two.
    #[error(
        "the patches are too much alike (condition {condition:.0}, at most {most}); use patches of \
         different hues"
    )]
    AlikePatches {
        /// The ratio of the greatest to the least singular value.
        condition: f64,
        /// The greatest that is accepted.
        most: f64,
    },
    /// Too few photographs to know how much they scatter.
    #[error(
        "{have} photographs are too few to know how much they scatter; take {need}, or give the \
         error of one"
    )]
    TooFewPhotos {
        /// How many there are.
        have: usize,
        /// How many are needed.
        need: usize,
    },
    /// A covariance that cannot be one.
    #[error(
        "the errors of the colours cannot be told from zero; give photographs that were taken apart"
    )]
    FlatErrors,
    /// A confidence that is none.
    #[error("{value} is not a share between 0 and 1; give one such as 0.95")]
    BadShare {
        /// What was given.
        value: f64,
    },
}

//! Sizes of labels and sheets, in millimetres.

use serde::{Deserialize, Serialize};

/// The size of one label.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Size {
    /// Stake label, 60 × 25 mm.
    Stake60x25,
    /// Stake label, 75 × 20 mm.
    Stake75x20,
    /// Hanging tag, 50 × 30 mm, with a hole of 4 mm.
    Tag50x30,
    /// Tape of a small label printer: 40 × 12 mm is the usual one.
    Tape {
        /// Length of the piece \[mm\].
        length: f64,
        /// Width of the tape \[mm\].
        width: f64,
    },
    /// Any other size.
    Own {
        /// Width \[mm\].
        width: f64,
        /// Height \[mm\].
        height: f64,
    },
}

impl Size {
    /// Width and height \[mm\].
    pub fn measures(self) -> (f64, f64) {
        match self {
            Size::Stake60x25 => (60.0, 25.0),
            Size::Stake75x20 => (75.0, 20.0),
            Size::Tag50x30 => (50.0, 30.0),
            Size::Tape { length, width } => (length, width),
            Size::Own { width, height } => (width, height),
        }
    }

    /// Whether there is a hole to keep clear.
    pub(crate) fn has_hole(self) -> bool {
        self == Size::Tag50x30
    }

    /// Smallest module of the square \[mm\]: three dots of a 180 dpi head on tape, else 0.5.
    pub(crate) fn smallest_module(self) -> f64 {
        if matches!(self, Size::Tape { .. }) { 0.42 } else { 0.5 }
    }

    /// The same kind of label with other measures; a size with a name becomes an own size.
    pub(crate) fn resized(self, width: f64, height: f64) -> Self {
        match self {
            Size::Tape { .. } => Size::Tape { length: width, width: height },
            _ => Size::Own { width, height },
        }
    }
}

impl std::fmt::Display for Size {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (w, h) = self.measures();
        write!(f, "{w} × {h} mm")
    }
}

/// A sheet of labels. The labels' own size is the [`Size`]; a back below a fold doubles the height
/// of each cell.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SheetMeasures {
    /// Width of the page \[mm\].
    pub page_width: f64,
    /// Height of the page \[mm\].
    pub page_height: f64,
    /// From the left edge to the first label \[mm\].
    pub margin_left: f64,
    /// From the top edge to the first label \[mm\].
    pub margin_top: f64,
    /// Labels side by side.
    pub columns: usize,
    /// Labels one below the other.
    pub rows: usize,
    /// Between columns \[mm\].
    pub gap_x: f64,
    /// Between rows \[mm\].
    pub gap_y: f64,
}

impl SheetMeasures {
    /// As many labels as an A4 page holds, with room for the cutting marks and, at the right, for
    /// the 100 mm rule.
    pub fn a4(size: Size, back: Back) -> Self {
        let (w, h) = size.measures();
        let h = if back == Back::FoldBelow { 2.0 * h } else { h };
        // The printer's own margin is 5 mm or so; the rule with its words takes 12 mm.
        let (page_width, page_height, edge, rule) = (210.0, 297.0, 9.0, 12.0);
        let count = |room: f64, one: f64| ((room / one).floor().max(1.0)) as usize;
        let columns = count(page_width - 2.0 * edge - rule, w);
        let rows = count(page_height - 2.0 * edge, h);
        let half = |room: f64| (room / 2.0).max(0.0);
        Self {
            page_width,
            page_height,
            margin_left: half(page_width - rule - columns as f64 * w),
            margin_top: half(page_height - rows as f64 * h),
            columns,
            rows,
            gap_x: 0.0,
            gap_y: 0.0,
        }
    }
}

/// Where the back of a label is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Back {
    /// No back: from whom and when go on the front where there is room.
    #[default]
    None,
    /// Upside down below a fold, so that it reads upright once folded behind.
    FoldBelow,
    /// On the next page, for a printer that turns the sheet about its long edge.
    DuplexLongEdge,
    /// On the next page, for a printer that turns the sheet about its short edge.
    DuplexShortEdge,
}

/// How the labels are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Layout {
    /// Size of a label.
    pub size: Size,
    /// The sheet; without one, each label is a page of its own.
    pub sheet: Option<SheetMeasures>,
    /// Where the back goes.
    pub back: Back,
    /// Large letters on dotted guides, to copy with a pen: both sides, no square.
    pub hand: bool,
    /// Cells of the first sheet that are used up already.
    pub start_at: usize,
    /// Crosses at the corners of the labels.
    pub crop_marks: bool,
    /// A rule of 100 mm to measure, where the sheet has a margin for it.
    pub rule_100mm: bool,
}

impl Layout {
    /// One label a page, front only.
    pub fn single(size: Size) -> Self {
        Self {
            size,
            sheet: None,
            back: Back::None,
            hand: false,
            start_at: 0,
            crop_marks: false,
            rule_100mm: false,
        }
    }

    /// A4 sheets with cutting marks and the rule.
    pub fn a4(size: Size, back: Back) -> Self {
        Self {
            sheet: Some(SheetMeasures::a4(size, back)),
            back,
            crop_marks: true,
            rule_100mm: true,
            ..Self::single(size)
        }
    }
}

//! Evidence lines, charts and parentage charts as SVG.
//!
//! Numbers and finished words in, markup out: every word is passed in already in the reader's
//! language and is escaped here. Drawings carry no inline styles; they use the classes of the
//! program's style sheet and geometry attributes only. Each has a sentence for screen readers.

mod ahead;
mod air;
mod calendar;
mod contour;
mod dryness;
mod evidence;
mod evidence_layout;
mod isolines;
mod label;
mod lasting;
mod months;
mod parentage;
mod parentage_fork;
mod parentage_outline;
mod shares;
mod survival;
mod svg;
mod thinning;
mod tradeoff;
mod whisker;
pub mod width;
mod year_light;

pub use ahead::{WeekAhead, weeks_chart};
pub use air::{AirChart, AirMark, AirPoint, AirWords, air_chart};
pub use contour::{Contour, Grid};
pub use dryness::{DryAxis, DryMark, dry_axis};
pub use evidence::{EvidenceLine, EvidenceWords, Mark, Seen, evidence_line};
pub use isolines::{Above, Level, LightMap, MapWords, PlantMark, light_maps};
pub use label::{Label, Run};
pub use lasting::{LastingPoint, Life, lasting_chart};
pub use months::{MonthShare, MonthWords, month_chart};
pub use parentage::{ChartWords, Size, Tree, Who, parentage_chart, parentage_charts};
pub use shares::{KnownKind, ShareRow, known_line, shares_table};
pub use survival::{SurvivalChart, SurvivalPoint, SurvivalWords, survival_chart, survival_table};
pub use thinning::{ThinStage, thinning_lines};
pub use tradeoff::{Choice, TradeWords, trade_off};
pub use whisker::{Whisker, facing_ridges, whisker, whisker_axis};
pub use year_light::{MonthLight, YearLight, YearWords, year_lights};

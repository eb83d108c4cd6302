//! Readings shown: pictures, tables, charts and one page of the load.
//!
//! Comes in: [`Record`](crate::reading::Record)s, and for pictures the corrected image and the
//! surface map. Goes out: pictures as [`image::RgbImage`] or encoded bytes, text as [`String`].
//! Only [`write_file`] touches the disk. Nothing here measures, and nothing reads a clock: the
//! same records give the same bytes.

mod bitmap_text;
mod charts;
mod csv_table;
mod display;
mod error;
mod heat_words;
mod label_style;
mod legend;
mod match_picture;
mod names;
mod overlay;
mod page;
mod picture;
mod reasons;
mod search_picture;
mod survival;
mod swatches;
mod trend;
mod trial;
mod words;

pub use charts::{
    LevelMark, LevelsTold, LoadMark, PatchMark, TilePatch, difference_chart, heat_chart, kept_chart,
    levels_chart, load_chart, ranges_chart, residual_chart, tile_chart,
};
pub use csv_table::readings_csv;
pub use error::ReportError;
pub use heat_words::heat_words;
pub use label_style::{LabelStyle, Pattern, label_style};
pub use legend::{label_shares, with_legend};
pub use match_picture::{MatchSide, match_picture};
pub use names::{file_name_of, output_stems, stem_of, write_file};
pub use overlay::overlay;
pub use page::{
    FiringFacts, LoadPage, PageEntry, PageInput, PagePictures, ReadPage, SCRIPT, STYLE, without_folders,
};
pub use picture::{DISPLAY_SIDE, corrected_picture, jpeg, label_png, light_png};
pub use reasons::reasons;
pub use search_picture::search_picture;
pub use survival::{SurvivalSides, survival_picture, survival_table, survival_words};
pub use swatches::{swatch_picture, swatch_table, swatches_csv};
pub use trend::{trend_chart, trend_table};
pub use trial::{
    Order, TrialPage, comparison_table, filled_sheet, parts_table, plan_csv, plan_pages, trial_table,
};

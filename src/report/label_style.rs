//! How each label looks in pictures and legends: a colour, a pattern and plain words, so that a
//! map reads without colour too.
//!
//! Colours: the set of Okabe & Ito, 'Color Universal Design', 2002, revised 2008, figure 16, whose
//! eight colours are told apart with every common kind of colour vision.

use crate::surface::Label;

/// Lines or dots laid over a label's area.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Nothing.
    Plain,
    /// Lines rising to the right.
    Rising,
    /// Lines falling to the right.
    Falling,
    /// Level lines.
    Level,
    /// Upright lines.
    Upright,
    /// Dots.
    Dots,
    /// Small crosses.
    Crosses,
    /// Short level dashes.
    Dashes,
    /// Level and upright lines.
    Grid,
    /// Rising and falling lines.
    Lattice,
}

impl Pattern {
    /// Whether a mark of the pattern lies on this pixel; `pitch` is the distance of its lines in
    /// pixels, at least 4.
    pub fn marks(self, x: usize, y: usize, pitch: usize) -> bool {
        let thick = (pitch / 6).max(1);
        let rising = (x + y) % pitch < thick;
        let falling = (x + pitch - y % pitch) % pitch < thick;
        // Dots, crosses and dashes stand in staggered rows.
        let (u, v) = ((x + (y / pitch % 2) * (pitch / 2)) % pitch, y % pitch);
        match self {
            Pattern::Plain => false,
            Pattern::Rising => rising,
            Pattern::Falling => falling,
            Pattern::Level => y % pitch < thick,
            Pattern::Upright => x % pitch < thick,
            Pattern::Dots => u < 2 * thick && v < 2 * thick,
            Pattern::Crosses => {
                let arm = pitch * 2 / 3;
                u < arm && v < arm && (u.abs_diff(v) < thick || (u + v).abs_diff(arm - 1) < thick)
            }
            Pattern::Dashes => u < pitch / 2 && v < thick,
            Pattern::Grid => x % pitch < thick || y % pitch < thick,
            Pattern::Lattice => rising || falling,
        }
    }
}

/// The look of one label.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LabelStyle {
    /// Encoded sRGB.
    pub colour: [u8; 3],
    /// Pattern over the tint.
    pub pattern: Pattern,
    /// What it is, in plain words.
    pub words: &'static str,
    /// Whether places with this label are left out of all colour readings.
    pub left_out: bool,
    /// Why places of the piece are not measured as a surface, in few words; none where they are.
    pub why: Option<&'static str>,
}

/// The look of a label.
pub fn label_style(label: Label) -> LabelStyle {
    let (colour, pattern, words, why) = match label {
        Label::Background => (GREY, Pattern::Plain, "background", None),
        Label::White => (SKY_BLUE, Pattern::Plain, "white slip", None),
        Label::Red => (VERMILLION, Pattern::Rising, "red slip", None),
        Label::Black => (BLUISH_GREEN, Pattern::Dots, "black paint", None),
        Label::Body => (ORANGE, Pattern::Level, "bare clay", None),
        Label::Card => (BLACK, Pattern::Plain, "colour card", None),
        Label::LostPaint => {
            (YELLOW, Pattern::Crosses, "lost paint", Some("burned out, not counted as black"))
        }
        Label::Glare => (REDDISH_PURPLE, Pattern::Falling, "glare", Some("left out, shine hides the colour")),
        Label::Cloud => (BLUE, Pattern::Grid, "fire cloud", Some("left out, soot covers the colour")),
        Label::Shade => (BLACK, Pattern::Upright, "deep shade", Some("left out, too dark to measure")),
        Label::Smudged => (BLUE, Pattern::Dashes, "smudged on purpose", Some("not counted as paint")),
        Label::Ball => (BLACK, Pattern::Plain, "light ball", None),
        Label::Unclear => (BLACK, Pattern::Lattice, "unclear", Some("left out, surface not decided")),
    };
    let left_out = !matches!(
        label,
        Label::White | Label::Red | Label::Black | Label::Body | Label::LostPaint | Label::Smudged
    );
    LabelStyle { colour, pattern, words, left_out, why }
}

const GREY: [u8; 3] = [128, 128, 128];
const BLACK: [u8; 3] = [0, 0, 0];
const ORANGE: [u8; 3] = [230, 159, 0];
const SKY_BLUE: [u8; 3] = [86, 180, 233];
const BLUISH_GREEN: [u8; 3] = [0, 158, 115];
const YELLOW: [u8; 3] = [240, 228, 66];
const BLUE: [u8; 3] = [0, 114, 178];
const VERMILLION: [u8; 3] = [213, 94, 0];
const REDDISH_PURPLE: [u8; 3] = [204, 121, 167];

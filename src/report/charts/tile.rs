//! A test tile as it was measured: each swatch in its colour at its place.

use super::svg::{ACCENT, Anchor, INK, Look, PAPER, QUIET, Svg};
use super::text::cut;

/// Room of one swatch with its words.
const PLACE: [f64; 2] = [112.0, 128.0];
/// The patch of colour.
const PATCH: [f64; 2] = [104.0, 50.0];
/// Left of and above the swatches: the numbers of rows and columns.
const EDGE: [f64; 2] = [24.0, 22.0];

/// What a swatch is for, as it is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PatchMark {
    /// On trial.
    None,
    /// The control: a double frame and its name.
    Control,
    /// The blank: a dashed frame and its name.
    Blank,
}

/// A swatch to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct TilePatch {
    /// Row from 1.
    pub row: usize,
    /// Column from 1.
    pub column: usize,
    /// `#rrggbb`; none where no colour was read: hatched.
    pub colour: Option<String>,
    /// Whether the screen cannot show the colour as it is.
    pub out_of_gamut: bool,
    /// What it is for.
    pub mark: PatchMark,
    /// What was laid, three lines at most.
    pub laid: Vec<String>,
    /// Its value with its half-width, or why there is none.
    pub value: String,
}

/// The tile from above as it was photographed. Whatever a colour says stands there in words as well; `description` says the
/// whole for those who do not see it.
pub fn tile_chart(
    id: &str,
    title: &str,
    description: &str,
    [rows, columns]: [usize; 2],
    patches: &[TilePatch],
) -> String {
    let size = [EDGE[0] + columns as f64 * PLACE[0], EDGE[1] + rows as f64 * PLACE[1] + 4.0];
    let mut svg = Svg::new(id, size[0], size[1], title, description);
    let hatching = svg.hatching(PAPER, QUIET);
    for column in 1..=columns {
        let x = EDGE[0] + (column as f64 - 1.0) * PLACE[0] + PATCH[0] / 2.0;
        svg.small([x, 14.0], Anchor::Middle, QUIET, "none", &column.to_string());
    }
    for row in 1..=rows {
        let y = EDGE[1] + (row as f64 - 1.0) * PLACE[1] + PATCH[1] / 2.0 + 4.0;
        svg.small([EDGE[0] - 8.0, y], Anchor::End, QUIET, "none", &row.to_string());
    }
    for patch in patches {
        let corner =
            [EDGE[0] + (patch.column as f64 - 1.0) * PLACE[0], EDGE[1] + (patch.row as f64 - 1.0) * PLACE[1]];
        draw(&mut svg, corner, patch, &hatching);
    }
    svg.finish()
}

fn draw(svg: &mut Svg, [x, y]: [f64; 2], patch: &TilePatch, hatching: &str) {
    let fill = patch.colour.as_deref().unwrap_or(hatching);
    let inner = |by: f64| ([x + by, y + by], PATCH.map(|side| side - 2.0 * by));
    let (corner, size) = inner(0.0);
    let dashes = if patch.mark == PatchMark::Blank { "4 3" } else { "" };
    svg.frame(corner, size, Look { fill, edge: QUIET, width: 1.2, dashes });
    if patch.mark == PatchMark::Control {
        // Light between two dark lines is seen on any colour.
        for (by, edge, width) in [(1.5, ACCENT, 3.0), (3.5, PAPER, 1.5)] {
            let (corner, size) = inner(by);
            svg.frame(corner, size, Look::edged("none", edge, width));
        }
    }
    if patch.out_of_gamut {
        let [right, bottom] = [x + PATCH[0], y + PATCH[1]];
        let corner = [[right - 16.0, bottom], [right, bottom - 16.0], [right, bottom]];
        svg.polygon(&corner, Look::edged(PAPER, INK, 1.2));
    }
    let mut line = y + PATCH[1] + 13.0;
    let mut words = |text: &str, colour: &str| {
        svg.small([x, line], Anchor::Start, colour, "none", &cut(text, PATCH[0], 11.0));
        line += 13.0;
    };
    match patch.mark {
        PatchMark::Control => words("control", ACCENT),
        PatchMark::Blank => words("blank", ACCENT),
        PatchMark::None => {}
    }
    patch.laid.iter().take(3).for_each(|text| words(text, QUIET));
    words(&patch.value, INK);
}

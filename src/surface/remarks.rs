//! What is to be said of an outline: cut by the frame, left out as too small, no pottery.

use super::earth::Strange;
use super::refine::Blob;
use crate::card::CorrectedImage;

/// So much of the outline may run along the edge of the picture: a rim that just touches it.
const TOUCH: f64 = 0.01;

/// Remarks on one piece, of which so much is strange.
pub(super) fn piece(image: &CorrectedImage, blob: &Blob, strange: Strange) -> Vec<(String, String)> {
    [cut(image, blob), no_pottery(strange)].into_iter().flatten().collect()
}

/// From this share of impossible colours on a thing is no piece.
const OTHER: f64 = 0.8;
/// This share is worth a word: hands, leaves and labels on the piece, or a wrong outline.
const SOME: f64 = 0.1;

/// Whether nearly the whole of a thing has colours of no slip, ochre, clay or paint.
pub(super) fn is_other(strange: Strange) -> bool {
    strange.share > OTHER
}

/// Things that were left out because they are no pottery.
pub(super) fn others(things: usize) -> Option<(String, String)> {
    let text = format!(
        "{} beside the piece {} left out: nearly all of {} has a colour that no slip, ochre, clay or paint has.",
        counted(things, "thing"),
        if things == 1 { "was" } else { "were" },
        if things == 1 { "it" } else { "them" }
    );
    (things > 0).then(|| (NOT_POTTERY.into(), text))
}

const NOT_POTTERY: &str = "not-pottery";

fn no_pottery(Strange { share, name }: Strange) -> Option<(String, String)> {
    let text = format!(
        "{:.0} % of what was taken for the piece is {name} or of another colour that no slip, ochre, clay or paint has. \
         Check the outline, and that the colour card was found right; give the outline with --outline.",
        100.0 * share
    );
    (share > SOME).then(|| (NOT_POTTERY.into(), text))
}

/// Things that were left out as too small beside the pieces.
pub(super) fn small(things: usize, pieces: usize) -> Option<(String, String)> {
    let text = format!(
        "{} {} left out as too small beside the {}. Go nearer, or lay fewer into one photograph.",
        counted(things, "thing"),
        if things == 1 { "was" } else { "were" },
        if pieces == 1 {
            "piece that was measured".to_string()
        } else {
            format!("{pieces} pieces that were measured")
        }
    );
    (things > 0).then(|| ("pieces-left-out".into(), text))
}

/// Usual steps of L* on the ground above which its pattern hides edges: sand and wood make 1 to 3.
const PATTERN: f64 = 3.5;

/// A ground of print or strong pattern, on which an outline is less sure.
pub(super) fn pattern(steps: f64) -> Option<(String, String)> {
    let text = format!(
        "The ground is strongly patterned (L* changes by {steps:.0} from place to place), as print or grass is: the outline \
         may be wrong. Look at it, give it with --outline, or lay the piece on a plain cloth."
    );
    (steps > PATTERN).then(|| ("ground-patterned".into(), text))
}

/// Hands that were taken out.
pub(super) fn hands(hands: usize) -> Option<(String, String)> {
    let text = "Something of the colour of skin reaches in from the edge of the photograph: it was taken for a hand and left \
                out. If it is bare clay of the piece, give the outline with --outline; else keep hands out of view.";
    (hands > 0).then(|| ("hand-left-out".into(), text.into()))
}

fn counted(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

/// Whether the edge of the photograph cuts the piece off.
fn cut(image: &CorrectedImage, blob: &Blob) -> Option<(String, String)> {
    let [x0, y0, x1, y1] = blob.bounds;
    let (w, h) = (x1 - x0, y1 - y0);
    let own = |x: usize, y: usize| usize::from(blob.mask[y * w + x]);
    let row = |y: usize| (0..w).map(|x| own(x, y)).sum::<usize>();
    let column = |x: usize| (0..h).map(|y| own(x, y)).sum::<usize>();
    let sides = [
        ("left", x0 == 0, column(0)),
        ("top", y0 == 0, row(0)),
        ("right", x1 == image.width, column(w - 1)),
        ("bottom", y1 == image.height, row(h - 1)),
    ];
    let around = 2.0 * (w + h) as f64;
    let cut: Vec<&str> = sides
        .into_iter()
        .filter(|(_, there, along)| *there && *along as f64 > TOUCH * around)
        .map(|(side, ..)| side)
        .collect();
    let text = match cut.len() {
        0 => return None,
        4 => "The piece fills the photograph: what lies outside was not seen, and of a piece that leaves no ground the \
              outline is doubtful. Go back until all of it is in view with some ground around it."
            .into(),
        _ => format!(
            "The piece is cut off at the {} of the photograph: only what is in view was measured, and its size is not \
             known. Go back until all of it is in view.",
            cut.join(" and ")
        ),
    };
    Some(("piece-cut".into(), text))
}

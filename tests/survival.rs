//! A drawn piece before and after the fire. Nothing outside the project is needed: the motion, the loss and the light are
//! planted, so what must come back is known exactly.

use sherdlight::card::CorrectedImage;
use sherdlight::surface::{Label, Piece, SurfaceMap};
use sherdlight::survival::{Fate, Unmatched, View, register, survive};

const WIDTH: usize = 640;
const HEIGHT: usize = 520;

/// Numbers 0 to 1, the same every time (Knuth's MMIX generator).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / f64::from(1u32 << 31)
    }
}

/// A drawing: strokes as line segments with a width.
struct Drawing(Vec<([f64; 2], [f64; 2], f64)>);

impl Drawing {
    fn of(seed: u64) -> Self {
        let mut random = Random(seed);
        let strokes = (0..38).map(|_| {
            let from = [60.0 + 520.0 * random.next(), 60.0 + 400.0 * random.next()];
            let by = [120.0 * (random.next() - 0.5), 120.0 * (random.next() - 0.5)];
            (from, [from[0] + by[0], from[1] + by[1]], 5.0 + 6.0 * random.next())
        });
        Self(strokes.collect())
    }

    fn is_paint(&self, [x, y]: [f64; 2]) -> bool {
        self.0.iter().any(|&([ax, ay], [bx, by], half)| {
            let (dx, dy) = (bx - ax, by - ay);
            let along = (((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy).max(1e-9)).clamp(0.0, 1.0);
            (x - ax - along * dx).hypot(y - ay - along * dy) <= half
        })
    }
}

/// The sherd lies here in the drawing's own coordinates.
fn on_piece([x, y]: [f64; 2]) -> bool {
    ((x - 320.0) / 250.0).powi(2) + ((y - 260.0) / 190.0).powi(2) < 1.0 && x + 0.5 * y < 600.0
}

/// A photograph: `place` says where in the drawing a pixel looks, `gives` what it gives back there.
fn photograph(
    drawing: &Drawing,
    place: impl Fn([f64; 2]) -> [f64; 2],
    light: impl Fn([f64; 2]) -> f64,
    is_lost: impl Fn([f64; 2]) -> bool,
) -> (CorrectedImage, SurfaceMap) {
    let n = WIDTH * HEIGHT;
    let (mut xyz, mut labels, mut piece_of) =
        (vec![[0.2f32; 3]; n], vec![Label::Background; n], vec![0u8; n]);
    let (mut bounds, mut area) = ([WIDTH, HEIGHT, 0, 0], 0);
    let mut random = Random(7);
    for i in 0..n {
        let (x, y) = (i % WIDTH, i / WIDTH);
        let middle = [x as f64 + 0.5, y as f64 + 0.5];
        if !on_piece(place(middle)) {
            continue;
        }
        // Four looks a pixel: edges are soft.
        let looks = [[-0.25, -0.25], [0.25, -0.25], [-0.25, 0.25], [0.25, 0.25]];
        let given = looks.map(|[dx, dy]| {
            let at = place([middle[0] + dx, middle[1] + dy]);
            match drawing.is_paint(at) {
                true if !is_lost(at) => 0.06,
                true => 0.55,
                false => 0.6,
            }
        });
        let given = given.iter().sum::<f64>() / 4.0 * (1.0 + 0.02 * (random.next() - 0.5));
        xyz[i] = [0.9642, 1.0, 0.8249].map(|white| (given * light(middle) * white) as f32);
        labels[i] = if given < 0.33 { Label::Black } else { Label::White };
        piece_of[i] = 1;
        area += 1;
        bounds = [bounds[0].min(x), bounds[1].min(y), bounds[2].max(x + 1), bounds[3].max(y + 1)];
    }
    let piece = Piece { outline_px: Vec::new(), bounds, area, doubtful_cloud: 0, warnings: Vec::new() };
    let image = CorrectedImage {
        width: WIDTH,
        height: HEIGHT,
        factor: 1,
        light: xyz.clone(),
        xyz,
        clipped: vec![false; n],
    };
    let map = SurfaceMap {
        width: WIDTH,
        height: HEIGHT,
        factor: 1,
        labels,
        piece_of,
        light: vec![1.0; n],
        smudged: false,
        pieces: vec![piece],
        warnings: Vec::new(),
    };
    (image, map)
}

fn view((image, map): &(CorrectedImage, SurfaceMap)) -> View<'_> {
    View { image, map, index: 0 }
}

fn even(_: [f64; 2]) -> f64 {
    1.0
}

fn nowhere(_: [f64; 2]) -> bool {
    false
}

/// The same place seen from elsewhere: turned by 27 degrees, smaller, and in perspective.
fn moved([x, y]: [f64; 2]) -> [f64; 2] {
    let (u, v) = (x - 320.0, y - 260.0);
    let under = 1.0 + 1.5e-4 * u - 1e-4 * v;
    let (sin, cos) = 27f64.to_radians().sin_cos();
    [320.0 + 1.06 * (cos * u - sin * v) / under, 260.0 + 1.06 * (sin * u + cos * v) / under]
}

/// Distances, at places on the piece of the photograph after the fire, of where they are found from where they are.
fn errors(found: impl Fn([f64; 2]) -> Option<[f64; 2]>, truth: impl Fn([f64; 2]) -> [f64; 2]) -> Vec<f64> {
    let places =
        (0..HEIGHT).step_by(11).flat_map(|y| (0..WIDTH).step_by(11).map(move |x| [x as f64, y as f64]));
    let mut off: Vec<f64> = places
        .filter(|&place| on_piece(truth(place)))
        .map(|place| {
            let (got, want) = (found(place).unwrap_or([f64::INFINITY; 2]), truth(place));
            (got[0] - want[0]).hypot(got[1] - want[1])
        })
        .collect();
    off.sort_by(f64::total_cmp);
    off
}

#[test]
fn a_photograph_lies_on_itself_and_has_lost_nothing() {
    let one = photograph(&Drawing::of(1), |p| p, even, nowhere);
    let found = register(&view(&one), &view(&one)).expect("the same photograph");
    let off = errors(|p| found.before(p), |p| p);
    assert!(off[off.len() / 2] < 0.1 && off[off.len() - 1] < 1.0, "{:?}", off.last());
    let what = survive(&view(&one), &view(&one), &found).expect("there is paint");
    assert!(what.kept > 0.995 && what.lost < 0.001, "{} {}", what.kept, what.lost);
    assert!((what.kept + what.thinned + what.lost - 1.0).abs() < 1e-9);
}

#[test]
fn a_planted_motion_comes_back_in_any_light() {
    let drawing = Drawing::of(2);
    let before = photograph(&drawing, |p| p, even, nowhere);
    let lights: [fn([f64; 2]) -> f64; 2] = [even, |[x, y]| 0.35 + 5e-4 * x + 2e-4 * y];
    let kept = lights.map(|light| {
        let after = photograph(&drawing, moved, light, nowhere);
        let found = register(&view(&before), &view(&after)).expect("the same piece");
        let off = errors(|p| found.before(p), moved);
        assert!(off[off.len() / 2] < 0.5 && off[off.len() * 95 / 100] < 1.5, "{}", off[off.len() / 2]);
        let what = survive(&view(&before), &view(&after), &found).expect("there is paint");
        assert!(what.kept > 0.99, "{}", what.kept);
        what.kept
    });
    assert!((kept[0] - kept[1]).abs() < 0.005, "{kept:?}");
}

#[test]
fn planted_loss_comes_back() {
    let drawing = Drawing::of(3);
    let before = photograph(&drawing, |p| p, even, nowhere);
    let is_lost = |[x, _]: [f64; 2]| x > 350.0;
    let after = photograph(&drawing, moved, even, is_lost);
    let found = register(&view(&before), &view(&after)).expect("the same piece");
    let what = survive(&view(&before), &view(&after), &found).expect("there is paint");
    let (mut laid, mut lost, mut both, mut either) = (0, 0, 0, 0);
    for i in 0..WIDTH * HEIGHT {
        let place = moved([(i % WIDTH) as f64 + 0.5, (i / WIDTH) as f64 + 0.5]);
        let paint = on_piece(place) && drawing.is_paint(place);
        let gone = paint && is_lost(place);
        let said = what.fates[i] == Fate::Lost;
        laid += usize::from(paint);
        lost += usize::from(gone);
        both += usize::from(gone && said);
        either += usize::from(gone || said);
    }
    let truth = lost as f64 / laid as f64;
    assert!(truth > 0.2 && (what.lost - truth).abs() < 0.02, "{} {truth}", what.lost);
    assert!(both as f64 / either as f64 > 0.9, "{both} {either}");
}

#[test]
fn another_drawing_on_the_same_outline_is_refused() {
    let after = photograph(&Drawing::of(5), moved, even, nowhere);
    for seed in 11..15 {
        let before = photograph(&Drawing::of(seed), |p| p, even, nowhere);
        let found = register(&view(&before), &view(&after));
        assert!(matches!(found, Err(Unmatched::AnotherPiece(_))), "{seed}: {found:?}");
    }
}

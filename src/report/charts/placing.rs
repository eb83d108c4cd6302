//! Where numbers stand beside their marks: each takes the best free place about its mark, in the order given.

/// A rectangle: left, top, right, bottom.
type Area = [f64; 4];

/// What a pixel of cover costs: of another mark, of another number, of a line, of the edge of the plot.
const MARK: f64 = 3.0;
const NUMBER: f64 = 6.0;
const LINE: f64 = 0.6;
const BEYOND: f64 = 50.0;
/// Steps outward, in pixels from the mark's middle to the number's.
const STEPS: [f64; 6] = [12.0, 19.0, 28.0, 38.0, 50.0, 64.0];
/// Cost of a pixel outward, so that a near place wins among free ones.
const FAR: f64 = 0.35;
/// Ways out in sixteenths of a turn, up and right first.
const WAYS: [u8; 16] = [14, 2, 10, 6, 12, 4, 0, 8, 13, 15, 1, 3, 5, 7, 9, 11];
/// Height of a number.
const HIGH: f64 = 10.0;

/// A number's place.
pub(super) struct Place {
    /// Its middle.
    pub(super) middle: [f64; 2],
    /// Whether it stands so far out that a line should lead to it.
    pub(super) far: bool,
}

/// Places for numbers of the given widths beside marks of the given radius. `lines` are the intervals, drawn straight
/// across or down; `plot` is where numbers may stand.
pub(super) fn places(
    marks: &[[f64; 2]],
    widths: &[f64],
    radius: f64,
    lines: &[Area],
    plot: Area,
) -> Vec<Place> {
    let about = |[x, y]: [f64; 2]| [x - radius, y - radius, x + radius, y + radius];
    let discs: Vec<Area> = marks.iter().map(|mark| about(*mark)).collect();
    let mut taken: Vec<Area> = Vec::new();
    let mut placed = Vec::new();
    for ([x, y], wide) in marks.iter().zip(widths) {
        let mut best = (f64::INFINITY, [*x, *y], false, [0.0; 4]);
        for (step, way) in STEPS.into_iter().flat_map(|step| WAYS.into_iter().map(move |way| (step, way))) {
            let (sine, cosine) = (f64::from(way) * std::f64::consts::TAU / 16.0).sin_cos();
            // A number is wider than high: to the side it has to stand farther out.
            let middle = [x + cosine * (step + wide / 2.0 - HIGH / 2.0), y + sine * step];
            let area = [
                middle[0] - wide / 2.0,
                middle[1] - HIGH / 2.0,
                middle[0] + wide / 2.0,
                middle[1] + HIGH / 2.0,
            ];
            let covered = |areas: &[Area]| areas.iter().map(|other| cover(area, *other)).sum::<f64>();
            let own = [area[2] - area[0], area[3] - area[1]].iter().product::<f64>();
            let cost = MARK * covered(&discs)
                + NUMBER * covered(&taken)
                + LINE * covered(lines)
                + BEYOND * (own - cover(area, plot)).max(0.0)
                + FAR * (step - STEPS[0]);
            if cost < best.0 {
                best = (cost, middle, step > STEPS[1], area);
            }
        }
        taken.push(best.3);
        placed.push(Place { middle: best.1, far: best.2 });
    }
    placed
}

/// Area that two rectangles share; a line counts as one pixel wide.
fn cover(one: Area, other: Area) -> f64 {
    let across = one[2].min(other[2]) - one[0].max(other[0]);
    let down = one[3].min(other[3]) - one[1].max(other[1]);
    if across < 0.0 || down < 0.0 {
        return 0.0;
    }
    let thin = |span: f64, length: f64| if length == 0.0 { 1.0 } else { span };
    thin(across, other[2] - other[0]) * thin(down, other[3] - other[1])
}

//! Small grids, every split of which is tried.

use super::GridCut;

/// The same with costs that differ with the side on which a node lies, gains among them, and far bonds.
#[test]
fn no_split_is_cheaper_where_sides_differ() {
    let (w, h) = (4usize, 3usize);
    let mut seed = 11u64;
    let mut draw = |n: i32| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((seed >> 33) % n as u64) as i32
    };
    let steps = [(1usize, 0usize), (0, 1), (2, 0), (0, 2)];
    for _ in 0..60 {
        let pull: Vec<i32> = (0..w * h).map(|_| draw(21) - 10).collect();
        let partings: Vec<[[i32; 2]; 4]> = (0..w * h)
            .map(|_| {
                [(); 4].map(|()| {
                    let (gain, more) = (draw(30) - 15, draw(8));
                    if draw(2) == 0 { [gain, more - gain] } else { [more - gain, gain] }
                })
            })
            .collect();
        let cost = |inside: &dyn Fn(usize) -> bool| {
            let mut sum = 0;
            for i in 0..w * h {
                sum += if inside(i) { -pull[i] } else { 0 };
                for (k, (dx, dy)) in steps.into_iter().enumerate() {
                    let (nx, ny) = (i % w + dx, i / w + dy);
                    if nx < w && ny < h && inside(i) != inside(ny * w + nx) {
                        sum += partings[i][k][usize::from(!inside(i))];
                    }
                }
            }
            sum
        };
        let mut cut = GridCut::with_far_bonds(w, h, 2);
        for i in 0..w * h {
            cut.set_pull(i % w, i / w, pull[i]);
            (0..4).for_each(|k| cut.set_parting(i % w, i / w, 2 * k, partings[i][k]));
        }
        let found = cut.split();
        let least = (0..1u32 << (w * h)).map(|s| cost(&|i| s >> i & 1 == 1)).min().unwrap();
        assert_eq!(cost(&|i| found[i]), least);
    }
}

/// Every split of a small grid is tried; the cut found must cost no more (maximum flow = minimum cut,
/// Ford & Fulkerson 1956).
#[test]
fn no_split_is_cheaper_than_the_cut() {
    let (w, h) = (4, 3);
    let mut seed = 7u64;
    let mut draw = |n: i32| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((seed >> 33) % n as u64) as i32
    };
    for _ in 0..40 {
        let pull: Vec<i32> = (0..w * h).map(|_| draw(41) - 20).collect();
        let bonds: Vec<[i32; 4]> = (0..w * h).map(|_| [draw(12), draw(12), draw(12), draw(12)]).collect();
        let cost = |inside: &dyn Fn(usize) -> bool| {
            let mut sum = 0;
            for y in 0..h as isize {
                for x in 0..w as isize {
                    let i = (y * w as isize + x) as usize;
                    let p = pull[i];
                    sum += if inside(i) { (-p).max(0) } else { p.max(0) };
                    for (k, (dx, dy)) in [(1, 0), (0, 1), (1, 1), (-1, 1)].into_iter().enumerate() {
                        let (nx, ny) = (x + dx, y + dy);
                        if nx >= 0 && nx < w as isize && ny < h as isize {
                            let j = (ny * w as isize + nx) as usize;
                            sum += if inside(i) == inside(j) { 0 } else { bonds[i][k] };
                        }
                    }
                }
            }
            sum
        };
        let mut cut = GridCut::new(w, h);
        for i in 0..w * h {
            cut.set_pull(i % w, i / w, pull[i]);
            cut.set_bonds(i % w, i / w, bonds[i]);
        }
        let found = cut.split();
        let least = (0..1u32 << (w * h)).map(|s| cost(&|i| s >> i & 1 == 1)).min().unwrap();
        assert_eq!(cost(&|i| found[i]), least);
    }
}

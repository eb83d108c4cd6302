//! Repeatable noise. The same place and seed always give the same value, on any number of threads.

use super::shapes::V3;

/// A number in 0..1 from three grid indices and a seed.
pub fn hash(x: i64, y: i64, z: i64, seed: u64) -> f64 {
    let mut h = seed ^ 0x9e37_79b9_7f4a_7c15;
    for v in [x, y, z] {
        h = (h ^ v as u64).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        h ^= h >> 29;
    }
    h = h.wrapping_mul(0x94d0_49bb_1331_11eb);
    h ^= h >> 31;
    (h >> 11) as f64 / (1u64 << 53) as f64
}

/// Smooth noise, 0..1, one swing per unit of length.
pub fn smooth(p: V3, seed: u64) -> f64 {
    // `floor` without its call: this is the busiest line of the renderer.
    let cell = p.map(|v| (v as i64 - i64::from(v < 0.0)) as f64);
    let f = (p - cell).map(|t| t * t * (3.0 - 2.0 * t));
    let (i, j, k) = (cell.x as i64, cell.y as i64, cell.z as i64);
    let at = |a: i64, b: i64, c: i64| hash(i + a, j + b, k + c, seed);
    let mix = |a: f64, b: f64, t: f64| a + (b - a) * t;
    let plane = |c: i64| mix(mix(at(0, 0, c), at(1, 0, c), f.x), mix(at(0, 1, c), at(1, 1, c), f.x), f.y);
    // Flat textures ask for z = 0 only; half the work is then enough.
    if f.z == 0.0 { plane(0) } else { mix(plane(0), plane(1), f.z) }
}

/// Three octaves of [`smooth`], spread so that the values fill most of 0..1.
pub fn cloudy(p: V3, seed: u64) -> f64 {
    let sum = smooth(p, seed) * 0.57
        + smooth(p * 2.03, seed.wrapping_add(1)) * 0.29
        + smooth(p * 4.1, seed.wrapping_add(2)) * 0.14;
    ((sum - 0.5) * 1.7 + 0.5).clamp(0.0, 1.0)
}

/// 0 below `low`, 1 above `high`, a smooth cubic between.
pub fn step(low: f64, high: f64, x: f64) -> f64 {
    let t = ((x - low) / (high - low)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// A normally distributed number (Box & Muller 1958) from a pixel's indices and a seed.
pub fn normal(x: usize, y: usize, channel: usize, seed: u64) -> f64 {
    let u = hash(x as i64, y as i64, 2 * channel as i64, seed).max(1e-12);
    let v = hash(x as i64, y as i64, 2 * channel as i64 + 1, seed);
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

//! Spectra from 380 to 730 nm by 10 nm: daylight, the observer, the card, and invented pottery materials.

use sherdlight::colour::{LabD50, XyzD50};

/// Number of samples.
pub const COUNT: usize = 36;
/// One value every 10 nm from 380 nm.
pub type Spectrum = [f64; COUNT];

/// Components of daylight S0, S1, S2 (CIE 15, table of the components of the relative spectral power
/// distribution of daylight), from memory; `tests.rs` beside it checks white points and the 24 patches.
#[rustfmt::skip]
const DAYLIGHT: [Spectrum; 3] = [
    [63.4, 65.8, 94.8, 104.8, 105.9, 96.8, 113.9, 125.6, 125.5, 121.3, 121.3, 113.5, 113.1, 110.8, 106.5, 108.8,
     105.3, 104.4, 100.0, 96.0, 95.1, 89.1, 90.5, 90.3, 88.4, 84.0, 85.1, 81.9, 82.6, 84.9, 81.3, 71.9, 74.3,
     76.4, 63.3, 71.7],
    [38.5, 35.0, 43.4, 46.3, 43.9, 37.1, 36.7, 35.9, 32.6, 27.9, 24.3, 20.1, 16.2, 13.2, 8.6, 6.1, 4.2, 1.9, 0.0,
     -1.6, -3.5, -3.5, -5.8, -7.2, -8.6, -9.5, -10.9, -10.7, -12.0, -14.0, -13.6, -12.0, -13.3, -12.9, -10.6,
     -11.6],
    [3.0, 1.2, -1.1, -0.5, -0.7, -1.2, -2.6, -2.9, -2.8, -2.6, -2.6, -1.8, -1.5, -1.3, -1.2, -1.0, -0.5, -0.3,
     0.0, 0.2, 0.5, 2.1, 3.2, 4.1, 4.7, 5.1, 6.7, 7.3, 8.6, 9.8, 10.2, 8.3, 9.6, 8.5, 7.0, 7.6],
];

/// Colour matching functions of the CIE 1931 2 degree observer (CIE 15, ISO/CIE 11664-1), from memory;
/// checked in the same way.
#[rustfmt::skip]
const OBSERVER: [Spectrum; 3] = [
    [0.001368, 0.004243, 0.01431, 0.04351, 0.13438, 0.2839, 0.34828, 0.3362, 0.2908, 0.19536, 0.09564, 0.03201,
     0.0049, 0.0093, 0.06327, 0.1655, 0.2904, 0.43345, 0.5945, 0.7621, 0.9163, 1.0263, 1.0622, 1.0026, 0.85445,
     0.6424, 0.4479, 0.2835, 0.1649, 0.0874, 0.04677, 0.0227, 0.011359, 0.00579, 0.002899, 0.00144],
    [0.000039, 0.00012, 0.000396, 0.00121, 0.004, 0.0116, 0.023, 0.038, 0.06, 0.09098, 0.13902, 0.20802, 0.323,
     0.503, 0.71, 0.862, 0.954, 0.99495, 0.995, 0.952, 0.87, 0.757, 0.631, 0.503, 0.381, 0.265, 0.175, 0.107,
     0.061, 0.032, 0.017, 0.00821, 0.004102, 0.002091, 0.001047, 0.00052],
    [0.00645, 0.02005, 0.06785, 0.2074, 0.6456, 1.3856, 1.74706, 1.77211, 1.6692, 1.28764, 0.81295, 0.46518,
     0.272, 0.1582, 0.07825, 0.04216, 0.0203, 0.00875, 0.0039, 0.0021, 0.00165, 0.0011, 0.0008, 0.00034, 0.00019,
     0.00005, 0.00002, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
];

/// Temperature of D50: 5000 K moved by the later value of the second radiation constant (CIE 15).
pub const D50: f64 = 5000.0 * 1.4388 / 1.4380;
/// Temperature of D65, moved in the same way.
pub const D65: f64 = 6500.0 * 1.4388 / 1.4380;

/// Relative power of CIE daylight of a temperature from 4000 to 25000 K (CIE 15, section on D illuminants;
/// M1 and M2 are rounded to three decimals there).
pub fn daylight(kelvin: f64) -> Spectrum {
    let t = 1000.0 / kelvin;
    let x = if kelvin <= 7000.0 {
        ((-4.6070 * t + 2.9678) * t + 0.09911) * t + 0.244063
    } else {
        ((-2.0064 * t + 1.9018) * t + 0.24748) * t + 0.237040
    };
    let y = (-3.0 * x + 2.870) * x - 0.275;
    let m = 0.0241 + 0.2562 * x - 0.7341 * y;
    let round = |v: f64| (v * 1000.0).round() / 1000.0;
    let m1 = round((-1.3515 - 1.7703 * x + 5.9114 * y) / m);
    let m2 = round((0.0300 - 31.4424 * x + 30.0717 * y) / m);
    std::array::from_fn(|i| DAYLIGHT[0][i] + m1 * DAYLIGHT[1][i] + m2 * DAYLIGHT[2][i])
}

/// X, Y, Z of a reflectance under a light, Y = 1 for the perfect diffuser (direct sum at 10 nm).
pub fn tristimulus(reflectance: &Spectrum, light: &Spectrum) -> [f64; 3] {
    let sum = |f: &Spectrum| (0..COUNT).map(|i| f[i] * light[i] * reflectance[i]).sum::<f64>();
    let white = (0..COUNT).map(|i| OBSERVER[1][i] * light[i]).sum::<f64>();
    [sum(&OBSERVER[0]) / white, sum(&OBSERVER[1]) / white, sum(&OBSERVER[2]) / white]
}

/// The same for D50, scaled so that the diffuser has the white of ISO 15076-1 (the 10 nm sum is 0.04 % off).
pub fn xyz_d50(reflectance: &Spectrum) -> [f64; 3] {
    let light = daylight(D50);
    let (t, w) = (tristimulus(reflectance, &light), tristimulus(&[1.0; COUNT], &light));
    [0.9642 * t[0] / w[0], t[1] / w[1], 0.8249 * t[2] / w[2]]
}

/// CIELAB for D50 of X, Y, Z.
pub fn lab(xyz: [f64; 3]) -> LabD50 {
    XyzD50 { x: xyz[0], y: xyz[1], z: xyz[2] }.to_lab()
}

/// The 24 patches of the card, in reading order.
pub fn chart() -> Vec<Spectrum> {
    let rows = include_str!("data/chart24-iso-spectra.csv").lines();
    rows.filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .map(|line| {
            let values: Vec<f64> = line.split(',').skip(2).map(|v| v.parse().expect("a number")).collect();
            values.try_into().expect("36 values a patch")
        })
        .collect()
}

/// A smooth curve: a floor and two rises, each with height, middle (nm) and width (nm).
fn rises(floor: f64, rises: [[f64; 3]; 2]) -> Spectrum {
    std::array::from_fn(|i| {
        let nm = 380.0 + 10.0 * i as f64;
        floor + rises.iter().map(|[h, mid, w]| h / (1.0 + (-(nm - mid) / w).exp())).sum::<f64>()
    })
}

/// A made-up material by name. None of them is a measurement.
pub fn material(name: &str) -> Spectrum {
    match name {
        // Lab (D50) near 84, 1, 7: white slip.
        "white" => rises(0.408, [[0.2097, 413.5, 42.6], [0.0985, 603.6, 56.2]]),
        // 80, 2, 10: a creamier white slip.
        "cream" => rises(0.3712, [[0.1938, 455.2, 47.2], [0.1157, 614.4, 56.2]]),
        // 40, 27, 22: polished ochre.
        "red" => rises(0.0408, [[0.241, 609.8, 15.0], [0.0494, 518.9, 46.7]]),
        // 37, 30, 25: a deeper ochre.
        "deep red" => rises(0.0335, [[0.2005, 599.9, 14.4], [0.0387, 555.7, 37.2]]),
        // 41, 13, 13: ochre fired with too little air.
        "dull red" => rises(0.0707, [[0.0941, 602.7, 18.4], [0.0472, 539.3, 43.1]]),
        // 28, 1, 2: sound plant paint.
        "black" => rises(0.0441, [[0.0082, 646.2, 56.5], [0.0097, 400.2, 59.7]]),
        // 31, 7, 8: plant paint before the fire.
        "brown" => rises(0.0455, [[0.024, 480.0, 40.0], [0.035, 610.0, 25.0]]),
        // 55, 8, 18: the clay body.
        "body" => rises(0.0964, [[0.1232, 492.5, 50.1], [0.1367, 605.9, 39.2]]),
        // 70, 6, 26: white slip stained by iron.
        "buff" => rises(0.1481, [[0.3009, 500.0, 38.0], [0.1563, 642.5, 39.3]]),
        // 62, 5, 14: the trace that burned-out paint leaves.
        "ghost" => rises(0.1644, [[0.1363, 491.5, 52.8], [0.1083, 599.5, 49.1]]),
        // 22, 0, 1: soot.
        "soot" => rises(0.0321, [[0.0026, 597.7, 62.8], [0.0025, 465.7, 55.7]]),
        "frame" => [0.05; COUNT],
        "ink" => [0.75; COUNT],
        "cloth" => rises(0.17, [[0.03, 480.0, 30.0], [-0.04, 600.0, 40.0]]),
        "board" => [0.2; COUNT],
        "sand" => rises(0.16, [[0.16, 520.0, 40.0], [0.1, 600.0, 50.0]]),
        "wood" => rises(0.1, [[0.14, 540.0, 40.0], [0.13, 610.0, 40.0]]),
        other => panic!("no material is called {other}"),
    }
}

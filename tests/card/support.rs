//! What the tests of the card have in common: colours as light, seeded chance, 8-bit pictures, the program.

use assert_cmd::Command;
use sherdlight::card::CardDefinition;
use sherdlight::colour::LabD50;
use sherdlight::photo::LinearImage;

/// XYZ for D50 to linear sRGB: IEC 61966-2-1 primaries by linear Bradford; from memory, not from the
/// library's own matrix.
const XYZ_D50_TO_SRGB: [[f64; 3]; 3] = [
    [3.133_856_1, -1.616_866_7, -0.490_614_6],
    [-0.978_768_4, 1.916_141_5, 0.033_454_0],
    [0.071_945_3, -0.228_991_4, 1.405_242_7],
];

/// Linear sRGB of a colour, unclamped.
pub fn light_of(lab: LabD50) -> [f64; 3] {
    let xyz = lab.to_xyz();
    XYZ_D50_TO_SRGB.map(|row| row[0] * xyz.x + row[1] * xyz.y + row[2] * xyz.z)
}

pub fn iso() -> CardDefinition {
    CardDefinition::load("chart24-iso").expect("built in")
}

/// A small seeded generator (splitmix64, Steele, Lea & Flood 2014).
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5eed)
    }
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
    pub fn below(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize
    }
    /// About normal, mean 0, standard deviation 1 (sum of twelve).
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
    pub fn colour(&mut self) -> [f64; 3] {
        let bright = self.between(0.03, 0.7);
        [0; 3].map(|_| bright * self.between(0.3, 1.4))
    }
}

/// sRGB, 8 bit (IEC 61966-2-1).
pub fn eight_bit(image: &LinearImage) -> image::RgbImage {
    let code = |v: f32| {
        let v = f64::from(v).clamp(0.0, 1.0);
        let e = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
        (255.0 * e + 0.5) as u8
    };
    image::RgbImage::from_fn(image.width as u32, image.height as u32, |x, y| {
        image::Rgb(image.pixels[y as usize * image.width + x as usize].0.map(code))
    })
}

/// What the program did.
pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

pub fn sherdlight<S: AsRef<std::ffi::OsStr>>(arguments: &[S]) -> Run {
    let output = Command::cargo_bin("sherdlight").unwrap().args(arguments).output().unwrap();
    Run {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

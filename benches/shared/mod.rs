//! What the benches have in common: the photograph, and processor time.

use cpu_time::ProcessTime;
use image::imageops::FilterType;
use std::error::Error;
use std::hint::black_box;
use std::path::Path;

/// The program's own allocator, so that the figures are the program's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Runs whose median is given, after one that warms up.
pub const RUNS: usize = 15;

/// Median processor time of all threads, in milliseconds.
pub fn median<T>(mut run: impl FnMut() -> Result<T, Box<dyn Error>>) -> Result<f64, Box<dyn Error>> {
    median_after(|| Ok(()), |()| run())
}

/// The same, where each run takes in something that is made before the clock starts.
pub fn median_after<S, T>(
    mut prepare: impl FnMut() -> Result<S, Box<dyn Error>>,
    mut run: impl FnMut(S) -> Result<T, Box<dyn Error>>,
) -> Result<f64, Box<dyn Error>> {
    black_box(run(prepare()?)?);
    let mut times = Vec::new();
    for _ in 0..RUNS {
        let prepared = prepare()?;
        let start = ProcessTime::now();
        black_box(run(prepared)?);
        times.push(start.elapsed().as_secs_f64() * 1e3);
    }
    times.sort_by(f64::total_cmp);
    Ok(times[RUNS / 2])
}

/// The first demo image, enlarged to 4000 x 3000, with seeded grain: enlarged pixels alone would be too smooth.
pub fn twelve_megapixels() -> Result<image::RgbImage, Box<dyn Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-images");
    let mut names: Vec<_> = std::fs::read_dir(folder)?.filter_map(|e| Some(e.ok()?.path())).collect();
    names.retain(|p| p.extension().is_some_and(|e| e == "jpg"));
    names.sort();
    let first = names.first().ok_or("no demo images: run the example render_demo first")?;
    let mut picture = image::open(first)?.resize_exact(4000, 3000, FilterType::Triangle).into_rgb8();
    let mut state = 0x9e37_79b9_7f4a_7c15u64;
    for value in picture.iter_mut() {
        // xorshift64 (Marsaglia 2003), enough for grain.
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        *value = value.saturating_add_signed((state % 7) as i8 - 3);
    }
    Ok(picture)
}

/// As JPEG of quality 92.
pub fn jpeg(picture: &image::RgbImage) -> Result<Vec<u8>, image::ImageError> {
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 92).encode_image(picture)?;
    Ok(bytes)
}

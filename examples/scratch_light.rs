use sherdlight::card::{CorrectedImage, read_card};
use sherdlight::surface::{Label, map_surfaces};
fn main() {
    let mut s = sherdlight::road::Settings::new().unwrap();
    s.card.definition = Some(sherdlight::card::CardDefinition::load("chart24-iso").unwrap());
    for p in std::env::args().skip(1) {
        let photo = sherdlight::photo::read(std::path::Path::new(&p), &s.limits).unwrap();
        let Ok(card) = read_card(&photo, &s.card) else { continue };
        let image = CorrectedImage::new(&photo, &card.correction, 1);
        let Ok(map) = map_surfaces(&image, &card, &s.surface) else { continue };
        let smooth = sherdlight::light::shading(&image, &map);
        let idx: Vec<usize> =
            (0..map.light.len()).filter(|&i| map.piece_of[i] == 1 && map.labels[i] == Label::White).collect();
        let mut d: Vec<f32> = idx.iter().map(|&i| (map.light[i] / smooth[i]).ln()).collect();
        let mut y: Vec<f32> = idx.iter().map(|&i| (image.xyz[i][1].max(1e-4) / smooth[i]).ln()).collect();
        d.sort_by(f32::total_cmp);
        y.sort_by(f32::total_cmp);
        let q = |v: &Vec<f32>, f: f64| v[((v.len() - 1) as f64 * f) as usize];
        let m = q(&d, 0.5);
        let my = q(&y, 0.5);
        let t: serde_json::Value =
            serde_json::from_str(&std::fs::read_to_string(p.replace(".jpg", ".json")).unwrap()).unwrap();
        let share =
            |v: &Vec<f32>, m: f32, th: f32| v.iter().filter(|&&x| x - m < th).count() as f64 / v.len() as f64;
        println!(
            "{} {} cloud {} | d p01 {:.2} p05 {:.2} p10 {:.2} share<-.35 {:.3} | y p02 {:.2} p05 {:.2} p10 {:.2} share {:.3}",
            p.rsplit('/').next().unwrap(),
            t["object"],
            t["cloud_fraction"],
            q(&d, 0.01) - m,
            q(&d, 0.05) - m,
            q(&d, 0.1) - m,
            share(&d, m, -0.35),
            q(&y, 0.02) - my,
            q(&y, 0.05) - my,
            q(&y, 0.1) - my,
            share(&y, my, -0.35)
        );
    }
}

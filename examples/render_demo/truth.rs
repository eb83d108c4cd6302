//! The truth of a picture, exact for what was rendered. Fields are explained in `demo-images/README.md`.

use super::motifs::Motif;
use super::pictures::Picture;
use super::render::{Rendered, on_piece};
use super::scene::Set;
use super::shapes::V3;
use super::skin::Row;
use super::spectra::{chart, lab, material, xyz_d50};
use image::GrayImage;
use imageproc::contours::{BorderType, find_contours};
use imageproc::geometry::approximate_polygon_dp;
use serde_json::{Map, Value, json};

const CLASSES: [(&str, u8); 8] = [
    ("white", 1),
    ("red", 2),
    ("black", 3),
    ("body", 4),
    ("lost_paint", 6),
    ("glare", 7),
    ("fire_cloud", 8),
    ("deep_shadow", 9),
];

/// Rounds for the file.
fn round(v: f64, digits: i32) -> f64 {
    let scale = 10f64.powi(digits);
    (v * scale).round() / scale + 0.0
}

fn lab_value(xyz: [f64; 3]) -> Value {
    let lab: [f64; 3] = lab(xyz).into();
    json!(lab.map(|v| round(v, 2)))
}

/// Sums over the pixels of one class, in the order of the picture.
#[derive(Default)]
struct Sums {
    count: usize,
    xyz: [f64; 3],
    irradiance: f64,
    gloss: f64,
    severity: [f64; 3],
}

impl Sums {
    fn of(r: &Rendered, keep: impl Fn(usize) -> bool) -> Self {
        let mut s = Sums::default();
        for (_, p) in r.pixels.iter().enumerate().filter(|(i, _)| keep(*i)) {
            s.count += 1;
            s.irradiance += f64::from(p.irradiance);
            s.gloss += f64::from(p.gloss);
            for c in 0..3 {
                s.xyz[c] += f64::from(p.xyz[c]);
                s.severity[c] += f64::from(p.severity[c]);
            }
        }
        s
    }
    fn describe(&self, name: &str) -> Map<String, Value> {
        let mut out = Map::new();
        out.insert("area_px".into(), json!(self.count));
        if self.count > 0 {
            let n = self.count as f64;
            let xyz = self.xyz.map(|v| v / n);
            out.insert("lab_d50".into(), lab_value(xyz));
            out.insert("mean_irradiance".into(), json!(round(self.irradiance / n, 4)));
            if name == "red" {
                let g = self.gloss / n;
                out.insert("gloss_added_reflectance".into(), json!(round(g, 4)));
                let seen = [xyz[0] + 0.9642 * g, xyz[1] + g, xyz[2] + 0.8249 * g];
                out.insert("lab_d50_with_gloss".into(), lab_value(seen));
            }
        }
        out
    }
}

/// Whether all pixels up to two away carry the same label.
fn inner(r: &Rendered, i: usize) -> bool {
    let (x, y) = (i % r.width, i / r.width);
    let own = r.pixels[i].label;
    (y.saturating_sub(2)..(y + 3).min(r.height))
        .all(|v| (x.saturating_sub(2)..(x + 3).min(r.width)).all(|u| r.pixels[v * r.width + u].label == own))
}

/// The outline of the largest piece of the mask, to a pixel.
fn outline(r: &Rendered) -> Vec<[f64; 2]> {
    let mask = GrayImage::from_fn(r.width as u32, r.height as u32, |x, y| {
        image::Luma([if on_piece(r.pixels[y as usize * r.width + x as usize].label) { 255 } else { 0 }])
    });
    let contours = find_contours::<i32>(&mask);
    let longest =
        contours.iter().filter(|c| c.border_type == BorderType::Outer).max_by_key(|c| c.points.len());
    let points = longest.map_or(Vec::new(), |c| approximate_polygon_dp(&c.points, 1.0, true));
    points.iter().map(|p| [f64::from(p.x) + 0.5, f64::from(p.y) + 0.5]).collect()
}

/// The painted squares of a tile: corners, an upright rectangle well inside, mean colour there.
fn swatches(picture: &Picture, r: &Rendered) -> Vec<Value> {
    let view = picture.view([r.width, r.height]);
    let blocks = picture.rows.iter().filter_map(|row| match row.1 {
        Motif::Block(cell) => Some((cell, row)),
        _ => None,
    });
    blocks
        .map(|(cell, Row(_, _, from, to, count, strength))| {
            let size = picture.shape.extent();
            let w = size[0] / count;
            let middle = (f64::from(cell) + 0.5) * w - size[0] / 2.0;
            let corner = |sx: f64, y: f64| {
                view.project(picture.pose.outward(V3::new(middle + sx * 0.4 * w, y - size[1] / 2.0, size[2])))
            };
            let quad = [corner(-1.0, *to), corner(1.0, *to), corner(1.0, *from), corner(-1.0, *from)];
            let mid = |a: f64, b: f64, t: f64| (a + (b - a) * t).round() as usize;
            let (left, right) = (quad[0][0].max(quad[3][0]), quad[1][0].min(quad[2][0]));
            let (top, bottom) = (quad[0][1].max(quad[1][1]), quad[2][1].min(quad[3][1]));
            let rect = [
                mid(left, right, 0.15),
                mid(top, bottom, 0.15),
                mid(left, right, 0.85),
                mid(top, bottom, 0.85),
            ];
            let sums = Sums::of(r, |i| {
                let (x, y) = (i % r.width, i / r.width);
                x >= rect[0] && x < rect[2] && y >= rect[1] && y < rect[3]
            });
            json!({
                "id": format!("black_{:.0}", strength * 100.0),
                "label": 3,
                "quad_px": quad.map(|p| p.map(|v| round(v, 2))),
                "rect_px": rect,
                "lab_d50": lab_value(sums.xyz.map(|v| v / sums.count.max(1) as f64)),
            })
        })
        .collect()
}

/// Share of the painted places that keep at least half of what the soundest tenth of them, by area, keeps on average.
fn retained_vs_soundest(r: &Rendered) -> Option<f64> {
    let painted = r.pixels.iter().filter(|p| matches!(p.label, 3 | 6));
    let mut left: Vec<f32> = painted.map(|p| p.left).collect();
    left.sort_by(|one, other| other.total_cmp(one));
    let tenth = left.get(..left.len().div_ceil(10)).filter(|tenth| !tenth.is_empty())?;
    let soundest = tenth.iter().map(|v| f64::from(*v)).sum::<f64>() / tenth.len() as f64;
    let kept = left.iter().filter(|v| f64::from(**v) >= soundest / 2.0).count();
    Some(round(kept as f64 / left.len() as f64, 4))
}

/// All that is known about a picture.
pub fn truth(picture: &Picture, r: &Rendered) -> Value {
    let view = picture.view([r.width, r.height]);
    let set = Set { shape: &picture.shape, pose: picture.pose, card: &picture.card, light: &picture.light };
    let at = |p| view.project(p).map(|v| round(v, 2));
    let card = &picture.card;
    let grid = [(0, 0), (5, 1), (23, 2), (18, 3)].map(|(n, k)| at(card.patch_corner(n, k)));
    let light: Vec<f64> =
        (0..24).map(|n| round(set.irradiance(card.patch_centre(n), card.normal).0, 4)).collect();

    let mut classes = Map::new();
    let area = |l: u8| r.pixels.iter().filter(|p| p.label == l).count();
    for (name, label) in CLASSES {
        let sums = Sums::of(r, |i| r.pixels[i].label == label);
        let mut class = Map::from_iter([("label".to_string(), json!(label))]);
        class.extend(sums.describe(name));
        if sums.count > 0 {
            let core = Sums::of(r, |i| r.pixels[i].label == label && inner(r, i));
            class.insert("core".into(), Value::Object(core.describe(name)));
            let mean = sums.severity.map(|s| round(s / sums.count as f64, 3));
            match name {
                "white" => {
                    class.insert("severity_in_view".into(), json!({"greying": mean[0], "buffing": mean[1]}))
                }
                "red" => class.insert("severity_in_view".into(), json!({"dull_red": mean[2]})),
                _ => None,
            };
            let clean = match name {
                "white" => Some(picture.white),
                "red" => Some(picture.red),
                "black" => Some(picture.paint),
                "body" => Some(name),
                _ => None,
            };
            if let Some(clean) = clean {
                class.insert("clean_lab_d50".into(), lab_value(xyz_d50(&material(clean))));
            }
        }
        classes.insert(name.into(), Value::Object(class));
    }
    let (kept, lost, cloud) = (area(3), area(6), area(8));
    let piece = r.pixels.iter().filter(|p| on_piece(p.label)).count();
    let cards = area(5);
    let f = &picture.faults;
    let none = [f.burn_out, f.greying, f.buffing, f.weak_black, f.dull_red].iter().all(|s| *s == 0.0);
    let share = |a: usize, b: usize| (b > 0).then(|| round(a as f64 / b as f64, 4));
    let clipped = |n: usize, bad: fn(u8) -> bool| {
        let [x, y] = view.project(card.patch_centre(n)).map(|v| v as usize);
        let i = 3 * (y.min(r.height - 1) * r.width + x.min(r.width - 1));
        r.bytes[i..i + 3].iter().any(|v| bad(*v))
    };
    let list = |bad: fn(u8) -> bool| (0..24).filter(|n| clipped(*n, bad)).map(|n| n + 1).collect::<Vec<_>>();
    let direction = (grid[1][1] - grid[0][1]).atan2(grid[1][0] - grid[0][0]).to_degrees();
    let frame = [0, 1, 2, 3].map(|k| at(card.frame_corner(k)));
    let key = [0, 1, 2].map(|k| round(picture.light.to_key[k], 3));
    let labs: Vec<Value> = chart().iter().map(|s| lab_value(xyz_d50(s))).collect();
    json!({
        "name": picture.name,
        "seed": picture.seed,
        "width": r.width,
        "height": r.height,
        "object": picture.object,
        "background": format!("{:?}", picture.ground).to_lowercase(),
        "faults": {
            "burn_out": f.burn_out, "greying": f.greying, "buffing": f.buffing, "weak_black": f.weak_black,
            "dull_red": f.dull_red, "fire_cloud": if cloud > 0 { 1.0 } else { 0.0 },
        },
        "sound": none && f.clouds.is_empty(),
        "classes": classes,
        "paint": {
            "painted_area_px": kept + lost, "kept_px": kept, "lost_px": lost,
            "retained_fraction": share(kept, kept + lost),
            "retained_vs_soundest": retained_vs_soundest(r),
        },
        "clouds": {"area_fraction": share(cloud, piece)},
        "piece": {"area_px": piece, "outline_px": outline(r)},
        "swatches": swatches(picture, r),
        "card": {
            "grid_corners_px": grid,
            "frame_corners_px": frame,
            "patch_centres_px": (0..24).map(|n| at(card.patch_centre(n))).collect::<Vec<_>>(),
            "patch_corners_px": (0..24).map(|n| [0, 1, 2, 3].map(|k| at(card.patch_corner(n, k)))).collect::<Vec<_>>(),
            "rotation_deg": round(direction, 1),
            "tilt_deg": round(view.tilt(card.centre, card.normal), 1),
            "area_px": cards,
            "area_fraction": share(cards, r.pixels.len()),
            "clipped_high": list(|v| v >= 254),
            "clipped_low": list(|v| v <= 1),
            "patch_lab_d50": labs,
            "patch_irradiance": light,
        },
        "camera": {"id": picture.camera.id, "blur_px": picture.camera.blur, "vignetting": picture.camera.vignetting},
        "light": {
            "illuminant": format!("daylight:{}", picture.light.kelvin),
            "key_fraction": picture.light.share,
            "key_direction": key,
            "mean_object_irradiance": round(r.mean_irradiance, 4),
        },
    })
}

//! Literal records for the tests of what is shown. Invented pieces and firings.

use sherdlight::reading::*;

pub fn surface(lab: [f64; 3], u95: [f64; 3], share: f64) -> Surface {
    let (c, h) = (lab[1].hypot(lab[2]), lab[2].atan2(lab[1]).to_degrees().rem_euclid(360.0));
    Surface {
        area_px: (share * 1e6) as usize,
        area_fraction: share,
        lab,
        lch: [lab[0], c, h],
        lab_with_edges: None,
        lab_deep: None,
        u95,
        u95_parts: [("card".to_owned(), u95)].into(),
        l_spread: Some(Spread { p05: lab[0] - 6.0, p50: lab[0], p95: lab[0] + 5.0, sd: 3.2 }),
        munsell: vec![
            MunsellPart { notation: "10YR 8/2".into(), de00: 2.1 },
            MunsellPart { notation: "2.5Y 8/2".into(), de00: 2.9 },
        ],
        whiteness: Some(IndexPart { value: 12.5, illuminant: "D65/2".into(), valid: false }),
        yellowness: Some(IndexPart { value: 24.0, illuminant: "D65/2".into(), valid: true }),
        to_target_de00: Some(1.75),
    }
}

pub fn photo(path: &str, digit: char, taken: Option<&str>) -> PhotoPart {
    PhotoPart {
        path: path.into(),
        sha256: Some(digit.to_string().repeat(64)),
        width: Some(4000),
        height: Some(3000),
        taken: taken.map(Into::into),
        exposure: Some(ExposurePart { seconds: Some(0.005), f_number: Some(2.8), iso: None }),
        profile: None,
    }
}

pub fn made_by() -> MadeBy {
    MadeBy { version: "0.1.0".into(), settings_sha256: "5e".repeat(32), settings: None }
}

/// A sound piece; change what the test is about.
pub fn reading(path: &str, digit: char, taken: Option<&str>) -> Reading {
    Reading {
        schema: SCHEMA.into(),
        photo: photo(path, digit, taken),
        made_by: made_by(),
        observer: "CIE 1931 2 degree".into(),
        illuminant: "D50".into(),
        card: CardPart {
            status: "found".into(),
            definition: Some("chart24-b".into()),
            corners_px: Some([[2800.0, 300.0], [3700.0, 310.0], [3690.0, 910.0], [2790.0, 900.0]]),
            lead: Some(0.45),
            candidates_px: vec![],
            patches: vec![PatchPart {
                id: "1".into(),
                centre_px: [2870.5, 380.25],
                rgb_linear: [0.17, 0.08, 0.05],
                used: false,
                why_not: Some("glare".into()),
                lab_reference: [37.99, 13.56, 14.06],
                lab_corrected: [38.2, 13.1, 14.9],
            }],
            model: Some("affine".into()),
            models: vec![ModelPart { model: "affine".into(), held_out_de00: 1.31 }],
            fit_de00: Some(ResidualPart { mean: 0.92, p95: 1.8, max: 2.4 }),
            held_out_de00: Some(ResidualPart { mean: 1.31, p95: 2.6, max: 3.3 }),
            light_gradient: Some(0.024),
            mm_per_px: Some(0.115),
            ..CardPart::default()
        },
        surfaces: Surfaces {
            white: Some(surface([84.2, 2.4, 11.6], [2.1, 0.7, 0.9], 0.46)),
            red: Some(surface([41.5, 27.9, 26.1], [2.6, 1.3, 1.4], 0.27)),
            black: Some(surface([26.4, 1.2, 2.3], [3.1, 0.9, 1.1], 0.17)),
            body: Some(surface([56.2, 11.4, 22.0], [2.4, 0.9, 1.2], 0.06)),
            smudged: None,
        },
        contrast: Some(Contrast {
            delta_l: 57.8,
            de00: 49.1,
            reflectance_ratio: 13.2,
            ratio_from: "touching".into(),
            ratio_places: 61,
            michelson: 0.86,
            u95_parts: Default::default(),
            u95: ContrastU95 { delta_l: 2.2, de00: 2.0, reflectance_ratio: 1.4 },
        }),
        paint: Some(Paint {
            applied_px: 173_000,
            retained_fraction: 0.982,
            u95: 0.02,
            line_width_mm: Some(Percentiles { p05: 2.1, p50: 3.4, p95: 5.2 }),
            spottiness: Some(Measure { value: 0.12, u95: 0.02 }),
            ..Paint::default()
        }),
        clouds: Clouds { u95: 0.01, ..Clouds::default() },
        piece: PiecePart {
            number: 1,
            count: 1,
            outline_px: vec![[400.0, 500.0], [2200.0, 520.0], [2100.0, 2600.0], [500.0, 2580.0]],
            size_mm: Some(SizePart { width: 203.0, height: 238.0, u95: 19.0, u95_flat: 4.0 }),
            clipped_fraction: 0.013,
            ..PiecePart::default()
        },
        left_out: LeftOut {
            glare: AreaPart { area_fraction: 0.021 },
            shade: AreaPart { area_fraction: 0.008 },
            cloud: AreaPart { area_fraction: 0.0 },
            unclear: AreaPart { area_fraction: 0.011 },
        },
        light: LightPart { source: "field".into(), range: Some([0.42, 1.06]), ..LightPart::default() },
        faults: vec![
            Fault {
                fault: "burned-out".into(),
                verdict: Verdict::Absent,
                severity: Some(0.02),
                probability: Some(0.001),
                because: vec!["98 % +- 2 % of the paint still reads black; 90 % is asked for.".into()],
            },
            Fault {
                fault: "greyed".into(),
                verdict: Verdict::CannotTell,
                severity: Some(0.4),
                probability: Some(0.28),
                because: vec!["L* of white 84.2 +- 2.1 crosses the limit 83.0.".into()],
            },
        ],
        targets: "three-colour-low-fired".into(),
        targets_sha256: "7a".repeat(32),
        grade: Grade::Sound,
        grade_because: vec!["All seven values lie wholly inside their aim ranges.".into()],
        ..Reading::default()
    }
}

pub fn failure(path: &str, code: &str, text: &str) -> Failure {
    Failure {
        schema: SCHEMA.into(),
        photo: PhotoPart { path: path.into(), ..PhotoPart::default() },
        made_by: made_by(),
        error: ErrorPart { code: code.into(), text: text.into() },
        card: Some(CardPart {
            status: "none".into(),
            candidates_px: vec![[[1.0, 2.0], [3.0, 2.0], [3.0, 4.0], [1.0, 4.0]]],
            ..CardPart::default()
        }),
        outputs: Default::default(),
    }
}

pub fn measured(reading: Reading) -> Record {
    Record::Measured(Box::new(reading))
}

pub fn failed(failure: Failure) -> Record {
    Record::Failed(Box::new(failure))
}

//! How one surface went from reading to reading: a table and a chart.
//!
//! Readings stand in the order of the camera's times where every one has a time, else in the order
//! given, and both outputs say which. Times are compared as the camera wrote them.

use super::ReportError;
use super::chart::{ACCENT, Anchor, BAND, INK, QUIET, RULE, Scale, Svg};
use super::page_context::piece_name;
use super::page_piece::surface_words;
use super::words::{fixed, plain, plus_minus};
use crate::reading::{Reading, Record};

/// One reading of the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct TrendPoint {
    /// The piece, from the sheet, else the file's stem.
    pub piece: String,
    /// The firing, from the sheet.
    pub firing: Option<String>,
    /// Time as the camera wrote it.
    pub taken: Option<String>,
    /// L*, a*, b* for D50.
    pub lab: [f64; 3],
    /// Half-widths of their 95 % intervals.
    pub u95: [f64; 3],
    /// CIEDE2000 to the centre of the target's aim range.
    pub to_target_de00: Option<f64>,
    /// Whiteness, only where its formula holds.
    pub whiteness: Option<f64>,
}

/// Aim ranges drawn behind the points, where known.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct TrendBands {
    /// Of L*.
    pub l: Option<[f64; 2]>,
    /// Of b*.
    pub b: Option<[f64; 2]>,
    /// Of the distance to the target: the largest CIEDE2000 that is welcome.
    pub to_target_de00: Option<f64>,
}

/// The readings of one surface, in order.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// The surface's name as in the record.
    pub surface: String,
    /// Its readings.
    pub points: Vec<TrendPoint>,
    /// True where they stand in the order of time, false where in the order given.
    pub by_time: bool,
    /// Records without this surface, or not measured.
    pub left_out: usize,
}

impl Trend {
    /// Gathers the readings of a surface.
    ///
    /// # Errors
    /// [`ReportError::NothingToDraw`] where no record holds the surface.
    pub fn new(records: &[Record], surface: &str) -> Result<Self, ReportError> {
        let mut points: Vec<TrendPoint> = records
            .iter()
            .filter_map(Record::reading)
            .filter_map(|reading| point(reading, surface))
            .collect();
        if points.is_empty() {
            return Err(ReportError::NothingToDraw { surface: surface.into() });
        }
        let by_time = points.iter().all(|point| point.taken.is_some());
        if by_time {
            points.sort_by(|one, other| local_time(one).cmp(local_time(other)));
        }
        let left_out = records.len() - points.len();
        Ok(Self { surface: surface.into(), points, by_time, left_out })
    }

    /// The table for a terminal: one line a reading, columns aligned.
    pub fn table(&self) -> String {
        let dash = || "-".to_owned();
        let mut rows = vec![
            ["taken", "firing", "piece", "L*", "b*", "to target", "whiteness"].map(str::to_owned).to_vec(),
        ];
        rows.extend(self.points.iter().map(|point| {
            vec![
                point.taken.clone().unwrap_or_else(dash),
                point.firing.clone().unwrap_or_else(dash),
                point.piece.clone(),
                plus_minus(point.lab[0], point.u95[0], 1),
                plus_minus(point.lab[2], point.u95[2], 1),
                point.to_target_de00.map_or_else(dash, |d| fixed(d, 1)),
                point.whiteness.map_or_else(dash, |w| fixed(w, 1)),
            ]
        }));
        let rows: Vec<Vec<String>> =
            rows.into_iter().map(|row| row.iter().map(|cell| one_line(cell)).collect()).collect();
        let widths: Vec<usize> =
            (0..7).map(|c| rows.iter().map(|row| row[c].chars().count()).max().unwrap_or(0)).collect();
        let mut text = format!("{}, {}\n\n", self.title(), self.order_words());
        for row in &rows {
            let cells: Vec<String> = row
                .iter()
                .enumerate()
                .map(|(c, cell)| {
                    let air = " ".repeat(widths[c] - cell.chars().count());
                    // Words stand left, numbers right.
                    if c < 3 { format!("{cell}{air}") } else { format!("{air}{cell}") }
                })
                .collect();
            text.push_str(cells.join("  ").trim_end());
            text.push('\n');
        }
        text.push_str("\n± is the half-width of the 95 % interval. To target: CIEDE2000 to the centre of the aim range.\n");
        text.push_str("Whiteness: ASTM E313; a dash where the colour lies outside the formula's limits.\n");
        match self.left_out {
            0 => {}
            1 => text.push_str("One record holds no reading of this surface.\n"),
            count => text.push_str(&format!("{count} records hold no reading of this surface.\n")),
        }
        text
    }

    /// The chart: L*, b* and the distance to the target, one above the other.
    pub fn svg(&self, bands: &TrendBands) -> String {
        const LEFT: f64 = 64.0;
        const TOP: f64 = 74.0;
        const PANEL: f64 = 132.0;
        const GAP: f64 = 34.0;
        let count = self.points.len();
        // Labels need about 22 pixels; a long series shows every second, third, ... of them.
        let pitch = (640.0 / count as f64).clamp(24.0, 120.0);
        let (right, bottom) = (LEFT + pitch * count as f64, TOP + 3.0 * PANEL + 2.0 * GAP);
        let (width, height) = (right.max(LEFT + 420.0) + 28.0, bottom + 112.0);
        let title = self.title();
        let mut svg = Svg::new(width, height, &title, &self.description());
        svg.words([LEFT, 26.0], Anchor::Start, 0.0, INK, true, &title);
        let remark = format!("{}; bars: 95 % intervals; band: aim range", self.order_words());
        svg.words([LEFT, 43.0], Anchor::Start, 0.0, QUIET, false, &remark);
        let x = |number: usize| LEFT + pitch * (number as f64 + 0.5);
        let panels = [
            Panel {
                name: "L*",
                from_zero: false,
                band: bands.l,
                values: self.values(|p| Some((p.lab[0], p.u95[0]))),
            },
            Panel {
                name: "b*",
                from_zero: false,
                band: bands.b,
                values: self.values(|p| Some((p.lab[2], p.u95[2]))),
            },
            Panel {
                name: "to target, CIEDE2000",
                from_zero: true,
                band: bands.to_target_de00.map(|most| [0.0, most]),
                // The record holds no interval of the distance, so none is drawn.
                values: self.values(|p| Some((p.to_target_de00?, 0.0))),
            },
        ];
        for (number, panel) in panels.iter().enumerate() {
            let top = TOP + number as f64 * (PANEL + GAP);
            panel.draw(&mut svg, [LEFT, top], [right - LEFT, PANEL], &x);
        }
        self.firings(&mut svg, LEFT, pitch, [TOP, bottom]);
        let every = (22.0 / pitch).ceil().max(1.0) as usize;
        for (number, point) in self.points.iter().enumerate().step_by(every) {
            svg.words(
                [x(number) + 4.0, bottom + 16.0],
                Anchor::End,
                -40.0,
                INK,
                false,
                &cut(&point.piece, 20),
            );
        }
        svg.finish()
    }

    /// A dashed line wherever the firing changes, and its name above.
    fn firings(&self, svg: &mut Svg, left: f64, pitch: f64, [top, bottom]: [f64; 2]) {
        let mut start = 0;
        for end in 1..=self.points.len() {
            if end < self.points.len() && self.points[end].firing == self.points[start].firing {
                continue;
            }
            let (from, to) = (left + pitch * start as f64, left + pitch * end as f64);
            if let Some(firing) = &self.points[start].firing {
                let room = ((to - from) / 6.5) as usize;
                svg.words(
                    [from + 4.0, top - 8.0],
                    Anchor::Start,
                    0.0,
                    QUIET,
                    false,
                    &cut(firing, room.max(3)),
                );
            }
            if end < self.points.len() {
                svg.line([to, top - 18.0], [to, bottom], QUIET, 1.0, true);
            }
            start = end;
        }
    }

    /// Value and half-width of every point, where there is a value.
    fn values(&self, of: impl Fn(&TrendPoint) -> Option<(f64, f64)>) -> Vec<Option<(f64, f64)>> {
        self.points.iter().map(|point| of(point).filter(|(value, _)| value.is_finite())).collect()
    }

    fn title(&self) -> String {
        format!("{} from reading to reading", plain(surface_words(&self.surface)))
    }

    fn order_words(&self) -> &'static str {
        if self.by_time {
            "in the order of the camera's times"
        } else {
            "in the order given (some carry no time)"
        }
    }

    fn description(&self) -> String {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else {
            return "No readings.".into();
        };
        format!(
            "{} of {}, {}, evenly spaced. L* from {} at first to {} at last, b* from {} to {}.",
            match self.points.len() {
                1 => "One reading".into(),
                count => format!("{count} readings"),
            },
            surface_words(&self.surface),
            self.order_words(),
            plus_minus(first.lab[0], first.u95[0], 1),
            plus_minus(last.lab[0], last.u95[0], 1),
            plus_minus(first.lab[2], first.u95[2], 1),
            plus_minus(last.lab[2], last.u95[2], 1),
        )
    }
}

fn point(reading: &Reading, surface: &str) -> Option<TrendPoint> {
    let of = reading.surfaces.get(surface)?;
    Some(TrendPoint {
        piece: piece_name(reading),
        firing: reading.sheet.as_ref().and_then(|row| row.firing.clone()).filter(|f| !f.is_empty()),
        taken: reading.photo.taken.clone(),
        lab: of.lab,
        u95: of.u95,
        to_target_de00: of.to_target_de00.filter(|d| d.is_finite()),
        whiteness: of.whiteness.as_ref().filter(|w| w.valid && w.value.is_finite()).map(|w| w.value),
    })
}

/// Date and time without fractions and offset.
fn local_time(point: &TrendPoint) -> &str {
    let taken = point.taken.as_deref().unwrap_or("");
    taken.get(..19).unwrap_or(taken)
}

/// One strip of the chart.
struct Panel {
    name: &'static str,
    /// Whether the scale begins at zero whatever the values.
    from_zero: bool,
    band: Option<[f64; 2]>,
    /// Value and half-width a reading.
    values: Vec<Option<(f64, f64)>>,
}

impl Panel {
    fn draw(
        &self,
        svg: &mut Svg,
        [left, top]: [f64; 2],
        [width, height]: [f64; 2],
        x: &dyn Fn(usize) -> f64,
    ) {
        let reach = |u95: f64| if u95.is_finite() { u95 } else { 0.0 };
        let ends = self.values.iter().flatten().flat_map(|(v, u95)| [v - reach(*u95), v + reach(*u95)]);
        let zero = self.from_zero.then_some(0.0);
        let all = ends.chain(self.band.into_iter().flatten()).chain(zero);
        let scale = Scale::covering(all, top + height, top, 4);
        if let Some([low, high]) = self.band {
            svg.rect([left, scale.at(high)], [width, scale.at(low) - scale.at(high)], BAND);
        }
        for (value, text) in scale.ticks() {
            svg.line([left, scale.at(value)], [left + width, scale.at(value)], RULE, 1.0, false);
            svg.words([left - 8.0, scale.at(value) + 4.0], Anchor::End, 0.0, QUIET, false, &text);
        }
        svg.line([left, top], [left, top + height], INK, 1.0, false);
        svg.words([18.0, top + height / 2.0], Anchor::Middle, -90.0, INK, true, self.name);
        if self.values.iter().all(Option::is_none) {
            let middle = [left + width / 2.0, top + height / 2.0];
            svg.words(middle, Anchor::Middle, 0.0, QUIET, false, "not in these records");
        }
        for (number, value) in self.values.iter().enumerate() {
            let Some((value, u95)) = *value else { continue };
            let (px, u95) = (x(number), reach(u95));
            if u95 > 0.0 {
                let (low, high) = (scale.at(value - u95), scale.at(value + u95));
                svg.line([px, low], [px, high], ACCENT, 1.5, false);
                svg.line([px - 4.0, low], [px + 4.0, low], ACCENT, 1.5, false);
                svg.line([px - 4.0, high], [px + 4.0, high], ACCENT, 1.5, false);
            }
            let tip = if u95 > 0.0 { plus_minus(value, u95, 1) } else { fixed(value, 1) };
            svg.dot([px, scale.at(value)], 3.5, ACCENT, &tip);
        }
    }
}

/// At most `most` letters, with a sign where some are left out.
fn cut(text: &str, most: usize) -> String {
    match text.chars().count() {
        count if count <= most => text.into(),
        _ => text.chars().take(most.saturating_sub(1)).chain(['…']).collect(),
    }
}

/// Line ends and control characters would break a terminal's columns.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

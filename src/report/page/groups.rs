//! Pieces of a page: the readings of a load, views of one piece taken together, the worst first.

use super::PageEntry;
use crate::reading::{Contrast, Grade, Reading, Verdict, Views};
use crate::report::names::{file_name_of, stem_of};
use crate::report::words::isolated;
use crate::verdict::LoadPiece;
use std::collections::BTreeSet;
use std::path::Path;

/// One piece after one firing, with every reading that shows it.
pub(super) struct Group<'a> {
    /// Its name, with its number where a photograph holds several.
    pub(super) name: String,
    /// At least one, in the order given.
    pub(super) views: Vec<(&'a Reading, &'a PageEntry<'a>)>,
    /// What the views say together, where there are several.
    pub(super) joined: Option<&'a Views>,
}

/// The numbers that stand for a piece, each with the half-width of its 95 % interval.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Values {
    pub(super) white_l: Option<[f64; 2]>,
    pub(super) white_b: Option<[f64; 2]>,
    pub(super) black_l: Option<[f64; 2]>,
    pub(super) contrast: Option<[f64; 2]>,
    pub(super) kept: Option<[f64; 2]>,
    pub(super) clouds: f64,
}

impl<'a> Group<'a> {
    pub(super) fn grade(&self) -> Grade {
        self.joined.map_or(self.decisive().grade, |views| views.grade)
    }

    /// The first view with the grade of the piece.
    pub(super) fn decisive(&self) -> &'a Reading {
        let grade = self.joined.map(|views| views.grade);
        let found = self.views.iter().find(|(reading, _)| Some(reading.grade) == grade);
        found.unwrap_or(&self.views[0]).0
    }

    /// What decided, in sentences of the record.
    pub(super) fn because(&self) -> &'a [String] {
        match self.joined {
            Some(views) => &views.grade_because,
            None => &self.views[0].0.grade_because,
        }
    }

    pub(super) fn firing(&self) -> Option<&'a str> {
        self.said(|row| row.firing.as_deref())
    }

    /// Where the piece stood in the fire, if the sheet says.
    pub(super) fn place(&self) -> Option<&'a str> {
        self.said(|row| row.place.as_deref())
    }

    fn said(&self, pick: impl Fn(&'a crate::reading::SheetRow) -> Option<&'a str>) -> Option<&'a str> {
        let rows = self.views.iter().filter_map(|(reading, _)| reading.sheet.as_ref());
        rows.filter_map(pick).find(|text| !text.trim().is_empty())
    }

    pub(super) fn values(&self) -> Values {
        let of = |surface: &str, channel: usize| {
            let pair = |lab: [f64; 3], u95: [f64; 3]| [lab[channel], u95[channel]];
            match self.joined.filter(|views| views.photos.len() > 1) {
                Some(views) => views.surfaces.get(surface).map(|s| pair(s.lab, s.u95)),
                None => self.views[0].0.surfaces.get(surface).map(|s| pair(s.lab, s.u95)),
            }
        };
        let contrasts: Vec<&Contrast> =
            self.views.iter().filter_map(|(reading, _)| reading.contrast.as_ref()).collect();
        // Over several views that of the pooled colours, so that the three agree; the views share their card, and so the
        // half-widths are averaged as those of pooled colours are.
        let contrast = match (of("white", 0), of("black", 0), contrasts.as_slice()) {
            (_, _, []) => None,
            (_, _, [one]) => Some([one.delta_l, one.u95.delta_l]),
            (Some([white, _]), Some([black, _]), several) => {
                let sum: f64 = several.iter().map(|contrast| contrast.u95.delta_l).sum();
                Some([white - black, sum / several.len() as f64])
            }
            _ => None,
        };
        let pooled = self.joined.and_then(|views| views.retained_fraction.zip(views.retained_u95));
        let single = || self.views[0].0.paint.as_ref().map(|p| (p.retained_fraction, p.u95));
        let clouds = self.views.iter().map(|(reading, _)| reading.clouds.area_fraction);
        Values {
            white_l: of("white", 0),
            white_b: of("white", 2),
            black_l: of("black", 0),
            contrast,
            kept: pooled.or_else(single).map(<[f64; 2]>::from),
            clouds: clouds.fold(0.0, f64::max),
        }
    }

    pub(super) fn load_piece(&self) -> LoadPiece<'a> {
        LoadPiece {
            name: isolated(&self.name),
            place: self.place(),
            grade: self.grade(),
            views: self.views.iter().map(|(reading, _)| *reading).collect(),
        }
    }

    fn severity(&self) -> f64 {
        let faults = self.views.iter().flat_map(|(reading, _)| &reading.faults);
        let present = faults.filter(|fault| fault.verdict == Verdict::Present);
        present.filter_map(|fault| fault.severity).filter(|s| s.is_finite()).fold(0.0, f64::max)
    }
}

/// The pieces of a load: worst grade first, those of one grade with the most severe fault first, else as given. Shots that
/// serve as reference of a replica are not of the load.
pub(super) fn groups<'a>(entries: &'a [PageEntry<'a>]) -> Vec<Group<'a>> {
    let references: BTreeSet<usize> = (0..entries.len()).flat_map(|at| references_of(entries, at)).collect();
    let mut groups: Vec<Group> = Vec::new();
    for (_, entry) in entries.iter().enumerate().filter(|(at, _)| !references.contains(at)) {
        let Some(reading) = entry.record.reading() else { continue };
        let joined = reading.views.as_ref();
        let same = |group: &&mut Group| {
            group
                .joined
                .zip(joined)
                .is_some_and(|(one, other)| (&one.piece, &one.firing) == (&other.piece, &other.firing))
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.views.push((reading, entry)),
            None => groups.push(Group { name: piece_name(reading), views: vec![(reading, entry)], joined }),
        }
    }
    groups.sort_by(|one, other| {
        one.grade().cmp(&other.grade()).then(other.severity().total_cmp(&one.severity()))
    });
    groups
}

/// The reference shots of a replica: a comparison is written with their records behind it, and these are told by their paths,
/// so that no other photograph of such a name is taken for one.
pub(super) fn references_of(entries: &[PageEntry], replica: usize) -> Vec<usize> {
    let comparison = entries[replica].record.reading().and_then(|reading| reading.comparison.as_ref());
    let Some(found) = comparison else { return Vec::new() };
    // A shot that could not be measured stands among them, and is told as such.
    let failed = |at: usize| entries[at].record.reading().is_none();
    let is_reference = |at: usize| {
        let alone = entries[at].record.reading().is_some_and(|reading| reading.comparison.is_none());
        alone && found.references.contains(&entries[at].record.photo().path)
    };
    let behind = (replica + 1..entries.len()).take_while(|at| failed(*at) || is_reference(*at));
    behind.filter(|at| is_reference(*at)).collect()
}

/// The piece's name: from the sheet, else the file's; with its number where the photograph holds several.
pub(super) fn piece_name(reading: &Reading) -> String {
    let named =
        reading.sheet.as_ref().and_then(|row| row.piece.clone()).filter(|name| !name.trim().is_empty());
    let name = named.unwrap_or_else(|| stem_of(Path::new(file_name_of(&reading.photo.path))));
    match reading.piece.count {
        0 | 1 => name,
        count => format!("{name}, piece {} of {count}", reading.piece.number),
    }
}

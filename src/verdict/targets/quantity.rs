//! What is measured, in which unit, on which surfaces, and what it can be: the one table.

use super::COLOURED;

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// L* of a surface.
    Lightness,
    /// C*ab of a surface.
    Chroma,
    /// Hue angle h_ab of a surface, degrees.
    Hue,
    /// Standard deviation of L* over a surface, shading removed: 0 is even.
    Evenness,
    /// L* of white less L* of black.
    DeltaLightness,
    /// CIEDE2000 between white and black.
    Ciede2000,
    /// Y of white over Y of black.
    ReflectanceRatio,
    /// Part of the paint that still reads black.
    RetainedFraction,
    /// Share of the piece under fire clouds.
    AreaFraction,
}

/// All there is to know of a quantity.
struct Facts {
    quantity: Quantity,
    name: &'static str,
    unit: &'static str,
    /// Surfaces that have it.
    surfaces: &'static [&'static str],
    /// Least and largest number that makes sense in a range.
    bounds: [f64; 2],
}

/// Units are written as in CIE 15 (`L*`, `C*ab`); `1` is a pure number. Hue takes 0 to 360.
const TABLE: [Facts; 9] = [
    facts(Quantity::Lightness, "lightness", "L*", &COLOURED, [0.0, 100.0]),
    facts(Quantity::Chroma, "chroma", "C*ab", &COLOURED, [0.0, 150.0]),
    facts(Quantity::Hue, "hue", "degree", &COLOURED, [0.0, 360.0]),
    facts(Quantity::Evenness, "evenness", "L*", &COLOURED, [0.0, 50.0]),
    facts(Quantity::DeltaLightness, "delta-lightness", "L*", &["contrast"], [-100.0, 100.0]),
    facts(Quantity::Ciede2000, "ciede2000", "CIEDE2000", &["contrast"], [0.0, 150.0]),
    facts(Quantity::ReflectanceRatio, "reflectance-ratio", "1", &["contrast"], [0.0, 1000.0]),
    facts(Quantity::RetainedFraction, "retained-fraction", "1", &["paint"], [0.0, 1.0]),
    facts(Quantity::AreaFraction, "area-fraction", "1", &["clouds"], [0.0, 1.0]),
];

const fn facts(
    quantity: Quantity,
    name: &'static str,
    unit: &'static str,
    surfaces: &'static [&'static str],
    bounds: [f64; 2],
) -> Facts {
    Facts { quantity, name, unit, surfaces, bounds }
}

impl Quantity {
    /// All quantities, in the order of the table.
    pub fn all() -> impl Iterator<Item = Self> {
        TABLE.iter().map(|facts| facts.quantity)
    }

    fn facts(self) -> &'static Facts {
        // The table lists the quantities in the order of the enum; a test holds that.
        &TABLE[self as usize]
    }

    /// The quantity of a name, such as `chroma`.
    pub fn from_name(name: &str) -> Option<Self> {
        TABLE.iter().find(|facts| facts.name == name).map(|facts| facts.quantity)
    }

    /// Its name in a target file.
    pub fn name(self) -> &'static str {
        self.facts().name
    }

    /// Its unit, as a target file states it.
    pub fn unit(self) -> &'static str {
        self.facts().unit
    }

    /// The surfaces that have it.
    pub fn surfaces(self) -> &'static [&'static str] {
        self.facts().surfaces
    }

    /// Least and largest number that makes sense in a range, in its unit.
    pub fn bounds(self) -> [f64; 2] {
        self.facts().bounds
    }

    /// Whether it is a share of a whole, 0 to 1.
    pub fn is_fraction(self) -> bool {
        matches!(self, Self::RetainedFraction | Self::AreaFraction)
    }
}

/// All surfaces that a range can be for, each once.
pub(super) fn surfaces() -> Vec<&'static str> {
    let mut names: Vec<&str> = Vec::new();
    for name in TABLE.iter().flat_map(|facts| facts.surfaces) {
        if !names.contains(name) {
            names.push(name);
        }
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_the_order_of_the_enum() {
        for (i, facts) in TABLE.iter().enumerate() {
            assert_eq!(facts.quantity as usize, i);
            assert_eq!(Quantity::from_name(facts.name), Some(facts.quantity));
        }
        assert_eq!(surfaces().len(), 8);
    }
}

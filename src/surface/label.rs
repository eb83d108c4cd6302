//! The labels, the same numbers in every file and picture.

/// What a place is. The numbers are a contract.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
#[repr(u8)]
pub enum Label {
    /// Not the piece.
    #[default]
    Background = 0,
    /// White slip, unpainted.
    White = 1,
    /// Red slip or rubbed-in ochre.
    Red = 2,
    /// Organic paint that still reads dark.
    Black = 3,
    /// Bare brown clay.
    Body = 4,
    /// The reference card with its frame.
    Card = 5,
    /// Paint was laid here and under half its contrast is left.
    LostPaint = 6,
    /// Mirror-like shine; never measured.
    Glare = 7,
    /// Fire cloud.
    Cloud = 8,
    /// Less than 0.15 of the piece's mean light.
    Shade = 9,
    /// Blackened as a whole on purpose.
    Smudged = 10,
    /// A pale matte ball laid beside the piece.
    Ball = 11,
    /// On the piece, not decided.
    Unclear = 12,
}

impl Label {
    /// All labels, by number.
    pub const ALL: [Label; 13] = [
        Label::Background,
        Label::White,
        Label::Red,
        Label::Black,
        Label::Body,
        Label::Card,
        Label::LostPaint,
        Label::Glare,
        Label::Cloud,
        Label::Shade,
        Label::Smudged,
        Label::Ball,
        Label::Unclear,
    ];
    /// Name in records, tables and legends.
    pub fn name(self) -> &'static str {
        [
            "background",
            "white",
            "red",
            "black",
            "body",
            "card",
            "lost-paint",
            "glare",
            "cloud",
            "shade",
            "smudged",
            "ball",
            "unclear",
        ][self as usize]
    }
    /// Whether the place belongs to a piece.
    pub fn on_piece(self) -> bool {
        !matches!(self, Label::Background | Label::Card | Label::Ball)
    }
}

//! Putting right by hand: a local page on which outline and map can be mended.
//!
//! Not built yet; nothing is here. What can be put right today is told on the command line: the card's corners,
//! patches to leave out, and the outline of the piece.

//! Finding the card.

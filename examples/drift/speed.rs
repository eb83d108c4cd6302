//! Time and charts; filled in below.
pub fn speed() {}
pub fn charts(_: &str) {}

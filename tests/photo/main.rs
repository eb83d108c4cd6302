//! The photo stage from outside: files made here in memory, and a few small ones in `data/photo`.

mod bad_input;
mod exif_facts;
mod gain_map;
mod make;
mod pixels;
mod profiles;
mod upright;

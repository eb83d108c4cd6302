//! The road for one photograph.

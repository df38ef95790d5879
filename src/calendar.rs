//! Working days.

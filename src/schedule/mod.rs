//! Reads schedules.

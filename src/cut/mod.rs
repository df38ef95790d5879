//! Cutting panels from stock lengths.

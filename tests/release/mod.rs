//! Pieces, releases, holds and drawings: what is required, what has gone, what is to be ordered.

mod drawings;
mod hold;
mod pieces;
mod property;
mod released;
mod rows;

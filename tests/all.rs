//! The one integration test binary: a module a subject.

mod deck;
mod weight;

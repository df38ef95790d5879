//! The one integration test binary: a module a subject.

mod catalogue;
mod length;
mod schedule;
mod support;

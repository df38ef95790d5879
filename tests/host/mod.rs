//! The script host: shops' scripts, mistakes in them, attacks by them.

mod attacks;
mod builtins;
mod calculator;
mod direct;
mod doubts;
mod explain;
mod mistakes;
mod reference;
mod signatures;
mod testing;

//! Maps that are looked up a million times and never listed.

use std::collections::HashMap;
use std::hash::BuildHasher;

/// A map with a quick hash, the same in every run.
pub type QuickMap<K, V> = HashMap<K, V, Quick>;

#[derive(Clone)]
pub struct Quick(ahash::RandomState);

impl Default for Quick {
    fn default() -> Quick {
        // The first digits of pi, so that nobody has to wonder.
        Quick(ahash::RandomState::with_seeds(
            0x243f_6a88_85a3_08d3,
            0x1319_8a2e_0370_7344,
            0xa409_3822_299f_31d0,
            0x082e_fa98_ec4e_6c89,
        ))
    }
}

impl BuildHasher for Quick {
    type Hasher = ahash::AHasher;

    fn build_hasher(&self) -> ahash::AHasher {
        self.0.build_hasher()
    }
}

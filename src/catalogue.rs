//! Profiles, gauges, finishes, steel grades and concrete mixes.
//!
//! In: the bundled file `templates/catalogue.toml` and, where a shop has one, the shop's file laid
//! over it by key. Out: entries found by what people type, or the near misses.

mod entries;
mod file;
mod lookup;

pub use entries::{
    Finish, Gauge, Grade, Mix, Profile, Published, Section, Unshored, Use, depth_text,
};
pub use file::BadEntry;
pub use lookup::Miss;

use indexmap::IndexMap;

/// The bundled catalogue's text.
pub const BUNDLED: &str = include_str!("../templates/catalogue.toml");
/// The name under which the bundled catalogue is cited.
pub const BUNDLED_FILE: &str = "catalogue.toml (bundled)";

/// All that is known of profiles, gauges, finishes, grades and mixes.
#[derive(Clone, Debug, Default)]
pub struct Catalogue {
    /// The entries as their files state them, kept for laying a shop's file over them.
    stated: IndexMap<String, file::Stated>,
    profiles: Vec<Profile>,
    gauges: Vec<Gauge>,
    finishes: Vec<Finish>,
    grades: Vec<Grade>,
    mixes: Vec<Mix>,
}

impl Catalogue {
    /// The bundled catalogue.
    #[must_use]
    pub fn bundled() -> Catalogue {
        // A test reads the bundled file, so that it can not be wrong here.
        Catalogue::default().with_shop(BUNDLED, BUNDLED_FILE).unwrap_or_default()
    }

    /// This catalogue with a file laid over it: entries of a known key change the fields they
    /// state, others are added. Refused: what is no such file, each entry at fault named.
    pub fn with_shop(&self, text: &str, file_name: &str) -> Result<Catalogue, Vec<BadEntry>> {
        file::lay_over(self, text, file_name)
    }

    /// The profiles, one a use, in the order of the files.
    #[must_use]
    pub fn profiles(&self) -> &[Profile] {
        &self.profiles
    }

    #[must_use]
    pub fn gauges(&self) -> &[Gauge] {
        &self.gauges
    }

    #[must_use]
    pub fn finishes(&self) -> &[Finish] {
        &self.finishes
    }

    #[must_use]
    pub fn grades(&self) -> &[Grade] {
        &self.grades
    }

    #[must_use]
    pub fn mixes(&self) -> &[Mix] {
        &self.mixes
    }
}

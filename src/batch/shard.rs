//! A part of a batch, for clusters that run many.

use std::fmt;
use std::num::NonZeroUsize;
use std::str::FromStr;

/// The i-th of n parts: every n-th schedule of the list, from the i-th on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Shard {
    part: NonZeroUsize,
    of: NonZeroUsize,
}

impl Shard {
    #[must_use]
    pub fn new(part: usize, of: usize) -> Option<Shard> {
        let shard = Shard { part: NonZeroUsize::new(part)?, of: NonZeroUsize::new(of)? };
        (shard.part <= shard.of).then_some(shard)
    }

    #[must_use]
    pub fn of(self) -> usize {
        self.of.get()
    }

    /// Whether the schedule at that place, from 0, is this part's.
    #[must_use]
    pub fn takes(self, at: usize) -> bool {
        at % self.of.get() == self.part.get() - 1
    }

    /// The part that a file name ends with, `-2-of-10`, before its ending.
    #[must_use]
    pub fn of_name(stem: &str) -> Option<Shard> {
        let (head, of) = stem.rsplit_once("-of-")?;
        let (_, part) = head.rsplit_once('-')?;
        Shard::new(part.parse().ok()?, of.parse().ok()?)
    }
}

/// As file names end: `2-of-10`.
impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-of-{}", self.part, self.of)
    }
}

/// `2/10`.
impl FromStr for Shard {
    type Err = String;

    fn from_str(text: &str) -> Result<Shard, String> {
        let parts = text.split_once('/');
        let numbers = parts
            .and_then(|(part, of)| Shard::new(part.trim().parse().ok()?, of.trim().parse().ok()?));
        numbers.ok_or_else(|| "wanted a part and the number of parts, 1/10 to 10/10".to_owned())
    }
}

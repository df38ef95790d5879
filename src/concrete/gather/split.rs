//! Where a bay that one day can not take is divided: at panel edges.
//!
//! In: the panel edges across a bay, and the share of it that one day takes. Out: shares that add
//! up to the bay.

use crate::length::Length;

/// The panel edges across a bay and its twins, one after the other.
pub(super) struct PanelEdges {
    width: Length,
    cover: Length,
    panels: i64,
    copies: i64,
}

/// A division of a bay.
pub(super) struct Split {
    pub shares: Vec<f64>,
    /// No piece is over a day.
    pub within: bool,
}

impl PanelEdges {
    /// `None` where there is no width or cover, or more panels than a day's work could be of.
    pub(super) fn new(width: Length, cover: Length, copies: i64) -> Option<PanelEdges> {
        const MOST: i64 = 1_000_000;
        let panels = width.count_to_cover(cover)?;
        let edges = PanelEdges { width, cover, panels, copies };
        (panels > 0 && copies > 0 && edges.count()? <= MOST).then_some(edges)
    }

    fn count(&self) -> Option<i64> {
        self.panels.checked_mul(self.copies)
    }

    /// The share of the bay up to the edge after so many panels.
    fn share(&self, panels: i64) -> f64 {
        let (copies, rest) = (panels / self.panels, panels % self.panels);
        let width = self.width * copies + self.cover * rest;
        width.in_feet() / (self.width * self.copies).in_feet()
    }
}

/// Divides a bay into as few pieces as fit a day's share, as even as the edges let them be.
pub(super) fn pieces(edges: &PanelEdges, day_share: f64) -> Split {
    let panels = edges.count().unwrap_or(1);
    let fits = |from: i64, to: i64| edges.share(to) - edges.share(from) <= day_share + 1e-9;
    let mut full = vec![0];
    let mut from = 0;
    for edge in 1..panels {
        if !fits(from, edge + 1) {
            full.push(edge);
            from = edge;
        }
    }
    full.push(panels);
    let even = even(edges, panels, full.len() - 1);
    let within = |cuts: &[i64]| cuts.windows(2).all(|pair| fits(pair[0], pair[1]));
    let cuts = if within(&even) { even } else { full };
    Split {
        shares: cuts.windows(2).map(|pair| edges.share(pair[1]) - edges.share(pair[0])).collect(),
        within: within(&cuts),
    }
}

/// The edges nearest to an even division.
fn even(edges: &PanelEdges, panels: i64, count: usize) -> Vec<i64> {
    let mut cuts = vec![0];
    let mut edge = 0;
    for piece in 1..count {
        #[allow(clippy::cast_precision_loss, reason = "at most a million")]
        let aim = piece as f64 / count as f64;
        while edge + 1 < panels && edges.share(edge + 1) <= aim {
            edge += 1;
        }
        let (before, after) = (aim - edges.share(edge), edges.share(edge + 1) - aim);
        cuts.push(if after < before { edge + 1 } else { edge });
    }
    cuts.push(panels);
    cuts
}

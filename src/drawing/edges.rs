//! The outer edges of bays that lie side by side.
//!
//! In: outlines in feet. Out: the stretches that only one of them has, and their length.

use std::collections::BTreeMap;

use super::level::Place;

/// Edges nearer than this are one, in parts of a foot.
const PARTS_A_FOOT: f64 = 12.0;

/// A stretch of outer edge.
pub(super) type Stretch = (Place, Place);

/// The outer edges, in a fixed order, and their length, ft.
pub(super) fn outer<'a>(outlines: impl Iterator<Item = &'a [Place]>) -> (Vec<Stretch>, f64) {
    let mut straight: BTreeMap<(bool, i64), Vec<(f64, f64)>> = BTreeMap::new();
    let mut skew: BTreeMap<[i64; 4], (Stretch, usize)> = BTreeMap::new();
    for outline in outlines {
        let mut last = outline.last();
        for corner in outline {
            let Some(before) = last.replace(corner) else { continue };
            let (from, to) = (key(*before), key(*corner));
            if from == to {
                continue;
            }
            if from.0 == to.0 {
                straight
                    .entry((true, from.0))
                    .or_default()
                    .push(sorted(before.north, corner.north));
            } else if from.1 == to.1 {
                straight.entry((false, from.1)).or_default().push(sorted(before.east, corner.east));
            } else {
                let (a, b) = (from.min(to), from.max(to));
                let entry = skew.entry([a.0, a.1, b.0, b.1]).or_insert(((*before, *corner), 0));
                entry.1 += 1;
            }
        }
    }
    let mut stretches = Vec::new();
    for ((upright, at), edges) in straight {
        #[allow(
            clippy::cast_precision_loss,
            reason = "an inch grid of a few hundred thousand feet"
        )]
        let at = at as f64 / PARTS_A_FOOT;
        let place = |along: f64| {
            let (east, north) = if upright { (at, along) } else { (along, at) };
            Place { east, north }
        };
        stretches.extend(single(&edges).into_iter().map(|(from, to)| (place(from), place(to))));
    }
    stretches.extend(skew.into_values().filter(|(_, times)| *times == 1).map(|(edge, _)| edge));
    let length = stretches.iter().map(|(a, b)| (b.east - a.east).hypot(b.north - a.north)).sum();
    (stretches, length)
}

#[allow(clippy::cast_possible_truncation, reason = "casts saturate; places are bounded before")]
fn key(place: Place) -> (i64, i64) {
    let part = |feet: f64| (feet * PARTS_A_FOOT).round() as i64;
    (part(place.east), part(place.north))
}

fn sorted(one: f64, other: f64) -> (f64, f64) {
    (one.min(other), one.max(other))
}

/// The stretches of a line that exactly one of its edges covers.
fn single(edges: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut turns: Vec<(f64, i32)> =
        edges.iter().flat_map(|(from, to)| [(*from, 1), (*to, -1)]).collect();
    turns.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut stretches: Vec<(f64, f64)> = Vec::new();
    let mut depth = 0;
    for pair in turns.windows(2) {
        let [(from, step), (to, _)] = pair else { continue };
        depth += step;
        if depth != 1 || to - from < 1.0 / PARTS_A_FOOT {
            continue;
        }
        match stretches.last_mut().filter(|last| last.1 == *from) {
            Some(last) => last.1 = *to,
            None => stretches.push((*from, *to)),
        }
    }
    stretches
}

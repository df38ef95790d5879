//! One span or overhang: its loads, and its moments, shears and deflections piece by piece.
//!
//! A piece runs between places where a load starts or stops; on it the shear is a line, the moment
//! a quadratic and the deflection a quartic.

use super::polynomial::{At, Polynomial};
use crate::value::Refusal;

/// A load that acts down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Load {
    /// On the whole member, force per length.
    Uniform(f64),
    /// From one place to another, force per length.
    Partial { from: f64, to: f64, w: f64 },
    /// At one place.
    Point { at: f64, p: f64 },
}

/// A span or overhang with its loads; places count from its left end.
#[derive(Clone, Debug, PartialEq)]
pub struct Member {
    pub length: f64,
    pub ei: f64,
    pub loads: Vec<Load>,
}

/// The sum of a member's loads and their moment about its left end.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Totals {
    pub force: f64,
    pub moment: f64,
}

impl Member {
    #[must_use]
    pub fn new(length: f64, ei: f64) -> Member {
        Member { length, ei, loads: Vec::new() }
    }

    pub(super) fn check(&self, name: impl Fn() -> String) -> Result<(), Refusal> {
        let positive = |value: f64| value.is_finite() && value > 0.0;
        if !positive(self.length) {
            return Err(Refusal::new(name(), self.length, "a length above 0"));
        }
        if !positive(self.ei) {
            return Err(Refusal::new(format!("{}.ei", name()), self.ei, "a stiffness above 0"));
        }
        let inside = |place: f64| place >= 0.0 && place <= self.length;
        for load in &self.loads {
            let (sound, place) = match *load {
                Load::Uniform(w) => (w.is_finite(), 0.0),
                Load::Partial { from, to, w } => {
                    (w.is_finite() && inside(from) && inside(to) && from <= to, from)
                }
                Load::Point { at, p } => (p.is_finite() && inside(at), at),
            };
            if !sound {
                let wanted = format!("a finite load from 0 to {} along its member", self.length);
                return Err(Refusal::new(format!("{}.loads", name()), place, wanted));
            }
        }
        Ok(())
    }

    pub(super) fn totals(&self) -> Totals {
        let mut totals = Totals::default();
        for load in &self.loads {
            let (force, lever) = match *load {
                Load::Uniform(w) => (w * self.length, self.length / 2.0),
                Load::Partial { from, to, w } => (w * (to - from), f64::midpoint(from, to)),
                Load::Point { at, p } => (p, at),
            };
            totals.force += force;
            totals.moment += force * lever;
        }
        totals
    }

    /// The end rotations of the member simply supported, left and right, both positive where a
    /// downward load opens the joint.
    pub(super) fn end_rotations(&self) -> (f64, f64) {
        let length = self.length;
        let scale = 1.0 / (6.0 * self.ei * length);
        let mut sum = (0.0, 0.0);
        for load in &self.loads {
            let (left, right) = match *load {
                Load::Uniform(w) => {
                    let each = w * length.powi(4) / 4.0;
                    (each, each)
                }
                Load::Partial { from, to, w } => {
                    let left = |x: f64| x * x * (length * length - length * x + 0.25 * x * x);
                    let right = |x: f64| x * x * (0.5 * length * length - 0.25 * x * x);
                    (w * (left(to) - left(from)), w * (right(to) - right(from)))
                }
                Load::Point { at, p } => {
                    let rest = length - at;
                    (p * at * rest * (length + rest), p * at * rest * (length + at))
                }
            };
            sum.0 += left * scale;
            sum.1 += right * scale;
        }
        sum
    }
}

/// A stretch of a member under one uniform load; places on it count from `from`.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Piece {
    from: f64,
    length: f64,
    w: f64,
    shear: f64,
    moment: f64,
    slope: f64,
    deflection: f64,
}

impl Piece {
    fn moments(&self) -> Polynomial {
        Polynomial([self.moment, self.shear, -self.w / 2.0, 0.0, 0.0])
    }

    fn deflections(&self, ei: f64) -> Polynomial {
        Polynomial([
            self.deflection,
            self.slope,
            -self.moment / (2.0 * ei),
            -self.shear / (6.0 * ei),
            self.w / (24.0 * ei),
        ])
    }
}

/// A member under its loads.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    length: f64,
    ei: f64,
    pieces: Vec<Piece>,
}

impl Run {
    pub(super) fn between_supports(member: &Member, moment: f64, shear: f64) -> Run {
        let mut run = Run::from_left(member, moment, shear, 0.0);
        run.turn(-run.end().deflection / member.length, 0.0);
        run
    }

    pub(super) fn from_support(member: &Member, moment: f64, shear: f64, slope: f64) -> Run {
        Run::from_left(member, moment, shear, slope)
    }

    /// An overhang whose support, at its right end, turns by `slope`.
    pub(super) fn to_support(member: &Member, slope: f64) -> Run {
        let mut run = Run::from_left(member, 0.0, 0.0, 0.0);
        run.turn(slope - run.end().slope, 0.0);
        run.turn(0.0, -run.end().deflection);
        run
    }

    fn from_left(member: &Member, moment: f64, shear: f64, slope: f64) -> Run {
        let mut places = vec![0.0, member.length];
        for load in &member.loads {
            match *load {
                Load::Uniform(_) => {}
                Load::Partial { from, to, .. } => places.extend([from, to]),
                Load::Point { at, .. } => places.push(at),
            }
        }
        if places.len() > 2 {
            places.sort_unstable_by(f64::total_cmp);
            places.dedup();
        }
        let mut piece =
            Piece { from: 0.0, length: 0.0, w: 0.0, shear, moment, slope, deflection: 0.0 };
        let mut pieces = Vec::with_capacity(places.len() - 1);
        for pair in places.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            (piece.from, piece.length, piece.w) = (from, to - from, 0.0);
            for load in &member.loads {
                match *load {
                    Load::Uniform(w) => piece.w += w,
                    Load::Partial { from: first, to: last, w } if first <= from && last >= to => {
                        piece.w += w;
                    }
                    Load::Point { at, p } if at == from => piece.shear -= p,
                    Load::Partial { .. } | Load::Point { .. } => {}
                }
            }
            pieces.push(piece);
            piece = after(&piece, member.ei);
        }
        Run { length: member.length, ei: member.ei, pieces }
    }

    fn turn(&mut self, slope: f64, deflection: f64) {
        for piece in &mut self.pieces {
            piece.slope += slope;
            piece.deflection += deflection + slope * piece.from;
        }
    }

    fn end(&self) -> Piece {
        let empty = Piece {
            from: 0.0,
            length: 0.0,
            w: 0.0,
            shear: 0.0,
            moment: 0.0,
            slope: 0.0,
            deflection: 0.0,
        };
        self.pieces.last().map_or(empty, |piece| after(piece, self.ei))
    }

    fn piece_at(&self, place: f64) -> Option<(&Piece, f64)> {
        let index = self.pieces.partition_point(|piece| piece.from <= place).max(1) - 1;
        self.pieces.get(index).map(|piece| (piece, place - piece.from))
    }

    #[must_use]
    pub fn length(&self) -> f64 {
        self.length
    }

    #[must_use]
    pub fn start_slope(&self) -> f64 {
        self.pieces.first().map_or(0.0, |piece| piece.slope)
    }

    #[must_use]
    pub fn end_slope(&self) -> f64 {
        self.end().slope
    }

    /// Shear just right of the left end.
    #[must_use]
    pub fn start_shear(&self) -> f64 {
        self.pieces.first().map_or(0.0, |piece| piece.shear)
    }

    /// Shear just left of the right end.
    #[must_use]
    pub fn end_shear(&self) -> f64 {
        self.end().shear
    }

    #[must_use]
    pub fn moment_at(&self, place: f64) -> f64 {
        self.piece_at(place).map_or(0.0, |(piece, s)| piece.moments().at(s))
    }

    #[must_use]
    pub fn deflection_at(&self, place: f64) -> f64 {
        self.piece_at(place).map_or(0.0, |(piece, s)| piece.deflections(self.ei).at(s))
    }

    /// The greatest sagging moment.
    #[must_use]
    pub fn greatest_moment(&self) -> At {
        self.extreme(|piece| piece.moments().greatest(0.0, piece.length), 1.0)
    }

    /// The greatest hogging moment, as a negative value.
    #[must_use]
    pub fn least_moment(&self) -> At {
        self.extreme(|piece| piece.moments().least(0.0, piece.length), -1.0)
    }

    /// The greatest downward deflection.
    #[must_use]
    pub fn greatest_deflection(&self) -> At {
        self.extreme(|piece| piece.deflections(self.ei).greatest(0.0, piece.length), 1.0)
    }

    /// The greatest upward deflection, as a negative value.
    #[must_use]
    pub fn least_deflection(&self) -> At {
        self.extreme(|piece| piece.deflections(self.ei).least(0.0, piece.length), -1.0)
    }

    /// The greatest shear without regard to sign; it stands at an end of a piece.
    #[must_use]
    pub fn greatest_shear(&self) -> f64 {
        self.pieces
            .iter()
            .map(|piece| piece.shear.abs().max((piece.shear - piece.w * piece.length).abs()))
            .fold(0.0, f64::max)
    }

    /// The deflection averaged over the length.
    #[must_use]
    pub fn mean_deflection(&self) -> f64 {
        let sum: f64 = self
            .pieces
            .iter()
            .map(|piece| piece.deflections(self.ei).integral(0.0, piece.length))
            .sum();
        sum / self.length
    }

    fn extreme(&self, of: impl Fn(&Piece) -> At, sign: f64) -> At {
        let mut best: Option<At> = None;
        for piece in &self.pieces {
            let At { place, value } = of(piece);
            if best.is_none_or(|best| sign * value > sign * best.value) {
                best = Some(At { place: piece.from + place, value });
            }
        }
        best.unwrap_or_default()
    }
}

/// The state at a piece's right end.
fn after(piece: &Piece, ei: f64) -> Piece {
    let s = piece.length;
    Piece {
        from: piece.from + s,
        shear: piece.shear - piece.w * s,
        moment: piece.moments().at(s),
        slope: piece.deflections(ei).derivative().at(s),
        deflection: piece.deflections(ei).at(s),
        ..*piece
    }
}

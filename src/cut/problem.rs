//! What is to be cut from what: pieces, stock, kerf, and the checks on them.
//!
//! In: pieces and stock as listed, in any order, with repeats. Out: a [`Problem`] with every
//! length once, longest first, in exact units, or a refusal that names the entry.
//!
//! Kerf convention: one kerf between neighbouring pieces, and one more behind the last piece
//! unless that piece ends exactly at the end of the bar. So a bar of length `L` gives `n` pieces if
//! their sum and `n - 1` kerfs are `L`, or if their sum and `n` kerfs are at most `L`.

use std::cmp::Reverse;

use crate::length::Length;
use crate::value::Refusal;

/// No plan is made for more distinct piece lengths than this.
pub const MOST_PIECE_LENGTHS: usize = 200;
/// No plan is made for more pieces than this.
pub const MOST_PIECES: i64 = 1_000_000;
/// No plan is made from more distinct stock lengths than this.
pub const MOST_STOCK_LENGTHS: usize = 24;

/// Pieces of one length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    pub length: Length,
    pub count: i64,
}

/// Bars of one length; `available` is `None` where there is no limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stock {
    pub length: Length,
    pub available: Option<i64>,
}

/// A checked problem in exact units, pieces and stock longest first, each length once.
#[derive(Clone, Debug)]
pub(super) struct Problem {
    pub lengths: Vec<i64>,
    pub counts: Vec<u32>,
    pub stocks: Vec<Bar>,
    pub kerf: i64,
}

/// Bars of one length in exact units.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bar {
    pub length: i64,
    pub limit: Option<u32>,
}

impl Problem {
    /// Refuses lengths and counts that are no positive numbers, a piece that no bar yields, and
    /// problems beyond the stated sizes.
    pub fn new(pieces: &[Piece], stock: &[Stock], kerf: Length) -> Result<Problem, Refusal> {
        if kerf < Length::ZERO {
            return Err(Refusal::new("kerf_in", kerf.as_inches_text(), "a kerf of 0 in or more"));
        }
        if kerf > Length::LONGEST {
            return Err(Refusal::new("kerf_in", kerf.as_inches_text(), "a kerf up to 100,000 ft"));
        }
        let (lengths, counts) = merge_pieces(pieces)?;
        let stocks = merge_stock(stock, counts.iter().sum())?;
        let problem = Problem { lengths, counts, stocks, kerf: kerf.exact() };
        problem.refuse_pieces_that_fit_no_bar(pieces)?;
        Ok(problem)
    }

    /// What a piece takes of a bar with the kerf behind it.
    pub fn taken(&self, length: usize) -> i64 {
        self.lengths[length] + self.kerf
    }

    /// Whether pieces that take so much, kerfs included, fit a bar.
    pub fn fits(&self, taken: i64, stock: usize) -> bool {
        let bar = self.stocks[stock].length;
        taken <= bar || taken == bar + self.kerf
    }

    /// The length of the longest bar.
    pub fn longest_bar(&self) -> i64 {
        self.stocks.first().map_or(0, |bar| bar.length)
    }

    fn refuse_pieces_that_fit_no_bar(&self, pieces: &[Piece]) -> Result<(), Refusal> {
        let fits_some = |length: Length| {
            (0..self.stocks.len()).any(|stock| self.fits(length.exact() + self.kerf, stock))
        };
        let longest = Length::from_exact(self.longest_bar());
        let shortest = pieces.iter().enumerate().min_by_key(|(_, piece)| piece.length);
        if let Some((index, piece)) = shortest
            && longest < piece.length
        {
            return Err(Refusal::new(
                "stock",
                format!("at most {longest} long"),
                format!(
                    "a stock length of at least the shortest piece, `pieces[{index}]` of {}",
                    piece.length
                ),
            ));
        }
        let Some(index) = pieces.iter().position(|piece| !fits_some(piece.length)) else {
            return Ok(());
        };
        let length = pieces[index].length;
        let wanted = if length > longest {
            format!("a length up to the longest stock length, {longest}")
        } else {
            let kerf = Length::from_exact(self.kerf).as_inches_text();
            format!("the length of a bar, or one that leaves room for a kerf of {kerf}")
        };
        Err(Refusal::new(format!("pieces[{index}].length_ft"), length, wanted))
    }
}

fn check_length(list: &str, index: usize, length: Length) -> Result<(), Refusal> {
    let argument = || format!("{list}[{index}].length_ft");
    if !length.is_positive() {
        return Err(Refusal::new(argument(), length, "a length above 0 ft"));
    }
    if length > Length::LONGEST {
        return Err(Refusal::new(argument(), length, "a length up to 100,000 ft"));
    }
    Ok(())
}

fn merge_pieces(pieces: &[Piece]) -> Result<(Vec<i64>, Vec<u32>), Refusal> {
    if pieces.is_empty() {
        return Err(Refusal::new("pieces", "empty", "at least one piece"));
    }
    let mut total: i64 = 0;
    for (index, piece) in pieces.iter().enumerate() {
        check_length("pieces", index, piece.length)?;
        if piece.count <= 0 {
            let argument = format!("pieces[{index}].count");
            return Err(Refusal::new(argument, piece.count, "a count of 1 or more"));
        }
        total = total.saturating_add(piece.count);
    }
    if total > MOST_PIECES {
        let found = format!("{total} pieces");
        return Err(Refusal::new("pieces", found, format!("at most {MOST_PIECES} pieces")));
    }
    let mut sorted: Vec<&Piece> = pieces.iter().collect();
    sorted.sort_by_key(|piece| Reverse(piece.length));
    let (mut lengths, mut counts): (Vec<i64>, Vec<u32>) = (Vec::new(), Vec::new());
    for piece in sorted {
        let count = u32::try_from(piece.count).unwrap_or(u32::MAX);
        match counts.last_mut() {
            Some(last) if lengths.last() == Some(&piece.length.exact()) => *last += count,
            _ => {
                lengths.push(piece.length.exact());
                counts.push(count);
            }
        }
    }
    if lengths.len() > MOST_PIECE_LENGTHS {
        let found = format!("{} different lengths", lengths.len());
        let wanted = format!("at most {MOST_PIECE_LENGTHS} different lengths");
        return Err(Refusal::new("pieces", found, wanted));
    }
    Ok((lengths, counts))
}

/// No plan has more bars than pieces, so a larger limit is cut down to the count of pieces.
fn merge_stock(stock: &[Stock], pieces: u32) -> Result<Vec<Bar>, Refusal> {
    if stock.is_empty() {
        return Err(Refusal::new("stock", "empty", "at least one stock length"));
    }
    let mut sorted = Vec::with_capacity(stock.len());
    for (index, bars) in stock.iter().enumerate() {
        check_length("stock", index, bars.length)?;
        let limit = match bars.available {
            None => None,
            Some(available) if available >= 0 => {
                Some(u32::try_from(available).unwrap_or(u32::MAX).min(pieces))
            }
            Some(available) => {
                let argument = format!("stock[{index}].available");
                let wanted = "a count of 0 or more, or blank where there is no limit";
                return Err(Refusal::new(argument, available, wanted));
            }
        };
        sorted.push(Bar { length: bars.length.exact(), limit });
    }
    sorted.sort_by_key(|bar| Reverse(bar.length));
    let mut merged: Vec<Bar> = Vec::new();
    for bar in sorted {
        match merged.last_mut() {
            Some(last) if last.length == bar.length => {
                last.limit = match (last.limit, bar.limit) {
                    (Some(one), Some(other)) => Some(one.saturating_add(other).min(pieces)),
                    _ => None,
                };
            }
            _ => merged.push(bar),
        }
    }
    if merged.len() > MOST_STOCK_LENGTHS {
        let found = format!("{} different lengths", merged.len());
        let wanted = format!("at most {MOST_STOCK_LENGTHS} different lengths");
        return Err(Refusal::new("stock", found, wanted));
    }
    Ok(merged)
}

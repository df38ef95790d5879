//! Bytes changed by chance, from fixed seeds.
#![allow(dead_code, reason = "each test module uses its part")]

/// A small generator of numbers: xorshift.
pub struct Numbers(u64);

impl Numbers {
    /// The numbers of a round of a test: the same whenever it runs.
    pub fn of_round(round: u64) -> Numbers {
        let mut numbers = Numbers(0x9e37_79b9_7f4a_7c15 ^ (round + 1));
        for _ in 0..8 {
            numbers.next();
        }
        numbers
    }

    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// A number below `most`; 0 where there is none.
    pub fn below(&mut self, most: usize) -> usize {
        usize::try_from(self.next() % (most.max(1) as u64)).unwrap()
    }
}

/// Cuts, doubles, overwrites or flips: one change of a kind by chance.
pub fn mutate(bytes: &mut Vec<u8>, numbers: &mut Numbers) {
    match numbers.below(8) {
        0 => bytes.truncate(numbers.below(bytes.len())),
        1 => {
            let (from, to) = (numbers.below(bytes.len()), numbers.below(bytes.len()));
            let piece = bytes.get(from.min(to)..from.max(to)).unwrap_or_default().to_vec();
            let at = numbers.below(bytes.len());
            bytes.splice(at..at, piece.into_iter().take(4096));
        }
        2 => {
            let at = numbers.below(bytes.len());
            let value = [0, 0xff, 0x7f, 0x80][numbers.below(4)];
            for byte in bytes.iter_mut().skip(at).take(4) {
                *byte = value;
            }
        }
        3 => {
            // Digits become many, where there are digits.
            let at = numbers.below(bytes.len());
            if let Some(found) = bytes.iter().skip(at).position(u8::is_ascii_digit) {
                let digits = b"99999999999"[..=numbers.below(10)].to_vec();
                bytes.splice(at + found..=at + found, digits);
            }
        }
        _ => {
            for _ in 0..=numbers.below(8) {
                let at = numbers.below(bytes.len());
                if let Some(byte) = bytes.get_mut(at) {
                    *byte ^= 1 << numbers.below(8);
                }
            }
        }
    }
}

//! What a workbook may ask of memory and time, how the command line names each limit, and what is
//! said of a workbook that asks for more.

use std::str::FromStr;

/// A limit by which reading is bounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    File,
    Sheet,
    Text,
    Part,
    Parts,
    Value,
    Rows,
    Cells,
    Rectangle,
    Seconds,
}

/// What a workbook may ask of memory and time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file.
    pub file_bytes: u64,
    /// Bytes of one worksheet when unpacked.
    pub sheet_bytes: u64,
    /// Bytes of the shared texts when unpacked, and of the texts that stand in the cells.
    pub text_bytes: u64,
    /// Bytes of any other part of the workbook when unpacked: styles, relations …
    pub part_bytes: u64,
    /// Parts of the archive that a workbook is.
    pub parts: u64,
    /// Bytes of one value.
    pub value_bytes: u64,
    /// Rows with content, all sheets together.
    pub rows: u64,
    /// Cells with content, all sheets together.
    pub cells: u64,
    /// Cells of the smallest rectangles around the sheets' contents, all sheets together, in the
    /// formats that are read as rectangles (xls, ods).
    pub rectangle_cells: u64,
    /// Seconds that reading may take.
    pub seconds: u64,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            file_bytes: 100 << 20,
            sheet_bytes: 1 << 30,
            text_bytes: 64 << 20,
            part_bytes: 8 << 20,
            parts: 10_000,
            value_bytes: 256 << 10,
            rows: 500_000,
            cells: 10_000_000,
            rectangle_cells: 2_000_000,
            seconds: 120,
        }
    }
}

impl Limits {
    /// Sets a limit to so many of the units in which its name counts.
    pub fn set(&mut self, setting: Setting) {
        let (limit, number) = (setting.limit, setting.number);
        *limit.of(self) = number.saturating_mul(limit.scale());
    }
}

impl Limit {
    pub const ALL: [Limit; 10] = [
        Limit::File,
        Limit::Sheet,
        Limit::Text,
        Limit::Part,
        Limit::Parts,
        Limit::Value,
        Limit::Rows,
        Limit::Cells,
        Limit::Rectangle,
        Limit::Seconds,
    ];

    /// Its name on the command line.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Limit::File => "file-mb",
            Limit::Sheet => "sheet-mb",
            Limit::Text => "text-mb",
            Limit::Part => "part-mb",
            Limit::Parts => "parts",
            Limit::Value => "value-kb",
            Limit::Rows => "rows",
            Limit::Cells => "cells",
            Limit::Rectangle => "rectangle-cells",
            Limit::Seconds => "seconds",
        }
    }

    const fn about(self) -> &'static str {
        match self {
            Limit::File => "the file",
            Limit::Sheet => "a worksheet, unpacked",
            Limit::Text => "all texts",
            Limit::Part => "any other part, unpacked",
            Limit::Parts => "parts of the archive",
            Limit::Value => "one value",
            Limit::Rows => "rows with content",
            Limit::Cells => "cells with content",
            Limit::Rectangle => "first filled cell to last, all sheets together, xls and ods",
            Limit::Seconds => "time to read",
        }
    }

    /// Bytes, or things counted, in one of its units.
    const fn scale(self) -> u64 {
        match self {
            Limit::File | Limit::Sheet | Limit::Text | Limit::Part => 1 << 20,
            Limit::Value => 1 << 10,
            _ => 1,
        }
    }

    /// The most it can be raised to, in its units.
    const fn most(self) -> u64 {
        match self {
            // Archives are unpacked with offsets of 32 bits.
            Limit::File | Limit::Sheet | Limit::Text | Limit::Part => 2_000,
            Limit::Parts => 60_000,
            Limit::Value => 1 << 20,
            Limit::Rows | Limit::Cells | Limit::Rectangle => 1_000_000_000,
            Limit::Seconds => 1_000_000,
        }
    }

    const fn of(self, limits: &mut Limits) -> &mut u64 {
        match self {
            Limit::File => &mut limits.file_bytes,
            Limit::Sheet => &mut limits.sheet_bytes,
            Limit::Text => &mut limits.text_bytes,
            Limit::Part => &mut limits.part_bytes,
            Limit::Parts => &mut limits.parts,
            Limit::Value => &mut limits.value_bytes,
            Limit::Rows => &mut limits.rows,
            Limit::Cells => &mut limits.cells,
            Limit::Rectangle => &mut limits.rectangle_cells,
            Limit::Seconds => &mut limits.seconds,
        }
    }

    /// What it is set to, in its units.
    const fn set_to(self, mut limits: Limits) -> u64 {
        *self.of(&mut limits) / self.scale()
    }

    /// What to do about a workbook that is over it.
    fn hint(self, limits: &Limits) -> String {
        const DELETE: &str = "delete what does not belong into the workbook";
        let more = self.set_to(*limits).saturating_mul(2).clamp(1, self.most());
        if more <= self.set_to(*limits) {
            return DELETE.to_owned();
        }
        format!("{DELETE}, or raise the limit: `--limit {}={more}`", self.name())
    }

    /// Every limit with what it bounds and what it is by default, for the command line's help.
    #[must_use]
    pub fn list() -> String {
        let limits = Limits::default();
        let each = Limit::ALL.map(|l| format!("{} {} ({})", l.name(), l.set_to(limits), l.about()));
        each.join(", ")
    }
}

/// A limit as the command line sets it: `rows=1000000`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Setting {
    limit: Limit,
    number: u64,
}

impl FromStr for Setting {
    type Err = String;

    fn from_str(text: &str) -> Result<Setting, String> {
        let (name, number) = text.split_once('=').ok_or("wanted NAME=N, such as rows=1000000")?;
        let limit = Limit::ALL.into_iter().find(|limit| limit.name() == name).ok_or_else(|| {
            let names = Limit::ALL.map(Limit::name).join(", ");
            format!("no limit has the name `{name}`; known are {names}")
        })?;
        match number.parse() {
            Ok(number) if (1..=limit.most()).contains(&number) => Ok(Setting { limit, number }),
            _ => Err(format!(
                "`{number}` is no number of `{name}`, wanted one from 1 to {}",
                limit.most()
            )),
        }
    }
}

/// Why a workbook is refused: to follow the file's name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    pub why: String,
    /// The limit that it is over.
    pub over: Option<Limit>,
}

impl Refused {
    pub fn over(limit: Limit, why: String) -> Refused {
        Refused { why, over: Some(limit) }
    }

    /// The finding's code and hint.
    pub fn code_and_hint(&self, limits: &Limits) -> (&'static str, String) {
        if let Some(limit) = self.over {
            return ("over-limit", limit.hint(limits));
        }
        let hint = if self.why.contains("encrypted") {
            "open it with its password and save it without one"
        } else {
            "open it in a spreadsheet program and save it as a workbook (.xlsx)"
        };
        ("no-workbook", hint.to_owned())
    }
}

impl From<String> for Refused {
    fn from(why: String) -> Refused {
        Refused { why, over: None }
    }
}

impl From<&str> for Refused {
    fn from(why: &str) -> Refused {
        Refused::from(why.to_owned())
    }
}

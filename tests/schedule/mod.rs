//! Reading schedules: sheets, headings, typed cells, decks, levels, findings.

mod messages;
mod people;
mod reading;

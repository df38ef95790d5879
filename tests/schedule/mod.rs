//! Reading schedules: sheets, headings, typed cells, decks, levels, findings.

mod hostile;
mod limits;
mod messages;
mod mutated;
mod people;
mod reading;

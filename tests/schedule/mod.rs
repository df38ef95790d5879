//! Reading schedules: sheets, headings, typed cells, decks, levels, findings.

mod hostile;
mod limits;
mod messages;
mod mutated;
mod names;
mod people;
mod reading;
mod strips;

//! Reading schedules: sheets, headings, typed cells, decks, levels, findings.

mod asked;
mod halves;
mod headings;
mod hostile;
mod limits;
mod lines;
mod listed;
mod messages;
mod mutated;
mod names;
mod nothing;
mod people;
mod printed;
mod reading;
mod said;
mod strips;

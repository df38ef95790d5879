//! What holds the project together: floors, documents, the top level.

mod floors;
mod readme;

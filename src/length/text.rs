//! Lengths as people type them.
use super::*;
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Typed {
    pub length: Length,
    pub half_digit: Length,
}
pub type Widths = Vec<Vec<Typed>>;
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ParseError {
    pub message: String,
    pub hint: Option<String>,
}
pub fn parse(_t: &str, _u: Unit) -> Result<Typed, ParseError> {
    todo!()
}
pub fn parse_list(_t: &str, _u: Unit) -> Result<Vec<Typed>, ParseError> {
    todo!()
}
pub fn parse_widths(_t: &str, _u: Unit) -> Result<Widths, ParseError> {
    todo!()
}

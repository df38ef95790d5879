//! Dates typed as text: what can be read in one way only is read, all else is asked about.

use jiff::civil::Date;

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// Reads a date; the error says what is wrong with it, to follow the text.
pub fn parse(text: &str) -> Result<Date, String> {
    let day_part = text.split(['T', ' ']).next().unwrap_or_default();
    if let Ok(date) = day_part.parse::<Date>() {
        return Ok(date);
    }
    let parts: Vec<&str> = text
        .split(|c: char| !c.is_alphanumeric())
        .filter(|part| !part.is_empty() && !is_weekday(part))
        .collect();
    let [first, second, third] = parts.as_slice() else {
        return Err("is no date".to_owned());
    };
    if let Some(month) = month_named(first) {
        return day_month_year(number(second)?, month, third);
    }
    if let Some(month) = month_named(second) {
        return day_month_year(number(first)?, month, third);
    }
    let (a, b) = (number(first)?, number(second)?);
    if first.len() == 4 {
        return date(i64::from(a), b, number(third)?);
    }
    match (a, b) {
        (1..=12, 1..=12) if a != b => {
            Err("may be read with the month or with the day first".to_owned())
        }
        (1..=12, _) => day_month_year(b, a, third),
        _ => day_month_year(a, b, third),
    }
}

fn is_weekday(part: &str) -> bool {
    const DAYS: [&str; 7] =
        ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let part = part.to_lowercase();
    part.len() >= 3 && DAYS.iter().any(|day| day.starts_with(&part))
}

fn month_named(part: &str) -> Option<u32> {
    let part = part.to_lowercase();
    if part.len() < 3 || !part.chars().all(char::is_alphabetic) {
        return None;
    }
    let month = MONTHS
        .iter()
        .position(|month| month.starts_with(&part) || part == "sept" && *month == "september")?;
    u32::try_from(month + 1).ok()
}

fn number(part: &str) -> Result<u32, String> {
    let digits = part.trim_end_matches(|c: char| c.is_alphabetic());
    digits.parse().map_err(|_| "is no date".to_owned())
}

fn day_month_year(day: u32, month: u32, year: &str) -> Result<Date, String> {
    let number = number(year)?;
    let year = if year.len() <= 2 { i64::from(number) + 2000 } else { i64::from(number) };
    date(year, month, day)
}

fn date(year: i64, month: u32, day: u32) -> Result<Date, String> {
    let parts = (i16::try_from(year), i8::try_from(month), i8::try_from(day));
    match parts {
        (Ok(year), Ok(month), Ok(day)) if (1900..=2200).contains(&year) => {
            Date::new(year, month, day).map_err(|_| "is no day of the calendar".to_owned())
        }
        _ => Err("is no day of the calendar".to_owned()),
    }
}

//! Federal holidays against a table of published dates.

use baytally::calendar::holiday::{holidays, observed_on};
use baytally::calendar::shop::Calendar;
use baytally::calendar::working::is_working_day;
use jiff::civil::Date;

use super::date;

/// The days on which the holidays of a year are observed, as the Office of Personnel Management
/// lists them (from memory; the years it has not yet listed by the same rule, by hand).
const OBSERVED: &str = "\
2024 01-01 01-15 02-19 05-27 06-19 07-04 09-02 10-14 11-11 11-28 12-25
2025 01-01 01-20 02-17 05-26 06-19 07-04 09-01 10-13 11-11 11-27 12-25
2026 01-01 01-19 02-16 05-25 06-19 07-03 09-07 10-12 11-11 11-26 12-25
2027 01-01 01-18 02-15 05-31 06-18 07-05 09-06 10-11 11-11 11-25 12-24
2028 2027-12-31 01-17 02-21 05-29 06-19 07-04 09-04 10-09 11-10 11-23 12-25
2029 01-01 01-15 02-19 05-28 06-19 07-04 09-03 10-08 11-12 11-22 12-25
2030 01-01 01-21 02-18 05-27 06-19 07-04 09-02 10-14 11-11 11-28 12-25
2031 01-01 01-20 02-17 05-26 06-19 07-04 09-01 10-13 11-11 11-27 12-25
2032 01-01 01-19 02-16 05-31 06-18 07-05 09-06 10-11 11-11 11-25 12-24
2033 2032-12-31 01-17 02-21 05-30 06-20 07-04 09-05 10-10 11-11 11-24 12-26
2034 01-02 01-16 02-20 05-29 06-19 07-04 09-04 10-09 11-10 11-23 12-25
2035 01-01 01-15 02-19 05-28 06-19 07-04 09-03 10-08 11-12 11-22 12-25";

/// Each year with its observed days.
fn published() -> Vec<(i64, Vec<Date>)> {
    let years: Vec<_> = OBSERVED
        .lines()
        .map(|line| {
            let (year, days) = line.split_once(' ').unwrap();
            let day = |text: &str| match text.len() {
                5 => date(&format!("{year}-{text}")),
                _ => date(text),
            };
            (year.parse().unwrap(), days.split(' ').map(day).collect::<Vec<_>>())
        })
        .collect();
    assert_eq!(years.len(), 12);
    assert!(years.iter().all(|(_, days)| days.len() == 11));
    years
}

#[test]
fn observed_days_as_published() {
    for (year, wanted) in published() {
        let found: Vec<Date> =
            holidays(year).unwrap().into_iter().map(|holiday| holiday.observed).collect();
        assert_eq!(found, wanted, "{year}");
        for day in wanted {
            assert!(observed_on(day).is_some(), "{day}");
            assert!(!is_working_day(day, None).unwrap(), "{day}");
        }
    }
}

/// Every day that is neither a weekend nor in the table is worked.
#[test]
fn no_other_day_is_closed() {
    let closed: Vec<Date> = published().into_iter().flat_map(|(_, days)| days).collect();
    let calendar = Calendar::default();
    let worked = calendar.days(date("2024-01-01"), date("2035-12-31")).count();
    let mut weekdays = 0;
    let mut day = date("2024-01-01");
    while day <= date("2035-12-31") {
        if day.weekday().to_monday_zero_offset() < 5 {
            weekdays += 1;
            assert_eq!(calendar.is_working_day(day), !closed.contains(&day), "{day}");
        }
        day = day.tomorrow().unwrap();
    }
    assert_eq!(worked, weekdays - closed.len());
}

#[test]
fn juneteenth_since_2021_and_no_inauguration_day() {
    let names = |year| -> Vec<&str> {
        holidays(year).unwrap().into_iter().map(|holiday| holiday.name).collect()
    };
    assert_eq!(names(2020).len(), 10);
    assert_eq!(names(2021).len(), 11);
    assert_eq!(names(2021)[4], "Juneteenth National Independence Day");
    // 2021-01-20 was Inauguration Day.
    assert!(is_working_day(date("2021-01-20"), None).unwrap());
    assert_eq!(
        holidays(1900).unwrap_err().to_string(),
        "`year` is 1900, wanted a year from 2000 to 2100"
    );
}

//! Reading, writing and moving dates.

use std::sync::Arc;

use baytally::calendar::day::{self, add_days, days_between, iso, week_start, weekday};
use jiff::civil::Date;
use proptest::prelude::*;

use super::date;

#[test]
fn the_same_day_in_three_notations() {
    for text in ["2026-03-02", "3/2/2026", "03/02/26", " 2026-03-02 "] {
        assert_eq!(iso(date(text)), "2026-03-02", "{text}");
    }
    assert_eq!(weekday(date("2026-03-02")), "Monday");
    assert_eq!(iso(week_start(date("2026-03-08")).unwrap()), "2026-03-02");
    assert_eq!(iso(week_start(date("2026-03-02")).unwrap()), "2026-03-02");
    assert_eq!(iso(week_start(date("2000-01-01")).unwrap()), "1999-12-27");
    assert_eq!(iso(add_days(date("2028-02-28"), 2).unwrap()), "2028-03-01");
    assert_eq!(days_between(date("2026-01-01"), date("2027-01-01")), 365);
}

#[test]
fn what_is_no_date_of_a_job_is_refused() {
    for text in [
        "",
        "soon",
        "2026-02-30",
        "2026-13-01",
        "1900-01-00",
        "1900-01-01",
        "1/0/1900",
        "2101-01-01",
        "02-03-2026",
        "2026/03/02",
        "26-03-02",
        "2026-+3-02",
        "2026-03-02T08:00",
        "--",
        "//",
    ] {
        let refusal = day::date(Arc::from(text)).unwrap_err().to_string();
        assert_eq!(
            refusal,
            format!(
                "`text` is {text:?}, wanted a date from 2000 to 2100, as \"2026-03-02\" or \
                 \"3/2/2026\""
            )
        );
    }
    assert_eq!(
        week_start(Date::new(1900, 1, 1).unwrap()).unwrap_err().to_string(),
        "`date` is 1900-01-01, wanted a date from 2000-01-01 to 2100-12-31"
    );
    assert_eq!(
        add_days(date("2100-12-31"), 1).unwrap_err().to_string(),
        "`days` is 1, wanted a count that stays from 2000-01-01 to 2100-12-31"
    );
}

proptest! {
    #[test]
    fn no_text_panics(text in "[0-9/ -]{0,12}") {
        if let Ok(found) = day::date(Arc::from(text.as_str())) {
            prop_assert_eq!(date(&iso(found)), found);
        }
    }

    #[test]
    fn days_on_and_back(start in 0i64..36_000, days in -2_000i64..2_000) {
        let start = add_days(date("2000-01-01"), start).unwrap();
        if let Ok(later) = add_days(start, days) {
            prop_assert_eq!(days_between(start, later), days);
        }
    }
}

//! Working days of a shop.

use std::fmt::Write;

use baytally::calendar::day::{FIRST, LAST};
use baytally::calendar::shop::Calendar;
use baytally::calendar::working::{
    add_working_days, is_working_day, next_working_day, weather_days, why_closed, working_days,
};
use baytally::value::Value;
use jiff::civil::Date;
use proptest::prelude::*;

use super::{date, days, record};

/// July 2026: the 4th is a Saturday, observed on Friday the 3rd.
#[test]
fn round_a_moved_holiday() {
    let why = |text: &str| why_closed(date(text), None).unwrap();
    assert_eq!(why("2026-07-02"), None);
    assert_eq!(why("2026-07-03").as_deref(), Some("Independence Day (observed)"));
    assert_eq!(why("2026-07-04").as_deref(), Some("Saturday"));
    assert_eq!(why("2026-11-26").as_deref(), Some("Thanksgiving Day"));
    assert_eq!(next_working_day(date("2026-07-02"), None).unwrap(), date("2026-07-02"));
    assert_eq!(next_working_day(date("2026-07-03"), None).unwrap(), date("2026-07-06"));
    let add = |days| add_working_days(date("2026-07-03"), days, None).unwrap();
    assert_eq!(add(0), date("2026-07-06"));
    assert_eq!(add(1), date("2026-07-06"));
    assert_eq!(add(2), date("2026-07-07"));
    assert_eq!(add(-1), date("2026-07-02"));
    assert_eq!(add_working_days(date("2027-12-30"), 1, None).unwrap(), date("2028-01-03"));
}

#[test]
fn a_shop_of_its_own_days() {
    let shop = record([
        ("weekend", Value::text("Sunday")),
        ("federal_holidays", Value::Bool(false)),
        ("closed", days(&["2026-07-02"])),
        ("weather", days(&["2026-07-01"])),
        ("worked", days(&["2026-07-05"])),
    ]);
    let why = |text: &str| why_closed(date(text), shop.clone()).unwrap();
    assert_eq!(why("2026-07-01").as_deref(), Some("weather day"));
    assert_eq!(why("2026-07-02").as_deref(), Some("closed"));
    assert_eq!(why("2026-07-03"), None);
    assert_eq!(why("2026-07-04"), None);
    assert_eq!(why("2026-07-05"), None);
    assert_eq!(why("2026-07-12").as_deref(), Some("Sunday"));
    let days = working_days(date("2026-06-30"), date("2026-07-06"), shop).unwrap();
    let wanted = ["2026-06-30", "2026-07-03", "2026-07-04", "2026-07-05", "2026-07-06"];
    assert_eq!(days, wanted.map(date));
}

/// March 2026 has 22 working days; three lost ones fall on the 4th, 12th and 19th of them.
#[test]
fn weather_days_are_spread_through_the_month() {
    let lost = weather_days(2026, 3, 3, None).unwrap();
    assert_eq!(lost, ["2026-03-05", "2026-03-17", "2026-03-26"].map(date));
    assert_eq!(weather_days(2026, 3, 22, None).unwrap().len(), 22);
    assert!(weather_days(2026, 3, 0, None).unwrap().is_empty());
    assert_eq!(
        weather_days(2026, 3, 23, None).unwrap_err().to_string(),
        "`days` is 23, wanted a count from 0 to 22 working days"
    );
    assert_eq!(
        weather_days(2026, 13, 1, None).unwrap_err().to_string(),
        "`month` is 13, wanted a month from 1 to 12"
    );
}

#[test]
fn refusals_say_what_is_wrong() {
    let say = |calendar| is_working_day(date("2026-03-02"), calendar).unwrap_err().to_string();
    assert_eq!(
        say(record([("weekend", Value::text("Sundy"))])),
        "`calendar.weekend` is \"Sundy\", wanted a weekday, \"Monday\" to \"Sunday\" (perhaps \
         \"Sunday\")"
    );
    assert_eq!(
        say(record([("closd", days(&["2026-07-02"]))])),
        "`calendar.closd` is [2026-07-02], wanted one of the fields weekend, \
         federal_holidays, weather, closed, worked (perhaps `closed`)"
    );
    let closed = Value::List([Value::text("2026-07-02")].into());
    assert_eq!(
        say(record([("closed", closed)])),
        "`calendar.closed[0]` is \"2026-07-02\", wanted a date"
    );
    let all = baytally::calendar::day::WEEKDAYS.map(|(name, _)| Value::text(name));
    assert_eq!(
        say(record([("weekend", Value::List(all.into()))])),
        "`calendar.weekend` is the whole week, wanted at most six weekdays"
    );
    assert_eq!(
        next_working_day(Date::new(1900, 1, 1).unwrap(), None).unwrap_err().to_string(),
        "`date` is 1900-01-01, wanted a date from 2000-01-01 to 2100-12-31"
    );
    assert_eq!(
        add_working_days(date("2100-12-31"), 1, None).unwrap_err().to_string(),
        "`days` is 1, wanted a count up to 30,000 that stays from 2000-01-01 to 2100-12-31"
    );
}

/// Whether each day from 2024 to 2035 is worked, for tests/reference/federal_holidays.py to compare where
/// BAYTALLY_REFERENCE_DIR says where to put it.
#[test]
fn twelve_years_for_the_reference() {
    let calendar = Calendar::default();
    let mut text = String::from("date,worked\n");
    let (mut day, mut worked) = (date("2024-01-01"), 0);
    while day <= date("2035-12-31") {
        let works = calendar.is_working_day(day);
        worked += u32::from(works);
        writeln!(text, "{day},{}", u8::from(works)).unwrap();
        day = day.tomorrow().unwrap();
    }
    // 626 weeks and a Monday, less 12 times 11 observed holidays.
    assert_eq!((text.lines().count(), worked), (1 + 626 * 7 + 1, 626 * 5 + 1 - 132));
    if let Some(folder) = std::env::var_os("BAYTALLY_REFERENCE_DIR") {
        let folder = std::path::Path::new(&folder);
        std::fs::create_dir_all(folder).unwrap();
        std::fs::write(folder.join("working_days.csv"), text).unwrap();
    }
}

proptest! {
    #[test]
    fn on_and_back_meets_the_same_working_day(offset in 400i64..36_000, count in 1i64..200) {
        let calendar = Calendar::default();
        let start = baytally::calendar::day::add_days(FIRST, offset).unwrap();
        let start = calendar.on_or_after(start).unwrap();
        if let Some(later) = calendar.add(start, count) {
            prop_assert!(calendar.is_working_day(later) && later > start && later <= LAST);
            prop_assert_eq!(calendar.add(later, -count), Some(start));
            prop_assert_eq!(calendar.days(start, later).count(), usize::try_from(count).unwrap() + 1);
        }
    }
}

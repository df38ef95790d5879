//! Input of which no schedule can be made: the whole message.

use baytally::calendar::pour::schedule_pours;
use baytally::value::Value;
use jiff::civil::Date;

use super::{marks, pour, refused, settings};

#[test]
fn a_ring_of_pours_is_spelt() {
    let ring = [
        pour("P1", "2", [("after", marks(&["P3"]))]),
        pour("P2", "2", [("after", marks(&["P1"]))]),
        pour("P3", "2", [("after", marks(&["P2"]))]),
        pour("P4", "2", [("after", marks(&["P3"]))]),
    ];
    assert_eq!(
        refused(&ring, &settings("2026-03-02", [])),
        "`pours` is a ring, P1 -> P2 -> P3 -> P1, wanted an order of placing (each of these pours \
         is to be placed before the next)"
    );
    let own = [pour("P1", "2", [("after", marks(&["P1"]))])];
    assert_eq!(
        refused(&own, &settings("2026-03-02", [])),
        "`pours` is a ring, P1 -> P1, wanted an order of placing (each of these pours is to be \
         placed before the next)"
    );
}

/// The level order counts: level 2 waits for all of level 1.
#[test]
fn a_ring_through_the_level_order_is_spelt() {
    let pours = [pour("P1", "1", [("after", marks(&["P2"]))]), pour("P2", "2", [])];
    let levels = settings("2026-03-02", [("level_gap_days", Value::Count(0))]);
    assert_eq!(
        refused(&pours, &levels),
        "`pours` is a ring, P1 -> P2 -> P1, wanted an order of placing (each of these pours is to \
         be placed before the next)"
    );
    assert!(schedule_pours(pours.to_vec(), settings("2026-03-02", [])).is_ok());
}

#[test]
fn dates_that_are_none() {
    let say =
        |value| refused(&[pour("P1", "2", [("earliest", value)])], &settings("2026-03-02", []));
    assert_eq!(say(Value::text("2 March")), "`pours[0].earliest` is \"2 March\", wanted a date");
    assert_eq!(
        say(Value::Date(Date::new(1900, 1, 1).unwrap())),
        "`pours[0].earliest` is 1900-01-01, wanted a date from 2000-01-01 to 2100-12-31"
    );
}

#[test]
fn pours_without_bays_and_marks_that_are_not_there() {
    let say =
        |name, value| refused(&[pour("P1", "2", [(name, value)])], &settings("2026-03-02", []));
    assert_eq!(say("bays", marks(&[])), "`pours[0].bays` is empty, wanted at least one bay");
    assert_eq!(say("bays", Value::Blank), "`pours[0].bays` is empty, wanted at least one bay");
    assert_eq!(
        say("after", marks(&["P11"])),
        "`pours[0].after` is \"P11\", wanted the mark of a pour of the list (perhaps \"P1\")"
    );
    assert_eq!(
        refused(&[pour("P1", "2", []), pour("P1", "3", [])], &settings("2026-03-02", [])),
        "`pours[1].pour` is \"P1\" for the second time, wanted a mark of its own"
    );
    assert_eq!(
        say("pumps", Value::Count(2)),
        "`pours[0].pumps` is 2, wanted at most the 1 of the settings"
    );
}

#[test]
fn settings_out_of_range() {
    let say =
        |name, value| refused(&[pour("P1", "2", [])], &settings("2026-03-02", [(name, value)]));
    assert_eq!(
        say("laying_ft2_a_day", Value::Count(0)),
        "`settings.laying_ft2_a_day` is 0, wanted a laying rate above 0 ft2 a day"
    );
    assert_eq!(
        say("crews", Value::Count(0)),
        "`settings.crews` is 0, wanted a whole number from 1 to 1000"
    );
    assert_eq!(
        say("yd3_a_day", Value::Count(-1)),
        "`settings.yd3_a_day` is -1, wanted a volume above 0 yd3"
    );
    assert_eq!(
        say("crew", Value::Count(2)),
        "`settings.crew` is 2, wanted one of the fields start, calendar, yd3_a_day, ft2_a_day, \
         hours_a_day, laying_ft2_a_day, crews, pumps, after_laying_days, lead_days, \
         neighbour_gap_days, level_gap_days (perhaps `crews`)"
    );
    assert_eq!(
        say("start", Value::Blank),
        "`settings.start` is missing, wanted the first day for pouring, a date"
    );
}

/// A rate so low that the deck is not laid within the century.
#[test]
fn no_day_to_be_found() {
    let slow = settings("2026-03-02", [("laying_ft2_a_day", Value::Number(1e-9))]);
    assert_eq!(
        refused(&[pour("P1", "2", [("area_ft2", Value::Count(5_000))])], &slow),
        "`pours[0].deck_ft2` is 5000, wanted deck that is laid by 2100"
    );
    // Friday the 31st is the observed New Year's Day of 2101.
    let late = settings("2100-12-30", []);
    assert_eq!(
        refused(&[pour("P1", "2", []), pour("P2", "2", [])], &late),
        "`pours[1]` is \"P2\", wanted a date by 2100-12-31"
    );
}

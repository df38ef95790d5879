//! Trucks with their times, and how often concrete is sampled.

use std::sync::Arc;

use baytally::concrete::order::Way;
use baytally::concrete::sampling::{least_job_tests, strength_tests};
use baytally::concrete::truck::{Delivery, TruckTimes, clock, truck_times};
use baytally::value::{Record, Value};
use proptest::prelude::*;

use super::record;

/// 15.75 yd3 from 7:00 at 40 yd3/h, with more fields.
fn delivery<const N: usize>(more: [(&str, Value); N]) -> Arc<Record> {
    let mut fields = Record::clone(&record([
        ("order_yd3", Value::Number(15.75)),
        ("truck_yd3", Value::Count(10)),
        ("step_yd3", Value::Number(0.25)),
        ("start", Value::text("7:00")),
        ("placing_yd3_h", Value::Count(40)),
    ]));
    fields.extend(more.into_iter().map(|(name, value)| (Arc::from(name), value)));
    Arc::new(fields)
}

fn arrivals(times: &TruckTimes) -> Vec<(String, f64)> {
    times.loads.iter().map(|load| (clock(load.arrives_min), load.load_yd3)).collect()
}

#[test]
fn two_trucks_full_and_balanced() {
    let full = truck_times(delivery([])).unwrap();
    assert_eq!(arrivals(&full), [("07:00".to_owned(), 10.0), ("07:15".to_owned(), 5.75)]);
    assert_eq!((full.trucks, full.spacing_min, full.standby_min), (2, Some(15.0), 0.0));
    // 15.75 / 40 h = 23.625 min.
    assert_eq!(clock(full.end_min), "07:24");
    let balanced = truck_times(delivery([("loads", Value::text("balanced"))])).unwrap();
    assert_eq!(arrivals(&balanced), [("07:00".to_owned(), 8.0), ("07:12".to_owned(), 7.75)]);
}

/// The plant's 20 yd3/h bring a full truck every 30 min, of which the crew places 15 min.
#[test]
fn a_plant_slower_than_the_crew() {
    let slow = delivery([("plant_yd3_h", Value::Count(20)), ("order_yd3", Value::Count(30))]);
    let times = truck_times(slow).unwrap();
    assert_eq!(times.spacing_min, Some(30.0));
    assert_eq!(clock(times.end_min), "08:15");
    assert_eq!(
        times.notes,
        ["placing at 40 yd3/h outruns the plant's 20 yd3/h: the crew stands by 30 min in all"]
    );
    let fast = delivery([("plant_yd3_h", Value::Count(60)), ("order_yd3", Value::Count(30))]);
    let times = truck_times(fast).unwrap();
    assert_eq!((times.spacing_min, times.notes.len()), (Some(15.0), 0));
}

/// 80 min on the road and 15 min of placing are 95 min; the short balance takes 88.625 min.
#[test]
fn delivery_over_the_limit_and_short_loads() {
    let far = [("trip_min", Value::Count(80)), ("short_load_yd3", Value::Count(6))];
    let times = truck_times(delivery(far)).unwrap();
    assert_eq!(times.notes, ["truck 2 brings 5.75 yd3, under 6 yd3: a short-load charge is usual"]);
    assert_eq!(
        times.late.as_deref(),
        Some("truck 1 is empty 95 min after batching, over the limit of 90 min")
    );
    assert_eq!(clock(times.loads[0].batched_min), "05:40");
    let longer = [("trip_min", Value::Count(80)), ("limit_min", Value::Count(95))];
    let times = truck_times(delivery(longer)).unwrap();
    assert_eq!((times.notes.len(), times.late, times.past_midnight), (0, None, false));
    let night = delivery([("start", Value::text("23:50"))]);
    let times = truck_times(night).unwrap();
    assert_eq!(clock(times.end_min), "00:14 +1");
    assert!(times.past_midnight && times.notes.is_empty());
    assert_eq!(clock(-10.0), "23:50 -1");
}

#[test]
fn refusals_say_what_is_wrong() {
    let say = |name, value| truck_times(delivery([(name, value)])).unwrap_err().to_string();
    assert_eq!(
        say("placing_yd3_h", Value::Count(0)),
        "`pour.placing_yd3_h` is 0, wanted a rate from 0.1 to 10,000 yd3/h"
    );
    assert_eq!(
        say("truck_yd3", Value::Count(0)),
        "`pour.truck_yd3` is 0, wanted a truck size from 0.25 to 100 yd3"
    );
    assert_eq!(
        say("order_yd3", Value::Count(0)),
        "`pour.order_yd3` is 0, wanted a volume above 0, up to 100,000 yd3"
    );
    for start in ["7", "7:0", "24:00", "7:60", "7:00 am", "", ":", "x:yz"] {
        assert_eq!(
            say("start", Value::text(start)),
            format!("`pour.start` is {start:?}, wanted a time of day, \"7:00\" to \"23:59\"")
        );
    }
    assert_eq!(
        say("pacing_yd3_h", Value::Count(40)),
        "`pour.pacing_yd3_h` is 40, wanted one of the fields order_yd3, truck_yd3, step_yd3, \
         loads, start, placing_yd3_h, plant_yd3_h, trip_min, limit_min, short_load_yd3 (perhaps \
         `placing_yd3_h`)"
    );
}

/// ACI 318-19 26.12.2.1(a): a test each 150 yd3 and each 5,000 ft2, at least one a day.
#[test]
fn strength_tests_of_a_day() {
    let tests = |yd3, area_ft2| strength_tests(yd3, area_ft2, 150.0, 5_000.0).unwrap();
    assert_eq!(tests(310.0, 26_000.0), 6);
    assert_eq!(tests(80.0, 4_900.0), 1);
    assert_eq!(tests(80.0, 5_001.0), 2);
    assert_eq!(tests(310.0, 4_000.0), 3);
    assert_eq!(tests(0.0, 0.0), 0);
    assert_eq!(tests(0.5, 0.0), 1);
    assert_eq!(least_job_tests(3).unwrap(), 3);
    assert_eq!(least_job_tests(12).unwrap(), 5);
    assert_eq!(
        strength_tests(80.0, 900.0, 0.0, 5_000.0).unwrap_err().to_string(),
        "`yd3_per_test` is 0, wanted a volume from 1 to 10,000 yd3"
    );
}

proptest! {
    /// Trucks arrive in order, never before the one before is empty, and end by the order's hours.
    #[test]
    fn trucks_follow_each_other(
        quarters in 1u32..2_000, truck in 1u32..14, placing in 5.0..200.0f64,
        plant in prop::option::of(5.0..200.0f64), balanced in any::<bool>(),
    ) {
        let delivery = Delivery {
            order_yd3: f64::from(quarters) / 4.0,
            truck_yd3: f64::from(truck),
            step_yd3: 0.25,
            way: if balanced { Way::Balanced } else { Way::Full },
            start_min: 420.0,
            placing_yd3_h: placing,
            plant_yd3_h: plant,
            trip_min: 25.0,
            limit_min: 90.0,
            short_load_yd3: Some(4.0),
        };
        let times = delivery.times().unwrap();
        let sum: f64 = times.loads.iter().map(|load| load.load_yd3).sum();
        prop_assert!((sum - delivery.order_yd3).abs() < 1e-9);
        prop_assert!(times.loads.iter().all(|load| load.load_yd3 <= delivery.truck_yd3 + 1e-9));
        prop_assert!(times.loads.windows(2).all(|pair| pair[1].arrives_min >= pair[0].empty_min - 1e-6));
        let least = 420.0 + delivery.order_yd3 / placing * 60.0;
        prop_assert!(times.end_min >= least - 1e-6);
        prop_assert!((times.end_min - times.standby_min - least).abs() < 1e-6);
    }
}

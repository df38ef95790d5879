//! Order quantities and loads.

use std::sync::Arc;

use baytally::concrete::order::{Way, loads, loads_yd3, order_yd3, trucks};
use proptest::prelude::*;

/// 30 by 30 ft bays worked by hand: 11.806 yd3 with 5 %, 14.561 yd3 with 7 %, in quarter yards.
#[test]
fn worked_orders() {
    assert!((11.806 * 1.05 - 12.396_f64).abs() < 5e-4);
    assert_eq!(order_yd3(11.806, 0.05, 0.25).unwrap(), 12.5);
    assert!((14.561 * 1.07 - 15.580_f64).abs() < 5e-4);
    assert_eq!(order_yd3(14.561, 0.07, 0.25).unwrap(), 15.75);
    assert_eq!(trucks(15.75, 10.0).unwrap(), 2);
    assert_eq!(order_yd3(0.0, 0.05, 0.25).unwrap(), 0.0);
    assert_eq!(trucks(0.0, 10.0).unwrap(), 0);
}

/// What is a whole number of steps stays so, however it was summed.
#[test]
fn creep_orders_no_extra_step() {
    assert_eq!(order_yd3(12.5, 0.0, 0.25).unwrap(), 12.5);
    let crept = 2.2 + 5.9 + 4.4_f64;
    assert!(crept > 12.5);
    assert_eq!(order_yd3(crept, 0.0, 0.25).unwrap(), 12.5);
    assert_eq!(order_yd3(12.5 / 1.1, 0.1, 0.25).unwrap(), 12.5);
    assert_eq!(order_yd3(12.500_001, 0.0, 0.25).unwrap(), 12.75);
}

#[test]
fn full_and_balanced_loads() {
    let both = |order: f64, way: &str| loads_yd3(order, 10.0, 0.25, Arc::from(way)).unwrap();
    assert_eq!(both(15.75, "full"), [10.0, 5.75]);
    assert_eq!(both(15.75, "balanced"), [8.0, 7.75]);
    assert_eq!(both(35.75, "full"), [10.0, 10.0, 10.0, 5.75]);
    assert_eq!(both(35.75, "balanced"), [10.0, 10.0, 8.0, 7.75]);
    assert_eq!(both(20.0, "full"), [10.0, 10.0]);
    assert_eq!(both(20.0, "balanced"), [10.0, 10.0]);
    assert_eq!(both(4.5, "balanced"), [4.5]);
    assert!(both(0.0, "full").is_empty());
    // A drum of 10.1 yd3 sells 10 yd3 in quarter yards.
    assert_eq!(loads(20.5, 10.1, 0.25, Way::Full).unwrap(), [10.0, 10.0, 0.5]);
}

#[test]
fn refusals_say_what_is_wrong() {
    let say = |result: Result<f64, baytally::value::Refusal>| result.unwrap_err().to_string();
    assert_eq!(
        say(order_yd3(12.0, 5.0, 0.25)),
        "`waste` is 5, wanted a fraction from 0 to 1 (0.05 is 5 %)"
    );
    assert_eq!(
        say(order_yd3(-1.0, 0.05, 0.25)),
        "`net_yd3` is -1, wanted a volume from 0 to 1,000,000 yd3"
    );
    assert_eq!(
        say(order_yd3(12.0, 0.05, 0.0)),
        "`step_yd3` is 0, wanted an ordering step from 0.01 to 100 yd3"
    );
    assert_eq!(
        trucks(15.75, 0.0).unwrap_err().to_string(),
        "`truck_yd3` is 0, wanted a truck size from 0.25 to 100 yd3"
    );
    assert_eq!(
        trucks(1e6, 10.0).unwrap_err().to_string(),
        "`order_yd3` is 1000000, wanted at most 10000 trucks' worth"
    );
    assert_eq!(
        loads_yd3(15.75, 10.0, 0.25, Arc::from("even")).unwrap_err().to_string(),
        "`way` is \"even\", wanted \"full\" or \"balanced\""
    );
}

proptest! {
    #[test]
    fn loads_add_up_and_none_is_over_the_truck(
        steps in 0u32..4000, truck_steps in 4u32..60, step in prop::sample::select(vec![0.25, 0.5, 0.1, 1.0]),
    ) {
        let (order, truck) = (f64::from(steps) * step, f64::from(truck_steps) * step);
        for way in [Way::Full, Way::Balanced] {
            let found = loads(order, truck.max(0.25), step, way).unwrap();
            prop_assert!((found.iter().sum::<f64>() - order).abs() < 1e-9 * order.max(1.0));
            prop_assert!(found.iter().all(|load| *load > 0.0 && *load <= truck.max(0.25) + 1e-9));
            prop_assert!(found.windows(2).all(|pair| pair[0] + 1e-9 >= pair[1]));
            prop_assert_eq!(i64::try_from(found.len()).unwrap(), trucks(order, truck.max(0.25)).unwrap());
        }
    }

    #[test]
    fn an_order_covers_its_volume_with_less_than_a_step_to_spare(
        net in 0.0..5000.0f64, waste in 0.0..0.2f64, step in prop::sample::select(vec![0.25, 0.5, 1.0]),
    ) {
        let (order, needed) = (order_yd3(net, waste, step).unwrap(), net * (1.0 + waste));
        prop_assert!(order >= needed - 1e-5 && order < needed + step);
    }

    #[test]
    fn nothing_panics(a in any::<f64>(), b in any::<f64>(), c in any::<f64>()) {
        let _ = order_yd3(a, b, c);
        let _ = trucks(a, b);
        let _ = loads(a, b, c, Way::Balanced);
    }
}

//! What is ordered from the plant: net volume, waste, the plant's step, and the loads it comes in.
//!
//! In: volumes in yd3. Out: the order quantity, the count of trucks and the load of each.

use std::sync::Arc;

use crate::arguments::within;
use crate::builtin::Builtin;
use crate::value::Refusal;

pub const BUILTINS: &[Builtin] = &[
    builtin!(order_yd3(net_yd3, waste, step_yd3)),
    builtin!(trucks(order_yd3, truck_yd3)),
    builtin!(loads_yd3(order_yd3, truck_yd3, step_yd3, way)),
];

/// More loads than this for one pour are a slip of the pen.
const MOST_TRUCKS: f64 = 10_000.0;

const TRUCK: &str = "a truck size from 0.25 to 100 yd3";
const STEP: &str = "an ordering step from 0.01 to 100 yd3";
const ORDER: &str = "a volume from 0 to 1,000,000 yd3";

/// Order quantity: the net volume with its waste, rounded up to the plant's step. A volume within
/// a billionth of a whole number of steps counts as that number, so that what floating point adds
/// to 12.5 orders no extra step.
///
/// - net_yd3: volume in place, deflection and extras included, yd3, 0 to 1,000,000
/// - waste: waste and overage as a fraction of net_yd3, 0 to 1 (0.05 is 5 %)
/// - step_yd3: step in which the plant sells, yd3, 0.01 to 100
///
/// Gives: order quantity, yd3.
/// Source: common practice, no source.
/// Example: `concrete::order_yd3(11.806, 0.05, 0.25)` = 12.5
pub fn order_yd3(net_yd3: f64, waste: f64, step_yd3: f64) -> Result<f64, Refusal> {
    within("net_yd3", net_yd3, ORDER, |net| (0.0..=1e6).contains(&net))?;
    let fraction = "a fraction from 0 to 1 (0.05 is 5 %)";
    within("waste", waste, fraction, |waste| (0.0..=1.0).contains(&waste))?;
    within("step_yd3", step_yd3, STEP, |step| (0.01..=100.0).contains(&step))?;
    Ok(steps_up(net_yd3 * (1.0 + waste), step_yd3) * step_yd3)
}

/// Trucks that bring an order, each loaded up to its size.
///
/// - order_yd3: order quantity, yd3, 0 to 1,000,000
/// - truck_yd3: what one truck brings, yd3, 0.25 to 100
///
/// Gives: count of trucks.
/// Source: geometry.
/// Example: `concrete::trucks(15.75, 10)` = 2
pub fn trucks(order_yd3: f64, truck_yd3: f64) -> Result<i64, Refusal> {
    within("truck_yd3", truck_yd3, TRUCK, |truck| (0.25..=100.0).contains(&truck))?;
    within("order_yd3", order_yd3, ORDER, |order| (0.0..=1e6).contains(&order))?;
    let count = steps_up(order_yd3, truck_yd3);
    let wanted = format!("at most {MOST_TRUCKS} trucks' worth");
    within("order_yd3", order_yd3, &wanted, |_| count <= MOST_TRUCKS)?;
    #[allow(clippy::cast_possible_truncation, reason = "whole and at most MOST_TRUCKS")]
    Ok(count as i64)
}

/// What each truck of an order brings, in the order of arrival; the loads add up to the order.
///
/// - order_yd3: order quantity, yd3, 0 to 1,000,000
/// - truck_yd3: what one truck brings, yd3, 0.25 to 100, rounded down to a step
/// - step_yd3: step in which the plant sells, yd3, 0.01 to truck_yd3
/// - way: "full" for full loads and a balance to be called after measuring, "balanced" for full
///   loads and then two that share the rest, the larger first
///
/// Gives: list of loads, yd3.
/// Source: common practice, no source.
/// Example: `concrete::loads_yd3(15.75, 10, 0.25, "balanced")` = [8.0, 7.75]
pub fn loads_yd3(
    order_yd3: f64,
    truck_yd3: f64,
    step_yd3: f64,
    way: Arc<str>,
) -> Result<Vec<f64>, Refusal> {
    loads(order_yd3, truck_yd3, step_yd3, Way::named("way", &way)?)
}

/// How an order is divided into loads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Full loads and a balance.
    Full,
    /// Full loads and then two that share the rest.
    Balanced,
}

impl Way {
    /// The way of that name.
    pub fn named(argument: &str, name: &str) -> Result<Way, Refusal> {
        match name {
            "full" => Ok(Way::Full),
            "balanced" => Ok(Way::Balanced),
            _ => Err(Refusal::new(argument, format!("{name:?}"), "\"full\" or \"balanced\"")),
        }
    }
}

/// [`loads_yd3`] with the way as a value.
pub fn loads(order_yd3: f64, truck_yd3: f64, step_yd3: f64, way: Way) -> Result<Vec<f64>, Refusal> {
    trucks(order_yd3, truck_yd3)?;
    let step = "an ordering step from 0.01 yd3 to the truck size";
    within("step_yd3", step_yd3, step, |step| (0.01..=truck_yd3).contains(&step))?;
    let full_yd3 = steps_down(truck_yd3, step_yd3) * step_yd3;
    let count = steps_up(order_yd3, full_yd3);
    let wanted = format!("at most {MOST_TRUCKS} trucks' worth");
    within("order_yd3", order_yd3, &wanted, |_| count <= MOST_TRUCKS)?;
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole, from 0 to MOST_TRUCKS"
    )]
    let count = count as usize;
    let mut loads = vec![full_yd3; count];
    if let Some(last) = loads.last_mut() {
        *last = rest(order_yd3, full_yd3, count - 1).min(full_yd3);
    }
    if let (Way::Balanced, [.., larger, last]) = (way, loads.as_mut_slice()) {
        let both_yd3 = *larger + *last;
        *larger = steps_up(both_yd3 / 2.0, step_yd3) * step_yd3;
        *last = both_yd3 - *larger;
    }
    Ok(loads)
}

/// What is left of an order after so many full loads.
fn rest(order_yd3: f64, full_yd3: f64, full_loads: usize) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "at most MOST_TRUCKS")]
    let full_loads = full_loads as f64;
    order_yd3 - full_loads * full_yd3
}

/// Whole steps that cover a volume. Within a billionth of a whole number counts as whole.
fn steps_up(volume: f64, step: f64) -> f64 {
    let steps = volume / step;
    if is_whole(steps) { steps.round() } else { steps.ceil() }
}

/// Whole steps that fit into a volume, with the same guard.
fn steps_down(volume: f64, step: f64) -> f64 {
    let steps = volume / step;
    if is_whole(steps) { steps.round() } else { steps.floor() }
}

fn is_whole(steps: f64) -> bool {
    const CREEP: f64 = 1e-9;
    (steps - steps.round()).abs() <= CREEP * steps.abs().max(1.0)
}

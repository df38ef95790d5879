//! Trucks of a pour: when each is batched, arrives and is empty.
//!
//! In: the order, the trucks, the first arrival and the rates. Out: a load a truck with its times,
//! the spacing, the end of placing, and notes on short loads, delivery time and standing by.

use std::cell::RefCell;
use std::sync::Arc;

use super::order::{Way, loads};
use crate::arguments::{Fields, within};
use crate::builtin::Builtin;
use crate::value::{IntoValue, Record, Refusal, Value};

pub const BUILTINS: &[Builtin] = &[builtin!(truck_times(pour))];

const MIN_PER_H: f64 = 60.0;
const MIN_PER_DAY: f64 = 24.0 * MIN_PER_H;

/// What the times of a pour's trucks follow from.
#[derive(Clone, Debug, PartialEq)]
pub struct Delivery {
    pub order_yd3: f64,
    pub truck_yd3: f64,
    pub step_yd3: f64,
    pub way: Way,
    /// Arrival of the first truck, minutes after midnight.
    pub start_min: f64,
    pub placing_yd3_h: f64,
    /// What the plant brings; none for any amount.
    pub plant_yd3_h: Option<f64>,
    /// From batching to arrival.
    pub trip_min: f64,
    /// The purchaser's limit from batching to the end of discharge.
    pub limit_min: f64,
    /// Below this a load is called short; none for no note.
    pub short_load_yd3: Option<f64>,
}

/// One truck's load. Times are minutes after midnight.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    pub truck: i64,
    pub load_yd3: f64,
    pub batched_min: f64,
    pub arrives_min: f64,
    pub empty_min: f64,
    /// From batching to the end of discharge.
    pub age_min: f64,
}

/// A pour's trucks. Times are minutes after midnight.
#[derive(Clone, Debug, PartialEq)]
pub struct TruckTimes {
    pub order_yd3: f64,
    pub trucks: i64,
    /// Between the first two trucks; none with fewer.
    pub spacing_min: Option<f64>,
    pub first_min: f64,
    pub last_min: f64,
    pub end_min: f64,
    pub placing_h: f64,
    /// What the crew waits for trucks in all.
    pub standby_min: f64,
    pub notes: Vec<String>,
    /// Which truck is empty later than the limit; none where each is within it.
    pub late: Option<String>,
    pub past_midnight: bool,
    pub loads: Vec<Load>,
}

/// Times of the trucks of a pour: each arrives as the one before it is empty, or as the plant can
/// bring it.
///
/// - pour: record with order_yd3 (yd3, above 0), truck_yd3 (yd3), step_yd3 (yd3), loads ("full" by
///   default or "balanced"), start (arrival of the first truck, "7:00"), placing_yd3_h (yd3/h,
///   above 0), plant_yd3_h (what the plant brings, yd3/h; blank: any amount), trip_min (batching to
///   arrival, min, 0 by default), limit_min (batching to the end of discharge, min, 90 by
///   default), short_load_yd3 (below it a load is called short, yd3; blank: none)
///
/// Gives: record with order_yd3, trucks, spacing_min, first, last and end ("hh:mm"), placing_h,
/// standby_min, notes (list of text), late (text: a truck empty later than the limit; blank: none),
/// past_midnight and loads, a list of records with truck, load_yd3, batched,
/// arrives and empty ("hh:mm"), arrives_min (minutes after midnight) and age_min.
/// Source: definition; 90 min: ASTM C94 up to 2017, since then the purchaser's to state.
/// Example: `concrete::truck_times(#{order_yd3: 15.75, truck_yd3: 10, step_yd3: 0.25, start: "7:00", placing_yd3_h: 40}).last` = "07:15"
pub fn truck_times(pour: Arc<Record>) -> Result<TruckTimes, Refusal> {
    Delivery::from_record("pour", &pour)?.times()
}

impl Delivery {
    /// The delivery that a record describes.
    pub fn from_record(argument: &str, record: &Record) -> Result<Delivery, Refusal> {
        let mut fields = Fields::new(argument, record);
        let volume = "a volume above 0, up to 100,000 yd3";
        let minutes = "a time from 0 to 1,440 min";
        let is_volume = |v: f64| v > 0.0 && v <= 1e5;
        let is_time = |t: f64| (0.0..=MIN_PER_DAY).contains(&t);
        let delivery = Delivery {
            order_yd3: fields.number("order_yd3", None, volume, is_volume)?,
            truck_yd3: fields.number(
                "truck_yd3",
                None,
                "a truck size from 0.25 to 100 yd3",
                |t| (0.25..=100.0).contains(&t),
            )?,
            step_yd3: fields.number("step_yd3", None, "an ordering step above 0 yd3", is_volume)?,
            way: match fields.optional::<Arc<str>>("loads")? {
                Some(way) => Way::named(&fields.path("loads"), &way)?,
                None => Way::Full,
            },
            start_min: {
                let text: Arc<str> = fields.required("start", CLOCK)?;
                clock_min(&fields.path("start"), &text)?
            },
            placing_yd3_h: fields.number("placing_yd3_h", None, RATE, is_rate)?,
            plant_yd3_h: match fields.optional::<f64>("plant_yd3_h")? {
                Some(_) => Some(fields.number("plant_yd3_h", None, RATE, is_rate)?),
                None => None,
            },
            trip_min: fields.number("trip_min", Some(0.0), minutes, is_time)?,
            limit_min: fields.number("limit_min", Some(90.0), minutes, is_time)?,
            short_load_yd3: match fields.optional::<f64>("short_load_yd3")? {
                Some(_) => Some(fields.number("short_load_yd3", None, volume, is_volume)?),
                None => None,
            },
        };
        fields.finish()?;
        Ok(delivery)
    }

    /// The trucks and their times.
    pub fn times(&self) -> Result<TruckTimes, Refusal> {
        for (name, rate) in
            [("placing_yd3_h", Some(self.placing_yd3_h)), ("plant_yd3_h", self.plant_yd3_h)]
        {
            within(name, rate.unwrap_or(1.0), RATE, is_rate)?;
        }
        let rate_yd3_h = self.plant_yd3_h.map_or(self.placing_yd3_h, |p| p.min(self.placing_yd3_h));
        let mut arrives_min = self.start_min;
        let mut list = Vec::new();
        for load_yd3 in loads(self.order_yd3, self.truck_yd3, self.step_yd3, self.way)? {
            let placing_min = load_yd3 / self.placing_yd3_h * MIN_PER_H;
            list.push(Load {
                truck: i64::try_from(list.len()).unwrap_or(i64::MAX).saturating_add(1),
                load_yd3,
                batched_min: arrives_min - self.trip_min,
                arrives_min,
                empty_min: arrives_min + placing_min,
                age_min: self.trip_min + placing_min,
            });
            arrives_min += load_yd3 / rate_yd3_h * MIN_PER_H;
        }
        let (first_min, last_min, end_min) = match (list.first(), list.last()) {
            (Some(first), Some(last)) => (first.arrives_min, last.arrives_min, last.empty_min),
            _ => (self.start_min, self.start_min, self.start_min),
        };
        let placing_h = (end_min - first_min) / MIN_PER_H;
        let placed_min = self.order_yd3 / self.placing_yd3_h * MIN_PER_H;
        let mut times = TruckTimes {
            order_yd3: self.order_yd3,
            trucks: i64::try_from(list.len()).unwrap_or(i64::MAX),
            spacing_min: match list.as_slice() {
                [first, second, ..] => Some(second.arrives_min - first.arrives_min),
                _ => None,
            },
            first_min,
            last_min,
            end_min,
            placing_h,
            standby_min: (placing_h * MIN_PER_H - placed_min).max(0.0),
            notes: Vec::new(),
            late: self.late(&list),
            past_midnight: end_min >= MIN_PER_DAY,
            loads: list,
        };
        times.notes = self.notes(&times);
        Ok(times)
    }

    fn notes(&self, times: &TruckTimes) -> Vec<String> {
        let mut notes = Vec::new();
        if let Some(short_yd3) = self.short_load_yd3 {
            for load in times.loads.iter().filter(|load| load.load_yd3 < short_yd3) {
                notes.push(format!(
                    "truck {} brings {} yd3, under {short_yd3} yd3: a short-load charge is usual",
                    load.truck, load.load_yd3
                ));
            }
        }
        if let Some(plant) = self.plant_yd3_h.filter(|plant| *plant < self.placing_yd3_h) {
            notes.push(format!(
                "placing at {} yd3/h outruns the plant's {plant} yd3/h: the crew stands by {:.0} \
                 min in all",
                self.placing_yd3_h, times.standby_min
            ));
        }
        notes
    }

    /// The first truck that is empty later than the limit, in words.
    fn late(&self, loads: &[Load]) -> Option<String> {
        let late = loads.iter().find(|load| load.age_min > self.limit_min + 1e-9)?;
        Some(format!(
            "truck {} is empty {:.0} min after batching, over the limit of {} min",
            late.truck, late.age_min, self.limit_min
        ))
    }
}

const RATE: &str = "a rate from 0.1 to 10,000 yd3/h";

fn is_rate(yd3_h: f64) -> bool {
    (0.1..=1e4).contains(&yd3_h)
}

const CLOCK: &str = "a time of day, \"7:00\" to \"23:59\"";

/// Minutes after midnight of a time of day such as `7:00`. Refuses other text, naming the argument.
pub fn clock_min(argument: &str, text: &str) -> Result<f64, Refusal> {
    let refusal = || Refusal::new(argument, format!("{text:?}"), CLOCK);
    let (hours, minutes) = text.trim().split_once(':').ok_or_else(refusal)?;
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let (1..=2, 2, true) = (hours.len(), minutes.len(), digits(hours) && digits(minutes)) else {
        return Err(refusal());
    };
    let hours: u32 = hours.parse().map_err(|_| refusal())?;
    let minutes: u32 = minutes.parse().map_err(|_| refusal())?;
    if hours > 23 || minutes > 59 {
        return Err(refusal());
    }
    Ok(f64::from(hours * 60 + minutes))
}

/// `07:15`, to the nearest minute; `00:10 +1` past midnight, `23:50 -1` before the day.
#[must_use]
pub fn clock(minutes: f64) -> String {
    let rounded = minutes.round();
    let day = (rounded / MIN_PER_DAY).floor();
    let rest = rounded - day * MIN_PER_DAY;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "minutes of a day")]
    let rest = rest as u32;
    let (hours, minutes) = (rest / 60, rest % 60);
    if day == 0.0 {
        format!("{hours:02}:{minutes:02}")
    } else {
        format!("{hours:02}:{minutes:02} {day:+.0}")
    }
}

/// The same as a value; the minutes of a day have one text each.
fn clock_value(minutes: f64) -> Value {
    const MINUTES: usize = 24 * 60;
    thread_local! {
        static TEXTS: RefCell<Vec<Option<Arc<str>>>> = const { RefCell::new(Vec::new()) };
    }
    if !(0.0..MIN_PER_DAY - 1.0).contains(&minutes) {
        return Value::text(clock(minutes));
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "minutes of a day")]
    let minute = minutes.round() as usize;
    TEXTS.with_borrow_mut(|texts| {
        texts.resize(MINUTES, None);
        Value::Text(texts[minute].get_or_insert_with(|| clock(minutes).into()).clone())
    })
}

impl IntoValue for Load {
    fn into_value(self) -> Result<Value, Refusal> {
        record! {
            truck: Value::Count(self.truck),
            load_yd3: Value::Number(self.load_yd3),
            batched: clock_value(self.batched_min),
            arrives: clock_value(self.arrives_min),
            empty: clock_value(self.empty_min),
            arrives_min: Value::Number(self.arrives_min),
            age_min: Value::Number(self.age_min),
        }
        .into_value()
    }
}

impl IntoValue for TruckTimes {
    fn into_value(self) -> Result<Value, Refusal> {
        record! {
            order_yd3: Value::Number(self.order_yd3),
            trucks: Value::Count(self.trucks),
            spacing_min: self.spacing_min.into_value()?,
            first: clock_value(self.first_min),
            last: clock_value(self.last_min),
            end: clock_value(self.end_min),
            placing_h: Value::Number(self.placing_h),
            standby_min: Value::Number(self.standby_min),
            notes: self.notes.into_value()?,
            late: self.late.map_or(Value::Blank, Value::text),
            past_midnight: Value::Bool(self.past_midnight),
            loads: self.loads.into_value()?,
        }
        .into_value()
    }
}

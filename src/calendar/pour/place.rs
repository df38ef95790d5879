//! Placing pours on days, one after the other, each on the first day that takes it.

use std::cell::RefCell;
use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;

use super::Scheduled;
use super::input::{Pour, Settings};
use super::order::{Link, Wait};
use crate::calendar::day::{LAST, days_between};
use crate::value::Refusal;

/// The pours with all that bears on their dates; days count from the start of the settings.
pub(super) struct Job<'a> {
    pub pours: &'a [Pour],
    pub settings: &'a Settings,
    pub links: Vec<Vec<Link>>,
    neighbours: Vec<Vec<usize>>,
    /// The first day that start, deck and earliest date allow, and which of them set it.
    ready: Vec<(i64, String)>,
    /// Which days from the start are worked, as far as was asked.
    worked: RefCell<Vec<bool>>,
}

/// A day for each pour, in the order of the pours, and what set it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Plan {
    pub days: Vec<i64>,
    why: Vec<String>,
    /// The order in which the pours were placed.
    placed: Vec<usize>,
}

/// What one day already takes.
#[derive(Clone, Copy, Default)]
struct Taken {
    crews: i64,
    pumps: i64,
    yd3: f64,
    ft2: f64,
}

impl<'a> Job<'a> {
    pub(super) fn new(
        pours: &'a [Pour],
        settings: &'a Settings,
        links: Vec<Vec<Link>>,
        laid: &[Option<Date>],
    ) -> Result<Job<'a>, Refusal> {
        let mut neighbours = vec![Vec::new(); pours.len()];
        for (at, pour) in pours.iter().enumerate() {
            if pour.pumps > settings.pumps {
                let wanted = format!("at most the {} of the settings", settings.pumps);
                return Err(Refusal::new(format!("pours[{at}].pumps"), pour.pumps, wanted));
            }
            for &beside in pour.neighbours.iter().filter(|&&beside| beside != at) {
                neighbours[at].push(beside);
                neighbours[beside].push(at);
            }
        }
        let (ready, worked) = (Vec::new(), RefCell::new(Vec::new()));
        let mut job = Job { pours, settings, links, neighbours, ready, worked };
        for (at, pour) in pours.iter().enumerate() {
            let ready = job.ready_day(at, pour, laid.get(at).copied().flatten())?;
            job.ready.push(ready);
        }
        Ok(job)
    }

    fn ready_day(
        &self,
        at: usize,
        pour: &Pour,
        laid: Option<Date>,
    ) -> Result<(i64, String), Refusal> {
        let mut ready = (0, "first day of the schedule".to_owned());
        if let Some(laid) = laid {
            let after = self.settings.calendar.add(laid, self.settings.after_laying_days);
            let after = after.ok_or_else(|| self.too_late(at))?;
            let day = days_between(self.settings.start, after);
            if day > ready.0 {
                let laid = match self.settings.laying_ft2_a_day {
                    Some(_) => format!("deck laid {laid} at the earliest, by the laying rate"),
                    None => format!("deck on site {laid}"),
                };
                ready = (day, laid);
            }
        }
        if let Some(earliest) = pour.earliest {
            let day = days_between(self.settings.start, earliest);
            if day > ready.0 {
                ready = (day, "earliest date as given".to_owned());
            }
        }
        Ok(ready)
    }

    /// Whether a day is worked; `None` before the start and after the last that a job may have.
    fn is_worked(&self, day: i64) -> Option<bool> {
        let at = usize::try_from(day).ok()?;
        let mut worked = self.worked.borrow_mut();
        while worked.len() <= at {
            let ahead = i64::try_from(worked.len()).ok()?;
            let date = self.settings.start.checked_add(ahead.days()).ok();
            let date = date.filter(|date| *date <= LAST)?;
            worked.push(self.settings.calendar.is_working_day(date));
        }
        worked.get(at).copied()
    }

    fn too_late(&self, at: usize) -> Refusal {
        let pour = self.pours.get(at).map(|pour| pour.mark.as_str()).unwrap_or_default();
        Refusal::new(format!("pours[{at}]"), format!("{pour:?}"), format!("a date by {LAST}"))
    }

    /// Places the pours, of those that wait for nothing unplaced always the first in `ranks`.
    pub(super) fn plan(&self, ranks: &[usize]) -> Result<Plan, Refusal> {
        let count = self.pours.len();
        let mut plan =
            Plan { days: vec![0; count], why: vec![String::new(); count], placed: Vec::new() };
        let mut taken: BTreeMap<i64, Taken> = BTreeMap::new();
        let mut is_placed = vec![false; count];
        let mut waiting = ranks.to_vec();
        while !waiting.is_empty() {
            let next = waiting
                .iter()
                .position(|&at| self.links[at].iter().all(|link| is_placed[link.before]))
                .unwrap_or(0);
            let at = waiting.remove(next);
            let (day, why) = self.first_day(at, &plan.days, &is_placed, &taken)?;
            taken.entry(day).or_default().add(&self.pours[at]);
            plan.days[at] = day;
            plan.why[at] = why;
            plan.placed.push(at);
            is_placed[at] = true;
        }
        Ok(plan)
    }

    /// The first day that takes a pour, and what set it.
    fn first_day(
        &self,
        at: usize,
        days: &[i64],
        is_placed: &[bool],
        taken: &BTreeMap<i64, Taken>,
    ) -> Result<(i64, String), Refusal> {
        let (mut day, mut why) = self.ready[at].clone();
        let mut is_ready_day = true;
        for link in &self.links[at] {
            let after = days[link.before] + link.days;
            if after > day {
                (day, is_ready_day) = (after, false);
                let before = &self.pours[link.before];
                why = match link.why {
                    Wait::After => format!("after {}", before.mark),
                    Wait::Order => format!("in its order after {}", before.mark),
                    Wait::Level => format!("after {} of level {}", before.mark, before.level),
                };
            }
        }
        loop {
            match self.is_worked(day) {
                None => return Err(self.too_late(at)),
                Some(false) => {
                    day += 1;
                    if is_ready_day {
                        why.push_str(", then the first working day");
                        is_ready_day = false;
                    }
                }
                Some(true) => match self.hindrance(at, day, days, is_placed, taken.get(&day)) {
                    None => return Ok((day, why)),
                    Some((until, hindrance)) => {
                        (day, why, is_ready_day) = (until, hindrance, false);
                    }
                },
            }
        }
    }

    /// What keeps a pour from a working day, and the next day to try.
    fn hindrance(
        &self,
        at: usize,
        day: i64,
        days: &[i64],
        is_placed: &[bool],
        taken: Option<&Taken>,
    ) -> Option<(i64, String)> {
        let gap = self.settings.neighbour_gap_days;
        for &beside in &self.neighbours[at] {
            if is_placed[beside] && (days[beside] - day).abs() < gap {
                let mark = &self.pours[beside].mark;
                let days_apart = if gap == 1 { "1 day" } else { &format!("{gap} days") };
                return Some((
                    days[beside] + gap,
                    format!("{days_apart} from neighbouring {mark}"),
                ));
            }
        }
        let taken = taken?;
        let (pour, settings) = (&self.pours[at], self.settings);
        let over = |limit: Option<f64>, sum: f64| limit.filter(|limit| sum > limit + 1e-9);
        let hindrance = if taken.crews >= settings.crews {
            "no crew free before".to_owned()
        } else if taken.pumps + pour.pumps > settings.pumps {
            "no pump free before".to_owned()
        } else if let Some(limit) = over(settings.yd3_a_day, taken.yd3 + pour.yd3) {
            format!("over {limit} yd3 a day before")
        } else if let Some(limit) = over(settings.ft2_a_day, taken.ft2 + pour.area_ft2) {
            format!("over {limit} ft2 a day before")
        } else {
            return None;
        };
        Some((day + 1, hindrance))
    }

    /// A day before which the job can not end: each pour after all it waits for, and one pour a
    /// crew and working day.
    pub(super) fn least_last_day(&self) -> i64 {
        let next_worked = |mut day: i64| {
            while self.is_worked(day) == Some(false) {
                day += 1;
            }
            day
        };
        let mut days: Vec<Option<i64>> = vec![None; self.pours.len()];
        let mut waiting: Vec<usize> = (0..self.pours.len()).collect();
        while !waiting.is_empty() {
            waiting.retain(|&at| {
                let before = self.links[at].iter().map(|link| Some(days[link.before]? + link.days));
                let Some(before) = before.collect::<Option<Vec<i64>>>() else { return true };
                let after = before.into_iter().fold(self.ready[at].0, i64::max);
                days[at] = Some(next_worked(after));
                false
            });
        }
        let (first, last) = days
            .iter()
            .flatten()
            .fold((i64::MAX, 0), |(first, last), &day| (first.min(day), last.max(day)));
        let crew_days = i64::try_from(self.pours.len())
            .unwrap_or(i64::MAX)
            .saturating_add(self.settings.crews - 1)
            / self.settings.crews;
        let mut day = first;
        for _ in 1..crew_days {
            day = next_worked(day.saturating_add(1));
        }
        if self.pours.is_empty() { 0 } else { last.max(day) }
    }

    /// For each pour the calendar days from it to the last that waits for it.
    pub(super) fn tails(&self) -> Vec<i64> {
        let mut tails = vec![0; self.pours.len()];
        // Links have no ring, so as many rounds as there are pours settle all.
        for _ in 0..self.pours.len() {
            let mut settled = true;
            for (at, links) in self.links.iter().enumerate() {
                for link in links {
                    let tail = tails[at] + link.days;
                    if tail > tails[link.before] {
                        tails[link.before] = tail;
                        settled = false;
                    }
                }
            }
            if settled {
                break;
            }
        }
        tails
    }
}

impl Taken {
    fn add(&mut self, pour: &Pour) {
        self.crews += 1;
        self.pumps += pour.pumps;
        self.yd3 += pour.yd3;
        self.ft2 += pour.area_ft2;
    }
}

impl Plan {
    pub(super) fn last_day(&self) -> i64 {
        self.days.iter().copied().max().unwrap_or(0)
    }

    pub(super) fn into_scheduled(
        self,
        job: &Job,
        order: &[usize],
        laid: &[Option<Date>],
    ) -> Result<Vec<Scheduled>, Refusal> {
        let mut crews: BTreeMap<i64, i64> = BTreeMap::new();
        let mut crew_of = vec![0; self.days.len()];
        for &at in order {
            let crew = crews.entry(self.days[at]).or_insert(0);
            *crew += 1;
            crew_of[at] = *crew;
        }
        let date = |at: usize, day: i64| {
            job.settings.start.checked_add(day.days()).map_err(|_| job.too_late(at))
        };
        let mut scheduled = Vec::with_capacity(self.days.len());
        for (at, (pour, why)) in job.pours.iter().zip(self.why).enumerate() {
            let ready = date(at, job.ready[at].0)?;
            scheduled.push(Scheduled {
                mark: pour.mark.clone(),
                date: date(at, self.days[at])?,
                crew: crew_of[at],
                laid: laid[at],
                ready: job.settings.calendar.on_or_after(ready).unwrap_or(ready),
                why,
                notes: notes(pour, job.settings),
            });
        }
        Ok(scheduled)
    }
}

/// Where a pour is over a day's limits by itself.
fn notes(pour: &Pour, settings: &Settings) -> Vec<String> {
    let over = |found: f64, limit: Option<f64>, unit: &str| {
        limit
            .filter(|limit| found > limit + 1e-9)
            .map(|limit| format!("{found} {unit} is over the day's {limit} {unit}"))
    };
    [
        over(pour.yd3, settings.yd3_a_day, "yd3"),
        over(pour.area_ft2, settings.ft2_a_day, "ft2"),
        over(pour.placing_h.unwrap_or(0.0), settings.hours_a_day, "h of placing"),
    ]
    .into_iter()
    .flatten()
    .collect()
}

//! When the deck of each pour is laid: one gang lays it in the order in which it comes on site,
//! then by level and bay.

use jiff::ToSpan;
use jiff::civil::Date;

use super::input::{Pour, Settings};
use crate::calendar::day::checked;
use crate::value::Refusal;

/// The day on which the last of each pour's deck is laid; `None` where nothing is said of it.
pub(super) fn laid(
    pours: &[Pour],
    order: &[usize],
    settings: &Settings,
) -> Result<Vec<Option<Date>>, Refusal> {
    let on_site = pours
        .iter()
        .enumerate()
        .map(|(at, pour)| on_site(at, pour, settings))
        .collect::<Result<Vec<_>, _>>()?;
    let Some(rate_ft2) = settings.laying_ft2_a_day else { return Ok(on_site) };
    let mut queue = order.to_vec();
    queue.sort_by_key(|&at| on_site[at].unwrap_or(settings.start));
    let mut laid = vec![None; pours.len()];
    // The gang's day and what it can still lay on it.
    let mut gang: Option<(Date, f64)> = None;
    for at in queue {
        let beyond = || {
            let wanted = "deck that is laid by 2100";
            Refusal::new(format!("pours[{at}].deck_ft2"), pours[at].deck_ft2, wanted)
        };
        let from = settings
            .calendar
            .on_or_after(on_site[at].unwrap_or(settings.start))
            .ok_or_else(beyond)?;
        let (mut day, mut left_ft2) = match gang {
            Some((day, left_ft2)) if day >= from => (day, left_ft2),
            _ => (from, rate_ft2),
        };
        let mut deck_ft2 = pours[at].deck_ft2;
        while deck_ft2 > left_ft2 + 1e-6 {
            deck_ft2 -= left_ft2;
            day = settings.calendar.add(day, 1).ok_or_else(beyond)?;
            left_ft2 = rate_ft2;
        }
        gang = Some((day, left_ft2 - deck_ft2));
        laid[at] = Some(day);
    }
    Ok(laid)
}

/// When a pour's deck is on site: as typed, or the lead time after its release.
fn on_site(at: usize, pour: &Pour, settings: &Settings) -> Result<Option<Date>, Refusal> {
    if pour.on_site.is_some() {
        return Ok(pour.on_site);
    }
    let Some(released) = pour.released else { return Ok(None) };
    let lead_days = settings.lead_days.ok_or_else(|| {
        let wanted = format!("the lead time in calendar days, as pours[{at}] has a release date");
        Refusal::new("settings.lead_days", "missing", wanted)
    })?;
    let on_site = released.saturating_add(lead_days.days());
    checked(&format!("pours[{at}].released"), on_site).map(Some)
}

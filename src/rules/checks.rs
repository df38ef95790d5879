//! Runs the checks of the scripts on finished tables: a text is a finding, blank is none.

use std::sync::Arc;

use super::define::CheckDraft;
use super::describe::plain;
use super::fault::{Fault, Limit, Stop};
use super::host::Host;
use super::item::{Base, Item};
use crate::finding::{Finding, Place, Severity};
use crate::job::Job;

/// What a check finds, by its position.
pub fn one(host: &Host, at: usize) -> Result<Vec<Finding>, Limit> {
    let check = &host.loaded.drafts.checks[at];
    let mut findings = Vec::new();
    match all_rows(host, check, &mut findings) {
        Ok(()) => {}
        Err(Stop::UsedUp(limit)) => return Err(limit),
        Err(Stop::Trying) => {}
        Err(Stop::Need(table)) => {
            let fault = Fault::new("check-failed", format!("`{table}` could not be made"));
            findings.push(failed(host, check, &fault));
        }
        Err(Stop::Fault(fault) | Stop::Carried(fault)) => {
            findings.push(failed(host, check, &fault));
        }
    }
    Ok(findings)
}

fn failed(host: &Host, check: &CheckDraft, fault: &Fault) -> Finding {
    host.finding(fault).hint(format!("the check `{}` could not be made", check.code))
}

fn all_rows(host: &Host, check: &CheckDraft, findings: &mut Vec<Finding>) -> Result<(), Stop> {
    let bases = host.rows(&check.rows)?.map_err(|not| {
        let message = format!("the rows of `{}` are {}", check.code, not.0);
        Stop::Fault(Arc::new(check.rows.fault("no-rows", message)))
    })?;
    let direct = host.world.direct(&check.test.pointer, bases.len());
    for (base, known) in bases.iter().zip(host.on_rows(direct.as_ref(), &bases)) {
        let said = match host.call_on_row(&check.test, known, base) {
            Ok(said) => said,
            // A cell that is an error is told where it went wrong.
            Err(Stop::Carried(_)) => continue,
            Err(Stop::Fault(fault)) => {
                let mut finding = failed(host, check, &fault);
                finding.places.extend(place_of(&host.world.job, base, check.field.as_deref()));
                findings.push(finding);
                continue;
            }
            Err(stop) => return Err(stop),
        };
        if said.is_unit() {
            continue;
        }
        let kind = said.type_name();
        let Ok(message) = said.into_immutable_string() else {
            let message = format!(
                "the check gives {}, wanted a text where something is amiss and blank where nothing is",
                plain(kind)
            );
            let fault =
                check.test.fault("check-not-text", message).hint("`if … { \"what is amiss\" }`");
            findings.push(failed(host, check, &fault));
            break;
        };
        let severity = match &*check.severity {
            "error" => Severity::Error,
            "warning" => Severity::Warning,
            _ => Severity::Note,
        };
        let mut finding = Finding {
            severity,
            code: check.code.clone(),
            message: message.to_string(),
            places: place_of(&host.world.job, base, check.field.as_deref()).into_iter().collect(),
            hints: check.hints.clone(),
            excerpt: None,
        };
        finding.places.dedup();
        findings.push(finding);
    }
    Ok(())
}

/// The cell of a bay's own row that a refused argument of that name was typed in.
pub fn typed_cell(job: &Job, base: &Base, argument: &str) -> Option<Place> {
    const PASSED_ON: [(&str, &str); 4] =
        [("cut", "cut"), ("start_end", "start_end"), ("far_end", "far_end"), ("spans", "spans_ft")];
    let (_, field) = PASSED_ON.iter().find(|(passed, _)| *passed == argument)?;
    place(job, base, Some(field))
}

/// The cell of a row's field, or the row; of rows grouped by a check, the first's.
fn place_of(job: &Job, base: &Base, field: Option<&str>) -> Option<Place> {
    // A row that a check made may name the field itself.
    let made = base.made();
    let own = made.as_ref().and_then(|fields| fields.get("at")).and_then(Item::as_text);
    let field = own.or(field);
    let first = || {
        made.as_ref()?.values().find_map(|item| match item {
            Item::Rows(rows) => place(job, rows.first()?, field),
            _ => None,
        })
    };
    place(job, base, field).or_else(first)
}

fn place(job: &Job, base: &Base, field: Option<&str>) -> Option<Place> {
    match base {
        Base::Bay(at) => {
            let bay = job.bays.get(*at as usize)?;
            let origin = field.map(|field| {
                let column = crate::job::fields::bay_field(field).and_then(|known| known.column);
                job.bay_origin(bay, column.unwrap_or(field))
            });
            origin
                .and_then(|origin| job.place(&origin))
                .or_else(|| job.cell(bay.reading, bay.row, "bay"))
        }
        Base::Deck(at) => {
            let deck = job.decks.get(*at as usize)?;
            let origin = field.and_then(|field| deck.origins.get(field));
            origin
                .and_then(|origin| job.place(origin))
                .or_else(|| deck.origins.get("type").and_then(|origin| job.place(origin)))
                .or_else(|| place(job, &Base::Bay(*deck.bays.first()?), field))
        }
        Base::Entry(sheet, at) => {
            let entry = job.sheet(sheet.key).get(*at as usize)?;
            job.cell(entry.reading, entry.row, field.unwrap_or(""))
        }
        // What the row stands on comes before what it holds beside.
        Base::Made(_) | Base::Laid(..) => {
            let made = base.made()?;
            made.row().into_iter().chain(made.values()).find_map(|item| match item {
                Item::Row(below) => place(job, below, field),
                _ => None,
            })
        }
        Base::Frozen(frozen, row) => {
            let below = frozen.bases.get(*row as usize).and_then(|below| place(job, below, field));
            below.or_else(|| {
                Some(Place::Table {
                    table: frozen.table.key.clone(),
                    row: *row,
                    column: Arc::from(field.unwrap_or("")),
                    about: Arc::from(base.label(job).unwrap_or_default()),
                })
            })
        }
    }
}

/// The codes that the rule `silenced` names. An error can not be silenced.
pub fn silenced(host: &Host, findings: &mut Vec<Finding>) -> Vec<Arc<str>> {
    if !host.has_rule("silenced", 0) {
        return Vec::new();
    }
    let codes = match host.call_rule("silenced", Vec::new()) {
        Ok(codes) => codes,
        Err(Stop::Fault(fault) | Stop::Carried(fault)) => {
            findings.push(host.finding(&fault));
            return Vec::new();
        }
        Err(_) => return Vec::new(),
    };
    let codes: Vec<Arc<str>> = codes
        .into_array()
        .unwrap_or_default()
        .into_iter()
        .filter_map(|code| code.into_string().ok().map(Arc::from))
        .collect();
    codes
        .into_iter()
        .filter(|code| {
            let is_error =
                findings.iter().any(|f| f.code == *code && f.severity == Severity::Error);
            !is_error
        })
        .collect()
}

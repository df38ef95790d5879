//! What the finished tables say of a bay: its layout, its panels' marks and counts, its pours, and why
//! it is not in the base bid.

use std::borrow::Cow;
use std::sync::Arc;

use indexmap::IndexMap;

use crate::job::Bay;
use crate::length::{Length, Unit};
use crate::table::{Report, Table};
use crate::value::{Record, Value};

type Key = (Arc<str>, Arc<str>);

/// Panels of one mark in a bay, all copies.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Panels {
    pub mark: Arc<str>,
    pub length: Length,
    pub count: i64,
}

/// The rows of each bay, by level and mark.
pub(super) struct Tables {
    plans: IndexMap<Key, Arc<Record>>,
    panels: IndexMap<Key, Vec<Panels>>,
    pours: IndexMap<Key, Vec<Arc<str>>>,
    apart: IndexMap<Key, Arc<str>>,
}

impl Tables {
    pub(super) fn of(report: &Report) -> Tables {
        let mut tables = Tables {
            plans: IndexMap::new(),
            panels: IndexMap::new(),
            pours: IndexMap::new(),
            apart: IndexMap::new(),
        };
        each(report.table("takeoff"), ["plan", "apart"], |key, [plan, apart]| {
            if let Value::Text(apart) = &*apart {
                tables.apart.insert(key.clone(), apart.clone());
            }
            if let Value::Record(plan) = &*plan {
                tables.plans.insert(key, plan.clone());
            }
        });
        each(
            report.table("panels"),
            ["mark", "length_ft", "count"],
            |key, [mark, length, count]| {
                let (Value::Text(mark), Some(feet), Value::Count(count)) =
                    (&*mark, length.as_number(), &*count)
                else {
                    return;
                };
                let Some(length) = Length::from_number(feet, Unit::Foot) else { return };
                let own = tables.panels.entry(key).or_default();
                match own.iter_mut().find(|known| known.mark == *mark && known.length == length) {
                    Some(known) => known.count = known.count.saturating_add(*count),
                    None => own.push(Panels { mark: mark.clone(), length, count: *count }),
                }
            },
        );
        each(report.table("concrete"), ["pour"], |key, [pour]| {
            let own = tables.pours.entry(key).or_default();
            if let Value::Text(pour) = &*pour
                && !own.contains(pour)
            {
                own.push(pour.clone());
            }
        });
        tables
    }

    pub(super) fn plan(&self, bay: &Bay) -> Option<&Arc<Record>> {
        self.plans.get(&key_of(bay))
    }

    /// `on hold`, `alternate 1`; none where the bay is in the base bid.
    pub(super) fn apart(&self, bay: &Bay) -> Option<&Arc<str>> {
        self.apart.get(&key_of(bay))
    }

    pub(super) fn panels(&self, bay: &Bay) -> &[Panels] {
        self.panels.get(&key_of(bay)).map_or(&[], Vec::as_slice)
    }

    pub(super) fn pours(&self, bay: &Bay) -> &[Arc<str>] {
        self.pours.get(&key_of(bay)).map_or(&[], Vec::as_slice)
    }
}

fn key_of(bay: &Bay) -> Key {
    (bay.level.clone(), bay.mark.clone())
}

/// Hands over the wanted cells of each row that has a level and a bay.
fn each<'a, const N: usize>(
    table: Option<&'a Table>,
    wanted: [&str; N],
    mut take: impl FnMut(Key, [Cow<'a, Value>; N]),
) {
    let Some(table) = table else { return };
    let (Some(level), Some(bay)) = (table.column("level"), table.column("bay")) else { return };
    let places = wanted.map(|key| table.column(key));
    for row in 0..table.rows {
        let cells = table.row(row);
        if let (Some(Value::Text(level)), Some(Value::Text(bay))) =
            (cells.get(level).as_deref(), cells.get(bay).as_deref())
        {
            take(
                (level.clone(), bay.clone()),
                places.map(|at| at.and_then(|at| cells.get(at)).unwrap_or_default()),
            );
        }
    }
}

//! `Like` levels: a level that is as another gets its own copy of that level's bays, with their
//! outlines, openings, edges and extra concrete.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::log::Log;
use super::marks::{self, Mark};
use super::resolve::text_of;
use crate::finding::{Finding, Place};
use crate::job::{Bay, Entry, Job, Status};
use crate::value::Value;

/// Sheets whose rows a level like another has too.
const COPIED: [&str; 4] = ["outlines", "openings", "edges", "extra_concrete"];

/// Copying ends at so many bays.
const MOST_BAYS: usize = 500_000;

/// A level that is like another.
struct LikeLevel {
    level: Arc<str>,
    like: Arc<str>,
    sequence: Option<Arc<str>>,
    place: Place,
}

/// Gives each level that is like another its own bays.
pub fn expand(job: &mut Job, log: &mut Log) {
    let mut likes: Vec<LikeLevel> = Vec::new();
    let mut met: HashSet<String> = HashSet::new();
    for entry in job.sheet("levels") {
        let Some(level) = text_of(&entry.fields, "level") else { continue };
        // The first row of a level counts.
        if !met.insert(marks::key(&level).into_owned()) {
            continue;
        }
        let Some(like) = text_of(&entry.fields, "like") else { continue };
        let Some(place) = job.cell(entry.reading, entry.row, "like") else { continue };
        let sequence = text_of(&entry.fields, "sequence");
        likes.push(LikeLevel { level, like, sequence, place });
    }
    if likes.is_empty() {
        return;
    }
    let models: HashMap<String, String> = likes
        .iter()
        .map(|like| (marks::key(&like.level).into_owned(), marks::key(&like.like).into_owned()))
        .collect();
    let own: Vec<Bay> = job.bays.clone();
    let mut by_level: HashMap<String, Vec<usize>> = HashMap::new();
    for (index, bay) in own.iter().enumerate() {
        by_level.entry(marks::key(&bay.level).into_owned()).or_default().push(index);
    }
    let rows: Vec<(&'static str, HashMap<String, Vec<Entry>>)> = COPIED
        .iter()
        .map(|key| {
            let mut by_level: HashMap<String, Vec<Entry>> = HashMap::new();
            for entry in job.sheet(key) {
                if let Some(level) = text_of(&entry.fields, "level") {
                    let level = marks::key(&level).into_owned();
                    by_level.entry(level).or_default().push(entry.clone());
                }
            }
            (*key, by_level)
        })
        .collect();
    let mut copied = 0;
    for like in &likes {
        match model_of(&like.level, &models) {
            None => log.push(
                Finding::error(
                    "like-ring",
                    format!("level `{}` is like `{}`, which is like it", like.level, like.like),
                )
                .at(like.place.clone())
                .hint("one of them needs bays of its own"),
            ),
            Some(model) => {
                let bays = by_level.get(&model).map(Vec::as_slice).unwrap_or_default();
                let of_model = |(_, by_level): &(_, HashMap<String, Vec<Entry>>)| {
                    by_level.get(&model).map_or(0, Vec::len)
                };
                copied += rows.iter().map(of_model).sum::<usize>();
                if job.bays.len() + bays.len() > MOST_BAYS || copied > MOST_BAYS {
                    log.push(
                        Finding::error(
                            "too-many-bays",
                            format!(
                                "with level `{}` as `{}` there would be more than {MOST_BAYS} bays",
                                like.level, like.like
                            ),
                        )
                        .at(like.place.clone())
                        .hint("this level and those below it on the sheet are left out"),
                    );
                    return;
                }
                let bays: Vec<&Bay> = bays.iter().filter_map(|at| own.get(*at)).collect();
                copy(job, like, &model, &own, &bays, &rows, log);
            }
        }
    }
}

/// The level at the end of a chain of likes; `None` where the chain is a ring.
fn model_of(level: &str, models: &HashMap<String, String>) -> Option<String> {
    let mut at = marks::key(level).into_owned();
    for _ in 0..=models.len() {
        match models.get(&at) {
            Some(next) => at.clone_from(next),
            None => return Some(at),
        }
    }
    None
}

fn copy(
    job: &mut Job,
    like: &LikeLevel,
    model: &str,
    own: &[Bay],
    models: &[&Bay],
    rows: &[(&'static str, HashMap<String, Vec<Entry>>)],
    log: &mut Log,
) {
    let mut bays = Vec::new();
    let mut keeps_sequence = false;
    let mut is_released = false;
    for bay in models {
        let mut copy = (*bay).clone();
        copy.level = like.level.clone();
        copy.sequence = match &like.sequence {
            Some(sequence) => sequence.clone(),
            None if Mark(&bay.sequence) == Mark(&bay.level) => like.level.clone(),
            None => {
                keeps_sequence = true;
                bay.sequence.clone()
            }
        };
        is_released |= matches!(bay.status, Status::Released | Status::Shipped);
        bays.push(copy);
    }
    if bays.is_empty() {
        let levels = own.iter().map(|bay| &*bay.level);
        let mut finding = Finding::error(
            "like-unknown",
            format!("level `{}` is like `{}`, which has no bays", like.level, like.like),
        )
        .at(like.place.clone());
        let mut known: Vec<&str> = Vec::new();
        for level in levels {
            if !known.contains(&level) && known.len() < 50 {
                known.push(level);
            }
        }
        if let Some(hint) = marks::suggestion(&like.like, known.into_iter()) {
            finding = finding.hint(hint);
        }
        log.push(finding);
        return;
    }
    let mut said = vec![format!("{} {}", bays.len(), if bays.len() == 1 { "bay" } else { "bays" })];
    job.bays.extend(bays);
    for (key, by_level) in rows {
        let mut count = 0;
        for entry in by_level.get(model).into_iter().flatten() {
            let mut fields = (*entry.fields).clone();
            fields.insert(Arc::from("level"), Value::Text(like.level.clone()));
            if let (Some(sequence), Some(Value::Text(_))) = (&like.sequence, fields.get("sequence"))
            {
                fields.insert(Arc::from("sequence"), Value::Text(sequence.clone()));
            }
            let copied = Entry { fields: Arc::new(fields), ..entry.clone() };
            job.sheets.entry(key).or_default().push(copied);
            count += 1;
        }
        if count > 0 {
            let rows = if count == 1 { "row" } else { "rows" };
            said.push(format!("{count} {rows} of {}", key.replace('_', " ")));
        }
    }
    log.push(
        Finding::note(
            "like-level",
            format!("level `{}` is as `{}`: {} again", like.level, like.like, said.join(", ")),
        )
        .at(like.place.clone()),
    );
    questions(like, own, keeps_sequence, is_released, log);
}

/// What a copied level leaves open.
fn questions(
    like: &LikeLevel,
    own: &[Bay],
    keeps_sequence: bool,
    is_released: bool,
    log: &mut Log,
) {
    let has_own = own.iter().any(|bay| marks::key(&bay.level) == marks::key(&like.level));
    if keeps_sequence {
        log.push(
            Finding::warning(
                "like-sequence",
                format!(
                    "bays of `{}` name a sequence of their own, and `{}` takes the same one",
                    like.like, like.level
                ),
            )
            .at(like.place.clone())
            .hint("state Sequence on the level's row where it is another"),
        );
    }
    if is_released {
        log.push(
            Finding::warning(
                "like-released",
                format!(
                    "`{}` copies bays of `{}` that are released or shipped, with that status",
                    like.level, like.like
                ),
            )
            .at(like.place.clone())
            .hint("give the level rows of its own"),
        );
    }
    if has_own {
        log.push(
            Finding::warning(
                "like-and-own",
                format!(
                    "level `{}` has bays of its own beside those of `{}`",
                    like.level, like.like
                ),
            )
            .at(like.place.clone()),
        );
    }
}

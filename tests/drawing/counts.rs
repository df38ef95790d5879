//! The examples' plans show the counts of their tables.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use baytally::cells::Stretch;
use baytally::job::Job;
use baytally::plans;
use baytally::rules::{self, RunOptions};
use baytally::schedule::{self, ReadOptions};
use baytally::table::{LevelPlan, Report};
use baytally::value::Value;

use super::levels::words;

fn example(name: &str) -> (Arc<Job>, Report) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("examples/{name}/schedule.xlsx"));
    let (job, findings) = schedule::read(&path, &ReadOptions::default()).unwrap();
    let (job, scripts) = (Arc::new(job), Arc::new(rules::scripts(None).unwrap()));
    let mut report = rules::run(job.clone(), scripts, findings, RunOptions::default()).unwrap();
    report.plans = plans::of(&job, &report);
    (job, report)
}

/// Panels by mark, as labelled on a plan.
fn labelled(plan: &LevelPlan) -> BTreeMap<String, i64> {
    let mut counts = BTreeMap::new();
    for pair in words(&plan.picture).windows(2) {
        if let Ok(count) = pair[0].trim_end().parse::<i64>()
            && pair[0].ends_with(' ')
        {
            *counts.entry(pair[1].to_owned()).or_insert(0) += count;
        }
    }
    counts
}

/// Panels by mark of one copy of each bay, from the Panels table.
fn counted(job: &Job, report: &Report, level: &str) -> BTreeMap<String, i64> {
    let table = report.table("panels").unwrap();
    let column = |key: &str| table.column(key).unwrap();
    let mut counts = BTreeMap::new();
    for row in 0..table.rows {
        let cell = |key: &str| table.cell(row, column(key));
        if cell("level").as_text() != Some(level) {
            continue;
        }
        let is_it = |bay: &&baytally::job::Bay| {
            &*bay.level == level && Some(&*bay.mark) == cell("bay").as_text()
        };
        let copies = job.bays.iter().find(is_it).unwrap().copies;
        let Value::Count(count) = *cell("count") else { panic!("no count") };
        *counts.entry(cell("mark").as_text().unwrap().to_owned()).or_insert(0) += count / copies;
    }
    counts
}

#[test]
fn labels_add_up_to_the_panels_table() {
    let mut levels = 0;
    for name in ["larkmere", "quillbank"] {
        let (job, report) = example(name);
        for plan in &report.plans {
            let wanted = counted(&job, &report, &plan.level);
            assert!(wanted.values().sum::<i64>() > 50, "{name} {}", plan.level);
            assert_eq!(labelled(plan), wanted, "{name}, level {}", plan.level);
            levels += 1;
        }
    }
    assert_eq!(levels, 6 + 3);
}

#[test]
fn levels_alike_share_a_picture() {
    let (_, report) = example("larkmere");
    let picture =
        |level: &str| &report.plans.iter().find(|plan| &*plan.level == level).unwrap().picture;
    assert!(Arc::ptr_eq(picture("3"), picture("6")));
    assert!(!Arc::ptr_eq(picture("2"), picture("3")));
}

/// Where the layout behind the table says nothing of how panels lie, they are listed.
#[test]
fn panels_are_listed_where_their_layout_is_not_known() {
    let (job, mut report) = example("quillbank");
    for table in &mut report.tables {
        if &*table.key == "takeoff" {
            let table = Arc::make_mut(table);
            let plan = table.column("plan").unwrap();
            for stretch in table.cells.column_mut(plan) {
                *stretch = Stretch::Same(Value::Blank, stretch.len());
            }
        }
    }
    let plans = plans::of(&job, &report);
    let words = words(&plans[0].picture);
    assert!(words.contains(&"11 D1-1  30'-0\""), "{words:?}");
    // A table that counts otherwise than the layout is believed.
    let (job, mut report) = example("quillbank");
    let table = report.tables.iter_mut().find(|table| &*table.key == "panels").unwrap();
    let table = Arc::make_mut(table);
    let count = table.column("count").unwrap();
    assert_eq!(*table.cell(0, count), Value::Count(11));
    table.cells.column_mut(count).next().unwrap().set(0, Value::Count(12));
    let plans = plans::of(&job, &report);
    assert!(self::words_of(&plans[0]).contains(&"12 D1-1  30'-0\"".to_owned()));
}

fn words_of(plan: &LevelPlan) -> Vec<String> {
    words(&plan.picture).into_iter().map(str::to_owned).collect()
}

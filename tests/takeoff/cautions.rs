//! Cautions and questions that every takeoff carries or that a deck by itself calls for.

use crate::support::report::{report, texts};
use crate::support::schedule_builder::{Schedule, schedule};

fn job(types: &[[&str; 8]]) -> Schedule {
    let mut made = schedule()
        .sheet("Types")
        .row(["Type", "Use", "Profile", "Cover", "Gauge", "Grade", "Finish", "Slab"]);
    for row in types {
        made = made.row(*row);
    }
    made = made.sheet("Bays").row(["Level", "Bay", "Type", "Spans", "Width"]);
    for (at, row) in types.iter().enumerate() {
        made = made.row([
            "2".to_owned(),
            format!("A{at}"),
            row[0].to_owned(),
            "3@6'".to_owned(),
            "30'".to_owned(),
        ]);
    }
    made
}

fn said(types: &[[&str; 8]], code: &str) -> Vec<String> {
    let all = texts(&report(&job(types)).findings);
    all.into_iter().filter(|text| text.contains(&format!("[{code}]"))).collect()
}

/// 29 CFR 1926.760(c) and 754(e)(1), from memory: on every job that has bays.
#[test]
fn leading_edges() {
    assert_eq!(
        said(&[["R", "roof", "1.5x6", "36", "22", "SS 33", "painted", ""]], "leading-edge-caution"),
        [
            "note[leading-edge-caution]: leading edges: control zone at most 90 ft by 90 ft, at most 3,000 ft2 of \
          unsecured deck, two attachments a panel at once (29 CFR 1926.760(c)); storing bundles: secured against \
          wind (754(e)(1))"
        ]
    );
}

/// Sheet under 0.028 in takes weld washers (from memory): 24 ga is 0.0238 in, 22 ga 0.0295 in.
#[test]
fn welds_on_thin_sheet() {
    let thin = said(
        &[
            ["F", "form", "1.5x6", "36", "24", "SS 33", "G60", "4"],
            ["R", "roof", "1.5x6", "36", "22", "SS 33", "painted", ""],
        ],
        "weld-on-thin-sheet",
    );
    assert_eq!(
        thin,
        [
            "Types!E2: note[weld-on-thin-sheet]: type F: base metal of 0.0238 in is under 0.028 in: arc spot welds need \
          weld washers (from memory)"
        ]
    );
}

#[test]
fn roof_deck_under_a_slab() {
    assert_eq!(
        said(&[["R", "roof", "1.5x6", "36", "22", "SS 33", "painted", "4"]], "roof-with-slab"),
        [
            "Types!H2: warning[roof-with-slab]: roof deck with a slab: roof deck is not for a structural slab, and none \
             is taken\n  hint: ask the engineer of record which deck is meant; write `none` under Slab for a roof"
        ]
    );
}

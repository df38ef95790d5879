//! Short words beside a bay that say that it is not counted as it stands: they are asked about, wherever
//! they are.

use baytally::job::Status;

use crate::support::schedule_builder::{Schedule, schedule, with_types};

const HEADINGS: [&str; 5] = ["Level", "Bay", "Type", "Spans", "Width"];
const BAY: [&str; 5] = ["2", "A1", "D1", "3@10'", "31'"];

/// A bay with columns more, by heading and cell.
fn with(columns: &[(&str, &str)]) -> Schedule {
    let row = |cells: [&str; 5], more: Vec<&str>| -> Vec<String> {
        cells.iter().chain(&more).map(|cell| (*cell).to_owned()).collect()
    };
    with_types(schedule())
        .sheet("Bays")
        .row(row(HEADINGS, columns.iter().map(|column| column.0).collect()))
        .row(row(BAY, columns.iter().map(|column| column.1).collect()))
}

/// The code of the one warning, blank where there is none.
fn code(made: &Schedule) -> String {
    let found = made.findings();
    assert!(found.len() <= 1, "{found:?}");
    let code = |finding: &String| {
        let from = finding.find('[').unwrap() + 1;
        finding[from..].split(']').next().unwrap().to_owned()
    };
    found.first().map(code).unwrap_or_default()
}

#[test]
fn notes_of_bays() {
    for (note, wanted) in [
        ("VOID", "note-says-void"),
        ("Void per RFI 3", "note-says-void"),
        ("N.I.C.", "note-says-void"),
        ("NIC - existing deck to remain", "note-says-void"),
        ("existing", "note-says-void"),
        ("(E) deck", "note-says-void"),
        ("exist. to remain", "note-says-void"),
        ("do not count", "note-says-void"),
        ("delete", "note-says-void"),
        ("removed", "note-says-void"),
        ("superseded", "note-says-void"),
        ("not used", "note-says-void"),
        ("by GC", "note-says-void"),
        ("no deck", "note-says-void"),
        ("open to below", "note-says-void"),
        ("future", "note-says-void"),
        ("hold", "note-says-hold"),
        ("ON HOLD per RFI 12", "note-says-hold"),
        ("Alt 1", "note-says-alternate"),
        ("add alt #2", "note-says-alternate"),
        ("deduct", "note-says-alternate"),
        ("x2", "count-not-read"),
        ("typ of 4", "count-not-read"),
    ] {
        assert_eq!(code(&with(&[("Note", note)])), wanted, "{note}");
    }
    for note in [
        "hold 2\" off column line",
        "see future RFI",
        "existing beam at line 4",
        "alternate studs each flute",
        "pour stop by others",
        "removed guard rail later",
        "typ",
        "x1",
        "2x6 curb",
        "no deck over shaft at B3",
    ] {
        assert_eq!(code(&with(&[("Note", note)])), "", "{note}");
    }
}

/// What the row's own columns say is not asked again.
#[test]
fn rows_that_say_it_themselves() {
    for (heading, value, note) in [
        ("Status", "void", "VOID"),
        ("Status", "hold", "on hold"),
        ("Alternate", "1", "Alt 1"),
        ("Copies", "2", "x2"),
    ] {
        assert_eq!(code(&with(&[(heading, value), ("Note", note)])), "", "{heading}");
        assert_eq!(code(&with(&[(heading, value), ("", note)])), "", "{heading}");
    }
}

/// Other words under Status than the schedule's own.
#[test]
fn statuses_in_other_words() {
    let status = |word: &str| with(&[("Status", word)]);
    for (word, wanted, asked) in [
        ("DELETE", Status::Void, ""),
        ("NIC", Status::Void, ""),
        ("N.I.C.", Status::Void, ""),
        ("void per ASI-3", Status::Void, ""),
        ("Not used", Status::Void, ""),
        ("On Hold - RFI 12", Status::Hold, ""),
        ("by others", Status::Void, "status-in-other-words"),
        ("Exist.", Status::Void, "status-in-other-words"),
        ("N/A", Status::TakeOff, ""),
        ("—", Status::TakeOff, ""),
    ] {
        let made = status(word);
        assert_eq!((made.job().bays[0].status, code(&made)), (wanted, asked.to_owned()), "{word}");
    }
    let alternate = status("ALT 1").findings();
    assert!(alternate[0].contains("error[unknown-word]"), "{alternate:?}");
    assert!(alternate[0].ends_with("hint: name the alternate under Alternate"), "{alternate:?}");
    assert!(status("TBD").findings()[0].contains("error[unknown-word]"));
}

/// A status that takes back what it says, and one of the whole job, are no such word.
#[test]
fn statuses_that_are_not_understood() {
    for status in [
        "Deleted rev 2, restored rev 3",
        "Removed - put back per RFI 9",
        "NIC - now in contract",
        "Del - 5/12",
        "hold - released 5/3",
        "On hold, ok to order",
        "existing - new deck",
        "by others - now ours",
    ] {
        let found = with(&[("Status", status)]).findings();
        assert!(found[0].contains("error[unknown-word]"), "{status}: {found:?}");
    }
    for status in ["existing", "Hold - awaiting award", "NIC"] {
        let made = with_types(schedule().sheet("Job").row(["Status", status]));
        let made = made.sheet("Bays").row(HEADINGS).row(BAY);
        let found = made.findings();
        assert!(
            found.iter().any(|said| said.contains("error[unknown-word]")),
            "{status}: {found:?}"
        );
        assert_eq!(made.job().bays[0].status, Status::TakeOff, "{status}");
    }
}

/// What stands under `no pour` is asked about; a name with a comma is one.
#[test]
fn pours_in_words() {
    let none = with(&[("Pour", "no pour")]);
    assert_eq!(code(&none), "pour-of-none");
    let named = with(&[("Pour", "Pour 1, east")]);
    assert_eq!(code(&named), "");
    assert_eq!(named.job().bays[0].pour.as_deref(), Some("Pour 1 east"));
    for (pour, wanted) in [("P1/P2", "several-pours"), ("2/1", ""), ("L2/P3", ""), ("5/12", "")] {
        assert_eq!(code(&with(&[("Pour", pour)])), wanted, "{pour}");
    }
}

#[test]
fn marks_of_bays() {
    let marked = |mark: &str| {
        let made = with_types(schedule()).sheet("Bays").row(HEADINGS);
        code(&made.row(["2", mark, "D1", "3@10'", "31'"]))
    };
    for (mark, wanted) in [
        ("A4 (NIC)", "note-says-void"),
        ("A6 - existing", "note-says-void"),
        ("ALT 1 - A13", "note-says-alternate"),
        ("A5 (Hold)", "note-says-hold"),
        ("A-1", ""),
        ("E-1", ""),
        ("Canopy - north", ""),
    ] {
        assert_eq!(marked(mark), wanted, "{mark}");
    }
}

#[test]
fn columns_of_ones_own() {
    for (heading, value, wanted) in [
        ("Void?", "X", "note-says-void"),
        ("NIC", "x", "note-says-void"),
        ("Include", "no", "note-says-void"),
        ("Include", "yes", ""),
        ("Void?", "no", ""),
        ("Rev", "DEL", "note-says-void"),
        ("Rev", "1 - VOID", "note-says-void"),
        ("Rev", "deleted Δ2", "note-says-void"),
        ("Framing", "existing", ""),
        ("Angles", "by others", ""),
    ] {
        assert_eq!(code(&with(&[(heading, value)])), wanted, "{heading} {value}");
    }
}

#[test]
fn cells_under_no_heading() {
    for (cell, wanted) in [
        ("VOID", "note-says-void"),
        ("by others", "note-says-void"),
        ("x2", "count-not-read"),
        ("check with PM", ""),
    ] {
        assert_eq!(code(&with(&[("", ""), ("", cell)])), wanted, "{cell}");
        assert_eq!(code(&with(&[("", cell), ("Note", "")])), wanted, "{cell}");
    }
    let (_, findings) = with(&[("", ""), ("", "check with PM")]).read().unwrap();
    assert!(
        findings.iter().any(|finding| finding.to_string()
            == "Bays!G2: note[cells-not-read]: cells under no heading are not read: `check with PM`\n  \
                hint: give the column a heading where it belongs to the schedule"),
        "{findings:?}"
    );
    let edges = |cell: &str| {
        let made = with(&[]).sheet("Edges").row(["Level", "Length", "Overhang"]);
        made.row(["2", "30'", "4", cell]).findings()
    };
    assert!(edges("NIC")[0].contains("hint: delete the row where it is not to be counted"));
    assert_eq!(edges("line A"), [""; 0]);
}

//! `reference`: the committed Markdown is what is printed; files for editors hold every name.

use std::fs;
use std::path::PathBuf;

use crate::support::program::Desk;
use baytally::rules;

/// `ACCEPT=1 cargo test reference` writes the file anew.
#[test]
fn the_committed_reference_is_fresh() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("templates/reference.md");
    let outcome = Desk::new().run("reference --format markdown");
    assert_eq!((outcome.code, outcome.err.as_str()), (Some(0), ""));
    if std::env::var_os("ACCEPT").is_some() {
        fs::write(&path, &outcome.out).unwrap();
    }
    let committed = fs::read_to_string(&path).unwrap_or_default();
    for (at, (committed, printed)) in committed.lines().zip(outcome.out.lines()).enumerate() {
        assert_eq!(committed, printed, "templates/reference.md:{} is stale", at + 1);
    }
    assert_eq!(
        committed.lines().count(),
        outcome.out.lines().count(),
        "templates/reference.md is stale"
    );
}

#[test]
fn every_built_in_is_printed_with_its_parts() {
    let out = Desk::new().run("reference").out;
    let mut count = 0;
    for room in rules::rooms() {
        for builtin in room.builtins() {
            let form =
                format!("\n{}::{}({})\n", room.name, builtin.name, builtin.parameters.join(", "));
            assert!(out.contains(&form), "{form}");
            count += 1;
        }
    }
    assert!(count > 90);
    for part in ["    Gives: ", "    Source: ", "    Example: "] {
        assert!(out.matches(part).count() >= count, "{part}");
    }
}

#[test]
fn what_a_shop_gives_is_marked() {
    let desk = Desk::new();
    desk.shop("rules.rhai", "/// Waste of ours.\nfn concrete_waste(bay) { 0.08 }\n");
    let outcome = desk.run("reference concrete_waste --shop shop");
    assert_eq!(
        outcome.out,
        "Rules\n-----\n\
         What shops differ on. A function of the same name and number of parameters in a shop's folder \
         replaces a rule everywhere; `bundled::name(…)` still reaches the bundled one.\n\n\
         concrete_waste(bay)  [rules.rhai:2]\n    Waste of ours.\n    : fn concrete_waste(bay) { 0.08 }\n"
    );
    let none = desk.run("reference nothing_at_all");
    assert_eq!(
        (none.code, none.err.as_str()),
        (Some(2), "error[unknown-name]: nothing has `nothing_at_all` in its name\n")
    );
}

/// Definition files name every built-in, rule and word; their settings are TOML.
#[test]
fn editors_are_told() {
    let desk = Desk::new();
    let outcome = desk.run("reference --editor editor");
    assert_eq!((outcome.code, outcome.err.as_str()), (Some(0), ""));
    let read = |name: &str| String::from_utf8(desk.read(&format!("editor/{name}"))).unwrap();
    for room in rules::rooms() {
        let text = read(&format!("definitions/{}.d.rhai", room.name));
        assert!(text.starts_with(&format!("module {};\n", room.name)));
        for builtin in room.builtins() {
            assert!(text.contains(&format!("\nfn {}(", builtin.name)), "{}", builtin.name);
        }
    }
    let rules = read("definitions/rules.d.rhai");
    assert!(rules.contains("\nfn concrete_waste(bay: ?) -> ?;\n"), "{rules}");
    assert_eq!(
        rules.replacen("module static;", "module bundled;", 1),
        read("definitions/bundled.d.rhai")
    );
    assert!(read("definitions/words.d.rhai").contains("\nfn sum(rows: ?, field: ?) -> ?;\n"));
    let settings: toml::Table = toml::from_str(&read("Rhai.toml")).unwrap();
    assert!(settings["source"]["include"].is_array());
    // No definition is a line that the engine could not write: each is a comment or a function.
    for (name, text) in [("rules", rules), ("words", read("definitions/words.d.rhai"))] {
        for line in text.lines().skip(1).filter(|line| !line.is_empty()) {
            assert!(
                line.starts_with("///") || (line.starts_with("fn ") && line.ends_with(" -> ?;")),
                "{name}: {line}"
            );
        }
    }
}

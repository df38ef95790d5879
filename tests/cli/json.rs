//! What `--json` prints, held against the published schema; tables as comma-separated values.

use std::fs;
use std::path::Path;

use jsonschema::Validator;
use serde_json::{Value, json};

use crate::support::program::{Desk, example, generated, plain};
use crate::support::schedule_builder::{schedule, with_types};

fn schema() -> Validator {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/result.schema.json");
    let schema: Value = serde_json::from_slice(&fs::read(path).unwrap()).unwrap();
    jsonschema::meta::validate(&schema).unwrap_or_else(|error| panic!("{error}"));
    jsonschema::draft202012::new(&schema).unwrap()
}

#[track_caller]
fn fits(schema: &Validator, json: &Value) {
    let errors: Vec<String> = schema
        .iter_errors(json)
        .take(5)
        .map(|error| format!("{} at {}", error, error.instance_path()))
        .collect();
    assert!(errors.is_empty(), "{errors:#?}");
}

/// A folder with all that the commands need.
fn desk() -> Desk {
    let desk = Desk::new();
    fs::copy(example(), desk.path("example.xlsx")).unwrap();
    fs::copy(example().with_file_name("priced.xlsx"), desk.path("priced.xlsx")).unwrap();
    desk.put("plain.xlsx", &plain());
    desk.put("none.xlsx", &with_types(schedule()));
    desk.put(
        "bad.xlsx",
        &with_types(schedule())
            .sheet("Bays")
            .row(["Level", "Bay", "Type", "Spans", "Width"])
            .row(["2", "A1", "D1", "3@10'", "62'"])
            .row(["2", "A2", "D1", "about 10", "62'"]),
    );
    desk.shop(
        "takeoff.rhai",
        "column(\"odd\", \"Odd\", \"count\", |bay| bay.panels / bay.nothing);\n",
    );
    desk
}

#[test]
fn every_command_keeps_to_the_schema() {
    let (desk, schema) = (desk(), schema());
    let commands = [
        ("new job", 0),
        ("new job", 2),
        ("check example.xlsx", 0),
        ("check bad.xlsx", 1),
        ("check none.xlsx", 2),
        ("check example.xlsx --show-reading", 0),
        ("check none.xlsx --show-reading", 2),
        ("run example.xlsx -o example-takeoff.xlsx", 0),
        ("run priced.xlsx -o priced-takeoff.xlsx --release R9 --plans drawings", 0),
        ("run plain.xlsx -o plain-takeoff.xlsx", 0),
        ("run bad.xlsx -o bad-takeoff.xlsx", 1),
        ("run plain.xlsx -o odd-takeoff.xlsx --shop shop", 1),
        ("run none.xlsx -o none-takeoff.xlsx", 2),
        ("compare plain.xlsx example.xlsx", 0),
        ("compare example-takeoff.xlsx plain.xlsx", 0),
        ("compare plain.xlsx bad-takeoff.xlsx", 1),
        ("compare plain.xlsx absent.xlsx", 2),
        ("calc longest_panel_ft(())", 0),
        ("calc nonsense(", 2),
        ("batch example.xlsx plain.xlsx bad.xlsx none.xlsx -o out", 1),
        ("batch --merge -o out", 2),
        ("batch plain.xlsx bad.xlsx -o parts --forms --shard 1/2", 0),
        ("batch plain.xlsx bad.xlsx -o parts --forms --shard 2/2", 1),
        ("batch --merge -o parts", 1),
        ("form example.xlsx -o forms", 0),
        ("form example.xlsx -o forms", 2),
        ("watch plain.xlsx -o watched.xlsx --runs 1", 0),
    ];
    for (words, code) in commands {
        let outcome = desk.run(&format!("{words} --json"));
        assert_eq!(outcome.code, Some(code), "{words}: {outcome:?}");
        assert_eq!(outcome.err, "", "{words}");
        let json = outcome.json();
        assert_eq!(json["schema"], 1, "{words}");
        assert_eq!(json["command"], words.split(' ').next().unwrap());
        assert_eq!(json["failed"] == true, code == 2, "{words}");
        if code < 2 {
            assert_eq!(json["incomplete"], code == 1, "{words}");
        }
        fits(&schema, &json);
    }
    let summaries = [
        "out/batch-summary",
        "parts/batch-summary-1-of-2",
        "parts/batch-summary-2-of-2",
        "parts/batch-summary",
    ];
    for name in summaries {
        let summary = serde_json::from_slice(&desk.read(&format!("{name}.json"))).unwrap();
        fits(&schema, &summary);
        assert!(summary["files"].as_array().is_some_and(|rows| !rows.is_empty()), "{name}");
    }
}

#[test]
fn the_schema_refuses_what_is_no_result() {
    let (desk, schema) = (desk(), schema());
    let good = desk.run("run plain.xlsx -o out.xlsx --json").json();
    fits(&schema, &good);
    let wrong: [(&str, Value); 6] = [
        ("/schema", json!(2)),
        ("/tables/0/rows", json!({})),
        ("/tables/1/columns/0/heading", json!(1)),
        ("/tables/1/totals/panels", json!("42")),
        ("/findings", json!([{ "severity": "fatal", "code": "x", "message": "", "places": [] }])),
        ("/output", json!(null)),
    ];
    for (at, value) in wrong {
        let mut bad = good.clone();
        *bad.pointer_mut(at).unwrap_or_else(|| panic!("{at}")) = value;
        assert!(!schema.is_valid(&bad), "{at}");
    }
    let mut more = good.clone();
    more["surprise"] = json!(1);
    assert!(!schema.is_valid(&more), "an unknown field");
    let mut less = good;
    less.as_object_mut().unwrap().shift_remove("tables");
    assert!(!schema.is_valid(&less), "a missing field");
}

/// Fields of a line as RFC 4180 has them.
fn fields(text: &str) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    let (mut row, mut field, mut quoted) = (Vec::new(), String::new(), false);
    let mut signs = text.chars().peekable();
    while let Some(sign) = signs.next() {
        match (sign, quoted) {
            ('"', true) if signs.peek() == Some(&'"') => {
                field.push('"');
                signs.next();
            }
            ('"', _) => quoted = !quoted,
            (',', false) => row.push(std::mem::take(&mut field)),
            ('\r', false) => {}
            ('\n', false) => {
                row.push(std::mem::take(&mut field));
                rows.push(std::mem::take(&mut row));
            }
            (other, _) => field.push(other),
        }
    }
    assert!(field.is_empty() && row.is_empty() && !quoted, "the last line is whole");
    rows
}

#[test]
fn tables_as_comma_separated_values_say_what_json_says() {
    let desk = desk();
    let outcome = desk.run("run example.xlsx -o out.xlsx --csv tables --json");
    assert_eq!(outcome.code, Some(0), "{outcome:?}");
    let json = outcome.json();
    let package: Value = serde_json::from_slice(&desk.read("tables/datapackage.json")).unwrap();
    let resources = package["resources"].as_array().unwrap();
    let tables = json["tables"].as_array().unwrap();
    assert_eq!(resources.len(), tables.len() + 1, "each table and the findings");
    let mut cells = 0;
    for (table, resource) in tables.iter().zip(resources) {
        let path = format!("tables/{}", resource["path"].as_str().unwrap());
        let rows = fields(&String::from_utf8(desk.read(&path)).unwrap());
        let keys: Vec<&str> = table["columns"]
            .as_array()
            .unwrap()
            .iter()
            .map(|c| c["key"].as_str().unwrap())
            .collect();
        assert_eq!(rows[0], keys, "{path}");
        let described: Vec<&str> = resource["schema"]["fields"]
            .as_array()
            .unwrap()
            .iter()
            .map(|field| field["name"].as_str().unwrap())
            .collect();
        assert_eq!(described, keys, "{path}");
        let wanted = table["rows"].as_array().unwrap();
        assert_eq!(rows.len() - 1, wanted.len(), "{path}");
        for (row, wanted) in rows[1..].iter().zip(wanted) {
            for (cell, key) in row.iter().zip(&keys) {
                let is_same = match &wanted[*key] {
                    Value::Null => cell.is_empty(),
                    Value::Number(number) => cell.parse::<f64>().ok() == number.as_f64(),
                    Value::String(text) => {
                        cell.trim_start_matches('\'') == text.trim_start_matches('\'')
                    }
                    other => *cell == *other.to_string(),
                };
                assert!(is_same, "{path} {key}: {cell} is not {}", wanted[*key]);
                cells += 1;
            }
        }
    }
    assert!(cells > 3_000, "only {cells} cells were looked at");
}

#[test]
fn text_in_tables_is_quoted_and_never_a_formula() {
    let desk = Desk::new();
    let made = with_types(schedule())
        .sheet("Bays")
        .row(["Level", "Bay", "Type", "Spans", "Width"])
        .row(["=1+2", "A \"1\", west", "D1", "3@10'", "62'"])
        .row(["@x", "two\nlines", "D1", "3@10'", "62'"]);
    desk.put("schedule.xlsx", &made);
    let outcome = desk.run("run schedule.xlsx -o out.xlsx --csv tables --quiet");
    assert!(outcome.code < Some(2), "{outcome:?}");
    let text = String::from_utf8(desk.read("tables/takeoff.csv")).unwrap();
    let rows = fields(&text);
    let at = |key: &str| rows[0].iter().position(|name| name == key).unwrap();
    let column = |key| rows[1..].iter().map(|row| row[at(key)].as_str()).collect::<Vec<_>>();
    assert_eq!(column("level"), ["'=1+2", "'@x"]);
    assert_eq!(column("bay"), ["A \"1\", west", "two\nlines"]);
    assert!(text.contains("\"A \"\"1\"\", west\""));
}

#[test]
fn files_of_others_are_left_alone() {
    let desk = Desk::new();
    desk.put("schedule.xlsx", &generated(3, 1));
    desk.write("tables/takeoff.csv", "mine");
    desk.run("run schedule.xlsx -o out.xlsx --csv tables --quiet").says(
        2,
        "tables/takeoff.csv: error[not-written]: `tables/takeoff.csv` was not written: a file of that \
         name is there already and is no table of this program\n  hint: `--replace` writes over it",
    );
    assert_eq!(desk.read("tables/takeoff.csv"), b"mine");
    assert_eq!(desk.run("run schedule.xlsx -o out.xlsx --csv tables --replace").code, Some(0));
    let first = desk.read("tables/takeoff.csv");
    assert_eq!(
        desk.run("run schedule.xlsx -o out.xlsx --csv tables").code,
        Some(0),
        "now they are ours"
    );
    assert!(desk.read("tables/takeoff.csv") == first);
}

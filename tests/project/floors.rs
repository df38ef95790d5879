//! Each room uses only rooms on lower floors, by the table in DEVELOPERS.md.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Room to floor, from the table `| floor | rooms | knows |`.
fn floors() -> BTreeMap<String, u32> {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let mut floors = BTreeMap::new();
    for line in text.lines() {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let Some(Ok(floor)) = cells.get(1).map(|cell| cell.parse::<u32>()) else { continue };
        for room in cells[2].split('`').skip(1).step_by(2) {
            floors.insert(room.to_owned(), floor);
        }
    }
    floors
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// The room that a source file belongs to: the first name below `src`.
fn room_of(path: &Path) -> String {
    let below = path.strip_prefix(root().join("src")).unwrap();
    let first = below.components().next().unwrap().as_os_str().to_str().unwrap();
    first.trim_end_matches(".rs").to_owned()
}

#[test]
fn rooms_use_only_lower_floors() {
    let floors = floors();
    assert!(floors.len() >= 18, "the table in DEVELOPERS.md names {} rooms", floors.len());
    let mut files = Vec::new();
    sources(&root().join("src"), &mut files);
    let mut uses = 0;
    for file in files {
        let room = room_of(&file);
        if room == "lib" {
            continue;
        }
        let floor = *floors.get(&room).unwrap_or_else(|| panic!("`{room}` stands on no floor"));
        let text = fs::read_to_string(&file).unwrap();
        for part in text.split("crate::").skip(1) {
            let used: String =
                part.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect();
            let Some(&below) = floors.get(&used) else { continue };
            uses += 1;
            assert!(
                used == room || below < floor || (below == 0 && floor == 0),
                "{} uses `{used}` of floor {below} from floor {floor}",
                file.display()
            );
        }
    }
    assert!(uses > 50, "only {uses} uses were found: is the test looking at all?");
}

#[test]
fn each_foreign_library_stays_in_its_room() {
    let homes = [
        ("calamine", "schedule"),
        ("rhai", "rules"),
        ("rust_xlsxwriter", "workbook"),
        ("clap", "cli"),
        ("tiny_skia", "drawing"),
        ("ttf_parser", "drawing"),
    ];
    let mut files = Vec::new();
    sources(&root().join("src"), &mut files);
    for (library, home) in homes {
        let users: Vec<&PathBuf> = files
            .iter()
            .filter(|file| {
                let text = fs::read_to_string(file).unwrap();
                let used = [format!("use {library}::"), format!("{library}::")];
                text.lines()
                    .filter(|line| !line.trim_start().starts_with("//"))
                    .any(|line| used.iter().any(|name| line.contains(name.as_str())))
            })
            .collect();
        assert!(!users.is_empty(), "no file uses {library}: is the test looking at all?");
        for file in users {
            assert_eq!(room_of(file), home, "{} uses {library}", file.display());
        }
    }
}

#[test]
fn the_top_level_is_the_design_cards() {
    let allowed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "src",
        "scripts",
        "templates",
        "tests",
        "examples",
        "target",
        "LICENSE",
    ];
    for entry in fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().to_str().unwrap().to_owned();
        assert!(
            name.starts_with('.') || allowed.contains(&name.as_str()),
            "`{name}` stands at the top level"
        );
    }
}

/// Each dependency of the program has its reason in the guide.
#[test]
fn each_dependency_has_its_reason() {
    let manifest = std::fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let guide = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let (_, reasons) = guide.split_once("## Why each dependency is there").unwrap();
    let (_, rest) = manifest.split_once("\n[dependencies]\n").unwrap();
    let (listed, _) = rest.split_once("\n[dev-dependencies]\n").unwrap();
    let names = listed.lines().filter_map(|line| line.split_once(" = ").map(|(name, _)| name));
    let names: Vec<&str> = names.collect();
    assert!(names.len() > 20, "{names:?}");
    let without: Vec<&&str> = names
        .iter()
        .filter(|name| {
            !reasons
                .split(|sign: char| sign.is_whitespace() || ",:();".contains(sign))
                .any(|word| word == **name)
        })
        .collect();
    assert!(without.is_empty(), "no reason is given for {without:?}");
}

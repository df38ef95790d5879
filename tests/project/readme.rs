//! The README's commands are run and its shown output compared.

use std::path::Path;
use std::process::Command;

/// Commands behind `$ baytally` with the output shown below each.
fn shown() -> Vec<(String, String)> {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let text = std::fs::read_to_string(readme).unwrap();
    let mut shown: Vec<(String, String)> = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        if line.starts_with("```") {
            inside = !inside;
        } else if inside && let Some(command) = line.strip_prefix("$ baytally ") {
            shown.push((command.to_owned(), String::new()));
        } else if inside && let Some((_, output)) = shown.last_mut() {
            output.push_str(line);
            output.push('\n');
        }
    }
    shown
}

#[test]
fn the_walk_through_does_what_it_shows() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = tempfile::tempdir().unwrap();
    for path in ["examples/larkmere", "examples/mossgate"] {
        let to = folder.path().join(path);
        std::fs::create_dir_all(&to).unwrap();
        for entry in std::fs::read_dir(root.join(path)).unwrap() {
            let entry = entry.unwrap();
            std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
        }
    }
    let commands = shown();
    assert_eq!(commands.len(), 3, "the README shows {} commands", commands.len());
    for (command, output) in commands {
        let words = command.split(' ').map(|word| word.trim_matches('\''));
        let ran = Command::new(env!("CARGO_BIN_EXE_baytally"))
            .args(words)
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(ran.status.success(), "{command}: {}", String::from_utf8_lossy(&ran.stderr));
        if !output.is_empty() {
            assert_eq!(String::from_utf8_lossy(&ran.stdout), output, "{command}");
        }
    }
    assert!(folder.path().join("larkmere-mossgate.xlsx").exists());
}

#[test]
fn the_first_commands_schedule_is_there() {
    let readme = include_str!("../../README.md");
    assert!(readme.contains("cargo run --release -- run examples/larkmere/schedule.xlsx"));
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    assert!(root.join("examples/larkmere/schedule.xlsx").exists());
}

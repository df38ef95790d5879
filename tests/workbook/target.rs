//! What an output may and may not be written over, and what is said.

use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use baytally::workbook::{NotWritten, WriteOptions, write};

use super::demo;
use crate::support::mutate::Numbers;

fn refused(path: &Path, options: &WriteOptions) -> String {
    let refused = write(&demo::report(Vec::new()), path, options).unwrap_err();
    let finding = refused.finding();
    assert_eq!(finding.hints, [refused.hint()]);
    assert_eq!(&*finding.code, "not-written");
    refused.to_string()
}

fn put(path: &Path) {
    write(&demo::report(Vec::new()), path, &WriteOptions::default()).unwrap();
}

fn entries(folder: &Path) -> usize {
    fs::read_dir(folder).unwrap().count()
}

#[test]
fn a_missing_folder_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("no/such/out.xlsx");
    assert_eq!(
        refused(&path, &WriteOptions::default()),
        format!(
            "`{}` was not written: there is no folder `{}`",
            path.display(),
            path.parent().unwrap().display()
        )
    );
    // A file where a folder is named.
    let file = folder.path().join("file");
    fs::write(&file, "x").unwrap();
    assert_eq!(
        refused(&file.join("out.xlsx"), &WriteOptions::default()),
        format!(
            "`{}` was not written: there is no folder `{}`",
            file.join("out.xlsx").display(),
            file.display()
        )
    );
}

#[test]
fn a_folder_is_no_output() {
    let folder = tempfile::tempdir().unwrap();
    for path in [folder.path().to_path_buf(), folder.path().join("..")] {
        assert_eq!(
            refused(&path, &WriteOptions::default()),
            format!("`{}` was not written: it is a folder", path.display())
        );
    }
}

#[test]
fn a_file_of_someone_else_is_kept_unless_replacing_is_allowed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("out.xlsx");
    fs::write(&path, "someone's").unwrap();
    assert_eq!(
        refused(&path, &WriteOptions::default()),
        format!(
            "`{}` was not written: a file of that name is there already and is no output of this \
             program",
            path.display()
        )
    );
    assert_eq!(fs::read(&path).unwrap(), b"someone's");
    assert_eq!(entries(folder.path()), 1, "no temporary file left");

    let options = WriteOptions { replace: true, ..WriteOptions::default() };
    write(&demo::report(Vec::new()), &path, &options).unwrap();
    put(&path);
    assert_eq!(entries(folder.path()), 1);
}

#[test]
fn an_input_is_never_written_over_under_any_name() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("schedule.xlsx");
    put(&path);
    fs::create_dir(folder.path().join("sub")).unwrap();
    let roundabout = folder.path().join("sub/../schedule.xlsx");
    let hard = folder.path().join("hard.xlsx");
    fs::hard_link(&path, &hard).unwrap();
    let mut names = vec![path.clone(), roundabout, hard];
    #[cfg(unix)]
    {
        let soft = folder.path().join("soft.xlsx");
        std::os::unix::fs::symlink(&path, &soft).unwrap();
        names.push(soft);
    }
    let before = fs::read(&path).unwrap();
    for name in names {
        let options =
            WriteOptions { inputs: vec![path.clone()], replace: true, ..WriteOptions::default() };
        assert_eq!(
            refused(&name, &options),
            format!("`{}` was not written: it is a file that this run reads", name.display())
        );
    }
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[cfg(unix)]
#[test]
fn a_link_is_written_through_and_a_dangling_one_refused() {
    let folder = tempfile::tempdir().unwrap();
    let (real, link) = (folder.path().join("real.xlsx"), folder.path().join("link.xlsx"));
    put(&real);
    std::os::unix::fs::symlink(&real, &link).unwrap();
    put(&link);
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    fs::remove_file(&real).unwrap();
    assert_eq!(
        refused(&link, &WriteOptions::default()),
        format!("`{}` was not written: it is neither a plain file nor a new name", link.display())
    );
    let device = Path::new("/dev/null");
    assert_eq!(
        refused(device, &WriteOptions::default()),
        "`/dev/null` was not written: it is neither a plain file nor a new name"
    );
}

/// The superuser may write anywhere but into the kernel's own folders.
#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_is_closed_is_named() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let closed = folder.path().join("closed");
    fs::create_dir(&closed).unwrap();
    fs::set_permissions(&closed, fs::Permissions::from_mode(0o555)).unwrap();
    let superuser = fs::write(closed.join("probe"), "").is_ok();
    let closed = if superuser { Path::new("/sys/kernel").to_path_buf() } else { closed };
    let path = closed.join("out.xlsx");
    let refused = write(&demo::report(Vec::new()), &path, &WriteOptions::default()).unwrap_err();
    assert_eq!(refused, NotWritten::FolderClosed { path: path.clone(), folder: closed.clone() });
    assert_eq!(
        refused.to_string(),
        format!(
            "`{}` was not written: the folder `{}` may not be written to",
            path.display(),
            closed.display()
        )
    );
}

#[cfg(unix)]
#[test]
fn permissions_are_the_users_and_stay() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let (path, plain) = (folder.path().join("out.xlsx"), folder.path().join("plain"));
    put(&path);
    fs::write(&plain, "").unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode();
    assert_eq!(mode(&path), mode(&plain));
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    put(&path);
    assert_eq!(mode(&path) & 0o777, 0o640);
}

/// What a child process of the tests below does: writes the demo job again and again.
#[test]
#[ignore = "run by other tests as a process of its own"]
fn child_writes() {
    let path = std::env::var_os("BAYTALLY_TEST_OUT").unwrap();
    let rounds: u32 = std::env::var("BAYTALLY_TEST_ROUNDS").unwrap().parse().unwrap();
    for round in 0..rounds {
        let mut report = demo::full();
        if round % 2 == 1 {
            report.schedule = "other.xlsx".to_string();
        }
        write(&report, Path::new(&path), &WriteOptions::default()).unwrap();
    }
}

fn child(path: &Path, rounds: u32, folder: &Path, environment: &[(&str, &str)]) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["workbook::target::child_writes", "--exact", "--ignored", "--quiet"])
        .env("BAYTALLY_TEST_OUT", path)
        .env("BAYTALLY_TEST_ROUNDS", rounds.to_string())
        .envs(environment.iter().copied())
        .current_dir(folder)
        .stdout(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn a_kill_leaves_the_old_file_or_the_new_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("out.xlsx");
    let mut either = Vec::new();
    let since = Instant::now();
    for rounds in [1, 2] {
        assert!(child(&path, rounds, folder.path(), &[]).wait().unwrap().success());
        either.push(fs::read(&path).unwrap());
    }
    assert_ne!(either[0], either[1]);
    // Two starts and three outputs: what a moment is drawn from on this machine.
    let span = usize::try_from(since.elapsed().as_micros()).unwrap();
    let (mut cut_short, mut seen) = (0, [0, 0]);
    for round in 0..200 {
        let moment = Numbers::of_round(round).below(span);
        let mut running = child(&path, u32::MAX, folder.path(), &[]);
        std::thread::sleep(Duration::from_micros(u64::try_from(moment).unwrap()));
        running.kill().unwrap();
        running.wait().unwrap();
        let left = fs::read(&path).unwrap();
        let which = either.iter().position(|whole| *whole == left);
        let which = which.unwrap_or_else(|| panic!("half a file after {moment} us"));
        seen[which] += 1;
        for entry in fs::read_dir(folder.path()).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap();
            if name == "out.xlsx" {
                continue;
            }
            let is_temporary =
                name.strip_suffix(".tmp").is_some_and(|name| name.starts_with(".baytally-"));
            assert!(is_temporary, "{name}");
            cut_short += 1;
            fs::remove_file(&path).unwrap();
        }
    }
    // The moments must fall into the writing for the loop to show anything.
    assert!(cut_short > 0 && seen.iter().all(|count| *count > 0), "{cut_short} {seen:?}");
}

#[test]
fn time_zone_language_and_folder_change_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut written = Vec::new();
    for (at, environment) in [
        [("TZ", "UTC"), ("LANG", "C"), ("LC_ALL", "C")],
        [("TZ", "Asia/Tokyo"), ("LANG", "de_DE.UTF-8"), ("LC_ALL", "de_DE.UTF-8")],
    ]
    .iter()
    .enumerate()
    {
        let own = folder.path().join(at.to_string());
        fs::create_dir(&own).unwrap();
        let path = own.join("out.xlsx");
        assert!(child(&path, 1, &own, environment).wait().unwrap().success());
        written.push(fs::read(path).unwrap());
    }
    assert!(written[0] == written[1]);
}

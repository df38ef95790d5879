//! `test`: runs the tests of a shop's scripts.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use serde_json::{Value as Json, json};

use super::say::Say;
use super::{Common, End, load};
use crate::finding::{Finding, Place};
use crate::rules::{self, Read, Schedules, Scripts, Shop, Tested, Testing};
use crate::schedule::{self, ReadOptions};
use crate::value::Record;

/// Runs the tests of a shop's scripts: functions named `test_…` in any script of its folder.
///
/// Exit codes: 0 all that the tests check holds; 1 a test failed; 2 the scripts do not load, or
/// there is no test.
#[derive(Args)]
pub struct Test {
    /// The shop's folder; the one that `--shop` names, else this folder where it has a shop.toml,
    /// else the bundled scripts' own tests
    folder: Option<PathBuf>,
    /// Run the tests whose names contain this
    #[arg(long, value_name = "TEXT", default_value = "")]
    filter: String,
}

impl Test {
    pub fn run(&self, common: &Common, say: &Say) -> End {
        let here = Path::new(".");
        let folder = self.folder.as_deref().or(common.shop.as_deref());
        let folder = folder.or_else(|| here.join("shop.toml").exists().then_some(here));
        let tested = testing(folder, common).and_then(|testing| rules::test(testing, &self.filter));
        match tested {
            Err(findings) => {
                say.failed("test", &findings);
                End::Failed
            }
            Ok(tests) if tests.is_empty() => {
                say.failed("test", &[self.no_tests(folder)]);
                End::Failed
            }
            Ok(tests) => told(&tests, say),
        }
    }

    fn no_tests(&self, folder: Option<&Path>) -> Finding {
        let message = if self.filter.is_empty() {
            "there is no test in the scripts".to_owned()
        } else {
            format!("there is no test with `{}` in its name", self.filter)
        };
        let finding = Finding::error("no-tests", message).hint(
            "a test is a function `fn test_waste() { check_equal(concrete_waste(()), 0.07); }`",
        );
        match folder {
            Some(folder) => finding.at(Place::File(Arc::from(folder.display().to_string()))),
            None => finding,
        }
    }
}

fn testing(folder: Option<&Path>, common: &Common) -> Result<Testing, Vec<Finding>> {
    let shop = folder.map(Shop::read).transpose()?;
    let scripts = match &shop {
        Some(shop) => rules::scripts(Some(shop))?,
        None => Scripts::bundled_with_tests(),
    };
    let options = load::read_options(shop.as_ref(), common)?;
    let folder = folder.unwrap_or(Path::new(".")).to_owned();
    Ok(Testing {
        schedules: Arc::new(OfShop { folder, options }),
        scripts: Arc::new(scripts),
        bounds: load::bounds(common),
    })
}

/// Schedules made in tests, or in files of the shop's folder.
struct OfShop {
    folder: PathBuf,
    options: ReadOptions,
}

impl Schedules for OfShop {
    fn made(&self, sheets: &[(String, Vec<Record>)]) -> Read {
        let bytes = schedule::made_bytes(sheets).map_err(|error| {
            vec![Finding::error("bad-schedule", format!("it can not be made: {error}"))]
        })?;
        schedule::read_bytes(bytes, "made in the test", &self.options)
            .map_err(|unreadable| unreadable.findings)
    }

    fn file(&self, name: &str) -> Read {
        let path = self.folder.join(name);
        let home = self.folder.canonicalize().ok();
        let inside =
            home.is_some_and(|home| path.canonicalize().is_ok_and(|real| real.starts_with(home)));
        if !rules::is_plain_name(name) || (path.exists() && !inside) {
            return Err(vec![Finding::error(
                "outside",
                format!("`{name}` is no file of the shop's folder"),
            )]);
        }
        schedule::read(&path, &self.options).map_err(|unreadable| unreadable.findings)
    }
}

/// A line a test, then why those that failed did, then the count.
fn told(tests: &[Tested], say: &Say) -> End {
    let failures: Vec<Finding> = tests.iter().filter_map(|test| test.failure.clone()).collect();
    for test in tests {
        let how = if test.failure.is_some() { "failed" } else { "held" };
        say.line(&format!("{how:<6} {}", test.name));
    }
    say.findings(&failures);
    let (all, failed) = (tests.len(), failures.len());
    let plural = if all == 1 { "" } else { "s" };
    say.line(&format!("{all} test{plural}: {} held, {failed} failed", all - failed));
    let tests: Vec<Json> = tests.iter().map(as_json).collect();
    say.result("test", &failures, || json!({ "tests": tests }));
    if failures.is_empty() { End::Done } else { End::Incomplete }
}

fn as_json(test: &Tested) -> Json {
    json!({
        "name": test.name,
        "place": test.place,
        "about": test.about,
        "held": test.failure.is_none(),
        "failure": test.failure,
    })
}

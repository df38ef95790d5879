//! `new`: a starter folder, ready to be filled and run.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use serde_json::json;

use super::say::Say;
use super::{Common, End};
use crate::finding::{Finding, Place};
use crate::job::schema;
use crate::rules;
use crate::table::CAUTION;
use crate::workbook;

/// Writes a starter folder: a blank schedule and a shop with rules to edit.
#[derive(Args)]
pub struct New {
    /// The folder to make; it must not exist, or be empty
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

const SCHEDULE: &str = "schedule.xlsx";
const READ_ME: &str = "READ ME.txt";

/// The starter's text files but for the note.
const FILES: &[(&str, &str)] = &[
    ("shop/shop.toml", include_str!("../../templates/starter/shop/shop.toml")),
    ("shop/rules.rhai", include_str!("../../templates/starter/shop/rules.rhai")),
];
const NOTE: &str = include_str!("../../templates/starter/READ ME.txt");

impl New {
    pub fn run(&self, _: &Common, say: &Say) -> End {
        match self.write() {
            Ok(files) => {
                for file in &files {
                    say.line(&format!("wrote {}", self.folder.join(file).display()));
                }
                say.line(&format!("{READ_ME} says how to go on"));
                let fields = json!({ "folder": self.folder.display().to_string(), "files": files });
                say.result("new", &[], || fields);
                End::Done
            }
            Err(finding) => {
                say.failed("new", &[finding]);
                End::Failed
            }
        }
    }

    fn write(&self) -> Result<Vec<String>, Finding> {
        self.is_free()?;
        let mut written = vec![SCHEDULE.to_owned()];
        for (name, text) in FILES {
            self.put(name, text)?;
            written.push((*name).to_owned());
        }
        for (name, text) in rules::BUNDLED {
            let name = format!("bundled/{name}");
            self.put(&name, text)?;
            written.push(name);
        }
        self.put(READ_ME, &format!("{NOTE}{CAUTION}\n"))?;
        written.push(READ_ME.to_owned());
        workbook::blank_schedule(&self.folder.join(SCHEDULE), schema::SHEETS)
            .map_err(|not| not.finding())?;
        Ok(written)
    }

    /// Nothing is ever written into a folder that holds something.
    fn is_free(&self) -> Result<(), Finding> {
        match fs::read_dir(&self.folder) {
            Ok(mut entries) => match entries.next() {
                None => Ok(()),
                Some(_) => Err(at(
                    "folder-not-empty",
                    "the folder holds files already, wanted a new or an empty one".to_owned(),
                    &self.folder,
                )
                .hint("name another folder")),
            },
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
            Err(error) => Err(not_written(&self.folder, &error)),
        }
    }

    fn put(&self, name: &str, text: &str) -> Result<(), Finding> {
        let path = self.folder.join(name);
        let made = path.parent().map_or(Ok(()), fs::create_dir_all);
        made.and_then(|()| fs::write(&path, text)).map_err(|error| not_written(&path, &error))
    }
}

fn at(code: &'static str, message: String, path: &Path) -> Finding {
    Finding::error(code, message).at(Place::File(Arc::from(path.to_string_lossy())))
}

fn not_written(path: &Path, error: &io::Error) -> Finding {
    at("not-written", format!("`{}` was not written: {error}", path.display()), path)
}

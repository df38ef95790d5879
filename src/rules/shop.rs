//! A shop's folder: its scripts, its catalogue additions, its heading aliases.

use std::path::Path;
use std::sync::Arc;

use serde::Deserialize;

use super::near::did_you_mean;
use crate::finding::{Finding, Place};
use crate::job::schema;

/// The version of the scripts' names and meanings. A shop written for a newer major one is refused.
pub const SCRIPT_VERSION: &str = "1.0";

/// What a shop keeps in its folder.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    pub name: String,
    /// File name and bytes, by name.
    pub scripts: Vec<(String, Vec<u8>)>,
    /// `catalogue.toml`.
    pub catalogue: Option<String>,
    /// Heading as the shop writes it, and the field it is read as.
    pub aliases: Vec<(String, String)>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ShopFile {
    #[serde(default)]
    name: String,
    written_for: String,
    #[serde(default)]
    aliases: toml::Table,
}

impl Shop {
    /// Reads a shop's folder. Refused with a finding each: no folder, no `shop.toml`, a file that
    /// can not be read, a shop written for newer scripts.
    #[allow(clippy::too_many_lines, reason = "a refusal each, in the order of reading")]
    pub fn read(folder: &Path) -> Result<Shop, Vec<Finding>> {
        let refuse = |code: &'static str, message: String, file: &Path| {
            Finding::error(code, message).at(Place::File(Arc::from(file.display().to_string())))
        };
        let description = folder.join("shop.toml");
        if !folder.is_dir() {
            return Err(vec![
                refuse("no-shop", "there is no such folder".to_owned(), folder)
                    .hint("`--shop` names the folder with shop.toml and the shop's scripts"),
            ]);
        }
        let text = std::fs::read_to_string(&description).map_err(|error| {
            vec![refuse("no-shop", format!("it can not be read: {error}"), &description).hint(format!(
                "a shop's folder holds shop.toml with at least `written_for = \"{SCRIPT_VERSION}\"`"
            ))]
        })?;
        let file: ShopFile = toml::from_str(&text).map_err(|error| {
            vec![refuse("bad-shop-file", error.message().to_owned(), &description)]
        })?;
        let mut findings = Vec::new();
        if let Err(message) = version_fits(&file.written_for) {
            let finding = refuse("shop-version", message, &description).hint(format!(
                "use a newer baytally, or see that the shop's scripts need nothing newer and write \
                 `written_for = \"{SCRIPT_VERSION}\"`"
            ));
            let changes =
                CHANGES.iter().map(|(version, what)| format!("version {version}: {what}"));
            findings.push(changes.fold(finding, Finding::hint));
        }
        let mut shop = Shop { name: file.name, ..Shop::default() };
        let known: Vec<&str> = schema::SHEETS
            .iter()
            .flat_map(super::super::job::schema::Sheet::all_fields)
            .map(|field| field.key)
            .collect();
        for (heading, field) in &file.aliases {
            match field.as_str() {
                Some(field) if known.contains(&field) => {
                    shop.aliases.push((heading.clone(), field.to_owned()));
                }
                Some(field) => {
                    let message = format!(
                        "the alias `{heading}` is for `{field}`, and there is no such field"
                    );
                    let mut finding = refuse("bad-shop-file", message, &description);
                    finding.hints.extend(did_you_mean(field, known.iter().copied()));
                    findings.push(finding);
                }
                None => findings.push(refuse(
                    "bad-shop-file",
                    format!(
                        "the alias `{heading}` is no text, wanted a field such as \"width_ft\""
                    ),
                    &description,
                )),
            }
        }
        let mut names: Vec<String> = Vec::new();
        match std::fs::read_dir(folder) {
            Ok(entries) => {
                let all =
                    entries.flatten().filter_map(|entry| entry.file_name().into_string().ok());
                for name in all {
                    match nearly_script(&name) {
                        Some(meant) => {
                            let message = "it is not read: a script ends in `.rhai`".to_owned();
                            let finding = refuse("script-not-read", message, &folder.join(&name));
                            findings.push(finding.hint(format!("name it `{meant}`")));
                        }
                        None if is_script(&name) => names.push(name),
                        None => {}
                    }
                }
            }
            Err(error) => {
                findings.push(refuse("no-shop", format!("it can not be read: {error}"), folder));
            }
        }
        names.sort();
        let home = folder.canonicalize().ok();
        for name in names {
            let path = folder.join(&name);
            let inside = |home: &Path| path.canonicalize().is_ok_and(|real| real.starts_with(home));
            if !home.as_deref().is_some_and(inside) {
                let message = "it is a link that leads out of the shop's folder".to_owned();
                let finding = refuse("script-outside", message, &path);
                findings.push(finding.hint("put the script itself into the folder"));
                continue;
            }
            match std::fs::read(&path) {
                Ok(bytes) => shop.scripts.push((name, bytes)),
                Err(error) => {
                    findings.push(refuse(
                        "script-unread",
                        format!("it can not be read: {error}"),
                        &path,
                    ));
                }
            }
        }
        let catalogue = folder.join("catalogue.toml");
        if catalogue.exists() {
            match std::fs::read_to_string(&catalogue) {
                Ok(text) => shop.catalogue = Some(text),
                Err(error) => findings.push(refuse(
                    "catalogue-unread",
                    format!("it can not be read: {error}"),
                    &catalogue,
                )),
            }
        }
        if findings.is_empty() { Ok(shop) } else { Err(findings) }
    }
}

/// What a file is to be named that is nearly named as a script: `rules.rhai.txt`, as some editors write
/// it, or `RULES.RHAI`.
fn nearly_script(name: &str) -> Option<String> {
    let small = name.to_ascii_lowercase();
    let meant = small.strip_suffix(".txt").unwrap_or(&small);
    (is_script(meant) && !is_script(name)).then(|| meant.to_owned())
}

fn is_script(name: &str) -> bool {
    Path::new(name).extension().is_some_and(|ending| ending == "rhai")
}

/// What each major version of the scripts changed for shops.
const CHANGES: &[(u32, &str)] = &[(
    1,
    "the first; rules, columns, tables and checks are those that `baytally reference` prints",
)];

/// Whether scripts written for that version run here.
fn version_fits(written_for: &str) -> Result<(), String> {
    let major =
        |version: &str| version.split('.').next().and_then(|part| part.trim().parse::<u32>().ok());
    let (Some(wanted), Some(ours)) = (major(written_for), major(SCRIPT_VERSION)) else {
        return Err(format!(
            "`written_for = \"{written_for}\"` is no version, wanted one such as \"{SCRIPT_VERSION}\""
        ));
    };
    if wanted > ours {
        return Err(format!(
            "the shop is written for scripts of version {written_for}, this program has {SCRIPT_VERSION}: \
             rules or columns it relies on may be missing or mean something else here"
        ));
    }
    Ok(())
}

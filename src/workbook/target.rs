//! Where a workbook goes: what may be written over, and how it gets there whole.
//!
//! The bytes go to `.baytally-XXXXXX.tmp` in the same folder, are synced and renamed into place.
//! The temporary file is removed when anything fails or the run is interrupted; only a kill leaves it.

use std::fmt;
use std::fs::{self, File};
use std::io::{self, BufWriter, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use crate::finding::{Finding, Place};

use super::{WriteOptions, unfinished};

/// The custom document property that marks a workbook as this program's output.
pub(super) const MARK: (&str, &str) = ("baytally", "takeoff workbook");

/// Why nothing was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotWritten {
    FolderMissing { path: PathBuf, folder: PathBuf },
    FolderClosed { path: PathBuf, folder: PathBuf },
    IsFolder { path: PathBuf },
    NoPlainFile { path: PathBuf },
    IsInput { path: PathBuf },
    NotOurs { path: PathBuf },
    InUse { path: PathBuf },
    DiskFull { path: PathBuf },
    Failed { path: PathBuf, why: String },
}

impl fmt::Display for NotWritten {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use NotWritten as N;
        write!(f, "`{}` was not written: ", self.path().display())?;
        match self {
            N::FolderMissing { folder, .. } => {
                write!(f, "there is no folder `{}`", folder.display())
            }
            N::FolderClosed { folder, .. } => {
                write!(f, "the folder `{}` may not be written to", folder.display())
            }
            N::IsFolder { .. } => f.write_str("it is a folder"),
            N::NoPlainFile { .. } => f.write_str("it is neither a plain file nor a new name"),
            N::IsInput { .. } => f.write_str("it is a file that this run reads"),
            N::NotOurs { .. } => {
                f.write_str("a file of that name is there already and is no output of this program")
            }
            N::InUse { .. } => {
                f.write_str("the file may not be replaced; another program may have it open")
            }
            N::DiskFull { .. } => f.write_str("the disk is full"),
            N::Failed { why, .. } => f.write_str(why),
        }
    }
}

impl std::error::Error for NotWritten {}

impl NotWritten {
    #[must_use]
    pub fn path(&self) -> &Path {
        use NotWritten as N;
        match self {
            N::FolderMissing { path, .. }
            | N::FolderClosed { path, .. }
            | N::IsFolder { path }
            | N::NoPlainFile { path }
            | N::IsInput { path }
            | N::NotOurs { path }
            | N::InUse { path }
            | N::DiskFull { path }
            | N::Failed { path, .. } => path,
        }
    }

    /// What to do about it.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        use NotWritten as N;
        match self {
            N::FolderMissing { .. } => "make the folder first, or name another",
            N::FolderClosed { .. } => "name a folder you may write to",
            N::IsFolder { .. } => "name a file in it",
            N::NoPlainFile { .. } | N::IsInput { .. } => "name another output",
            N::NotOurs { .. } => "name another output, or allow it to be replaced",
            N::InUse { .. } => "close it and run again",
            N::DiskFull { .. } => "free some room and run again; what stood there is unchanged",
            N::Failed { .. } => "run again; what stood there is unchanged",
        }
    }

    /// As a finding, for the terminal and JSON.
    #[must_use]
    pub fn finding(&self) -> Finding {
        let place = Place::File(self.path().to_string_lossy().as_ref().into());
        Finding::error("not-written", self.to_string()).at(place).hint(self.hint())
    }
}

/// A place that may be written.
pub(super) struct Target {
    /// As the caller named it, for messages.
    named: PathBuf,
    /// With links resolved.
    path: PathBuf,
    folder: PathBuf,
    permissions: Option<fs::Permissions>,
}

impl Target {
    pub(super) fn named(&self) -> &Path {
        &self.named
    }

    pub(super) fn check(path: &Path, options: &WriteOptions) -> Result<Target, NotWritten> {
        let named = path.to_path_buf();
        if path.file_name().is_none() {
            return Err(NotWritten::IsFolder { path: named });
        }
        match fs::metadata(path) {
            Ok(data) if data.is_dir() => Err(NotWritten::IsFolder { path: named }),
            Ok(data) if !data.is_file() => Err(NotWritten::NoPlainFile { path: named }),
            Ok(data) => {
                if options.inputs.iter().any(|input| same_file(input, path)) {
                    return Err(NotWritten::IsInput { path: named });
                }
                if !options.replace && !is_ours(path) {
                    return Err(NotWritten::NotOurs { path: named });
                }
                let path = fs::canonicalize(path).map_err(|error| failed(&named, &error))?;
                let folder = folder_of(&path);
                Ok(Target { named, path, folder, permissions: Some(data.permissions()) })
            }
            Err(_) if fs::symlink_metadata(path).is_ok() => {
                Err(NotWritten::NoPlainFile { path: named })
            }
            Err(error) => {
                let folder = folder_of(path);
                match fs::metadata(&folder) {
                    Ok(data) if data.is_dir() && error.kind() == ErrorKind::NotFound => {
                        Ok(Target { path: named.clone(), named, folder, permissions: None })
                    }
                    Ok(data) if data.is_dir() => Err(failed(&named, &error)),
                    _ => Err(NotWritten::FolderMissing { path: named, folder }),
                }
            }
        }
    }

    /// Fills a temporary file and moves it into place; gives its size.
    pub(super) fn put(
        &self,
        fill: impl FnOnce(&mut Sink<'_>) -> Result<(), String>,
    ) -> Result<u64, NotWritten> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(".baytally-").suffix(".tmp");
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let made = unfinished::make(&builder, &self.folder);
        let (listed, mut file) = made.map_err(|error| match error.kind() {
            ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
                NotWritten::FolderClosed { path: self.named.clone(), folder: self.folder.clone() }
            }
            _ => failed(&self.named, &error),
        })?;

        let mut sink =
            Sink { out: BufWriter::with_capacity(1 << 16, file.as_file_mut()), error: None };
        let filled = fill(&mut sink);
        let flushed = sink.out.flush();
        if let Some(error) = sink.error.take() {
            return Err(failed(&self.named, &error));
        }
        drop(sink);
        filled.map_err(|why| NotWritten::Failed { path: self.named.clone(), why })?;
        flushed
            .and_then(|()| file.as_file().sync_all())
            .map_err(|error| failed(&self.named, &error))?;
        if let Some(permissions) = &self.permissions {
            // A file system without permissions keeps its own.
            let _ = file.as_file().set_permissions(permissions.clone());
        }
        let bytes = file.as_file().metadata().map_or(0, |data| data.len());

        file.persist(&self.path).map_err(|error| match error.error.kind() {
            ErrorKind::PermissionDenied => NotWritten::InUse { path: self.named.clone() },
            _ => failed(&self.named, &error.error),
        })?;
        drop(listed);
        Ok(bytes)
    }

    /// Makes the renames in its folder last, where folders can be synced.
    pub(super) fn sync_folder(&self) {
        if let Ok(folder) = File::open(&self.folder) {
            let _ = folder.sync_all();
        }
    }
}

/// The temporary file, remembering why writing stopped.
pub(super) struct Sink<'a> {
    out: BufWriter<&'a mut File>,
    error: Option<io::Error>,
}

impl Write for Sink<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.out.write(bytes).inspect_err(|error| {
            if error.kind() != ErrorKind::Interrupted {
                self.error = Some(copy(error));
            }
        })
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush().inspect_err(|error| self.error = Some(copy(error)))
    }
}

fn copy(error: &io::Error) -> io::Error {
    error.raw_os_error().map_or_else(
        || io::Error::new(error.kind(), error.to_string()),
        io::Error::from_raw_os_error,
    )
}

fn failed(path: &Path, error: &io::Error) -> NotWritten {
    let path = path.to_path_buf();
    match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
            NotWritten::DiskFull { path }
        }
        _ => NotWritten::Failed { path, why: error.to_string() },
    }
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

/// Whether two names lead to one file: the same path with links resolved, or hard links.
fn same_file(one: &Path, other: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        if let (Ok(one), Ok(other)) = (fs::metadata(one), fs::metadata(other)) {
            return (one.dev(), one.ino()) == (other.dev(), other.ino());
        }
    }
    match (fs::canonicalize(one), fs::canonicalize(other)) {
        (Ok(one), Ok(other)) => one == other,
        _ => false,
    }
}

/// Whether a file carries the mark of this program's output.
fn is_ours(path: &Path) -> bool {
    let marked = |text: String| {
        text.contains(&format!("name=\"{}\"", MARK.0)) && text.contains(&format!(">{}<", MARK.1))
    };
    part_text(path, "docProps/custom.xml").is_some_and(marked)
}

/// The status of an output of this program, `complete` or `incomplete: 2 in error`; `None` where
/// the file is no such output.
pub(super) fn status(path: &Path) -> Option<String> {
    if !is_ours(path) {
        return None;
    }
    let text = part_text(path, "docProps/core.xml").unwrap_or_default();
    let status = text.split("contentStatus>").nth(1).and_then(|rest| rest.split('<').next());
    Some(status.unwrap_or_default().to_string())
}

fn part_text(path: &Path, name: &str) -> Option<String> {
    const LARGEST: u64 = 1 << 16;
    let mut archive = zip::ZipArchive::new(File::open(path).ok()?).ok()?;
    let mut text = String::new();
    archive.by_name(name).ok()?.take(LARGEST).read_to_string(&mut text).ok()?;
    Some(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_disk_is_said_so() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.xlsx");
        let target = Target::check(&path, &WriteOptions::default()).unwrap();
        let full = target.put(|sink| {
            sink.error = Some(io::Error::from(ErrorKind::StorageFull));
            Err("the archive broke off".to_string())
        });
        assert_eq!(full, Err(NotWritten::DiskFull { path: path.clone() }));
        assert_eq!(
            full.unwrap_err().to_string(),
            format!("`{}` was not written: the disk is full", path.display())
        );
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "the temporary file is gone");
    }

    #[test]
    fn what_the_library_refuses_is_passed_on() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.xlsx");
        let target = Target::check(&path, &WriteOptions::default()).unwrap();
        let refused = target.put(|_| Err("no such format".to_string()));
        assert_eq!(refused, Err(NotWritten::Failed { path, why: "no such format".to_string() }));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }
}

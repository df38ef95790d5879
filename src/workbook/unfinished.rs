//! Temporary files that are not at their places yet, so that an interrupt can remove them.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use tempfile::{Builder, NamedTempFile};

static FILES: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

fn files() -> MutexGuard<'static, BTreeSet<PathBuf>> {
    FILES.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Keeps a temporary file listed until it is dropped.
pub(super) struct Listed(PathBuf);

impl Drop for Listed {
    fn drop(&mut self) {
        files().remove(&self.0);
    }
}

/// Makes a temporary file and lists it. The file must go before its listing does.
pub(super) fn make(
    builder: &Builder<'_, '_>,
    folder: &Path,
) -> io::Result<(Listed, NamedTempFile)> {
    let mut files = files();
    let file = builder.tempfile_in(folder)?;
    let path = file.path().to_path_buf();
    files.insert(path.clone());
    Ok((Listed(path), file))
}

/// Writes a file beside its place and moves it there.
pub fn put(path: &Path, content: impl AsRef<[u8]>) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut builder = Builder::new();
    builder.prefix(".baytally-").suffix(".tmp");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let (listed, mut file) = make(&builder, folder.unwrap_or(Path::new(".")))?;
    file.write_all(content.as_ref())?;
    file.persist(path).map_err(|error| error.error)?;
    drop(listed);
    Ok(())
}

/// Removes all temporary files; no more are made, and no writing ends, from then on. For the last
/// moment before the program exits.
pub fn abandon() {
    let files = files();
    for path in &*files {
        let _ = fs::remove_file(path);
    }
    // The lock is never given back: whoever still writes waits for the end of the program.
    std::mem::forget(files);
}

//! The folder that holds the data.

use std::io;
use std::path::Path;

/// Makes a folder, and those above it, that only its owner may look into. One
/// that exists stays as it is.
///
/// # Errors
///
/// What the system says.
pub fn make_private(folder: &Path) -> io::Result<()> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder.create(folder)
}

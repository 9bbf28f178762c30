//! Files as one archive of the kind `.zip`.

use crate::error::Error;
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

/// A file: its name in the archive and what it holds.
pub type File = (String, Vec<u8>);

/// The files in this order, each with the same fixed time, so that the same files
/// give the same bytes.
///
/// # Errors
///
/// A fault, when two files have one name.
pub fn zip(files: &[File]) -> Result<Vec<u8>, Error> {
    let fault = |error: &dyn std::fmt::Display| Error::Fault(format!("make an archive: {error}"));
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    for (name, content) in files {
        archive.start_file(name.as_str(), options).map_err(|error| fault(&error))?;
        archive.write_all(content).map_err(|error| fault(&error))?;
    }
    Ok(archive.finish().map_err(|error| fault(&error))?.into_inner())
}

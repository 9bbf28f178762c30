//! Why a document could not be made.

/// Why a document could not be made.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The template does not go with the data; one message per fault.
    #[error("set the document: {}", .0.join("; "))]
    Typeset(Vec<String>),
    /// The document does not meet the standards that it declares; one message per
    /// fault.
    #[error("export the document: {}", .0.join("; "))]
    Export(Vec<String>),
    /// The data could not be written for the template.
    #[error("write the document's data")]
    Data(#[from] serde_json::Error),
}

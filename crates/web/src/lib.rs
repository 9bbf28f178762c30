//! The program: command line, pages, and what they do.

pub mod actions;
pub mod api;
pub mod archive;
pub mod assets;
pub mod certificate;
pub mod clock;
pub mod config;
pub mod demo;
pub mod error;
pub mod evaluated;
pub mod extract;
pub mod files;
pub mod jobs;
pub mod mail;
pub mod open_data;
pub mod pages;
pub mod published;
pub mod receipt;
pub mod report;
pub mod reviewed;
pub mod routes;
pub mod secret;
pub mod serve;
pub mod sheets;
pub mod show;
pub mod smtp;
pub mod state;
pub mod statement;
pub mod throttle;
pub mod verify;
pub mod work;

/// Gives the 19 MiB of each password hash back to the system. The system's own
/// allocator keeps them: 244 MB, against 37 to 71 MB, after the demonstration was made.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// The program's name and version, as it signs evaluations.
pub const ENGINE: &str = concat!("roundel ", env!("CARGO_PKG_VERSION"));

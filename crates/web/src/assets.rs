//! Style and script, built into the program. Their addresses carry a hash of
//! their content, so that a browser may keep them for ever.

use crate::error::Error;
use crate::secret;
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use std::sync::LazyLock;

struct Asset {
    address: String,
    kind: &'static str,
    bytes: &'static str,
}

fn asset(name: &str, ending: &str, kind: &'static str, bytes: &'static str) -> Asset {
    let hash = &secret::sha256(bytes)[..12];
    Asset { address: format!("/static/{name}.{hash}.{ending}"), kind, bytes }
}

static STYLE: LazyLock<Asset> =
    LazyLock::new(|| asset("style", "css", "text/css; charset=utf-8", include_str!("../../../static/style.css")));
static SCRIPT: LazyLock<Asset> = LazyLock::new(|| {
    asset("roundel", "js", "text/javascript; charset=utf-8", include_str!("../../../static/roundel.js"))
});
static PASTE: LazyLock<Asset> =
    LazyLock::new(|| asset("paste", "js", "text/javascript; charset=utf-8", include_str!("../../../static/paste.js")));
static ICON: LazyLock<Asset> =
    LazyLock::new(|| asset("icon", "svg", "image/svg+xml", include_str!("../../../static/icon.svg")));

/// Address of the style sheet.
pub fn style() -> &'static str {
    &STYLE.address
}

/// Address of the script.
pub fn script() -> &'static str {
    &SCRIPT.address
}

/// Address of the script for pasting blocks.
pub fn paste_script() -> &'static str {
    &PASTE.address
}

/// Address of the icon.
pub fn icon() -> &'static str {
    &ICON.address
}

/// `GET /static/{name}`.
///
/// # Errors
///
/// [`Error::NotFound`] for what is not built in.
pub async fn get(Path(name): Path<String>) -> Result<Response, Error> {
    let address = format!("/static/{name}");
    let asset = [&*STYLE, &*SCRIPT, &*PASTE, &*ICON]
        .into_iter()
        .find(|asset| asset.address == address)
        .ok_or(Error::NotFound)?;
    let headers = [(header::CONTENT_TYPE, asset.kind), (header::CACHE_CONTROL, "public, max-age=31536000, immutable")];
    Ok((headers, asset.bytes).into_response())
}

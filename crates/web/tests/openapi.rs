//! The description of the interface that is kept beside the code is the one
//! that the code gives.

use std::path::Path;

#[test]
fn the_description_in_the_tree_is_current() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("openapi.json");
    let current = roundel::api::openapi::text();
    if std::env::var_os("WRITE_OPENAPI").is_some() {
        std::fs::write(&file, &current).expect("a file of the tree");
    }
    let kept = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(
        kept == current,
        "crates/web/openapi.json is not what the code says: run WRITE_OPENAPI=1 cargo test -p roundel --test openapi, \
         and look at what has changed"
    );
}

//! Embeds a new migration as soon as its file appears.
fn main() {
    println!("cargo:rerun-if-changed=../../migrations");
}

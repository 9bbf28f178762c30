//! The accessibility rules of axe-core, run in the page itself.

use super::browser::Browser;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::Path;

/// The rules as a script; none, and a line that says so, when they were not
/// installed.
pub(crate) fn rules() -> Option<String> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("node_modules/axe-core/axe.min.js");
    match std::fs::read_to_string(&file) {
        Ok(script) => Some(script),
        Err(_) => {
            super::leave_out("the accessibility rules", "axe-core is not in tests/node_modules");
            None
        }
    }
}

/// What breaks the rules on the page: rule, element, why.
pub(crate) async fn violations(browser: &Browser, rules: &str) -> Vec<String> {
    if browser.run("return typeof window.axe", vec![]).await == json!("undefined") {
        browser.run(rules, vec![]).await;
    }
    let run = "const done = arguments[arguments.length - 1]; \
        axe.run(document, { resultTypes: ['violations'], rules: { 'target-size': { enabled: true } } }) \
        .then((results) => done(results.violations.flatMap((rule) => rule.nodes.map((node) => \
        [rule.id, node.target.flat().join(' '), node.failureSummary])))) \
        .catch((error) => done([['axe itself', String(error), '']]))";
    let found = browser.run_later(run, vec![]).await;
    let found = found.as_array().expect("a list").iter().map(|violation| {
        let part = |n: usize| violation[n].as_str().unwrap_or_default();
        format!("{}: {}: {}", part(0), part(1), part(2).replace('\n', " "))
    });
    found.collect()
}

/// The ids of the rules that are broken, each once.
pub(crate) fn broken(violations: &[String]) -> Vec<String> {
    let mut ids: Vec<String> = violations.iter().filter_map(|v| v.split(':').next()).map(str::to_owned).collect();
    ids.sort();
    ids.dedup();
    ids
}

/// How far the page is wider than the window, in CSS pixels; a table may scroll
/// in a box of its own.
pub(crate) async fn overhang(browser: &Browser) -> i64 {
    let width = browser.run("return document.documentElement.scrollWidth - window.innerWidth", vec![]).await;
    width.as_i64().unwrap_or_else(|| panic!("{}", Value::from(width.to_string())))
}

/// Two widths: of a desk, and of a page enlarged to 400 % there (WCAG 1.4.10).
pub(crate) const WIDTHS: [u32; 2] = [1280, 320];

/// Looks at the page in all four ways.
pub(crate) async fn look(browser: &Browser, rules: &str, name: &str, faults: &mut BTreeSet<String>) {
    for dark in [false, true] {
        browser.dark(dark).await;
        for width in WIDTHS {
            browser.width(width).await;
            let way = format!("{name} ({}, {width} px)", if dark { "dark" } else { "light" });
            faults.extend(violations(browser, rules).await.into_iter().map(|violation| format!("{way}: {violation}")));
            let over = overhang(browser).await;
            if over > 0 {
                faults.insert(format!("{way}: the page is {over} px wider than its window"));
            }
        }
    }
    browser.width(WIDTHS[0]).await;
}

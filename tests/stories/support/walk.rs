//! Going wherever the links lead.

use super::answer::Answer;
use super::visitor::Visitor;
use std::collections::{BTreeSet, VecDeque};

/// More pages than the links of a small round lead to.
const MOST: usize = 800;

/// Everything that a visitor reaches from `starts` by links, each address once.
pub(crate) async fn walk(visitor: &Visitor, starts: &[String]) -> Vec<(String, Answer)> {
    let (found, ended) = walk_some(visitor, starts, MOST).await;
    assert!(ended, "the links do not end: {:?}", found.iter().map(|(path, _)| path).collect::<Vec<_>>());
    found
}

/// The first `most` pages of such a walk, and whether that were all.
pub(crate) async fn walk_some(visitor: &Visitor, starts: &[String], most: usize) -> (Vec<(String, Answer)>, bool) {
    let mut seen: BTreeSet<String> = starts.iter().cloned().collect();
    let mut ahead: VecDeque<String> = starts.iter().cloned().collect();
    let mut found = Vec::new();
    while let Some(path) = ahead.pop_front() {
        if found.len() == most {
            return (found, false);
        }
        let answer = visitor.get(&path).await;
        assert!(!answer.status.is_server_error(), "{path} answered {}", answer.status);
        let mut next: Vec<String> = Vec::new();
        if answer.status.is_redirection() {
            next.push(answer.header("location").to_owned());
        } else if answer.is_page() {
            let page = answer.page();
            next.extend(page.all("a[href^='/']").into_iter().filter_map(|a| a.attr("href")).map(str::to_owned));
        }
        for target in next {
            // A mark of what was just done makes no other page.
            let target = target.split(['#']).next().unwrap_or_default();
            let target = target.split("?done=").next().unwrap_or_default().to_owned();
            // A report is set in seconds; its own story reads it.
            let large = target.contains("/report.pdf");
            if target.starts_with('/') && !target.starts_with("/static/") && !large && seen.insert(target.clone()) {
                ahead.push_back(target);
            }
        }
        found.push((path, answer));
    }
    (found, true)
}

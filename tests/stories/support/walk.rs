//! Going wherever the links lead.

use super::answer::Answer;
use super::visitor::Visitor;
use std::collections::{BTreeSet, VecDeque};

/// Everything that a visitor reaches from `starts` by links, each address once.
pub(crate) async fn walk(visitor: &Visitor, starts: &[String]) -> Vec<(String, Answer)> {
    let mut seen: BTreeSet<String> = starts.iter().cloned().collect();
    let mut ahead: VecDeque<String> = starts.iter().cloned().collect();
    let mut found = Vec::new();
    while let Some(path) = ahead.pop_front() {
        assert!(found.len() < 500, "the links do not end: {seen:?}");
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
            if target.starts_with('/') && !target.starts_with("/static/") && seen.insert(target.clone()) {
                ahead.push_back(target);
            }
        }
        found.push((path, answer));
    }
    found
}

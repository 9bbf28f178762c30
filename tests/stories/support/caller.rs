//! A program that shows a token.

use super::answer::Answer;
use super::visitor::Visitor;
use reqwest::Method;
use serde_json::Value;

/// A program of a person.
#[derive(Clone, Debug)]
pub(crate) struct Caller {
    http: Visitor,
    pub(crate) token: String,
}

impl Caller {
    /// A program of somebody who is signed in, with a token made on the page.
    pub(crate) async fn of(person: &Visitor, right: &str) -> Caller {
        let fields = [("name", "bench system"), ("right", right), ("days", "30")];
        let page = person.submit("/tokens", "/tokens", &fields).await.expect(200).page();
        Caller::showing(person, &page.text("section.once code"))
    }

    /// A program that shows this text as its token, and no cookie.
    pub(crate) fn showing(person: &Visitor, token: &str) -> Caller {
        Caller { http: person.stranger(), token: token.to_owned() }
    }

    pub(crate) async fn get(&self, path: &str) -> Answer {
        let request = self.http.request(Method::GET, &format!("/api/v1{path}")).bearer_auth(&self.token);
        self.http.send(format!("GET {path}"), request).await
    }

    /// The JSON of an answer that must be there.
    pub(crate) async fn read(&self, path: &str) -> Value {
        json(&self.get(path).await.expect(200))
    }

    /// Sends a body under a key; an empty one sends none.
    pub(crate) async fn send(&self, method: Method, path: &str, kind: &str, key: &str, body: String) -> Answer {
        let asked = format!("{method} {path}");
        let mut request = self.http.request(method, &format!("/api/v1{path}")).bearer_auth(&self.token);
        if !kind.is_empty() {
            request = request.header("content-type", kind).body(body);
        }
        if !key.is_empty() {
            request = request.header("idempotency-key", key);
        }
        self.http.send(asked, request).await
    }

    pub(crate) async fn post(&self, path: &str, key: &str, body: &Value) -> Answer {
        self.send(Method::POST, path, "application/json", key, body.to_string()).await
    }

    pub(crate) async fn put(&self, path: &str, body: &Value) -> Answer {
        self.send(Method::PUT, path, "application/json", "", body.to_string()).await
    }
}

/// The JSON of an answer.
#[track_caller]
pub(crate) fn json(answer: &Answer) -> Value {
    serde_json::from_slice(&answer.bytes).unwrap_or_else(|_| panic!("{} did not answer with JSON", answer.asked))
}

/// Pointers and codes of the mistakes that an answer names.
#[track_caller]
pub(crate) fn mistakes(answer: &Answer) -> Vec<(String, String)> {
    assert_eq!(answer.header("content-type"), "application/problem+json", "{}", answer.asked);
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let problem = json(answer);
    let errors = problem["errors"].as_array().cloned().unwrap_or_default();
    errors.iter().map(|error| (text(&error["pointer"]), text(&error["code"]))).collect()
}

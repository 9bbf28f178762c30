//! What the service answered.

use super::page::Page;
use reqwest::StatusCode;
use reqwest::header::HeaderMap;

/// An answer, read to its end. A redirect is an answer like any other.
#[derive(Clone, Debug)]
pub(crate) struct Answer {
    /// What was asked for: `POST /rounds`.
    pub(crate) asked: String,
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) bytes: Vec<u8>,
}

impl Answer {
    pub(crate) fn text(&self) -> String {
        String::from_utf8(self.bytes.clone()).unwrap_or_else(|_| panic!("{} did not answer with text", self.asked))
    }

    /// A header; empty if it is not there.
    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |value| value.to_str().expect("headers are ASCII"))
    }

    /// The answer, if it has this status; else the test ends, with what the
    /// page says is wrong.
    #[track_caller]
    pub(crate) fn expect(self, status: u16) -> Answer {
        if self.status.as_u16() != status {
            let said = if self.is_page() { self.page().problems() } else { self.text() };
            panic!("{} answered {} instead of {status}: {said}", self.asked, self.status);
        }
        self
    }

    /// Where a redirect leads, as a path without its query.
    #[track_caller]
    pub(crate) fn leads_to(&self) -> String {
        assert_eq!(
            self.status.as_u16(),
            303,
            "{}: {}",
            self.asked,
            if self.is_page() { self.page().problems() } else { String::new() }
        );
        let target = self.header("location");
        target.split(['?', '#']).next().unwrap_or_default().to_owned()
    }

    pub(crate) fn is_page(&self) -> bool {
        self.header("content-type").starts_with("text/html")
    }

    /// The answer as a page.
    #[track_caller]
    pub(crate) fn page(&self) -> Page {
        assert!(self.is_page(), "{} answered {:?}", self.asked, self.header("content-type"));
        Page::read(&self.text())
    }
}

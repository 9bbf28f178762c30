//! A person with a browser that has cookies and no scripts.

use super::answer::Answer;
use super::page::Page;
use reqwest::header::HeaderMap;
use reqwest::multipart::{Form, Part};
use reqwest::redirect::Policy;
use reqwest::{Client, Method, RequestBuilder};

/// A visitor with cookies of its own. Redirects are shown, not followed.
#[derive(Clone, Debug)]
pub(crate) struct Visitor {
    address: String,
    http: Client,
}

impl Visitor {
    pub(crate) fn new(address: &str) -> Visitor {
        let http = Client::builder().redirect(Policy::none()).cookie_store(true).no_proxy().build();
        Visitor { address: address.to_owned(), http: http.expect("a client without encryption needs nothing") }
    }

    /// Somebody else at the same address, without a cookie.
    pub(crate) fn stranger(&self) -> Visitor {
        Visitor::new(&self.address)
    }

    /// A request still to be given headers and a body.
    pub(crate) fn request(&self, method: Method, path: &str) -> RequestBuilder {
        self.http.request(method, format!("{}{path}", self.address))
    }

    pub(crate) async fn send(&self, asked: String, request: RequestBuilder) -> Answer {
        let response = request.send().await.unwrap_or_else(|error| panic!("{asked}: {error}"));
        let (status, headers): (_, HeaderMap) = (response.status(), response.headers().clone());
        let bytes = response.bytes().await.unwrap_or_else(|error| panic!("{asked}: {error}")).to_vec();
        Answer { asked, status, headers, bytes }
    }

    pub(crate) async fn get(&self, path: &str) -> Answer {
        self.send(format!("GET {path}"), self.request(Method::GET, path)).await
    }

    /// A page that must be there.
    pub(crate) async fn page(&self, path: &str) -> Page {
        self.get(path).await.expect(200).page()
    }

    /// Posts exactly these fields.
    pub(crate) async fn post(&self, path: &str, fields: &[(String, String)]) -> Answer {
        self.send(format!("POST {path}"), self.request(Method::POST, path).form(fields)).await
    }

    /// Fills in the form of `page` that leads to `action` and sends it. A field
    /// that the form does not have ends the test, but for the button pressed.
    pub(crate) async fn fill(&self, page: &Page, action: &str, changes: &[(&str, &str)]) -> Answer {
        self.post(action, &filled(page, action, changes)).await
    }

    /// Goes to a page, fills in its form, sends it.
    pub(crate) async fn submit(&self, path: &str, action: &str, changes: &[(&str, &str)]) -> Answer {
        let page = self.page(path).await;
        self.fill(&page, action, changes).await
    }

    /// Goes to a page and uploads a file there.
    pub(crate) async fn upload(&self, path: &str, action: &str, name: &str, bytes: &[u8]) -> Answer {
        let mut form = Form::new();
        for (field, text) in self.page(path).await.form(action) {
            form = form.text(field, text);
        }
        let form = form.part("file", Part::bytes(bytes.to_vec()).file_name(name.to_owned()));
        self.send(format!("POST {action}"), self.request(Method::POST, action).multipart(form)).await
    }

    /// Signs in.
    pub(crate) async fn sign_in(&self, email: &str, password: &str) {
        let shown = self.get("/sign-in").await;
        if shown.status.is_redirection() {
            // The session still lasts.
            return;
        }
        let fields = [("email", email), ("password", password)];
        self.fill(&shown.expect(200).page(), "/sign-in", &fields).await.leads_to();
    }
}

/// The fields of a form with some of them changed.
#[track_caller]
pub(crate) fn filled(page: &Page, action: &str, changes: &[(&str, &str)]) -> Vec<(String, String)> {
    let mut fields = page.form(action);
    for (name, text) in changes {
        match fields.iter_mut().find(|(field, _)| field == name) {
            Some((_, value)) => *value = (*text).to_owned(),
            None => {
                let control = format!("form[action='{action}'] [name='{name}'][value='{text}']");
                let there = page.has(&control);
                assert!(
                    there,
                    "the form at {action} has no {name}; it has {:?}: {}",
                    fields,
                    page.texts("h1").join(" ")
                );
                fields.push(((*name).to_owned(), (*text).to_owned()));
            }
        }
    }
    fields
}

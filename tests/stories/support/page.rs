//! A page as a program without scripts reads it.

use scraper::{ElementRef, Html, Selector};

/// A page.
#[derive(Debug)]
pub(crate) struct Page {
    html: Html,
}

pub(crate) fn selector(css: &str) -> Selector {
    Selector::parse(css).unwrap_or_else(|error| panic!("{css}: {error}"))
}

/// The text of an element, white space folded.
pub(crate) fn words(element: ElementRef<'_>) -> String {
    element.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

impl Page {
    pub(crate) fn read(text: &str) -> Page {
        Page { html: Html::parse_document(text) }
    }

    pub(crate) fn all(&self, css: &str) -> Vec<ElementRef<'_>> {
        self.html.select(&selector(css)).collect()
    }

    pub(crate) fn has(&self, css: &str) -> bool {
        !self.all(css).is_empty()
    }

    /// The text of the first element; the test ends if there is none.
    #[track_caller]
    pub(crate) fn text(&self, css: &str) -> String {
        self.texts(css).into_iter().next().unwrap_or_else(|| panic!("no {css} in {}", self.texts("main").join(" ")))
    }

    pub(crate) fn texts(&self, css: &str) -> Vec<String> {
        self.all(css).into_iter().map(words).collect()
    }

    /// An attribute of the first element.
    #[track_caller]
    pub(crate) fn attribute(&self, css: &str, name: &str) -> String {
        let found = self.all(css);
        let element = found.first().unwrap_or_else(|| panic!("no {css} in {}", self.texts("main").join(" ")));
        element.attr(name).unwrap_or_else(|| panic!("{css} has no {name}")).to_owned()
    }

    /// What a field holds.
    #[track_caller]
    pub(crate) fn value(&self, name: &str) -> String {
        self.attribute(&format!("input[name='{name}']"), "value")
    }

    /// What the organiser's list of laboratories carries for the one of this name.
    #[track_caller]
    pub(crate) fn laboratory(&self, name: &str) -> String {
        let rows = self.all("tbody tr");
        let row = rows.iter().find(|row| words(**row).contains(name)).unwrap_or_else(|| panic!("{name} has no row"));
        let input = row.select(&selector("input[name='lab']")).next();
        input.and_then(|input| input.attr("value")).unwrap_or_else(|| panic!("{name} has no form")).to_owned()
    }

    /// What the page says is wrong, for the message of a test that ends.
    pub(crate) fn problems(&self) -> String {
        let said = self.texts(".problems, .error");
        if said.is_empty() { self.texts("main").join(" ").chars().take(600).collect() } else { said.join(" | ") }
    }

    /// The fields that a browser would send with the form at `action`, in
    /// order, as they stand.
    #[track_caller]
    pub(crate) fn form(&self, action: &str) -> Vec<(String, String)> {
        let forms = self.all(&format!("form[action='{action}']"));
        let form = forms.first().unwrap_or_else(|| {
            let there: Vec<_> =
                self.all("form").iter().filter_map(|form| form.attr("action")).map(str::to_owned).collect();
            panic!("no form leads to {action}, only {there:?}; the page says: {}", self.problems())
        });
        form.select(&selector("input, select, textarea")).filter_map(sent).collect()
    }
}

/// Name and value that a control sends, if it sends any.
fn sent(control: ElementRef<'_>) -> Option<(String, String)> {
    let name = control.attr("name")?.to_owned();
    let value = match control.value().name() {
        "select" => chosen(control),
        "textarea" => control.text().collect(),
        _ => match control.attr("type") {
            Some("radio" | "checkbox") if control.attr("checked").is_none() => return None,
            Some("file" | "submit") => return None,
            _ => control.attr("value").unwrap_or_default().to_owned(),
        },
    };
    Some((name, value))
}

fn chosen(select: ElementRef<'_>) -> String {
    let all = selector("option");
    let options: Vec<ElementRef<'_>> = select.select(&all).collect();
    let selected = options.iter().find(|option| option.attr("selected").is_some()).or_else(|| options.first());
    selected.map(|option| option.attr("value").map_or_else(|| words(*option), str::to_owned)).unwrap_or_default()
}

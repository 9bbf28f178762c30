//! A round with twelve measurands and twelve laboratories, as people set it up.
//!
//! All numbers are invented. They are chosen so that the rounding rules of the
//! plan leave them as they are: U(x_pt) has two digits, sigma_pt three.

use super::answer::Answer;
use super::app::TestApp;
use super::page::Page;
use super::visitor::Visitor;
use jiff::{SignedDuration, Timestamp};

/// Password of everybody.
pub(crate) const PASSWORD: &str = "nine mossy kettles";
pub(crate) const ORGANISER: &str = "office@quillmere.example";
pub(crate) const CODE: &str = "QT-1";

/// A measurand: item, analyte, x_pt, u(x_pt), sigma_pt in ng/L.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asked {
    pub(crate) item: &'static str,
    pub(crate) analyte: &'static str,
    pub(crate) x_pt: &'static str,
    pub(crate) u: &'static str,
    pub(crate) sigma: &'static str,
}

const fn asked(
    item: &'static str,
    analyte: &'static str,
    x_pt: &'static str,
    u: &'static str,
    sigma: &'static str,
) -> Asked {
    Asked { item, analyte, x_pt, u, sigma }
}

/// In the order of their places, 1 to 12.
pub(crate) const MEASURANDS: [Asked; 12] = [
    asked("A", "carbamazepine", "32.47", "0.43", "8.13"),
    asked("A", "metoprolol", "40.61", "0.52", "10.2"),
    asked("A", "diclofenac", "55.23", "0.71", "13.8"),
    asked("A", "gabapentin", "64.39", "0.83", "16.1"),
    asked("B", "carbamazepine", "145.7", "1.8", "36.4"),
    asked("B", "metoprolol", "261.3", "3.1", "65.3"),
    asked("B", "diclofenac", "382.9", "4.2", "95.7"),
    asked("B", "gabapentin", "78.17", "0.91", "19.5"),
    asked("C", "carbamazepine", "121.9", "1.6", "30.5"),
    asked("C", "metoprolol", "312.7", "3.9", "78.2"),
    asked("C", "diclofenac", "467.1", "4.8", "117"),
    asked("C", "gabapentin", "91.3", "1.2", "22.8"),
];

pub(crate) const ITEMS: [(&str, &str); 3] = [("A", "groundwater"), ("B", "river water"), ("C", "river water")];

pub(crate) const LABORATORIES: [&str; 12] = [
    "Alderbrook Water Laboratory",
    "Birchmoor Analytics",
    "Cobbleford River Trust",
    "Dunmere Institute",
    "Eastwold Water Works",
    "Fernhollow Laboratory",
    "Gorsefield Analytics",
    "Hazelbeck Laboratory",
    "Inglemere Water Office",
    "Juniper Vale Laboratory",
    "Kestrel Hill Analytics",
    "Larkwater Laboratory",
];

/// What a laboratory types for a measurand: x_pt moved by some sigma_pt that
/// differ from laboratory to laboratory and place to place, to four digits.
pub(crate) fn typed(laboratory: usize, place: usize) -> String {
    const STEPS: [f64; 13] = [0.31, -0.84, 1.22, -1.57, 0.07, 2.46, -0.33, 0.92, -2.28, 0.55, 3.41, -1.03, -3.12];
    let asked = MEASURANDS[place];
    let step = STEPS[(laboratory * 5 + place * 3) % STEPS.len()];
    let x = number(asked.x_pt) + step * number(asked.sigma);
    if x >= 100.0 { format!("{x:.1}") } else { format!("{:.2}", x.max(1.01)) }
}

/// A number as the tests read it: a point, no grouping.
pub(crate) fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("{text:?} is not a number"))
}

/// z = (x − x_pt) / sigma_pt (ISO 13528:2022, 9.4), from the typed numbers.
pub(crate) fn z(reported: &str, asked: &Asked) -> f64 {
    (number(&reported.replace(',', ".")) - number(asked.x_pt)) / number(asked.sigma)
}

pub(crate) fn email(laboratory: usize) -> String {
    let first = LABORATORIES[laboratory].split(' ').next().unwrap_or_default().to_lowercase();
    format!("results@{first}.example")
}

/// The file of measurands, as a spreadsheet with commas writes it.
pub(crate) fn measurands_file() -> String {
    let mut file = "item,analyte,unit,decimals,required_loq,replicates\r\n".to_owned();
    for asked in MEASURANDS {
        file.push_str(&format!("{},{},ng/L,2,25,1\r\n", asked.item, asked.analyte));
    }
    file
}

/// The file of assigned values, as a spreadsheet with semicolons writes it.
pub(crate) fn assigned_file() -> String {
    let mut file = "\u{feff}item;analyte;unit;x_pt;u_x_pt;sigma_pt;route\r\n".to_owned();
    for Asked { item, analyte, x_pt, u, sigma } in MEASURANDS {
        file.push_str(&format!("{item};{analyte};ng/L;{x_pt};{u};{sigma};formulation\r\n"));
    }
    file
}

/// The file of laboratories.
pub(crate) fn laboratories_file() -> String {
    let mut file = "name,email,organisation\n".to_owned();
    for (n, name) in LABORATORIES.iter().enumerate() {
        let organisation = if n < 2 { "Northern Water Group" } else { "" };
        file.push_str(&format!("{name},{},{organisation}\n", email(n)));
    }
    file
}

/// What the set-up form is given.
pub(crate) const SETUP: [(&str, &str); 6] = [
    ("provider", "Quillmere Interlaboratory Office"),
    ("contact", "1 Mill Lane\nQuillmere"),
    ("accreditation", "not accredited"),
    ("name", "Orla Quill"),
    ("email", ORGANISER),
    ("password", PASSWORD),
];

/// The deadline of a round: a day and an hour from now, UTC.
pub(crate) fn deadline(app: &TestApp) -> (String, String) {
    let at: Timestamp = app.clock.now() + SignedDuration::from_hours(25);
    (at.strftime("%Y-%m-%d").to_string(), at.strftime("%H:%M").to_string())
}

/// Sets the service up; the organiser, signed in.
pub(crate) async fn set_up(app: &TestApp) -> Visitor {
    let organiser = app.visitor();
    organiser.submit(&app.setup, &app.setup, &SETUP).await.leads_to();
    organiser
}

/// Addresses of the organiser's other people.
pub(crate) const STATISTICIAN: &str = "statistics@quillmere.example";
pub(crate) const REVIEWER: &str = "review@quillmere.example";

/// Invites somebody of the organiser, who comes in; the person, signed in. Whoever
/// signed the plan of a round is there already.
pub(crate) async fn member(app: &TestApp, organiser: &Visitor, email: &str, duty: &str) -> Visitor {
    if organiser.page("/staff").await.texts("table.people tbody").concat().contains(email) {
        let visitor = app.visitor();
        visitor.sign_in(email, PASSWORD).await;
        return visitor;
    }
    let shown = organiser.submit("/staff", "/staff", &[("email", email), ("duty", duty)]).await.expect(200).page();
    let address = shown.text("section.once code.link");
    let invitation = &address[address.find("/staff-invitations/").expect("an address with its token")..];
    let visitor = app.visitor();
    let fields = [("name", "Robin Sedge"), ("password", PASSWORD)];
    visitor.submit(invitation, invitation, &fields).await.leads_to();
    visitor
}

/// Codes of the laboratories with their names, as the organiser looks them up.
pub(crate) async fn codes(organiser: &Visitor) -> Vec<(String, String)> {
    let path = at("/laboratories/look-up#look-up");
    let fields = [("code", ""), ("reason", "dispatch of the parcels")];
    let page = organiser.submit(&at("/laboratories"), &path, &fields).await.expect(200).page();
    let codes = page.texts("div.once tbody th");
    codes.into_iter().zip(page.texts("div.once tbody td")).collect()
}

/// Makes a round without anything in it.
pub(crate) async fn new_round(app: &TestApp, organiser: &Visitor, code: &str) {
    let (day, time) = deadline(app);
    let fields = [
        ("code", code),
        ("title", "Trace organic contaminants in water"),
        ("scheme", "Natural waters"),
        ("closes_on", &day),
        ("closes_time", &time),
        ("time_zone", "UTC"),
        ("instructions", "Shake each bottle.\nKeep it at 4 °C."),
    ];
    let made = organiser.submit("/rounds/new", "/rounds", &fields).await;
    assert_eq!(made.leads_to(), format!("/rounds/{code}"));
}

/// A path below the round's.
pub(crate) fn at(rest: &str) -> String {
    format!("/rounds/{CODE}{rest}")
}

/// Makes the round with its measurands, assigned values and laboratories.
pub(crate) async fn design(app: &TestApp, organiser: &Visitor) {
    design_with(app, organiser, &measurands_file(), &assigned_file()).await;
}

async fn design_with(app: &TestApp, organiser: &Visitor, measurands: &str, assigned: &str) {
    new_round(app, organiser, CODE).await;
    for (page, file, name) in [
        ("/measurands", measurands, "measurands.csv"),
        ("/assigned-values", assigned, "assigned.csv"),
        ("/laboratories", &laboratories_file(), "laboratories.csv"),
    ] {
        let answer = organiser.upload(&at(page), &at(&format!("{page}/upload")), name, file.as_bytes()).await;
        answer.leads_to();
    }
}

/// Invites all; the paths of the links, in the order of [`LABORATORIES`].
pub(crate) async fn invite(organiser: &Visitor) -> Vec<String> {
    // Each row has a form for its laboratory; the one for all has no such field.
    let token = organiser.page(&at("/laboratories")).await.value("form_token");
    let fields = [("form_token".to_owned(), token)];
    let page = organiser.post(&at("/laboratories/invite"), &fields).await.expect(200).page();
    invitation_paths(&page)
}

/// The invitations that a page shows, by laboratory.
pub(crate) fn invitation_paths(page: &Page) -> Vec<String> {
    let names = page.texts("section.once tbody th");
    let addresses = page.texts("section.once code.link");
    LABORATORIES
        .iter()
        .map(|name| {
            let place = names.iter().position(|shown| shown == name).unwrap_or_else(|| panic!("no link for {name}"));
            let path = addresses[place].find("/invitations/").expect("an address with its token");
            addresses[place][path..].to_owned()
        })
        .collect()
}

/// Accepts an invitation; the laboratory, signed in.
pub(crate) async fn accept(app: &TestApp, invitation: &str, laboratory: usize) -> Visitor {
    let visitor = app.visitor();
    let fields = [("name", "Ada Sample"), ("email", &email(laboratory)), ("password", PASSWORD)];
    visitor.submit(invitation, invitation, &fields).await.leads_to();
    visitor
}

/// The headings of the checklist, as its form names them.
pub(crate) const HEADINGS: [&str; 18] = [
    "provider",
    "external",
    "criteria",
    "expected",
    "measurands",
    "errors",
    "production",
    "collusion",
    "timetable",
    "methods",
    "homogeneity",
    "reporting",
    "statistics",
    "traceability",
    "evaluation",
    "returned",
    "publicity",
    "damage",
];

/// Writes a text under every heading of the checklist.
pub(crate) async fn write_checklist(organiser: &Visitor) {
    let mut fields: Vec<(&str, &str)> =
        HEADINGS.iter().map(|name| (*name, "Not applicable: this round is a test of the service.")).collect();
    fields.push(("command", "save"));
    organiser.submit(&at("/plan"), &at("/plan"), &fields).await.leads_to();
}

/// Freezes the plan; the path of the version.
pub(crate) async fn freeze(organiser: &Visitor) -> String {
    let frozen = organiser.submit(&at("/plan"), &at("/plan/freeze"), &[("password", PASSWORD)]).await;
    frozen.leads_to()
}

/// Signs a version.
pub(crate) async fn sign(person: &Visitor, version: &str) {
    person.submit(version, &format!("{version}/sign"), &[("password", PASSWORD)]).await.leads_to();
}

/// Writes and freezes the plan of the round, and lets a reviewer sign it too; the
/// reviewer, signed in.
pub(crate) async fn freeze_and_sign(app: &TestApp, organiser: &Visitor) -> Visitor {
    let reviewer = member(app, organiser, REVIEWER, "reviewer").await;
    write_checklist(organiser).await;
    sign(&reviewer, &freeze(organiser).await).await;
    reviewer
}

/// Opens the round, whose plan is signed.
pub(crate) async fn open(organiser: &Visitor) {
    organiser.submit(&at("/open"), &at("/open"), &[]).await.leads_to();
}

/// Two persons sign the plan, and the round opens.
pub(crate) async fn agree_and_open(app: &TestApp, organiser: &Visitor) {
    freeze_and_sign(app, organiser).await;
    open(organiser).await;
}

/// The published span of a round that asks everything.
pub(crate) const SPAN: (&str, &str) = ("10", "500");

/// Says everything beside the results that such a round asks for.
pub(crate) async fn say_beside(visitor: &Visitor, labels: &[String; 3], today: &str) {
    let mut arrival = Vec::new();
    for ((item, _), label) in ITEMS.iter().zip(labels) {
        for (part, text) in
            [("code", label.as_str()), ("condition", "intact"), ("received_on", today), ("analysed_on", today)]
        {
            arrival.push((format!("{item}.{part}"), text.to_owned()));
        }
    }
    let method: Vec<(String, String)> = [("all.m_enrichment", "direct"), ("all.m_detection", "tandem_ms")]
        .iter()
        .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()))
        .collect();
    let declaration = vec![("all.own".to_owned(), "yes".to_owned())];
    for (task, fields) in [("items", arrival), ("method", method), ("declaration", declaration)] {
        let path = at(&format!("/tasks/{task}"));
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        let fields = [&fields[..], &[("command", "done")]].concat();
        assert_eq!(visitor.submit(&path, &path, &fields).await.leads_to(), at(""), "{task}");
    }
}

/// Types numbers into the three items; the pages must take them.
pub(crate) async fn enter(visitor: &Visitor, numbers: &[String; 12]) {
    for (item, _) in ITEMS {
        let places = (1..=12).filter(|place| MEASURANDS[place - 1].item == item);
        let fields: Vec<(String, &str)> =
            places.map(|place| (format!("{place}.v1"), numbers[place - 1].as_str())).collect();
        let mut fields: Vec<(&str, &str)> = fields.iter().map(|(name, text)| (name.as_str(), *text)).collect();
        fields.push(("command", "next"));
        let path = at(&format!("/results/{item}"));
        enter_in(visitor, &path, fields).await.leads_to();
    }
}

/// Posts a form of results; the unit where it was not chosen yet.
pub(crate) async fn enter_in(visitor: &Visitor, path: &str, mut fields: Vec<(&str, &str)>) -> Answer {
    let page = visitor.page(path).await;
    if page.has("select[name='all.unit']") {
        fields.push(("all.unit", "ng/L"));
    }
    visitor.fill(&page, path, &fields).await
}

/// Sends what was entered; the path of the receipt.
pub(crate) async fn send(visitor: &Visitor) -> String {
    let receipt = visitor.submit(&at("/check"), &at("/submit"), &[]).await.leads_to();
    assert!(receipt.starts_with("/receipts/"), "{receipt}");
    receipt
}

/// The reviewer, signed in once more, approves everything that is open.
pub(crate) async fn approve(reviewer: &Visitor) {
    reviewer.sign_in(REVIEWER, PASSWORD).await;
    let path = at("/approval");
    let mut fields = reviewer.page(&path).await.form(&path);
    fields.push(("verdict".to_owned(), "approve_all".to_owned()));
    reviewer.post(&path, &fields).await.leads_to();
}

/// Decides on results (`CODE.place`, `CODE.all`), having looked at the effect.
pub(crate) async fn decide(who: &Visitor, on: &str, kind: &str, cause: &str, reason: &str) {
    let fields = [("kind", kind), ("cause", cause), ("reason", reason), ("command", "preview")];
    let preview = who.submit(&at(&format!("/decide?on={on}")), &at("/decide"), &fields).await.expect(200).page();
    who.post(&at("/decide"), &preview.form(&at("/decide"))).await.leads_to();
}

/// What is typed to publish.
pub(crate) const PUBLISHING: [(&str, &str); 3] =
    [("code", CODE), ("meaning", "Released as final after review."), ("password", PASSWORD)];

/// Publishes what is approved.
pub(crate) async fn publish(organiser: &Visitor) {
    organiser.submit(&at("/publish"), &at("/publish"), &PUBLISHING).await.leads_to();
}

/// What a laboratory types everywhere.
pub(crate) fn all_typed(laboratory: usize) -> [String; 12] {
    std::array::from_fn(|place| typed(laboratory, place))
}

/// A round that is open, with everybody signed in.
#[derive(Debug)]
pub(crate) struct OpenRound {
    pub(crate) app: TestApp,
    pub(crate) organiser: Visitor,
    /// Who signed the plan as the second person.
    pub(crate) reviewer: Visitor,
    pub(crate) laboratories: Vec<Visitor>,
    pub(crate) invitations: Vec<String>,
}

impl OpenRound {
    /// On `app`, with the first `count` laboratories signed in.
    pub(crate) async fn on(app: TestApp, count: usize) -> OpenRound {
        OpenRound::with(app, count, &measurands_file(), &assigned_file(), &[]).await
    }

    async fn with(app: TestApp, count: usize, measurands: &str, assigned: &str, asks: &[(&str, &str)]) -> OpenRound {
        let organiser = set_up(&app).await;
        design_with(&app, &organiser, measurands, assigned).await;
        if !asks.is_empty() {
            organiser.submit(&at("/asks"), &at("/asks"), asks).await.leads_to();
        }
        let invitations = invite(&organiser).await;
        let reviewer = freeze_and_sign(&app, &organiser).await;
        open(&organiser).await;
        let mut laboratories = Vec::new();
        for (n, invitation) in invitations.iter().enumerate().take(count) {
            laboratories.push(accept(&app, invitation, n).await);
        }
        OpenRound { app, organiser, reviewer, laboratories, invitations }
    }

    /// A round whose assigned values are those of [`MEASURANDS`] times `factor`.
    pub(crate) async fn with_values_times(factor: f64, count: usize) -> OpenRound {
        let mut assigned = "item,analyte,unit,x_pt,u_x_pt,sigma_pt,route\n".to_owned();
        for Asked { item, analyte, x_pt, u, sigma } in MEASURANDS {
            let [x, u, sigma] = [x_pt, u, sigma].map(|text| number(text) * factor);
            assigned.push_str(&format!("{item},{analyte},ng/L,{x:.1},{u:.2},{sigma:.2},formulation\n"));
        }
        OpenRound::with(TestApp::new().await, count, &measurands_file(), &assigned, &[]).await
    }

    /// A round with two values a result that asks everything beside results;
    /// [`SPAN`] is published.
    pub(crate) async fn asking(count: usize) -> OpenRound {
        let measurands = measurands_file().replace(",25,1\r\n", ",25,2\r\n");
        let asks = [
            ("arrival", "codes"),
            ("method", "yes"),
            ("declaration", "yes"),
            ("performance", "yes"),
            ("span_from", SPAN.0),
            ("span_to", SPAN.1),
            ("span_unit", "ng/L"),
        ];
        OpenRound::with(TestApp::new().await, count, &measurands, &assigned_file(), &asks).await
    }

    /// A round that is a study of precision and asks nothing else beside results.
    pub(crate) async fn of_precision(count: usize, procedure: &str, protocol: &str) -> OpenRound {
        let nothing = [("arrival", "nothing"), ("method", ""), ("declaration", "")];
        let asks = [&nothing[..], &[("precision", procedure), ("protocol", protocol)]].concat();
        OpenRound::with(TestApp::new().await, count, &measurands_file(), &assigned_file(), &asks).await
    }

    /// The codes on the labels of a laboratory's items, in their order, as the
    /// organiser prints them.
    pub(crate) async fn labels(&self, laboratory: usize) -> [String; 3] {
        let code = self.laboratories[laboratory].page(&at("")).await.text("p.subtitle");
        let code = code.rsplit(' ').next().unwrap_or_default().to_owned();
        let file = self.organiser.get(&at("/labels.csv")).await.expect(200).text();
        let of = |item: &str| {
            let line = file.lines().map(|line| line.split(',').collect::<Vec<_>>());
            let mut own = line.filter(|cells| cells[0].trim_start_matches('\u{feff}') == code && cells[2] == item);
            own.next().unwrap_or_else(|| panic!("{code} has no label for {item} in\n{file}"))[3].to_owned()
        };
        ITEMS.map(|(item, _)| of(item))
    }

    /// On SQLite.
    pub(crate) async fn new(count: usize) -> OpenRound {
        OpenRound::on(TestApp::new().await, count).await
    }

    /// Everybody who is signed in sends; the receipts.
    pub(crate) async fn all_send(&self) -> Vec<String> {
        let mut receipts = Vec::new();
        for (n, laboratory) in self.laboratories.iter().enumerate() {
            enter(laboratory, &all_typed(n)).await;
            receipts.push(send(laboratory).await);
        }
        receipts
    }

    /// The deadline passes and the organiser closes.
    pub(crate) async fn close(&self) {
        // The cookie lasts 12 hours: whoever acts later signs in again.
        self.app.clock.advance(SignedDuration::from_hours(26));
        self.organiser.sign_in(ORGANISER, PASSWORD).await;
        self.reviewer.sign_in(REVIEWER, PASSWORD).await;
        self.organiser.submit(&at("/close"), &at("/close"), &[]).await.leads_to();
        for (n, laboratory) in self.laboratories.iter().enumerate() {
            laboratory.sign_in(&email(n), PASSWORD).await;
        }
    }

    /// Evaluates; a reviewer approves and the organiser publishes.
    pub(crate) async fn publish(&self) {
        self.organiser.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
        approve(&self.reviewer).await;
        publish(&self.organiser).await;
    }
}

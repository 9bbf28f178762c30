//! The demonstration's first round, from its raw data to publication in a browser:
//! each deliberate mistake that a review can find is found and shown, people decide,
//! a second person approves, and what is published is what the program prints.
//! Numbers of mistakes and cases (X1 to X23, Y1 to Y5) are those of the scenario's
//! description.

use crate::support::app::TestApp;
use crate::support::browser::Browser;
use crate::support::page::{Page, selector, words};
use crate::support::program::{command, run};
use crate::support::visitor::Visitor;
use roundel::demo::scenario::{CellState, ExclusionKind, Scenario, round_qw1};
use roundel::demo::{self, Account};
use roundel::evaluated::Evaluated;
use roundel_domain::evaluation::{Basis, RoundEvaluation};
use roundel_domain::judgement::Topic;
use roundel_domain::package::{self, AssignedValue};
use roundel_store::{evaluations, installation, rounds};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};

fn at(rest: &str) -> String {
    format!("/rounds/QW-1{rest}")
}

/// A mistake, and how the worklist names it.
struct Planted {
    mistake: &'static str,
    kind: &'static str,
    /// Laboratories of the scenario whose codes the sentence names.
    laboratories: &'static [&'static str],
    /// What else it says.
    says: &'static [&'static str],
}

const fn planted(
    mistake: &'static str,
    kind: &'static str,
    laboratories: &'static [&'static str],
    says: &'static [&'static str],
) -> Planted {
    Planted { mistake, kind, laboratories, says }
}

/// What the worklist must hold. Not here: what is refused before it is sent (X9, X22,
/// X25), what stands on other pages (X2, X13; X14, whose ζ are too few for a finding before
/// the decisions), and what is not found: X18 (equivalents of the parent; no data show
/// it), X20 (one value is asked for, so there are no replicates).
const PLANTED: [Planted; 18] = [
    planted("X1", "whole-set-factor", &["P03"], &["a factor of 10^\u{2212}3"]),
    planted("X3", "single-factor", &["P07"], &["naproxen, item B", "consistent with a factor of 0.1"]),
    planted("X4", "possible-factor", &["P09"], &["sulfamethoxazole", "a factor of 2 is possible"]),
    planted("X5", "item-swap", &["P12"], &["items A and B"]),
    planted("X6", "item-swap", &["P15"], &["items B and C"]),
    planted("X7", "analyte-swap", &["P16"], &["naproxen", "gemfibrozil", "in 3 items"]),
    planted("X8", "row-shift", &["P08"], &["item C", "from diclofenac to bezafibrate"]),
    planted("X10", "loq-above-required", &["P13"], &[]),
    planted("X11", "false-negative", &["P26"], &["metoprolol, item B"]),
    planted("X12", "false-positive", &["P29"], &["amisulpride, item C"]),
    planted("X15", "one-uncertainty", &["P10"], &["the uncertainty 25 stands beside"]),
    planted("X16", "late", &["P19"], &[]),
    planted("X17", "basis-ratio", &["P22"], &["ibuprofen", "(ratio 1.71)"]),
    planted("X19", "analyte-bias", &["P33"], &["diclofenac", "low in every item"]),
    planted("X21", "similarity", &["P20", "P21"], &["equal numbers"]),
    planted("X23", "below-own-loq", &["P28"], &[]),
    planted("Y1", "modality", &[], &["hydrochlorothiazide, item B", "2 modes"]),
    planted("Y1", "modality", &[], &["hydrochlorothiazide, item C", "2 modes"]),
];

/// Findings that no honest laboratory may have, and whose laboratories may have them.
const GROSS: [(&str, &[&str]); 5] = [
    ("whole-set-factor", &["P03"]),
    ("item-swap", &["P12", "P15"]),
    ("row-shift", &["P08"]),
    ("analyte-swap", &["P16"]),
    ("similarity", &["P20", "P21"]),
];

/// A line of the worklist.
struct Listed {
    kind: String,
    href: String,
    sentence: String,
}

struct Story {
    app: TestApp,
    browser: Browser,
    round: Scenario,
    accounts: Vec<Account>,
}

impl Story {
    /// A service with the raw data of the round; none without a browser.
    async fn begin() -> Option<Story> {
        let app = TestApp::new().await;
        let browser = Browser::start(&app.address).await?;
        let accounts = demo::fill_unreviewed(&app.app.db, &app.address).await.expect("the demonstration is made");
        // The service read the empty database before; after a start it would find it so.
        let mut tx = app.app.db.read().await.expect("a database");
        *app.app.installation.write().expect("no panic") = installation::get(&mut tx).await.expect("a statement");
        drop(tx);
        Some(Story { app, browser, round: round_qw1(), accounts })
    }

    fn account(&self, role: &str) -> &Account {
        self.accounts.iter().find(|account| account.role == role).unwrap_or_else(|| panic!("{role} has no account"))
    }

    fn code(&self, id: &str) -> String {
        self.round.laboratories.iter().find(|one| one.id == id).expect("it takes part").code.to_string()
    }

    fn position(&self, item: &str, analyte: &str) -> usize {
        let place = self.round.measurands.iter().position(|m| m.item == item && m.analyte == analyte);
        1 + place.unwrap_or_else(|| panic!("{analyte} is asked for in {item}"))
    }

    /// The browser becomes this person's.
    async fn sign_in(&self, role: &str) {
        let account = self.account(role);
        self.browser.forget().await;
        self.browser.go("/sign-in").await;
        self.browser.type_into("email", &account.email).await;
        self.browser.type_into("password", &account.password).await;
        self.browser.press("form[action='/sign-in'] button").await;
    }

    async fn visitor(&self, role: &str) -> Visitor {
        let (visitor, account) = (self.app.visitor(), self.account(role));
        visitor.sign_in(&account.email, &account.password).await;
        visitor
    }

    /// Codes only: nothing in a page names a laboratory.
    fn assert_nameless(&self, path: &str, html: &str) {
        for one in &self.round.laboratories {
            let analyst = format!("Analyst of {}", one.id);
            for name in [Some(one.name), Some(one.email), one.organisation, Some(analyst.as_str())].iter().flatten() {
                assert!(!html.contains(name), "{path} names {name}");
            }
        }
    }

    /// The page in the browser, which names nobody.
    async fn seen(&self) -> Page {
        let html = self.browser.run("return document.documentElement.outerHTML", vec![]).await;
        let html = html.as_str().expect("a text");
        self.assert_nameless(&self.browser.path().await, html);
        Page::read(html)
    }

    async fn open(&self, path: &str) -> Page {
        self.browser.go(path).await;
        self.seen().await
    }

    async fn press(&self, css: &str) -> Page {
        self.browser.press(css).await;
        self.seen().await
    }

    async fn tick(&self, css: &str) {
        self.browser.run("document.querySelector(arguments[0]).click()", vec![css.into()]).await;
    }

    /// The line of the worklist of a mistake.
    fn find<'a>(&self, listed: &'a [Listed], planted: &Planted) -> Option<&'a Listed> {
        let codes: Vec<String> = planted.laboratories.iter().map(|id| self.code(id)).collect();
        listed.iter().find(|one| {
            one.kind == planted.kind
                && codes.iter().all(|code| one.sentence.contains(code.as_str()))
                && planted.says.iter().all(|text| one.sentence.contains(text))
        })
    }

    /// Every deliberate mistake stands in the worklist and one click further is its
    /// evidence; and whom the gross findings are about.
    async fn missing(&self, listed: &[Listed]) -> Vec<String> {
        let mut missing = Vec::new();
        for planted in &PLANTED {
            let Some(found) = self.find(listed, planted) else {
                missing.push(format!("{}: no {} of {:?}", planted.mistake, planted.kind, planted.laboratories));
                continue;
            };
            self.open(&at(&format!("/review?show=all&kind={}", planted.kind))).await;
            let page = self.press(&format!("main ul.worklist a[href='{}']", found.href)).await;
            let text = page.text("main");
            if !page.has("main figure svg") && !page.has("main table tbody tr") {
                missing.push(format!("{}: no evidence on {}: {text}", planted.mistake, found.href));
            }
            if !planted.laboratories.iter().all(|id| text.contains(&self.code(id))) {
                missing.push(format!("{}: {} does not name {:?}", planted.mistake, found.href, planted.laboratories));
            }
        }
        missing.extend(self.missing_elsewhere().await);
        missing
    }

    /// What stands on the pages of a laboratory or a measurand.
    async fn missing_elsewhere(&self) -> Vec<String> {
        let mut missing = Vec::new();
        let mut expect = |mistake: &str, told: String, text: &str| {
            if !told.contains(text) {
                missing.push(format!("{mistake}: not {text:?} but {told:?}"));
            }
        };
        let page = self.open(&at(&format!("/review/laboratory/{}", self.code("P04")))).await;
        expect("X2", page.texts("tbody td code").join(" "), "145,250");
        let row = |page: &Page, id: &str| page.text(&format!("tr[id='lab-{}']", self.code(id)));
        let page = self.open(&at(&format!("/review/{}", self.position("A", "gabapentin")))).await;
        expect("X12", row(&page, "P31"), "A trace of an absent analyte; not judged.");
        let page = self.open(&at(&format!("/review/finding?key=loq-above-required:{}", self.code("P13")))).await;
        expect("X10", page.text("main table"), "trimethoprim, item B");
        let page = self.open(&at(&format!("/review/{}", self.position("B", "carbamazepine")))).await;
        expect("X2", row(&page, "P04"), "145.25");
        missing
    }

    /// No gross finding is about a laboratory without such a mistake.
    fn assert_honest(&self, listed: &[Listed]) {
        let mut wrong = Vec::new();
        for (kind, laboratories) in GROSS {
            for one in self.round.laboratories.iter().filter(|one| !laboratories.contains(&one.id)) {
                let code = one.code.to_string();
                let about = listed.iter().filter(|line| line.kind == kind && line.sentence.contains(&code));
                wrong.extend(about.map(|line| format!("{}: {}", one.id, line.sentence)));
            }
            let all = listed.iter().filter(|line| line.kind == kind).count();
            assert!(all <= laboratories.len(), "one {kind} for each mistake");
        }
        assert!(wrong.is_empty(), "honest laboratories are told of: {wrong:#?}");
    }

    /// From the evidence of a finding to a decision, its effect looked at before.
    async fn decide_in_browser(&self, found: &Listed, scope: &str, cause: &str, mistake: &str) {
        self.open(&found.href).await;
        self.press(&format!("main a.button[href*='{scope}']")).await;
        self.tick("#kind-blunder").await;
        self.browser.choose("cause", cause).await;
        self.browser.type_into("reason", self.reason(mistake)).await;
        let form = format!("form[action='{}']", at("/decide"));
        let preview = self.press(&format!("{form} button[value='preview']")).await;
        assert!(preview.text("p.attention").contains("Nothing is decided yet."));
        assert!(preview.text("dl.facts").contains(self.reason(mistake)));
        // Fewer count in the consensus, and that is shown.
        assert!(preview.texts("tbody td.n").iter().any(|text| text.contains('→')), "{}", preview.text("main"));
        self.press(&format!("{form} button")).await;
        let done = self.open(&found.href).await;
        assert!(done.text("main").contains("It has been decided on."), "{}", done.text("main"));
    }

    fn reason(&self, mistake: &str) -> &'static str {
        let exclusion = self.round.exclusions.iter().find(|one| one.mistake == mistake);
        exclusion.expect("an exclusion of the scenario").reason
    }

    /// The same without scripts, on the results that the scenario leaves out.
    async fn decide(&self, who: &Visitor, finding: &Listed, cause: &str, mistake: &str) {
        let mut on = Vec::new();
        for one in self.round.exclusions.iter().filter(|one| one.mistake == mistake) {
            assert_eq!(one.kind, ExclusionKind::Blunder);
            on.push(format!("on={}.{}", self.code(one.laboratory), self.position(one.item, one.analyte)));
        }
        let (_, key) = finding.href.split_once("key=").expect("an address with a key");
        let path = at(&format!("/decide?{}&finding={key}", on.join("&")));
        let fields = [("kind", "blunder"), ("cause", cause), ("reason", self.reason(mistake)), ("command", "preview")];
        let preview = who.submit(&path, &at("/decide"), &fields).await.expect(200).page();
        assert!(preview.text("p.attention").contains("Nothing is decided yet."));
        who.post(&at("/decide"), &preview.form(&at("/decide"))).await.leads_to();
    }

    /// What is decided about measurands as a whole: two in the browser, the others
    /// as it would post them.
    async fn judge(&self, statistician: &Visitor, reviewer: &Visitor) {
        for (number, judged) in self.round.judgements().iter().enumerate() {
            let path = at(&format!("/review/{}", self.position(judged.item, judged.analyte)));
            let consents = judged.topic == Topic::Consent;
            let fields = [("topic", judged.topic.word()), ("kind", judged.kind.word()), ("reason", judged.reason)];
            if [0, 3].contains(&number) {
                self.sign_in(if consents { "reviewer" } else { "statistician" }).await;
                self.open(&path).await;
                self.browser.choose("topic", judged.topic.word()).await;
                self.browser.choose("kind", judged.kind.word()).await;
                self.browser.type_into("reason", judged.reason).await;
                let page = self.press(&format!("form[action='{path}'][data-once] button")).await;
                assert!(page.text("main").contains(judged.reason), "{}", page.problems());
            } else {
                let who = if consents { reviewer } else { statistician };
                who.submit(&path, &path, &fields).await.leads_to();
            }
        }
    }

    async fn evaluate(&self) {
        self.open(&at("/evaluation")).await;
        let page = self.press(&format!("form[action='{}'] button", at("/evaluation"))).await;
        assert!(page.has("table.scores"), "{}", page.problems());
    }

    /// The reviewer opens everything, by code only, and approves it.
    async fn approve(&self, reviewer: &Visitor, listed: &[Listed]) {
        let mut paths: Vec<String> =
            ["/review", "/review?show=all", "/evaluation", "/approval", "/trials", "/methods", "/plan", "/items"]
                .map(at)
                .to_vec();
        paths.extend((1..=self.round.measurands.len()).map(|position| at(&format!("/review/{position}"))));
        let concerned: BTreeSet<&str> = PLANTED.iter().flat_map(|planted| planted.laboratories).copied().collect();
        paths.extend(concerned.iter().map(|id| at(&format!("/review/laboratory/{}", self.code(id)))));
        paths.extend(PLANTED.iter().filter_map(|planted| Some(self.find(listed, planted)?.href.clone())));
        paths.extend([at(""), "/rounds".to_owned()]);
        for path in paths {
            let text = reviewer.get(&path).await.expect(200).text();
            self.assert_nameless(&path, &text);
        }
        self.sign_in("reviewer").await;
        self.open(&at("/review")).await;
        self.open(&at("/approval")).await;
        let page = self.press("button[value='approve_all']").await;
        let standings = page.all("table.approvals tbody tr.standing-approved").len();
        assert_eq!(standings, self.round.measurands.len(), "{}", page.problems());
    }

    /// The organiser publishes with password and meaning; the package of what is
    /// published.
    async fn publish(&self) -> String {
        let organiser = self.account("organiser");
        self.sign_in("organiser").await;
        self.browser.go(&at("/publish")).await;
        let form = format!("form[action='{}']", at("/publish"));
        for (name, text) in [
            ("code", "QW-1"),
            ("meaning", "Released as final after review."),
            ("password", organiser.password.as_str()),
        ] {
            self.browser.type_into(name, text).await;
        }
        self.browser.press(&format!("{form} button")).await;
        self.browser.go(&at("/evaluation")).await;
        let bytes = self.browser.download(&format!("main a[href='{}']", at("/package.json"))).await;
        String::from_utf8(bytes).expect("a package is text")
    }

    /// What the program prints for the package is what is stored, to the last digit,
    /// and has the hash that the page of approval names.
    async fn assert_program_prints_the_same(&self, text: &str, reviewer: &Visitor) -> Evaluated {
        let folder = tempfile::TempDir::with_prefix("roundel-qw1-").expect("a temporary folder can be made");
        let file = folder.path().join("package.json");
        std::fs::write(&file, text).expect("a file can be written");
        let (status, printed, error) = run(command(&["evaluate", file.to_str().expect("a path of ours")]));
        assert_eq!((status, error.as_str()), (Some(0), ""));
        let mut tx = self.app.app.db.read().await.expect("a database");
        let round = rounds::by_code(&mut tx, "QW-1").await.expect("a statement").expect("the round");
        let (_, published) = round.state.published().expect("it is published");
        let stored = evaluations::texts(&mut tx, published).await.expect("a statement").expect("an evaluation");
        drop(tx);
        assert!(printed == stored.document, "the program prints another evaluation than the one that is stored");
        assert!(text == stored.package, "the package is the stored one");
        let hash = hex::encode(Sha256::digest(&printed));
        assert_eq!(reviewer.page(&at("/approval")).await.text("dl.facts code.hash"), hash);
        let package = package::parse(text).expect("a valid package");
        Evaluated::of(package, RoundEvaluation::from_json(&printed).expect("an evaluation"))
    }

    async fn measurand(&self, who: &Visitor, id: &str) -> Page {
        let (item, analyte) = id.split_once('/').expect("an item and an analyte");
        who.page(&at(&format!("/review/{}", self.position(item, analyte)))).await
    }

    /// How the special measurands end, on their pages and in what is published.
    async fn assert_special_cases(&self, who: &Visitor, published: &Evaluated) {
        let outcome = |id: &str| published.measurand(id).unwrap_or_else(|| panic!("{id} was evaluated"));
        // Y1: no class for anybody; the reason names the groups.
        for id in ["B/hydrochlorothiazide", "C/hydrochlorothiazide"] {
            let page = self.measurand(who, id).await;
            let (lines, judged) = (page.all("table.scores tbody tr"), page.all("table.scores .class.information"));
            assert!(judged.len() > 20 && lines.len() - judged.len() <= 3, "{id}: {} of {}", judged.len(), lines.len());
            assert!(page.text("main").contains("calibrate in solvent") && page.has("figure.drawn svg"), "{id}");
        }
        for item in ["A", "B", "C"] {
            // Y2: eleven count, with consent, and z' as q is between 0.3 and 0.45.
            let id = format!("{item}/N4-acetylsulfamethoxazole");
            let (plan, evaluated) = outcome(&id);
            let value = evaluated.assigned_value.as_ref().expect("a consensus");
            assert_eq!((value.basis, value.p), (Basis::Participants, Some(11)), "{id}");
            assert!(
                matches!(&plan.assigned_value, Some(AssignedValue::Participants(c)) if c.consent.is_some()),
                "{id}"
            );
            let q = evaluated.uncertainty_ratio.expect("a ratio");
            assert!((0.3..0.45).contains(&q), "{id}: {q}");
            let heads = self.measurand(who, &id).await.texts("table.scores thead th");
            assert!(heads.iter().any(|head| head == "z′"), "{id}: {heads:?}");
            // Y3: six are too few, so the content by preparation is the value.
            let id = format!("{item}/metformin");
            let (_, evaluated) = outcome(&id);
            let counted = evaluated.summary.quantified + evaluated.summary.censored;
            assert_eq!((evaluated.assigned_value.as_ref().map(|v| v.basis), counted), (Some(Basis::Formulation), 6));
            let page = self.measurand(who, &id).await;
            assert!(page.text("dl.facts").contains("by formulation"), "{id}: {}", page.text("dl.facts"));
            // Y5: a "<" for what is absent is right.
            let hints = self.measurand(who, &format!("{item}/amisulpride")).await.texts("table.scores .hint");
            let right = hints.iter().filter(|hint| *hint == "Correct: the analyte is absent.").count();
            assert!(right >= 15, "{item}: {hints:?}");
        }
        // X14: U that is too small shows in ζ beside good scores.
        let own = published.evaluation.scores.iter().filter(|score| score.participant == self.code("P06"));
        let doubted = own
            .filter(|score| score.z.is_some_and(|z| z.abs() <= 2.0) && score.zeta.is_some_and(|zeta| zeta.abs() > 2.0));
        assert!(doubted.count() >= 3);
        // Y4: about a fifth below a limit.
        let typed = self.measurand(who, "A/bezafibrate").await.texts("table.scores td code");
        let below = typed.iter().filter(|text| text.starts_with('<')).count();
        let share = below as f64 / typed.len() as f64;
        assert!((0.05..0.3).contains(&share), "{below} of {}", typed.len());
    }
}

/// How many there are of each kind; chance makes possible factors and exchanges too.
fn counts(listed: &[Listed]) -> BTreeMap<&str, usize> {
    listed.iter().fold(BTreeMap::new(), |mut counts, line| {
        *counts.entry(line.kind.as_str()).or_default() += 1;
        counts
    })
}

/// The lines of a worklist.
fn listed(page: &Page) -> Vec<Listed> {
    let mut lines = Vec::new();
    for section in page.all("section.findings") {
        let kind = section.attr("id").expect("a section with a name");
        for link in section.select(&selector("li a:not(.place)")) {
            let href = link.attr("href").expect("a link").to_owned();
            lines.push(Listed { kind: kind.to_owned(), href, sentence: words(link) });
        }
    }
    lines
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_first_round_goes_from_its_raw_data_to_publication_with_all_its_mistakes_found() {
    let Some(story) = Story::begin().await else { return };
    let (statistician, reviewer) = (story.visitor("statistician").await, story.visitor("reviewer").await);

    story.sign_in("statistician").await;
    story.evaluate().await;
    let worklist = story.open(&at("/review?show=all")).await;
    // P17 never sent its draft (X24).
    let sent = story.round.laboratories.iter().filter(|one| !one.draft_only).count();
    assert!(worklist.text("dl.facts").contains(&sent.to_string()), "{}", worklist.text("dl.facts"));
    let found = listed(&worklist);
    println!("findings of QW-1 by kind: {:?}", counts(&found));
    story.assert_honest(&found);
    let missing = story.missing(&found).await;
    assert!(missing.is_empty(), "not found:\n{}", missing.join("\n"));

    let by_mistake: BTreeMap<&str, &Listed> =
        PLANTED.iter().filter_map(|one| Some((one.mistake, story.find(&found, one)?))).collect();
    story.decide_in_browser(by_mistake["X1"], ".all&finding=", "unit", "X1").await;
    story.decide_in_browser(by_mistake["X3"], "/decide?", "dilution", "X3").await;
    for (mistake, cause) in
        [("X5", "items_exchanged"), ("X6", "items_exchanged"), ("X7", "analytes_exchanged"), ("X8", "rows_shifted")]
    {
        story.decide(&statistician, by_mistake[mistake], cause, mistake).await;
    }
    story.judge(&statistician, &reviewer).await;
    story.sign_in("statistician").await;
    let open: BTreeSet<String> = listed(&story.open(&at("/review")).await).into_iter().map(|one| one.href).collect();
    for mistake in ["X1", "X3", "X5", "X6", "X7", "X8", "Y1"] {
        assert!(!open.contains(&by_mistake[mistake].href), "{mistake} is decided on");
    }

    story.evaluate().await;
    story.approve(&reviewer, &found).await;
    let text = story.publish().await;
    let published = story.assert_program_prints_the_same(&text, &reviewer).await;
    story.assert_special_cases(&reviewer, &published).await;
    story.assert_left_out(&published);
    let Story { app, browser, .. } = story;
    browser.end().await;
    app.end().await;
}

impl Story {
    /// No number is altered, and what was decided on is left out with its reason.
    fn assert_left_out(&self, published: &Evaluated) {
        for one in self.round.exclusions.iter().filter(|one| one.kind == ExclusionKind::Blunder) {
            let (code, id) = (self.code(one.laboratory), format!("{}/{}", one.item, one.analyte));
            let laboratory = self.round.laboratories.iter().find(|l| l.id == one.laboratory).expect("it takes part");
            let typed = &laboratory.cells[self.position(one.item, one.analyte) - 1];
            let result = published.result(&code, &id).unwrap_or_else(|| panic!("{code} sent {id}"));
            assert!(result.exclude.as_deref().is_some_and(|text| text.contains(one.reason)), "{code} {id}: {result:?}");
            let score = published.score(&code, &id).unwrap_or_else(|| panic!("{code} has an entry for {id}"));
            if typed.state == CellState::Value {
                assert_eq!(score.value, typed.text.parse().ok(), "{code} {id} stands as it was typed");
            }
        }
    }
}

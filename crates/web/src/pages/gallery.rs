//! Every figure with invented data, from one point to four hundred: in the
//! demonstration only.

use super::charts::{self, Charted};
use super::figures::Drawn;
use super::item_words::Study;
use super::{Frame, item_figures, ok};
use crate::error::Error;
use crate::extract::{Query, Visitor};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::figure::invented::{self, Case};
use roundel_documents::figure::mandel::{self, Statistic};
use roundel_documents::figure::{Audience, Table, density, overview, own_scores, precision_level, results, scores};
use roundel_documents::figure::{strip, trend, youden, zeta_z};
use roundel_documents::words::Words;
use roundel_domain::review::{Curve, curve};
use roundel_domain::study::sigma::SigmaFrom;
use roundel_domain::study::{self, verdict};
use serde::Deserialize;

struct Tab {
    label: String,
    href: String,
    here: bool,
}

struct Section {
    name: String,
    chart: Charted,
}

#[derive(Template)]
#[template(path = "gallery.html")]
struct GalleryPage {
    f: Frame,
    tabs: Vec<Tab>,
    sections: Vec<Section>,
}

/// Which data a page shows.
#[derive(Debug, Default, Deserialize)]
pub struct Wanted {
    #[serde(default)]
    data: String,
}

/// `GET /gallery`.
///
/// # Errors
///
/// [`Error::NotFound`] outside of the demonstration.
pub async fn page(State(app): State<App>, visitor: Visitor, Query(wanted): Query<Wanted>) -> Result<Response, Error> {
    let f = Frame::open(&app, &visitor);
    if !f.demonstration {
        return Err(Error::NotFound);
    }
    let case = Case::ALL.into_iter().find(|case| case.word() == wanted.data).unwrap_or(Case::Forty);
    let tabs = Case::ALL.map(|one| Tab {
        label: f.t(&format!("gallery-{}", one.word())),
        href: format!("/gallery?data={}", one.word()),
        here: one == case,
    });
    ok(&GalleryPage { tabs: tabs.into(), sections: sections(&f, case), f })
}

/// Figures that have no table of their own here: the pages of results show it.
fn no_table<T>(_: &T, _: &Words) -> Table {
    Table::default()
}

fn sections(f: &Frame, case: Case) -> Vec<Section> {
    let words = &f.w;
    let (own, all) = (Audience::Laboratory, Audience::Organiser);
    let mut sections = Vec::new();
    let mut add = |key: &str, copy: Option<Audience>, chart: Charted| {
        let name = match copy {
            None => f.t(key),
            Some(Audience::Laboratory) => f.t1("gallery-copy-laboratory", "figure", f.t(key)),
            Some(Audience::Organiser) => f.t1("gallery-copy-organiser", "figure", f.t(key)),
        };
        sections.push(Section { name, chart });
    };
    for audience in [own, all] {
        let figure = |width| invented::results(case, audience, width);
        add(
            "gallery-results",
            Some(audience),
            Charted::of(figure, words, (results::render, results::caption, no_table)),
        );
        let figure = |width| invented::scores(case, audience, width);
        add("gallery-scores", Some(audience), Charted::of(figure, words, (scores::render, scores::caption, no_table)));
        let figure = |width| {
            let mut figure = invented::youden(case, audience, width);
            let pairs: Vec<[f64; 2]> = figure.points.iter().map(|point| point.at).collect();
            figure.ellipse = charts::ellipse(&pairs);
            figure
        };
        add(
            "gallery-youden",
            Some(audience),
            Charted::of(figure, words, (youden::render, youden::caption, youden::table)),
        );
        let figure = |width| invented::zeta_z(case, audience, width);
        add(
            "gallery-zeta",
            Some(audience),
            Charted::of(figure, words, (zeta_z::render, zeta_z::caption, zeta_z::table)),
        );
    }
    add(
        "gallery-overview",
        None,
        Charted::of(
            |width| invented::overview(case, width),
            words,
            (overview::render, overview::caption, overview::table),
        ),
    );
    add(
        "gallery-own-overview",
        None,
        Charted::of(
            |width| invented::own_overview(case, width),
            words,
            (overview::render, overview::caption, overview::table),
        ),
    );
    add(
        "gallery-own-scores",
        None,
        Charted::of(
            |width| invented::own_scores(case, width),
            words,
            (own_scores::render, own_scores::caption, no_table),
        ),
    );
    for (key, statistic) in [("gallery-mandel-h", Statistic::H), ("gallery-mandel-k", Statistic::K)] {
        let figure = |width| invented::mandel(case, statistic, all, width);
        add(key, None, Charted::of(figure, words, (mandel::render, mandel::caption, mandel::table)));
    }
    add(
        "gallery-precision",
        None,
        Charted::of(
            |width| invented::precision_level(case, width),
            words,
            (precision_level::render, precision_level::caption, precision_level::table),
        ),
    );
    add(
        "gallery-trend",
        None,
        Charted::of(|width| invented::trend(case, width), words, (trend::render, trend::caption, trend::table)),
    );
    add(
        "gallery-density",
        None,
        Charted::of(|width| crowding(case, width), words, (density::render, density::caption, no_table)),
    );
    for (key, render) in
        [("gallery-strip", strip::render as fn(&_, &_) -> _), ("gallery-strip-small", strip::render_small)]
    {
        let figure = |width| {
            let mut figure = invented::strip(case, width);
            figure.id = format!("{key}-{}", figure.id);
            figure
        };
        add(key, None, Charted::of(figure, words, (render, strip::caption, no_table)));
    }
    for (key, drawn) in studies(f, case) {
        add(key, None, Charted { drawn, table: Table::default() });
    }
    sections
}

/// The invented results with the curve that a review draws of such results.
fn crowding(case: Case, width: u32) -> density::Density {
    let mut figure = invented::density(case, width);
    if let Some(Curve { bandwidth, points, modes }) = curve(&figure.ticks, Some(invented::sigma_pt()), figure.assigned)
    {
        (figure.bandwidth, figure.curve, figure.modes) = (bandwidth, points, modes);
    }
    figure
}

/// The figures of studies, from lines as they are typed.
fn studies(f: &Frame, case: Case) -> Vec<(&'static str, Drawn)> {
    let sigma_pt = invented::sigma_pt();
    let name = f.t2("gallery-study-name", "analyte", case.analyte(), "item", f.t1("item-name", "item", "A"));
    let of = Study { f, name: &name, unit: "ng/L", sigma: Some((sigma_pt, SigmaFrom::Plan)) };
    let mut drawn = Vec::new();
    if let Ok(units) = study::read_homogeneity(&invented::units(case)) {
        let data = study::Homogeneity { method: String::new(), units };
        let report = verdict::homogeneity(&data, Some(sigma_pt));
        drawn.push(("gallery-units", item_figures::homogeneity(&of, &data, &report)));
    }
    if let Ok(points) = study::read_stability(&invented::days(case)) {
        let began_on = jiff::civil::date(2024, 3, 4);
        let data = study::Stability { method: String::new(), began_on, points };
        let report = verdict::stability(&data, Some(sigma_pt), began_on);
        drawn.push(("gallery-days", item_figures::stability(&of, &data, &report)));
    }
    drawn
}

//! Every figure with invented data, from one point to four hundred: in the
//! demonstration only.

use super::charts::{self, Charted};
use super::{Frame, ok};
use crate::error::Error;
use crate::extract::{Query, Visitor};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::figure::invented::{self, Case};
use roundel_documents::figure::mandel::{self, Statistic};
use roundel_documents::figure::{Audience, Table, overview, own_scores, precision_level, results, scores};
use roundel_documents::figure::{trend, youden, zeta_z};
use roundel_documents::words::Words;
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
    sections
}

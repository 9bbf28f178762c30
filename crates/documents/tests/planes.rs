//! Laws of the figures of pairs, joint scores, matrices, precision and rounds, on
//! data that are easy and on data that are not.

use roundel_documents::figure::density::{self, Density};
use roundel_documents::figure::invented::{self, Case};
use roundel_documents::figure::mandel::{self, Statistic};
use roundel_documents::figure::{
    Audience, NARROW, Table, WIDE, overview, precision_level, strip, trend, youden, zeta_z,
};
use roundel_documents::words::Words;
use roundel_documents::{Mark, Score};
use roxmltree::{Document, Node};

/// A figure drawn: its name, SVG, caption and table.
struct Drawn {
    name: String,
    svg: String,
    caption: String,
    /// None where the page has the rows already.
    table: Option<Table>,
}

fn all(words: &Words) -> Vec<Drawn> {
    let mut all = Vec::new();
    for case in Case::ALL {
        for width in [WIDE, NARROW] {
            let one = invented::strip(case, width);
            let (high, low, caption) =
                (strip::render(&one, words), strip::render_small(&one, words), strip::caption(&one, words));
            let one = crowding(case, width);
            let crowd = (density::render(&one, words), density::caption(&one, words));
            for (kind, svg, caption) in
                [("strip", high, caption.clone()), ("low strip", low, caption), ("density", crowd.0, crowd.1)]
            {
                all.push(Drawn { name: format!("{kind} {case:?} {width}"), svg, caption, table: None });
            }
            let mut add = |kind: &str, svg: String, caption: String, table: Table| {
                all.push(Drawn { name: format!("{kind} {case:?} {width}"), svg, caption, table: Some(table) });
            };
            for audience in [Audience::Laboratory, Audience::Organiser] {
                let one = invented::youden(case, audience, width);
                add("youden", youden::render(&one, words), youden::caption(&one, words), youden::table(&one, words));
                let one = invented::zeta_z(case, audience, width);
                add("zeta", zeta_z::render(&one, words), zeta_z::caption(&one, words), zeta_z::table(&one, words));
                for statistic in [Statistic::H, Statistic::K] {
                    let one = invented::mandel(case, statistic, audience, width);
                    let (svg, caption) = (mandel::render(&one, words), mandel::caption(&one, words));
                    add("mandel", svg, caption, mandel::table(&one, words));
                }
            }
            for one in [invented::overview(case, width), invented::own_overview(case, width)] {
                let (svg, caption) = (overview::render(&one, words), overview::caption(&one, words));
                add("overview", svg, caption, overview::table(&one, words));
            }
            let one = invented::precision_level(case, width);
            let (svg, caption) = (precision_level::render(&one, words), precision_level::caption(&one, words));
            add("precision", svg, caption, precision_level::table(&one, words));
            let one = invented::trend(case, width);
            add("trend", trend::render(&one, words), trend::caption(&one, words), trend::table(&one, words));
        }
    }
    all
}

/// Invented results with a sum of kernels over them, and its highest place as a mode.
fn crowding(case: Case, width: u32) -> Density {
    let mut figure = invented::density(case, width);
    if figure.curve.is_empty() {
        let (low, high) = (60.0, 400.0);
        let height = |x: f64| {
            let kernel = |tick: &f64| (-0.5 * ((x - tick) / figure.bandwidth).powi(2)).exp();
            figure.ticks.iter().map(kernel).sum::<f64>() / figure.ticks.len() as f64
        };
        let places = (0..=120).map(|step| low + (high - low) * f64::from(step) / 120.0);
        let curve: Vec<(f64, f64)> = places.map(|x| (x, height(x))).collect();
        let highest = curve.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|point| point.0);
        (figure.curve, figure.modes) = (curve, highest.into_iter().collect());
    }
    figure
}

fn parse<'a>(name: &str, svg: &'a str) -> Document<'a> {
    Document::parse(svg).unwrap_or_else(|fault| panic!("{name}: {fault}"))
}

fn number(node: &Node<'_, '_>, attribute: &str) -> f64 {
    node.attribute(attribute).and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("no {attribute}"))
}

/// Left, top, right, bottom of a text, as the other tests of figures measure it; one
/// that is turned by a quarter stands upright.
fn box_of(node: &Node<'_, '_>) -> [f64; 4] {
    let text = node.text().unwrap_or_default();
    let narrow = |letter: char| "ijlt.,:;'|! ()".contains(letter);
    let long = text.chars().map(|letter| if narrow(letter) { 0.33 } else { 0.6 }).sum::<f64>() * 12.0;
    let (x, y) = (number(node, "x"), number(node, "y"));
    if node.attribute("transform").is_some() {
        return [x - 9.0, y - long, x + 2.6, y];
    }
    let left = match node.attribute("text-anchor") {
        Some("middle") => x - long / 2.0,
        Some("end") => x - long,
        _ => x,
    };
    [left, y - 9.0, left + long, y + 2.6]
}

fn count(svg: &str, class: &str, element: &str) -> usize {
    let document = parse("figure", svg);
    document
        .descendants()
        .filter(|node| node.tag_name().name() == element)
        .filter(|node| node.attribute("class").is_some_and(|classes| classes.split(' ').any(|one| one == class)))
        .count()
}

#[test]
fn every_figure_is_well_formed_named_and_leaves_style_to_the_page() {
    for words in [Words::English, Words::German] {
        for Drawn { name, svg, caption, table } in all(&words) {
            let document = parse(&name, &svg);
            let root = document.root_element();
            assert_eq!(root.attribute("role"), Some("img"), "{name}: no links, so it is a picture");
            for (attribute, element) in [("aria-labelledby", "title"), ("aria-describedby", "desc")] {
                let id = root.attribute(attribute).expect("a name and a description");
                let named = root.children().find(|node| node.attribute("id") == Some(id)).expect("what it refers to");
                assert_eq!(named.tag_name().name(), element, "{name}");
                assert!(!named.text().unwrap_or_default().is_empty(), "{name}: {element} is empty");
            }
            let mut ids: Vec<&str> = document.descendants().filter_map(|node| node.attribute("id")).collect();
            let all = ids.len();
            ids.sort_unstable();
            ids.dedup();
            assert_eq!(ids.len(), all, "{name}: an id stands twice");
            assert!(document.descendants().all(|node| node.attribute("style").is_none()), "{name}");
            for bad in ["NaN", "inf\"", "var(", "<style", "‹"] {
                assert!(!svg.contains(bad), "{name}: {bad}");
                assert!(!caption.contains(bad), "{name}: {caption}");
            }
            assert!(caption.ends_with('.'), "{name}: {caption}");
            let Some(table) = table else { continue };
            assert!(!table.head.is_empty() && table.rows.iter().all(|row| row.len() == table.head.len()), "{name}");
            assert!(table.own.is_none_or(|own| own < table.rows.len()), "{name}");
        }
    }
}

#[test]
fn no_text_lies_on_another_and_none_leaves_the_figure() {
    let mut faults: Vec<String> = Vec::new();
    for Drawn { name, svg, .. } in all(&Words::English) {
        let document = parse(&name, &svg);
        let view: Vec<f64> = document
            .root_element()
            .attribute("viewBox")
            .expect("a view box")
            .split(' ')
            .map(|part| part.parse().expect("a number"))
            .collect();
        let texts: Vec<(&str, [f64; 4])> = document
            .descendants()
            .filter(|node| node.tag_name().name() == "text")
            .map(|node| (node.text().unwrap_or_default(), box_of(&node)))
            .collect();
        for (index, (one, [left, top, right, bottom])) in texts.iter().enumerate() {
            if *left < -1.0 || *top < -1.0 || *right > view[2] + 1.0 || *bottom > view[3] + 1.0 {
                faults.push(format!("{name}: {one:?} at {left},{top} to {right},{bottom} is outside {view:?}"));
            }
            for (other, [l, t, r, b]) in &texts[..index] {
                let apart = right <= l || r <= left || bottom <= t || b <= top;
                if !apart {
                    faults.push(format!("{name}: {one:?} lies on {other:?}"));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults[..faults.len().min(40)].join("\n"));
}

#[test]
fn the_same_data_in_another_order_give_the_same_bytes() {
    let words = Words::English;
    for case in Case::ALL {
        let one = invented::youden(case, Audience::Organiser, WIDE);
        let mut turned = one.clone();
        turned.points.reverse();
        assert_eq!(youden::render(&one, &words), youden::render(&turned, &words), "{case:?}");
        assert_eq!(youden::table(&one, &words), youden::table(&turned, &words), "{case:?}");

        let one = invented::zeta_z(case, Audience::Organiser, WIDE);
        let mut turned = one.clone();
        turned.points.reverse();
        assert_eq!(zeta_z::render(&one, &words), zeta_z::render(&turned, &words), "{case:?}");

        let one = invented::mandel(case, Statistic::H, Audience::Organiser, WIDE);
        let mut turned = one.clone();
        turned.levels.iter_mut().for_each(|level| level.points.reverse());
        assert_eq!(mandel::render(&one, &words), mandel::render(&turned, &words), "{case:?}");

        let one = invented::precision_level(case, WIDE);
        let mut turned = one.clone();
        turned.levels.reverse();
        assert_eq!(precision_level::render(&one, &words), precision_level::render(&turned, &words), "{case:?}");
    }
}

#[test]
fn a_laboratorys_copy_rings_its_own_mark_once_and_names_no_other() {
    let words = Words::English;
    for case in [Case::Eight, Case::Forty, Case::Extremes] {
        let pairs = invented::youden(case, Audience::Laboratory, WIDE);
        let joint = invented::zeta_z(case, Audience::Laboratory, WIDE);
        let scatter = invented::mandel(case, Statistic::H, Audience::Laboratory, WIDE);
        let codes: Vec<(String, bool)> = pairs.points.iter().map(|one| (one.code.clone(), one.own)).collect();
        let copies = [
            (youden::render(&pairs, &words), youden::table(&pairs, &words), 1),
            (zeta_z::render(&joint, &words), zeta_z::table(&joint, &words), 1),
            (mandel::render(&scatter, &words), mandel::table(&scatter, &words), scatter.levels.len()),
        ];
        for (svg, table, rings) in copies {
            for (code, own) in &codes {
                assert_eq!(svg.contains(code), *own, "{case:?}: {code}");
                assert!(table.rows.iter().flatten().all(|cell| !cell.contains(code)), "{case:?}: {code}");
            }
            assert_eq!(count(&svg, "mark-own", "circle"), rings, "{case:?}");
            assert!(table.own.is_some(), "{case:?}");
        }
    }
}

#[test]
fn the_organisers_copy_names_signals_and_links_what_has_an_address() {
    let mut figure = invented::youden(Case::Extremes, Audience::Organiser, WIDE);
    for point in &mut figure.points {
        point.href = Some(format!("/review#lab-{}", point.code));
    }
    let svg = youden::render(&figure, &Words::English);
    let document = parse("linked", &svg);
    assert_eq!(document.root_element().attribute("role"), Some("group"));
    let links = document.descendants().filter(|node| node.tag_name().name() == "a");
    assert_eq!(links.filter(|link| link.attribute("aria-label").is_some()).count(), figure.points.len());
    let written: Vec<&str> = document.descendants().filter_map(|node| node.text()).collect();
    for point in figure.points.iter().filter(|point| point.mark == Mark::Action) {
        assert!(written.iter().any(|text| text.starts_with(&point.code)), "{}", point.code);
    }

    figure.audience = Audience::Laboratory;
    assert_eq!(count(&youden::render(&figure, &Words::English), "figure-link", "a"), 1, "its own alone");
}

#[test]
fn a_signal_is_told_by_its_shape_alone() {
    let words = Words::English;
    for svg in [
        youden::render(&invented::youden(Case::FourHundred, Audience::Laboratory, WIDE), &words),
        zeta_z::render(&invented::zeta_z(Case::FourHundred, Audience::Laboratory, WIDE), &words),
        overview::render(&invented::overview(Case::Forty, WIDE), &words),
        mandel::render(&invented::mandel(Case::FourHundred, Statistic::H, Audience::Laboratory, WIDE), &words),
    ] {
        assert_eq!(count(&svg, "mark-warning", "circle") + count(&svg, "mark-action", "circle"), 0);
        assert!(count(&svg, "mark-warning", "path") > 0);
        assert!(count(&svg, "mark-action", "rect") > 0);
        assert_eq!(count(&svg, "mark-within", "rect"), 0);
    }
}

#[test]
fn a_matrix_has_a_mark_for_every_result() {
    let figure = invented::overview(Case::FourHundred, WIDE);
    let states = |state| figure.rows.iter().flat_map(|row| &row.cells).filter(|cell| cell.state == state).count();
    let svg = overview::render(&figure, &Words::English);

    let dots: usize = svg.matches("h0").count();
    assert_eq!(dots, states(overview::State::Scored(Mark::Within)));
    assert_eq!(count(&svg, "mark-action", "rect"), states(overview::State::Scored(Mark::Action)));
    assert_eq!(count(&svg, "mark-warning", "path"), states(overview::State::Scored(Mark::Warning)));
}

#[test]
fn an_ellipse_is_drawn_from_ten_pairs_that_scatter() {
    let drawn = |case| {
        let svg = youden::render(&invented::youden(case, Audience::Organiser, WIDE), &Words::English);
        (count(&svg, "figure-limit", "path"), svg)
    };
    assert_eq!(drawn(Case::Forty).0, 1);
    let (few, svg) = drawn(Case::Eight);
    assert!(few == 0 && svg.contains("No ellipse: fewer than 10 pairs"));
    let (singular, svg) = drawn(Case::Ties);
    assert!(singular == 0 && svg.contains("No ellipse: the pairs"));
}

#[test]
fn fewer_than_three_rounds_have_points_and_no_limits() {
    let mut figure = invented::trend(Case::Eight, WIDE);
    let limits = |figure: &trend::Trend| {
        let svg = trend::render(figure, &Words::English);
        let document = parse("trend", &svg);
        let level = |node: &Node<'_, '_>| {
            node.attribute("class") == Some("figure-limit") && node.attribute("y1") == node.attribute("y2")
        };
        document.descendants().filter(level).count()
    };
    assert_eq!(limits(&figure), 4, "warning and action on both sides");
    figure.rounds.truncate(2);
    assert_eq!(limits(&figure), 0);
    assert!(trend::render(&figure, &Words::English).contains("Fewer than 3 rounds"));
    figure.rounds.clear();
    assert_eq!(trend::caption(&figure, &Words::English), "No round.");
}

#[test]
fn captions_say_what_the_figures_show() {
    let mut figure = invented::trend(Case::Eight, WIDE);
    for (round, z) in figure.rounds.iter_mut().zip([0.5, 2.5, -3.5, 0.1]) {
        for score in &mut round.scores {
            score.score = Score::Value(z);
            score.look = z.abs() >= 3.0;
        }
    }
    figure.rounds.truncate(4);
    assert_eq!(
        trend::caption(&figure, &Words::English),
        "Carbamazepine: 4 rounds, one at or below \u{2212}3, one between +2 and +3, one to look at."
    );

    let mut figure = invented::zeta_z(Case::Eight, Audience::Laboratory, WIDE);
    for (one, at) in figure.points.iter_mut().zip([
        [0.5, 0.4],
        [0.5, 2.4],
        [2.5, 1.2],
        [3.5, 4.5],
        [-0.5, -0.4],
        [-1.0, -1.9],
        [1.0, 1.0],
        [0.0, 0.0],
    ]) {
        one.point.at = at;
        one.point.own = false;
    }
    assert_eq!(
        zeta_z::caption(&figure, &Words::English),
        "8 laboratories with an uncertainty, five good in both scores, one with u too small, one with u too large for the \
         purpose, one with an error that u does not cover, one without an uncertainty not drawn."
    );
}

#[test]
fn hostile_texts_stay_texts() {
    const HOSTILE: &str = "</text><script>alert(\"1\")</script> & 'x' \u{7}]]>";
    let mut pairs = invented::youden(Case::Extremes, Audience::Organiser, WIDE);
    pairs.id = HOSTILE.to_owned();
    pairs.analyte = HOSTILE.to_owned();
    for point in &mut pairs.points {
        (point.code, point.href, point.tooltip) = (HOSTILE.into(), Some(HOSTILE.into()), Some(HOSTILE.into()));
    }
    let mut matrix = invented::overview(Case::Eight, WIDE);
    matrix.columns.iter_mut().for_each(|name| *name = HOSTILE.to_owned());
    matrix.rows.iter_mut().for_each(|row| row.name = HOSTILE.to_owned());
    let mut rounds = invented::trend(Case::Eight, WIDE);
    rounds.rounds.iter_mut().for_each(|round| round.name = HOSTILE.to_owned());
    let words = Words::English;
    for svg in [youden::render(&pairs, &words), overview::render(&matrix, &words), trend::render(&rounds, &words)] {
        let document = parse("hostile", &svg);
        assert!(document.descendants().all(|node| node.tag_name().name() != "script"));
    }
}

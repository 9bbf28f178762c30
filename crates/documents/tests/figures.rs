//! Laws of figures, on data that are easy and on data that are not.

mod fixtures;

use fixtures::{difficult_results, difficult_scores, own_scores, point, results, scores};
use roundel_documents::figure::results::{Reading, Results};
use roundel_documents::figure::{Audience, NARROW, WIDE, own_scores as own, results as sorted, scores as ordered};
use roundel_documents::words::Words;
use roundel_documents::{Mark, Score};
use roxmltree::{Document, Node};

const COUNTS: [usize; 6] = [1, 2, 8, 38, 40, 400];
const HOSTILE: &str = "</text><script>alert(\"1\")</script> & 'x' \u{7}\u{FFFF}]]>";

/// Every kind of figure, in both widths and for both readers, with its name.
fn all() -> Vec<(String, String)> {
    let mut all = Vec::new();
    for width in [WIDE, NARROW] {
        for audience in [Audience::Laboratory, Audience::Organiser] {
            let name = |kind: &str| format!("{kind} {width} {audience:?}");
            for count in COUNTS {
                let mut figure = results(count, audience);
                figure.width = width;
                all.push((name(&format!("results {count}")), sorted::render(&figure, &Words::English)));
                let mut figure = scores(count, audience);
                figure.width = width;
                all.push((name(&format!("scores {count}")), ordered::render(&figure, &Words::English)));
                all.push((name(&format!("small {count}")), ordered::render_small(&figure, &Words::English)));
            }
            let mut figure = difficult_results(audience);
            figure.width = width;
            all.push((name("results difficult"), sorted::render(&figure, &Words::English)));
            // Limits so close that their names would lie on each other.
            figure.sigma_pt = Some(1.5);
            all.push((name("results tight"), sorted::render(&figure, &Words::English)));
            let mut figure = difficult_scores(audience);
            figure.width = width;
            all.push((name("scores difficult"), ordered::render(&figure, &Words::English)));
        }
        for (analytes, items) in [(0, 0), (0, 1), (1, 1), (24, 3), (80, 1), (7, 8)] {
            let mut figure = own_scores(analytes, items);
            figure.width = width;
            all.push((format!("own {analytes} {items} {width}"), own::render(&figure, &Words::English)));
        }
    }
    all
}

fn parse<'a>(name: &str, svg: &'a str) -> Document<'a> {
    Document::parse(svg).unwrap_or_else(|fault| panic!("{name}: {fault}"))
}

fn number(node: &Node<'_, '_>, attribute: &str) -> f64 {
    let text = node.attribute(attribute).unwrap_or_else(|| panic!("{} has no {attribute}", node.tag_name().name()));
    text.parse().unwrap_or_else(|_| panic!("{attribute} is {text}"))
}

fn texts<'a, 'input>(svg: &'a Document<'input>) -> Vec<Node<'a, 'input>> {
    svg.descendants().filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "text"))).collect()
}

fn written(svg: &str) -> Vec<String> {
    let svg = parse("figure", svg);
    texts(&svg).iter().map(|node| node.text().unwrap_or_default().to_owned()).collect()
}

/// Marks of one class, by the name of their element.
fn shapes(svg: &str, class: &str, element: &str) -> usize {
    let svg = parse("figure", svg);
    svg.descendants()
        .filter(|node| node.tag_name().name() == element)
        .filter(|node| node.attribute("class").is_some_and(|classes| classes.split(' ').any(|own| own == class)))
        .count()
}

/// Left, top, right, bottom of a text: 0.6 of the size for a letter, as in a common
/// sans-serif, a third for narrow ones, and the height of letters without accents.
fn box_of(node: &Node<'_, '_>) -> [f64; 4] {
    let size = 12.0;
    let text = node.text().unwrap_or_default();
    let narrow = |letter: char| "ijlt.,:;'|! ()".contains(letter);
    let width = text.chars().map(|letter| if narrow(letter) { 0.33 } else { 0.6 }).sum::<f64>() * size;
    let (x, y) = (number(node, "x"), number(node, "y"));
    let left = match node.attribute("text-anchor") {
        Some("middle") => x - width / 2.0,
        Some("end") => x - width,
        _ => x,
    };
    [left, y - 0.75 * size, left + width, y + 0.22 * size]
}

#[test]
fn every_figure_is_well_formed_and_leaves_style_to_the_page() {
    for (name, svg) in all() {
        let document = parse(&name, &svg);

        let root = document.root_element();
        let role = root.attribute("role");
        assert_eq!(role, Some("img"), "{name}: no links, so it is a picture");
        for (attribute, element) in [("aria-labelledby", "title"), ("aria-describedby", "desc")] {
            let id = root.attribute(attribute).expect("a name and a description");
            let named = root.children().find(|node| node.attribute("id") == Some(id)).expect("what it refers to");
            assert_eq!(named.tag_name().name(), element, "{name}");
            assert!(!named.text().unwrap_or_default().is_empty(), "{name}: {element} is empty");
        }
        for node in document.descendants().filter(Node::is_element) {
            assert_ne!(node.tag_name().name(), "style", "{name}");
            assert!(node.attribute("style").is_none(), "{name}");
        }
        assert!(!svg.contains("var("), "{name}");
        assert!(!svg.contains("NaN") && !svg.contains("\"inf") && !svg.contains("\"-inf"), "{name}");
        assert!(!svg.contains('‹'), "{name}: a text is missing from the catalogue");
    }
}

#[test]
fn no_text_lies_on_another_and_none_leaves_the_figure() {
    for (name, svg) in all() {
        let document = parse(&name, &svg);
        let view: Vec<f64> = document
            .root_element()
            .attribute("viewBox")
            .expect("a view box")
            .split(' ')
            .map(|part| part.parse().expect("a number"))
            .collect();
        let texts: Vec<(String, [f64; 4])> = texts(&document)
            .iter()
            .filter(|node| node.text().is_some())
            .map(|node| (node.text().unwrap_or_default().to_owned(), box_of(node)))
            .collect();

        for (index, (one, [left, top, right, bottom])) in texts.iter().enumerate() {
            assert!(
                *left >= -1.0 && *top >= -1.0 && *right <= view[2] + 1.0 && *bottom <= view[3] + 1.0,
                "{name}: {one:?} at {left},{top} to {right},{bottom} is outside {view:?}"
            );
            for (other, [l, t, r, b]) in &texts[..index] {
                let apart = right <= l || r <= left || bottom <= t || b <= top;
                assert!(apart, "{name}: {one:?} lies on {other:?}");
            }
        }
    }
}

#[test]
fn no_label_lies_on_a_mark() {
    for audience in [Audience::Laboratory, Audience::Organiser] {
        for svg in [
            sorted::render(&difficult_results(audience), &Words::English),
            ordered::render(&difficult_scores(audience), &Words::English),
            ordered::render(&scores(40, audience), &Words::English),
        ] {
            let document = parse("figure", &svg);
            let dots = document.descendants().filter(|node| node.tag_name().name() == "circle");
            let squares = document.descendants().filter(|node| {
                node.tag_name().name() == "rect"
                    && node.attribute("class").is_some_and(|class| class.starts_with("mark"))
            });
            let mut marks: Vec<[f64; 4]> = dots
                .map(|node| {
                    let (x, y, r) = (number(&node, "cx"), number(&node, "cy"), number(&node, "r"));
                    [x - r, y - r, x + r, y + r]
                })
                .collect();
            marks.extend(squares.map(|node| {
                let (x, y, side) = (number(&node, "x"), number(&node, "y"), number(&node, "width"));
                [x, y, x + side, y + side]
            }));
            assert!(marks.len() > 30, "the figure has marks");
            for text in texts(&document) {
                let [left, top, right, bottom] = box_of(&text);
                for [l, t, r, b] in &marks {
                    let apart = right <= *l || *r <= left || bottom <= *t || *b <= top;
                    assert!(apart, "{:?} lies on a mark at {l},{t}", text.text());
                }
            }
        }
    }
}

#[test]
fn the_same_results_in_another_order_give_the_same_bytes() {
    let figure = difficult_results(Audience::Organiser);
    let mut turned = figure.clone();
    turned.points.reverse();
    assert_eq!(sorted::render(&figure, &Words::English), sorted::render(&turned, &Words::English));

    let figure = difficult_scores(Audience::Organiser);
    let mut turned = figure.clone();
    turned.points.reverse();
    assert_eq!(ordered::render(&figure, &Words::English), ordered::render(&turned, &Words::English));
    assert_eq!(ordered::render_small(&figure, &Words::English), ordered::render_small(&turned, &Words::English));
}

#[test]
fn a_laboratorys_copy_rings_its_own_mark_once_and_names_no_other() {
    let mut figure = difficult_results(Audience::Laboratory);
    for point in &mut figure.points {
        point.href = Some(format!("/laboratories/{}", point.code));
        point.tooltip = Some(format!("{}: its result", point.code));
    }
    let svg = sorted::render(&figure, &Words::English);

    let (own, others): (Vec<_>, Vec<_>) = figure.points.iter().partition(|point| point.own);
    assert_eq!(own.len(), 1);
    for other in others {
        assert!(!svg.contains(&other.code), "{} is named", other.code);
    }
    assert_eq!(written(&svg).iter().filter(|text| text.contains(&own[0].code)).count(), 1);
    assert_eq!(shapes(&svg, "mark-own", "circle"), 1);
    assert_eq!(shapes(&svg, "figure-link", "a"), 1);

    let mut figure = difficult_scores(Audience::Laboratory);
    for point in &mut figure.points {
        point.tooltip = Some(format!("{}: its score", point.code));
    }
    for svg in [ordered::render(&figure, &Words::English), ordered::render_small(&figure, &Words::English)] {
        for other in figure.points.iter().filter(|point| !point.own) {
            assert!(!svg.contains(&other.code), "{} is named", other.code);
        }
        assert_eq!(shapes(&svg, "mark-own", "circle"), 1);
    }
}

#[test]
fn the_organisers_copy_names_every_signal() {
    let figure = difficult_results(Audience::Organiser);
    let texts = written(&sorted::render(&figure, &Words::English));
    for point in &figure.points {
        let named = texts.iter().any(|text| text.starts_with(&point.code));
        assert_eq!(named, point.own || point.mark.is_signal(), "{}", point.code);
    }
}

#[test]
fn a_figure_with_links_is_a_group_and_its_links_have_names() {
    let mut figure = results(8, Audience::Organiser);
    figure.points[0].href = Some("/results?code=A&item=\"B\"".to_owned());
    figure.points[0].tooltip = Some("ABCDE: 101 ng/L".to_owned());
    let svg = sorted::render(&figure, &Words::English);
    let document = parse("linked", &svg);

    assert_eq!(document.root_element().attribute("role"), Some("group"));
    let link = document.descendants().find(|node| node.tag_name().name() == "a").expect("the link");
    assert_eq!(link.attribute("href"), Some("/results?code=A&item=\"B\""));
    assert_eq!(link.attribute("aria-label"), Some("ABCDE: 101 ng/L"));
}

#[test]
fn hostile_texts_stay_texts() {
    let mut figure = difficult_results(Audience::Organiser);
    figure.id = HOSTILE.to_owned();
    figure.measurand = HOSTILE.to_owned();
    figure.unit = "<b>".to_owned();
    for point in &mut figure.points {
        point.code = HOSTILE.to_owned();
        point.href = Some(HOSTILE.to_owned());
        point.tooltip = Some(HOSTILE.to_owned());
    }
    let mut lines = own_scores(3, 1);
    lines.groups[0].name = HOSTILE.to_owned();
    lines.groups[0].scores[0].analyte = HOSTILE.to_owned();
    let mut ordered_figure = scores(8, Audience::Organiser);
    ordered_figure.measurand = HOSTILE.to_owned();

    for svg in [
        sorted::render(&figure, &Words::English),
        own::render(&lines, &Words::English),
        ordered::render(&ordered_figure, &Words::English),
        ordered::render_small(&ordered_figure, &Words::English),
    ] {
        let document = parse("hostile", &svg);
        assert!(document.descendants().all(|node| node.tag_name().name() != "script"));
        let title = document.descendants().find(|node| node.tag_name().name() == "title").expect("a title");
        let ids = document.descendants().filter_map(|node| node.attribute("id"));
        for id in ids {
            assert!(id.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '-'), "{id}");
        }
        assert!(title.text().is_some());
    }
    let title = "Results for </text><script>alert(\"1\")</script> & 'x' \u{FFFD}\u{FFFD}]]>, in <b>";
    let svg = sorted::render(&figure, &Words::English);
    let document = parse("hostile", &svg);
    let found = document.descendants().find(|node| node.tag_name().name() == "title").expect("a title");
    assert_eq!(found.text(), Some(title));
}

/// The height between the upper and the lower limit, in units of the figure.
fn height_of_the_limits(figure: &Results) -> f64 {
    let svg = sorted::render(figure, &Words::English);
    let document = parse("limits", &svg);
    let limits: Vec<f64> = document
        .descendants()
        .filter(|node| node.attribute("class") == Some("figure-limit"))
        .map(|node| number(&node, "y1"))
        .collect();
    assert_eq!(limits.len(), 2, "an upper and a lower limit");
    (limits[0] - limits[1]).abs()
}

#[test]
fn a_wild_result_does_not_squash_the_rest() {
    for count in [3, 5, 8, 38] {
        let figure = results(count, Audience::Laboratory);
        let before = height_of_the_limits(&figure);
        let mut wild = figure.clone();
        wild.points.push(point("WILD1", 0.145));
        wild.points.push(point("WILD2", 1450.0));

        let after = height_of_the_limits(&wild);

        assert!(after > 0.8 * before, "{count} laboratories: {before} shrank to {after}");
        let texts = written(&sorted::render(&wild, &Words::English));
        assert!(texts.iter().any(|text| text == "1450"), "the value is written at the frame: {texts:?}");
    }
}

#[test]
fn ties_and_results_without_spread_are_drawn() {
    let mut figure = results(40, Audience::Organiser);
    for point in &mut figure.points {
        point.reading = Reading::Value { value: 145.0, expanded_uncertainty: None };
    }
    assert_eq!(shapes(&sorted::render(&figure, &Words::English), "mark-within", "circle"), 40);

    figure.assigned = None;
    figure.sigma_pt = None;
    assert_eq!(shapes(&sorted::render(&figure, &Words::English), "mark-within", "circle"), 40);

    for value in [0.0, -3.0, 1e-9, 1e12] {
        for point in &mut figure.points {
            point.reading = Reading::Value { value, expanded_uncertainty: Some(1.0) };
        }
        assert_eq!(shapes(&sorted::render(&figure, &Words::English), "mark-within", "circle"), 40, "{value}");
    }
}

#[test]
fn a_signal_is_told_by_its_shape_alone() {
    for svg in [
        sorted::render(&difficult_results(Audience::Laboratory), &Words::English),
        ordered::render_small(&difficult_scores(Audience::Laboratory), &Words::English),
    ] {
        assert_eq!(shapes(&svg, "mark-warning", "circle") + shapes(&svg, "mark-action", "circle"), 0);
        assert!(shapes(&svg, "mark-warning", "path") > 0);
        assert!(shapes(&svg, "mark-action", "rect") > 0);
        assert_eq!(shapes(&svg, "mark-within", "rect"), 0);
    }
}

#[test]
fn a_score_beyond_the_cut_is_written() {
    let texts = written(&ordered::render(&difficult_scores(Audience::Organiser), &Words::English));
    for text in ["AAAAC +9.7", "AAAAD +36.0", "YYYYY \u{2212}12.0"] {
        assert!(texts.iter().any(|written| written == text), "{text} in {texts:?}");
    }
    let texts = written(&ordered::render(&difficult_scores(Audience::Laboratory), &Words::English));
    assert!(texts.iter().any(|written| written == "+36.0"), "{texts:?}");
}

#[test]
fn every_score_of_a_laboratory_has_its_place() {
    for (analytes, items) in [(1, 1), (80, 1), (24, 3), (7, 8)] {
        let figure = own_scores(analytes, items);
        let svg = own::render(&figure, &Words::English);
        let targets = shapes(&svg, "figure-target", "rect");
        let drawn = figure.groups.iter().flat_map(|group| &group.scores).filter(|score| score.score != Score::Absent);
        assert_eq!(targets, drawn.count());
    }
}

#[test]
fn captions_say_what_the_figures_show() {
    let mut figure = results(0, Audience::Laboratory);
    for (index, value) in [140.0, 150.0, 36.0, 30.0, 218.0, 260.0].into_iter().enumerate() {
        figure.points.push(point(&format!("LAB0{index}"), value));
    }
    let mut below = point("LAB09", 25.0);
    below.reading = Reading::Below(25.0);
    figure.points.push(below);
    // (36 − 145)/36.25 = −3.007, (30 − 145)/36.25 = −3.172, (218 − 145)/36.25 = 2.014,
    // (260 − 145)/36.25 = 3.172.
    assert_eq!(
        sorted::caption(&figure, &Words::English),
        "7 laboratories, robust mean 141\u{202F}ng/L, assigned value 145\u{202F}ng/L by formulation, two at or below \
         \u{2212}3 σ, one at or above +3 σ, one between +2 and +3 σ, one reported as less than a limit."
    );

    let mut figure = scores(3, Audience::Laboratory);
    for (point, score) in figure.points.iter_mut().zip([0.5, -0.25, 2.5]) {
        point.score = Score::Value(score);
    }
    figure.points[1].code = "RXLF7".to_owned();
    assert_eq!(ordered::caption(&figure, &Words::English), "3 z scores, one between +2 and +3, RXLF7 at \u{2212}0.25.");

    let mut figure = own_scores(2, 1);
    figure.groups[0].scores[0].mark = Mark::Within;
    figure.groups[0].scores[1].mark = Mark::Action;
    assert_eq!(
        own::caption(&figure, &Words::English),
        "2 scores of laboratory RXLF7, one acceptable, one unacceptable."
    );
}

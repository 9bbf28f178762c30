//! Simulates what the estimators resist and what that costs, and writes the
//! figure and the table of the crate's front page:
//! `cargo run --release -p roundel-stats --example robustness`.
//!
//! Seed 13528, 4000 samples of 30 normal values for each share of outliers;
//! the outliers lie at 10 standard deviations.

use std::fmt::Write as _;
use std::path::Path;

use roundel_stats::random::Random;
use roundel_stats::{Error, Estimate, Sample, robust, summary};

const SEED: u64 = 13_528;
const SETS: usize = 4000;
const COUNT: usize = 30;
const MOST_OUTLIERS: usize = 15;
const FAR: f64 = 10.0;

type Estimator = fn(&Sample) -> Result<Estimate, Error>;

const ESTIMATORS: [(&str, &str, Estimator); 5] = [
    ("mean, s", "#777777", summary::classical),
    ("Algorithm A", "#0b62a4", robust::algorithm_a),
    ("Q method, Hampel", "#b8410f", robust::q_hampel),
    ("median, MADe", "#2a7d3f", robust::median_made),
    ("median, nIQR", "#7a3fa0", robust::median_niqr),
];

fn main() -> std::io::Result<()> {
    let clean = simulate(0);
    let mut table = String::from("estimator: efficiency of location, of scale\n");
    for (place, (name, _, _)) in ESTIMATORS.iter().enumerate() {
        let location = clean[0].location_variance / clean[place].location_variance;
        let scale = clean[0].scale_variance / clean[place].scale_variance;
        writeln!(table, "{name}: {:.0} %, {:.0} %", 100.0 * location, 100.0 * scale).expect("text takes text");
    }
    eprint!("{table}");
    let curves: Vec<Vec<Summary>> = (0..=MOST_OUTLIERS).map(simulate).collect();
    for outliers in [3, 6] {
        eprintln!("{outliers} outliers of {COUNT}:");
        for ((name, _, _), summary) in ESTIMATORS.iter().zip(&curves[outliers]) {
            eprintln!("{name}: location {:.2}, scale {:.2}", summary.location_mean, summary.scale_mean);
        }
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("doc/robustness.svg");
    std::fs::write(path, figure(&curves))
}

#[derive(Clone, Default)]
struct Summary {
    location_mean: f64,
    location_variance: f64,
    scale_mean: f64,
    /// Of ln s, so that a factor costs nothing.
    scale_variance: f64,
}

/// Every estimator on the same samples with so many outliers.
fn simulate(outliers: usize) -> Vec<Summary> {
    let mut random = Random::new(SEED);
    let mut all: Vec<(Vec<f64>, Vec<f64>)> = vec![(Vec::new(), Vec::new()); ESTIMATORS.len()];
    for _ in 0..SETS {
        let values: Vec<f64> =
            (0..COUNT).map(|place| random.normal() + if place < outliers { FAR } else { 0.0 }).collect();
        let sample = Sample::new(values).expect("finite values");
        for ((_, _, estimator), (locations, scales)) in ESTIMATORS.iter().zip(&mut all) {
            let estimate = estimator(&sample).expect("thirty values with spread");
            locations.push(estimate.location);
            scales.push(estimate.scale);
        }
    }
    all.into_iter()
        .map(|(locations, scales)| {
            let (location_mean, location_variance) = moments(&locations);
            let (scale_mean, _) = moments(&scales);
            let logs: Vec<f64> = scales.iter().map(|scale| scale.ln()).collect();
            Summary { location_mean, location_variance, scale_mean, scale_variance: moments(&logs).1 }
        })
        .collect()
}

fn moments(values: &[f64]) -> (f64, f64) {
    let sample = Sample::new(values.iter().copied()).expect("finite values");
    let deviation = summary::standard_deviation(&sample).expect("many values");
    (summary::mean(&sample).expect("finite values"), deviation * deviation)
}

/// Two panels: the mean of the location and of the scale over the share of
/// outliers.
fn figure(curves: &[Vec<Summary>]) -> String {
    let mut svg = String::from(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 720 330\" font-family=\"sans-serif\" font-size=\"12\">\n\
         <rect width=\"720\" height=\"330\" fill=\"#ffffff\"/>\n",
    );
    panel(&mut svg, 50.0, "bias of the location, in σ", 2.0, curves, |summary| summary.location_mean);
    panel(&mut svg, 400.0, "mean of the scale, in σ", 6.0, curves, |summary| summary.scale_mean);
    for (place, (name, colour, _)) in ESTIMATORS.iter().enumerate() {
        let x = 30.0 + 140.0 * place as f64;
        writeln!(
            svg,
            "<path d=\"M{x} 315h18\" stroke=\"{colour}\" stroke-width=\"2.5\"/><text x=\"{}\" y=\"319\">{name}</text>",
            x + 23.0
        )
        .expect("text takes text");
    }
    svg.push_str("</svg>\n");
    svg
}

fn panel(svg: &mut String, left: f64, title: &str, most: f64, curves: &[Vec<Summary>], of: fn(&Summary) -> f64) {
    let (top, width, height) = (40.0, 290.0, 210.0);
    let across = |outliers: usize| left + width * outliers as f64 / MOST_OUTLIERS as f64;
    let up = |value: f64| top + height * (1.0 - value.clamp(-0.05 * most, most) / most);
    let mut add = |text: String| {
        svg.push_str(&text);
        svg.push('\n');
    };
    add(format!("<text x=\"{left}\" y=\"25\" font-weight=\"bold\">{title}</text>"));
    for step in 0..=4 {
        let value = most * f64::from(step) / 4.0;
        let y = up(value);
        add(format!("<path d=\"M{left} {y:.1}h{width}\" stroke=\"#dddddd\"/>"));
        add(format!("<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{value}</text>", left - 6.0, y + 4.0));
    }
    for outliers in (0..=MOST_OUTLIERS).step_by(3) {
        let percent = 100 * outliers / COUNT;
        add(format!("<text x=\"{:.1}\" y=\"268\" text-anchor=\"middle\">{percent} %</text>", across(outliers)));
    }
    add(format!(
        "<text x=\"{:.1}\" y=\"288\" text-anchor=\"middle\">share of outliers at 10 σ</text>",
        left + width / 2.0
    ));
    for (place, (_, colour, _)) in ESTIMATORS.iter().enumerate() {
        let points: Vec<String> = curves
            .iter()
            .enumerate()
            .map(|(outliers, summaries)| format!("{:.1},{:.1}", across(outliers), up(of(&summaries[place]))))
            .collect();
        add(format!(
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\"/>",
            points.join(" ")
        ));
    }
}

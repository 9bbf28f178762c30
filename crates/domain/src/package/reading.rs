//! From JSON to a package, field by field.

use super::fields::{Fields, Notes};
use super::json::{Node, Value, read};
use super::{
    AssignedValue, Consensus, Decision, Estimator, FORMAT, GivenBasis, GivenValue, Limits, Measurand, NoValue,
    PackageRound, Problem, Reported, ReportedResult, RoundPackage, Rounding, SigmaBasis, SigmaPt, Stability, rules,
};

/// More decimals than a double has digits are not rounding.
const MOST_DECIMALS: u32 = 15;
const MOST_REPLICATES: u32 = 1000;

/// Reads without pointers first: they take more memory than the package, and
/// only a document with problems needs them.
pub(super) fn package(text: &str) -> Result<RoundPackage, Vec<Problem>> {
    attempt(text, false).or_else(|_| attempt(text, true))
}

fn attempt(text: &str, with_pointers: bool) -> Result<RoundPackage, Vec<Problem>> {
    let mut notes = Notes::default();
    let root = read(text, with_pointers, &mut notes.problems).map_err(|problem| vec![problem])?;
    let package = whole(&mut notes, &root);
    match notes.problems.is_empty() {
        true => Ok(package),
        false => Err(notes.sorted()),
    }
}

fn whole(notes: &mut Notes, root: &Node) -> RoundPackage {
    let Some(fields) = notes.object(root, &["format", "round", "measurands", "results"]) else {
        return RoundPackage::default();
    };
    if let Some(node) = fields.need(notes, "format")
        && !matches!(&node.value, Value::Text(text) if text == FORMAT)
    {
        let found = notes.text(node);
        if !found.is_empty() {
            notes.add(node, format!("unsupported format {found:?}; expected {FORMAT:?}"));
        }
    }
    let round = fields.need(notes, "round").map(|node| round(notes, node)).unwrap_or_default();
    let measurand_nodes = fields.need(notes, "measurands").map(|node| notes.list(node, "a list of measurands"));
    let result_nodes = fields.need(notes, "results").map(|node| notes.list(node, "a list of results"));
    let measurands: Vec<Measurand> =
        measurand_nodes.unwrap_or_default().iter().map(|node| measurand(notes, node)).collect();
    let results: Vec<ReportedResult> =
        result_nodes.unwrap_or_default().iter().map(|node| result(notes, node)).collect();
    rules::check(
        notes,
        rules::Listed::new(measurand_nodes.unwrap_or_default(), &measurands),
        rules::Listed::new(result_nodes.unwrap_or_default(), &results),
        fields.get("measurands").is_some_and(|node| matches!(node.value, Value::List(_))),
    );
    RoundPackage { round, measurands, results }
}

fn round(notes: &mut Notes, node: &Node) -> PackageRound {
    let Some(fields) = notes.object(node, &["code", "title", "omitted"]) else {
        return PackageRound::default();
    };
    PackageRound {
        code: fields.need(notes, "code").map(|node| notes.filled_text(node)).unwrap_or_default(),
        title: fields.need(notes, "title").map(|node| notes.text(node)).unwrap_or_default(),
        omitted: fields.get("omitted").map(|node| texts(notes, node, "a list of texts")),
    }
}

fn texts(notes: &mut Notes, node: &Node, expected: &str) -> Vec<String> {
    notes.list(node, expected).iter().map(|item| notes.filled_text(item)).collect()
}

fn measurand(notes: &mut Notes, node: &Node) -> Measurand {
    const KNOWN: [&str; 18] = [
        "id",
        "item",
        "analyte",
        "unit",
        "replicates",
        "assigned_value",
        "sigma_pt",
        "scores",
        "limits",
        "censored",
        "rounding",
        "present",
        "absent_below",
        "required_loq",
        "mass_fraction_per_unit",
        "homogeneity",
        "stability",
        "decision",
    ];
    let Some(fields) = notes.object(node, &KNOWN) else {
        return Measurand::default();
    };
    Measurand {
        id: fields.need(notes, "id").map(|node| notes.filled_text(node)).unwrap_or_default(),
        item: fields.need(notes, "item").map(|node| notes.filled_text(node)).unwrap_or_default(),
        analyte: fields.need(notes, "analyte").map(|node| notes.filled_text(node)).unwrap_or_default(),
        unit: fields.need(notes, "unit").map(|node| notes.text(node)).unwrap_or_default(),
        replicates: fields.get("replicates").map(|node| notes.whole(node, 1, MOST_REPLICATES)),
        assigned_value: fields.get("assigned_value").and_then(|node| assigned_value(notes, node)),
        sigma_pt: fields.get("sigma_pt").and_then(|node| sigma_pt(notes, node)),
        scores: fields
            .get("scores")
            .map(|node| notes.list(node, "a list of scores").iter().filter_map(|item| notes.word(item)).collect()),
        limits: fields.get("limits").map(|node| limits(notes, node)),
        censored: fields.get("censored").and_then(|node| notes.word(node)),
        rounding: fields.get("rounding").map(|node| rounding(notes, node)),
        present: fields.get("present").and_then(|node| notes.flag(node)),
        absent_below: fields.get("absent_below").map(|node| notes.positive(node)),
        required_loq: fields.get("required_loq").map(|node| notes.positive(node)),
        mass_fraction_per_unit: fields.get("mass_fraction_per_unit").map(|node| notes.positive(node)),
        homogeneity: fields.get("homogeneity").map(|node| pairs(notes, node)),
        stability: fields.get("stability").map(|node| stability(notes, node)),
        decision: fields.get("decision").and_then(|node| decision(notes, node)),
    }
}

/// The word in the field `basis`, without judging it yet.
fn basis(node: &Node) -> Option<&str> {
    let Value::Object(members) = &node.value else {
        return None;
    };
    members.iter().find_map(|(name, member)| match &member.value {
        Value::Text(text) if name == "basis" => Some(text.as_str()),
        _ => None,
    })
}

fn assigned_value(notes: &mut Notes, node: &Node) -> Option<AssignedValue> {
    match basis(node) {
        Some("participants") => Some(AssignedValue::Participants(consensus(notes, node)?)),
        Some("none") => {
            let fields = notes.object(node, &["basis", "additional_uncertainty"])?;
            Some(AssignedValue::None(NoValue { additional_uncertainty: additional(notes, &fields) }))
        }
        Some("formulation" | "reference" | "expert") => given(notes, node).map(AssignedValue::Given),
        _ => {
            wrong_basis(notes, node, "formulation, reference, expert, participants or none");
            None
        }
    }
}

/// Reports a basis that is missing, no text or not known; the other fields
/// cannot be judged without it.
fn wrong_basis(notes: &mut Notes, node: &Node, expected: &str) {
    let Value::Object(members) = &node.value else {
        notes.object(node, &[]);
        return;
    };
    match members.iter().find(|(name, _)| name == "basis") {
        None => notes.add(node, format!("the field \"basis\" is missing; expected {expected}")),
        Some((_, member)) => {
            let found = notes.text(member);
            if matches!(member.value, Value::Text(_)) {
                notes.add(member, format!("unknown or unsupported basis {found:?}; expected {expected}"));
            }
        }
    }
}

fn given(notes: &mut Notes, node: &Node) -> Option<GivenValue> {
    let fields = notes.object(node, &["basis", "value", "standard_uncertainty", "additional_uncertainty"])?;
    let basis: Option<GivenBasis> = fields.need(notes, "basis").and_then(|node| notes.word(node));
    let value = fields.need(notes, "value").map(|node| notes.number(node));
    let standard_uncertainty = fields.need(notes, "standard_uncertainty").map(|node| notes.positive(node));
    let additional_uncertainty = additional(notes, &fields);
    Some(GivenValue {
        basis: basis?,
        value: value?,
        standard_uncertainty: standard_uncertainty?,
        additional_uncertainty,
    })
}

fn additional(notes: &mut Notes, fields: &Fields<'_>) -> Option<f64> {
    fields.get("additional_uncertainty").map(|node| notes.not_negative(node))
}

fn consensus(notes: &mut Notes, node: &Node) -> Option<Consensus> {
    let fields =
        notes.object(node, &["basis", "estimator", "participants", "fallback", "consent", "additional_uncertainty"])?;
    let estimator: Option<Estimator> = fields.get("estimator").and_then(|node| notes.word(node));
    Some(Consensus {
        estimator,
        participants: fields.get("participants").map(|node| {
            let codes = notes.filled_list(node, "a list of participants' codes");
            codes.iter().map(|item| notes.filled_text(item)).collect()
        }),
        fallback: fields.get("fallback").and_then(|node| fallback(notes, node)),
        consent: fields.get("consent").map(|node| notes.filled_text(node)),
        additional_uncertainty: additional(notes, &fields),
    })
}

fn fallback(notes: &mut Notes, node: &Node) -> Option<GivenValue> {
    if matches!(basis(node), Some("formulation" | "reference" | "expert")) {
        return given(notes, node);
    }
    wrong_basis(notes, node, "formulation, reference or expert");
    None
}

fn sigma_pt(notes: &mut Notes, node: &Node) -> Option<SigmaPt> {
    let own: &[&str] = match basis(node) {
        Some("prescribed") => &["value"],
        Some("relative") => &["percent"],
        Some("precision") => &["repeatability_sd", "reproducibility_sd"],
        Some("horwitz" | "participants") => &[],
        _ => {
            wrong_basis(notes, node, "prescribed, relative, horwitz, precision or participants");
            return None;
        }
    };
    let known: Vec<&str> = ["basis", "additional_sd"].iter().chain(own).copied().collect();
    let fields = notes.object(node, &known)?;
    // A method may have no spread within laboratories; sigma_pt is checked below.
    let zero_is_fine = basis(node) == Some("precision");
    let mut numbers = own.iter().map(|name| {
        fields.need(notes, name).map(|node| if zero_is_fine { notes.not_negative(node) } else { notes.positive(node) })
    });
    let (first, second) = (numbers.next().flatten(), numbers.next().flatten());
    let additional_sd = fields.get("additional_sd").map(|node| notes.not_negative(node));
    let basis = match basis(node) {
        Some("prescribed") => SigmaBasis::Prescribed { value: first? },
        Some("relative") => SigmaBasis::Relative { percent: first? },
        Some("precision") => SigmaBasis::Precision { repeatability_sd: first?, reproducibility_sd: second? },
        Some("horwitz") => SigmaBasis::Horwitz,
        _ => SigmaBasis::Participants,
    };
    Some(SigmaPt { basis, additional_sd })
}

fn limits(notes: &mut Notes, node: &Node) -> Limits {
    let Some(fields) = notes.object(node, &["warning", "action", "e_n"]) else {
        return Limits::default();
    };
    let mut limit = |name| fields.need(notes, name).map(|node| notes.positive(node));
    let (warning, action, e_n) = (limit("warning"), limit("action"), limit("e_n"));
    if let (Some(warning), Some(action)) = (warning, action)
        && warning > action
    {
        notes.add(node, format!("the warning limit {warning} is above the action limit {action}"));
    }
    Limits { warning: warning.unwrap_or_default(), action: action.unwrap_or_default(), e_n: e_n.unwrap_or_default() }
}

fn rounding(notes: &mut Notes, node: &Node) -> Rounding {
    let Some(fields) = notes.object(node, &["assigned_value", "standard_uncertainty", "sigma_pt"]) else {
        return Rounding::default();
    };
    let mut decimals = |name| fields.get(name).map(|node| notes.whole(node, 0, MOST_DECIMALS));
    Rounding {
        assigned_value: decimals("assigned_value"),
        standard_uncertainty: decimals("standard_uncertainty"),
        sigma_pt: decimals("sigma_pt"),
    }
}

fn pairs(notes: &mut Notes, node: &Node) -> Vec<[f64; 2]> {
    const EXPECTED: &str = "a list of pairs of numbers, one pair per unit";
    let mut pairs = Vec::new();
    for item in notes.filled_list(node, EXPECTED) {
        match &item.value {
            Value::List(values) if values.len() != 2 => {
                notes.add(item, format!("expected a pair of numbers, found {} values", values.len()));
            }
            _ => {
                let values: Vec<f64> =
                    notes.list(item, "a pair of numbers").iter().map(|value| notes.number(value)).collect();
                if let [first, second] = values[..] {
                    pairs.push([first, second]);
                }
            }
        }
    }
    pairs
}

fn numbers(notes: &mut Notes, node: &Node) -> Vec<f64> {
    notes.filled_list(node, "a list of numbers").iter().map(|item| notes.number(item)).collect()
}

fn stability(notes: &mut Notes, node: &Node) -> Stability {
    let Some(fields) = notes.object(node, &["before", "after"]) else {
        return Stability::default();
    };
    Stability {
        before: fields.need(notes, "before").map(|node| numbers(notes, node)).unwrap_or_default(),
        after: fields.need(notes, "after").map(|node| numbers(notes, node)).unwrap_or_default(),
    }
}

fn decision(notes: &mut Notes, node: &Node) -> Option<Decision> {
    let fields = notes.object(node, &["signal", "reason"])?;
    let signal = fields.need(notes, "signal").and_then(|node| notes.word(node));
    let reason = fields.need(notes, "reason").map(|node| notes.filled_text(node));
    Some(Decision { signal: signal?, reason: reason? })
}

fn result(notes: &mut Notes, node: &Node) -> ReportedResult {
    const KNOWN: [&str; 10] = [
        "participant",
        "measurand",
        "values",
        "below",
        "expanded_uncertainty",
        "coverage_factor",
        "exclude",
        "scored",
        "organisation",
        "method",
    ];
    let empty = ReportedResult::new("", "", Reported::Values(Vec::new()));
    let Some(fields) = notes.object(node, &KNOWN) else {
        return empty;
    };
    ReportedResult {
        participant: fields.need(notes, "participant").map(|node| notes.filled_text(node)).unwrap_or_default(),
        measurand: fields.need(notes, "measurand").map(|node| notes.filled_text(node)).unwrap_or_default(),
        reported: reported(notes, &fields),
        expanded_uncertainty: fields.get("expanded_uncertainty").map(|node| notes.positive(node)),
        coverage_factor: fields.get("coverage_factor").map(|node| notes.positive(node)),
        exclude: fields.get("exclude").map(|node| notes.filled_text(node)),
        scored: fields.get("scored").and_then(|node| notes.flag(node)),
        organisation: fields.get("organisation").map(|node| notes.filled_text(node)),
        method: fields.get("method").map(|node| notes.filled_text(node)),
    }
}

fn reported(notes: &mut Notes, fields: &Fields<'_>) -> Reported {
    let values = fields.get("values").map(|node| numbers(notes, node));
    let below = fields.get("below").map(|node| notes.positive(node));
    match (values, below) {
        (Some(values), None) => Reported::Values(values),
        (None, Some(below)) => Reported::Below(below),
        (Some(values), Some(_)) => {
            notes.add(fields.node(), "both \"values\" and \"below\" are given; expected one of them");
            Reported::Values(values)
        }
        (None, None) => {
            notes.add(fields.node(), "neither \"values\" nor \"below\" is given; expected one of them");
            Reported::Values(Vec::new())
        }
    }
}

//! What a laboratory is asked about its own results before it sends them.
//!
//! The answer is a function of what the laboratory typed and of what the round
//! published to all alike: planned replicates, required limit of quantification,
//! span. This crate depends on nothing, so that no assigned value and no result
//! of another laboratory can be reached from here: a message that depended on
//! them would tell them.

mod set;
#[cfg(test)]
mod tests;

/// One result of the laboratory, in the unit of the round.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// Place of the measurand in the round.
    pub position: i64,
    /// Label of the item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// The values, as numbers and as decimal texts; both empty without a value.
    pub values: Vec<(f64, String)>,
    /// The limit L of "<L".
    pub below: Option<f64>,
    /// The laboratory's limit of quantification.
    pub loq: Option<f64>,
    /// Its expanded uncertainty in the unit of the round.
    pub uncertainty: Option<f64>,
    /// Whether the uncertainty was typed in the unit, and not in percent.
    pub uncertainty_is_absolute: bool,
    /// Its coverage factor.
    pub factor: Option<f64>,
    /// Published: how many values were asked for.
    pub planned: i64,
    /// Published: the limit of quantification that is asked for.
    pub required_loq: Option<f64>,
    /// Published: the span in which the contents lie, the same for all items.
    pub span: Option<(f64, f64)>,
}

impl Row {
    fn mean(&self) -> Option<f64> {
        let sum: f64 = self.values.iter().map(|(value, _)| value).sum();
        (!self.values.is_empty()).then(|| sum / self.values.len() as f64)
    }

    /// One unit of the last digit of the value with the most decimals.
    fn last_digit(&self) -> Option<f64> {
        let decimals = |text: &str| text.split_once('.').map_or(0, |(_, fraction)| fraction.len());
        let most = self.values.iter().map(|(_, text)| decimals(text)).max()?;
        Some(10f64.powi(-i32::try_from(most).ok()?))
    }
}

/// Where a finding is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// At one result.
    Row(i64),
    /// At an item.
    Item(String),
    /// Over all.
    All,
}

/// Something to be asked about.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// What, a word of ours.
    pub kind: &'static str,
    /// Where.
    pub place: Place,
    /// The numbers and names of its sentence.
    pub values: Vec<(&'static str, String)>,
}

impl Finding {
    fn new(kind: &'static str, place: Place) -> Finding {
        Finding { kind, place, values: Vec::new() }
    }

    fn with(mut self, name: &'static str, value: impl ToString) -> Finding {
        self.values.push((name, value.to_string()));
        self
    }

    /// A name that stays the same while the question is the same: kind and place.
    pub fn id(&self) -> String {
        match &self.place {
            Place::Row(position) => format!("{}.{position}", self.kind),
            Place::Item(label) => format!("{}.{label}", self.kind),
            Place::All => self.kind.to_owned(),
        }
    }

    /// What an answer stands for: with other numbers the question is a new one.
    pub fn evidence(&self) -> String {
        let values: Vec<String> = self.values.iter().map(|(name, value)| format!("{name}={value}")).collect();
        values.join(";")
    }
}

/// Below this share of the result, or above it, in percent, an uncertainty is
/// asked about (F34).
const USUAL_UNCERTAINTY: std::ops::RangeInclusive<f64> = 1.0..=100.0;
/// Coverage factors that are not asked about (F34).
const USUAL_FACTOR: std::ops::RangeInclusive<f64> = 1.0..=4.0;
/// Values of one result that differ by more than this factor are asked about (F41).
const MOST_RATIO: f64 = 1.5;

/// All that is to be asked, in the order of the rows, and then of the whole set.
pub fn check(rows: &[Row]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for row in rows {
        limits(row, &mut findings);
        values(row, &mut findings);
        uncertainty(row, &mut findings);
    }
    set::check(rows, &mut findings);
    findings
}

fn limits(row: &Row, findings: &mut Vec<Finding>) {
    let place = || Place::Row(row.position);
    if let (Some(limit), Some(required)) = (row.below, row.required_loq)
        && limit > required
    {
        findings.push(
            Finding::new("limit-above-required", place()).with("limit", shown(limit)).with("required", shown(required)),
        );
    }
    if let (Some(limit), Some(loq)) = (row.below, row.loq)
        && limit < loq
    {
        findings.push(Finding::new("limit-below-loq", place()).with("limit", shown(limit)).with("loq", shown(loq)));
    }
    if let (Some(loq), Some(required)) = (row.loq, row.required_loq)
        && loq > required
        && row.below.is_none_or(|limit| limit <= required)
    {
        findings.push(
            Finding::new("loq-above-required", place()).with("loq", shown(loq)).with("required", shown(required)),
        );
    }
}

fn values(row: &Row, findings: &mut Vec<Finding>) {
    let place = || Place::Row(row.position);
    let Some(mean) = row.mean() else { return };
    if let Some(loq) = row.loq
        && mean < loq
    {
        findings.push(Finding::new("value-below-loq", place()).with("value", shown(mean)).with("loq", shown(loq)));
    }
    if let Some((from, to)) = row.span
        && !(from..=to).contains(&mean)
    {
        findings.push(
            Finding::new("outside-span", place())
                .with("value", shown(mean))
                .with("from", shown(from))
                .with("to", shown(to)),
        );
    }
    let count = row.values.len();
    if (count as i64) < row.planned {
        findings.push(Finding::new("fewer-values", place()).with("count", count).with("planned", row.planned));
    }
    let least = row.values.iter().map(|(value, _)| *value).fold(f64::INFINITY, f64::min);
    let most = row.values.iter().map(|(value, _)| *value).fold(f64::NEG_INFINITY, f64::max);
    if count > 1 && least > 0.0 && most / least > MOST_RATIO {
        findings.push(
            Finding::new("values-differ", place())
                .with("least", shown(least))
                .with("most", shown(most))
                .with("ratio", format!("{:.2}", most / least)),
        );
    }
}

fn uncertainty(row: &Row, findings: &mut Vec<Finding>) {
    let place = || Place::Row(row.position);
    let (Some(size), Some(mean)) = (row.uncertainty, row.mean()) else { return };
    match row.factor {
        None => findings.push(Finding::new("factor-missing", place())),
        Some(k) if !USUAL_FACTOR.contains(&k) => {
            findings.push(Finding::new("factor-unusual", place()).with("k", shown(k)));
        }
        Some(_) => {}
    }
    let percent = 100.0 * size / mean.abs();
    if mean != 0.0 && !USUAL_UNCERTAINTY.contains(&percent) {
        findings.push(
            Finding::new("uncertainty-unusual", place())
                .with("u", shown(size))
                .with("percent", format!("{percent:.1}")),
        );
    } else if row.last_digit().is_some_and(|digit| size < digit / 2.0) {
        findings.push(Finding::new("uncertainty-below-digit", place()).with("u", shown(size)));
    }
}

/// A number with at most six significant digits and no zeros behind them.
fn shown(number: f64) -> String {
    if number == 0.0 || !number.is_finite() {
        return number.to_string();
    }
    let digits = 5 - number.abs().log10().floor() as i32;
    let scale = 10f64.powi(digits.clamp(0, 12));
    ((number * scale).round() / scale).to_string()
}

/// A recovery factor out of the usual (F36).
pub fn recovery_factor(position: i64, factor: f64) -> Finding {
    Finding::new("recovery-factor", Place::Row(position)).with("factor", shown(factor))
}

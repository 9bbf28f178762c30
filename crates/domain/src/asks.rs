//! What a round asks of its laboratories beside results, as the organiser sets
//! it up and all participants can read it.

use crate::evaluation::precision::Outliers;
use crate::field::{FieldErrors, Problem, shortened};
use crate::number::{Decimal, Range};
use serde::{Deserialize, Serialize};

/// What is asked when the items arrive (F19, F40).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Arrival {
    /// Nothing.
    #[default]
    Nothing,
    /// Date and condition.
    Dates,
    /// Date, condition, and the code on the label.
    Codes,
}

impl Arrival {
    /// All, in the order of the form.
    pub const ALL: [Arrival; 3] = [Arrival::Nothing, Arrival::Dates, Arrival::Codes];

    /// The word of the form.
    pub fn word(self) -> &'static str {
        match self {
            Arrival::Nothing => "nothing",
            Arrival::Dates => "dates",
            Arrival::Codes => "codes",
        }
    }
}

/// The span in which contents lie, published to all alike.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Span {
    /// From.
    pub from: Decimal,
    /// To.
    pub to: Decimal,
    /// In this unit; it says nothing of measurands in another.
    pub unit: String,
}

/// Limits for the performance of a method, each optional. They are common
/// practice of trace analysis in water where the form suggests them; they never
/// touch a score.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Performance {
    /// Highest limit of quantification, in the unit of the round.
    pub loq: Option<Decimal>,
    /// Lowest recovery of a spiked real sample, in percent.
    pub recovery_from: Option<Decimal>,
    /// Highest recovery, in percent.
    pub recovery_to: Option<Decimal>,
    /// Highest relative standard deviation under repeatability, in percent.
    pub repeatability: Option<Decimal>,
    /// Highest carry-over into a blank, in percent.
    pub carry_over: Option<Decimal>,
}

/// Another form of an analyte that laboratories report by mistake: a salt in place of
/// its acid. The review looks for results that are off by its ratio; no substance is
/// known here, so the scheme states it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OtherForm {
    /// The analyte.
    pub analyte: String,
    /// What the form is called.
    pub form: String,
    /// Molar mass of the form over that of what the plan asks for.
    pub ratio: Decimal,
}

/// The most forms that a round states.
const MOST_FORMS: usize = 100;

/// What a round asks beside results.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Asks {
    /// When the items arrive.
    pub arrival: Arrival,
    /// Closed questions on the method, and basis and recovery per analyte (F36, F37).
    pub method: bool,
    /// A declaration that the results are the laboratory's own.
    pub declaration: bool,
    /// Evidence of the performance of the method, with these limits.
    pub performance: Option<Performance>,
    /// The published span.
    pub span: Option<Span>,
    /// Whether nothing is asked about the results before they are sent (F41).
    pub no_self_check: bool,
    /// Whether every value needs its expanded uncertainty and coverage factor (F34).
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub uncertainty: bool,
    /// Other forms of analytes that a review looks for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub forms: Vec<OtherForm>,
    /// Whether the report says how precise the method is, and by which tests (F94).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub precision: Option<PrecisionStudy>,
}

/// The round as a study of the precision of a method, as it is fixed beforehand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrecisionStudy {
    /// How outlying laboratories are found.
    pub procedure: Procedure,
    /// What names the protocol of the method that all laboratories follow.
    pub protocol: String,
}

/// How outlying laboratories are found in a study of precision.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Procedure {
    /// ISO 5725-2: stragglers at 5 %, outliers at 1 %.
    Iso,
    /// The harmonised protocol of collaborative studies: outliers at 2.5 %.
    Harmonised,
}

impl Procedure {
    /// All, in the order of the form.
    pub const ALL: [Procedure; 2] = [Procedure::Iso, Procedure::Harmonised];

    /// The word of the form.
    pub fn word(self) -> &'static str {
        match self {
            Procedure::Iso => "iso",
            Procedure::Harmonised => "harmonised",
        }
    }

    /// What becomes of outlying laboratories.
    pub fn outliers(self) -> Outliers {
        match self {
            Procedure::Iso => Outliers::SetAside,
            Procedure::Harmonised => Outliers::Harmonised,
        }
    }
}

/// What the organiser types for it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AsksForm {
    /// `nothing`, `dates` or `codes`; empty is `nothing`.
    pub arrival: String,
    /// `yes`, or empty.
    pub method: String,
    /// `yes`, or empty.
    pub declaration: String,
    /// `off`, or anything else for on.
    pub self_check: String,
    /// Lower end of the published span.
    pub span_from: String,
    /// Upper end.
    pub span_to: String,
    /// Its unit.
    pub span_unit: String,
    /// `yes`, or empty.
    pub performance: String,
    /// Highest limit of quantification.
    pub limit_loq: String,
    /// Lowest recovery, in percent.
    pub limit_recovery_from: String,
    /// Highest recovery, in percent.
    pub limit_recovery_to: String,
    /// Highest repeatability RSD, in percent.
    pub limit_repeatability: String,
    /// Highest carry-over, in percent.
    pub limit_carry_over: String,
    /// `yes`, or empty: every value needs its uncertainty.
    pub uncertainty: String,
    /// Other forms of analytes, a line each: analyte; form; ratio.
    pub forms: String,
    /// The procedure of a study of precision; empty for none.
    pub precision: String,
    /// What names the protocol of the method.
    pub protocol: String,
}

fn text(number: Option<&Decimal>) -> String {
    number.map(ToString::to_string).unwrap_or_default()
}

fn yes(flag: bool) -> String {
    if flag { "yes".to_owned() } else { String::new() }
}

impl AsksForm {
    /// The form of a new round: everything that costs a laboratory slips is
    /// asked, and limits are suggested (common practice, no source).
    pub fn suggested() -> AsksForm {
        AsksForm {
            arrival: "dates".to_owned(),
            method: yes(true),
            declaration: yes(true),
            limit_loq: "25".to_owned(),
            limit_recovery_from: "70".to_owned(),
            limit_recovery_to: "120".to_owned(),
            limit_repeatability: "3".to_owned(),
            limit_carry_over: "0.5".to_owned(),
            ..AsksForm::default()
        }
    }

    /// The form that shows `asks`.
    pub fn of(asks: &Asks) -> AsksForm {
        let limits = asks.performance.clone().unwrap_or_default();
        let span = asks.span.as_ref();
        AsksForm {
            arrival: asks.arrival.word().to_owned(),
            method: yes(asks.method),
            declaration: yes(asks.declaration),
            self_check: if asks.no_self_check { "off" } else { "on" }.to_owned(),
            span_from: text(span.map(|span| &span.from)),
            span_to: text(span.map(|span| &span.to)),
            span_unit: span.map(|span| span.unit.clone()).unwrap_or_default(),
            performance: yes(asks.performance.is_some()),
            limit_loq: text(limits.loq.as_ref()),
            limit_recovery_from: text(limits.recovery_from.as_ref()),
            limit_recovery_to: text(limits.recovery_to.as_ref()),
            limit_repeatability: text(limits.repeatability.as_ref()),
            limit_carry_over: text(limits.carry_over.as_ref()),
            uncertainty: yes(asks.uncertainty),
            forms: asks.forms.iter().map(|one| format!("{}; {}; {}\n", one.analyte, one.form, one.ratio)).collect(),
            precision: asks.precision.as_ref().map(|study| study.procedure.word().to_owned()).unwrap_or_default(),
            protocol: asks.precision.as_ref().map(|study| study.protocol.clone()).unwrap_or_default(),
        }
    }

    /// Reads the form; what is wrong goes to `errors`. Other forms are those of the
    /// `analytes` that the round asks for.
    pub fn parse(&self, analytes: &[&str], errors: &mut FieldErrors) -> Asks {
        let arrival = match self.arrival.trim() {
            "" => Some(Arrival::Nothing),
            word => Arrival::ALL.into_iter().find(|arrival| arrival.word() == word),
        };
        if arrival.is_none() {
            errors.push("arrival", Problem::new("choice-unknown").with("seen", shortened(self.arrival.trim())));
        }
        let span = self.span(errors);
        let performance = (self.performance.trim() == "yes").then(|| self.limits(errors));
        Asks {
            arrival: arrival.unwrap_or_default(),
            method: self.method.trim() == "yes",
            declaration: self.declaration.trim() == "yes",
            performance,
            span,
            no_self_check: self.self_check.trim() == "off",
            uncertainty: self.uncertainty.trim() == "yes",
            forms: self.forms(analytes, errors),
            precision: self.precision(errors),
        }
    }

    fn precision(&self, errors: &mut FieldErrors) -> Option<PrecisionStudy> {
        let word = self.precision.trim();
        if word.is_empty() {
            return None;
        }
        let procedure = Procedure::ALL.into_iter().find(|procedure| procedure.word() == word);
        if procedure.is_none() {
            errors.push("precision", Problem::new("choice-unknown").with("seen", shortened(word)));
        }
        if self.protocol.trim().is_empty() {
            errors.push("protocol", Problem::new("protocol-missing"));
            return None;
        }
        let protocol = crate::text::line(errors, "protocol", &self.protocol, false);
        Some(PrecisionStudy { procedure: procedure?, protocol })
    }

    fn forms(&self, analytes: &[&str], errors: &mut FieldErrors) -> Vec<OtherForm> {
        let lines = (1..).zip(self.forms.lines()).filter(|(_, line)| !line.trim().is_empty());
        let mut forms = Vec::new();
        for (number, line) in lines {
            let mut wrong = |problem: Problem| errors.push("forms", problem.with("line", number));
            let parts: Vec<&str> = line.split(';').map(str::trim).collect();
            let &[analyte, form, ratio] = parts.as_slice() else {
                wrong(Problem::new("forms-parts").with("seen", shortened(line.trim())));
                continue;
            };
            let wanted = crate::text::key(analyte);
            let known = analytes.iter().find(|known| crate::text::key(known) == wanted);
            if known.is_none() {
                wrong(Problem::new("forms-analyte").with("seen", shortened(analyte)));
            }
            if form.is_empty() || form.chars().count() > crate::text::LINE || form.chars().any(char::is_control) {
                wrong(Problem::new("forms-name").with("seen", shortened(form)).with("limit", crate::text::LINE));
                continue;
            }
            let ratio = match Decimal::parse(ratio, Range::Positive) {
                Ok(ratio) if ratio.value() != 1.0 => ratio,
                Ok(ratio) => {
                    wrong(Problem::new("forms-one").with("seen", ratio));
                    continue;
                }
                Err(_) => {
                    wrong(Problem::new("forms-ratio").with("seen", shortened(ratio)));
                    continue;
                }
            };
            if let Some(analyte) = known {
                forms.push(OtherForm { analyte: (*analyte).to_owned(), form: form.to_owned(), ratio });
            }
        }
        if forms.len() > MOST_FORMS {
            errors.push("forms", Problem::new("forms-many").with("limit", MOST_FORMS));
        }
        forms
    }

    fn span(&self, errors: &mut FieldErrors) -> Option<Span> {
        let fields = [("span_from", &self.span_from), ("span_to", &self.span_to), ("span_unit", &self.span_unit)];
        if fields.iter().all(|(_, text)| text.trim().is_empty()) {
            return None;
        }
        let before = errors.len();
        for (field, _) in fields.iter().filter(|(_, text)| text.trim().is_empty()) {
            errors.push(*field, Problem::new("span-incomplete"));
        }
        let from = number(errors, "span_from", &self.span_from, Range::NonNegative);
        let to = number(errors, "span_to", &self.span_to, Range::Positive);
        let unit = crate::text::line(errors, "span_unit", &self.span_unit, false);
        if let (Some(from), Some(to)) = (&from, &to)
            && from.value() >= to.value()
        {
            errors.push("span_to", Problem::new("span-order").with("from", from).with("to", to));
        }
        if errors.len() > before { None } else { Some(Span { from: from?, to: to?, unit }) }
    }

    fn limits(&self, errors: &mut FieldErrors) -> Performance {
        let limits = Performance {
            loq: number(errors, "limit_loq", &self.limit_loq, Range::Positive),
            recovery_from: number(errors, "limit_recovery_from", &self.limit_recovery_from, Range::NonNegative),
            recovery_to: number(errors, "limit_recovery_to", &self.limit_recovery_to, Range::Positive),
            repeatability: number(errors, "limit_repeatability", &self.limit_repeatability, Range::Positive),
            carry_over: number(errors, "limit_carry_over", &self.limit_carry_over, Range::Positive),
        };
        if let (Some(from), Some(to)) = (&limits.recovery_from, &limits.recovery_to)
            && from.value() >= to.value()
        {
            errors.push("limit_recovery_to", Problem::new("span-order").with("from", from).with("to", to));
        }
        limits
    }
}

/// A number where something is typed.
fn number(errors: &mut FieldErrors, field: &str, text: &str, range: Range) -> Option<Decimal> {
    if text.trim().is_empty() {
        return None;
    }
    errors.keep(field, Decimal::parse(text, range).map_err(Problem::from))
}

#[cfg(test)]
mod tests {
    use super::*;

    const ANALYTES: [&str; 2] = ["ibuprofen", "diclofenac"];

    fn parsed(forms: &str) -> (Asks, Vec<(&'static str, String)>) {
        let mut errors = FieldErrors::new();
        let asks = AsksForm { forms: forms.to_owned(), ..AsksForm::default() }.parse(&ANALYTES, &mut errors);
        let line = |problem: &Problem| {
            problem.values.iter().find(|(name, _)| *name == "line").map(|(_, line)| line.clone()).unwrap_or_default()
        };
        let wrong = errors.iter().map(|(_, problem)| (problem.key, line(problem))).collect();
        (asks, wrong)
    }

    #[test]
    fn other_forms_are_lines_of_analyte_form_and_ratio() {
        let (asks, wrong) = parsed("Ibuprofen; lysine salt; 1.71\n\ndiclofenac;sodium salt;1,07\n");

        assert!(wrong.is_empty(), "{wrong:?}");
        let told: Vec<(&str, &str, f64)> =
            asks.forms.iter().map(|one| (one.analyte.as_str(), one.form.as_str(), one.ratio.value())).collect();
        assert_eq!(told, [("ibuprofen", "lysine salt", 1.71), ("diclofenac", "sodium salt", 1.07)]);
        let again = AsksForm::of(&asks);
        assert_eq!(again.forms, "ibuprofen; lysine salt; 1.71\ndiclofenac; sodium salt; 1.07\n");
    }

    #[test]
    fn each_mistake_in_other_forms_is_told_with_its_line() {
        let (asks, wrong) = parsed(
            "ibuprofen, lysine salt, 1.71\nparacetamol; salt; 2\nibuprofen; ; 1.5\nibuprofen; salt; 0\n\
             ibuprofen; salt; 1.0\nibuprofen; salt; -2\nibuprofen; salt; about 2\ndiclofenac; sodium salt; 1.07",
        );

        let told: Vec<(&str, &str)> = wrong.iter().map(|(key, line)| (*key, line.as_str())).collect();
        assert_eq!(
            told,
            [
                ("forms-parts", "1"),
                ("forms-analyte", "2"),
                ("forms-name", "3"),
                ("forms-ratio", "4"),
                ("forms-one", "5"),
                ("forms-ratio", "6"),
                ("forms-ratio", "7"),
            ]
        );
        assert_eq!(asks.forms.len(), 1);
    }

    #[test]
    fn a_study_of_precision_names_its_tests_and_its_protocol() {
        let parsed = |precision: &str, protocol: &str| {
            let mut errors = FieldErrors::new();
            let form =
                AsksForm { precision: precision.to_owned(), protocol: protocol.to_owned(), ..AsksForm::default() };
            let asks = form.parse(&ANALYTES, &mut errors);
            let wrong: Vec<(String, &str)> =
                errors.iter().map(|(field, problem)| (field.to_owned(), problem.key)).collect();
            (asks, wrong)
        };
        let (asks, wrong) = parsed("harmonised", " QM-7, edition 2 ");
        assert!(wrong.is_empty(), "{wrong:?}");
        let study = asks.precision.as_ref().unwrap();
        assert_eq!((study.procedure.outliers(), study.protocol.as_str()), (Outliers::Harmonised, "QM-7, edition 2"));
        let again = AsksForm::of(&asks);
        assert_eq!((again.precision.as_str(), again.protocol.as_str()), ("harmonised", "QM-7, edition 2"));
        assert_eq!(parsed("iso", "").1, [("protocol".to_owned(), "protocol-missing")]);
        assert_eq!(parsed("both", "QM-7").1, [("precision".to_owned(), "choice-unknown")]);
        assert_eq!(parsed("", "QM-7").0, Asks::default());
    }

    #[test]
    fn a_round_without_other_forms_is_written_as_before_there_were_any() {
        let text = serde_json::to_string(&Asks::default()).unwrap();
        assert!(!text.contains("forms") && !text.contains("precision"), "{text}");
        assert_eq!(serde_json::from_str::<Asks>(&text).unwrap(), Asks::default());
    }
}

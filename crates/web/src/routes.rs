//! Which address leads where.

use crate::api;
use crate::assets;
use crate::error;
use crate::extract::{self, MOST_LARGE_UPLOAD, MOST_UPLOAD};
use crate::pages::{
    account, amend, approval, asks, cases, certificates, check, design, entry, evaluation, files, forecast, gallery,
    item_decisions, item_forms, items, jobs, keys, laboratories, messages, methods, notices, open_data, people,
    performance, plans, precision, programs, proposals, publish, questions, receipt, report, report_texts, review,
    rounds, rulings, score_measurand, scores, sealed, staff, tables, tasks, trials, unit_files, units, verify,
};
use crate::state::App;
use axum::extract::{DefaultBodyLimit, Request, State};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Router, handler::Handler};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;

/// The service.
pub fn router(app: App) -> Router {
    let pages = Router::new()
        .route("/", get(account::home))
        .route("/setup/{token}", get(account::setup).post(account::set_up))
        .route("/sign-in", get(account::sign_in).post(account::enter))
        .route("/sign-out", post(account::sign_out))
        .route("/invitations/{token}", get(account::invitation).post(account::accept))
        .route("/tokens", get(programs::list).post(programs::make))
        .route("/tokens/{id}/revoke", post(programs::revoke))
        .route("/performance", get(performance::page))
        .route("/gallery", get(gallery::page))
        .route("/people", get(people::list).post(people::invite))
        .route("/people/second", post(people::second))
        .route("/people/withdraw", post(people::withdraw))
        .route("/people/{id}/rights", post(people::set_rights))
        .route("/people/{id}/end", get(people::ask_end).post(people::end))
        .route("/staff", get(staff::list).post(staff::invite))
        .route("/staff/withdraw", post(staff::withdraw))
        .route("/staff/{id}/end", get(staff::ask_end).post(staff::end))
        .route("/staff-invitations/{token}", get(staff::invitation).post(staff::accept))
        .route("/interface", get(programs::interface))
        .route("/problems/{word}", get(programs::problem))
        .route("/rounds", get(rounds::list).post(rounds::create))
        .route("/rounds/new", get(rounds::new))
        .route("/rounds/{code}", get(rounds::overview))
        .route("/rounds/{code}/edit", get(rounds::edit).post(rounds::update))
        .route("/rounds/{code}/open", get(rounds::ask_open).post(rounds::open))
        .route("/rounds/{code}/close", get(rounds::ask_close).post(rounds::close))
        .route("/rounds/{code}/items", get(items::list).post(design::add_item))
        .route("/rounds/{code}/items/{label}", get(units::ledger).post(units::change))
        .route("/rounds/{code}/items/{label}/remove", post(design::remove_item))
        .route("/rounds/{code}/items/{label}/units.csv", get(units::file))
        .route("/rounds/{code}/items/{label}/units.xlsx", get(units::file))
        .route("/rounds/{code}/items/{label}/units/{lab}", get(unit_files::of_unit))
        .route(
            "/rounds/{code}/items/{label}/units/{lab}/upload",
            post(unit_files::upload_of_unit.layer(large_upload_limit())),
        )
        .route("/rounds/{code}/arrival/{label}", get(unit_files::own))
        .route("/rounds/{code}/arrival/{label}/upload", post(unit_files::upload_own.layer(large_upload_limit())))
        .route("/rounds/{code}/unit-files/{id}", get(unit_files::file))
        .route("/rounds/{code}/items/{label}/withdraw", get(units::ask_withdraw).post(units::withdraw))
        .route("/rounds/{code}/items/{label}/{position}", get(items::measurand))
        .route(
            "/rounds/{code}/items/{label}/{position}/preparation",
            get(item_forms::ask_preparation).post(item_forms::preparation),
        )
        .route("/rounds/{code}/items/{label}/{position}/take", post(item_forms::take))
        .route(
            "/rounds/{code}/items/{label}/{position}/homogeneity",
            get(item_forms::ask_homogeneity).post(item_forms::homogeneity),
        )
        .route(
            "/rounds/{code}/items/{label}/{position}/stability",
            get(item_forms::ask_stability).post(item_forms::stability),
        )
        .route(
            "/rounds/{code}/items/{label}/{position}/decide/{topic}",
            get(item_decisions::ask).post(item_decisions::decide),
        )
        .route("/rounds/{code}/studies", get(item_forms::ask_files))
        .route("/rounds/{code}/studies/homogeneity", post(item_forms::upload_homogeneity.layer(upload_limit())))
        .route("/rounds/{code}/studies/homogeneity.csv", get(item_forms::homogeneity_template))
        .route("/rounds/{code}/studies/homogeneity.xlsx", get(item_forms::homogeneity_template))
        .route("/rounds/{code}/studies/stability", post(item_forms::upload_stability.layer(upload_limit())))
        .route("/rounds/{code}/studies/stability.csv", get(item_forms::stability_template))
        .route("/rounds/{code}/studies/stability.xlsx", get(item_forms::stability_template))
        .route("/rounds/{code}/measurands", get(design::list).post(design::add))
        .route("/rounds/{code}/measurands/upload", post(design::upload.layer(upload_limit())))
        .route("/rounds/{code}/measurands/template.csv", get(files::measurands_template))
        .route("/rounds/{code}/measurands/template.xlsx", get(files::measurands_template))
        .route("/rounds/{code}/measurands/{position}/remove", post(design::remove))
        .route("/rounds/{code}/assigned-values", get(design::assigned))
        .route("/rounds/{code}/assigned-values/upload", post(design::upload_assigned.layer(upload_limit())))
        .route("/rounds/{code}/assigned-values/template.csv", get(files::assigned_template))
        .route("/rounds/{code}/assigned-values/template.xlsx", get(files::assigned_template))
        .route("/rounds/{code}/assigned-values/{position}", get(design::plan).post(design::set_plan))
        .route("/rounds/{code}/laboratories", get(laboratories::list).post(laboratories::add))
        .route("/rounds/{code}/laboratories/upload", post(laboratories::upload.layer(upload_limit())))
        .route("/rounds/{code}/laboratories/template.csv", get(files::laboratories_template))
        .route("/rounds/{code}/laboratories/template.xlsx", get(files::laboratories_template))
        .route("/rounds/{code}/laboratories/invite", post(laboratories::invite))
        .route("/rounds/{code}/laboratories/look-up", post(laboratories::look_up))
        .route("/rounds/{code}/laboratories/{lab}/remove", post(laboratories::remove))
        .route("/rounds/{code}/plan", get(plans::overview).post(plans::save))
        .route("/rounds/{code}/plan/freeze", post(plans::freeze))
        .route("/rounds/{code}/plan/{version}", get(plans::document))
        .route("/rounds/{code}/plan/{version}/document.json", get(plans::text))
        .route("/rounds/{code}/plan/{version}/sign", post(plans::sign))
        .route("/rounds/{code}/plan/{version}/withdraw", post(plans::withdraw))
        .route("/rounds/{code}/amend", get(amend::overview).post(amend::move_deadline))
        .route("/rounds/{code}/amend/{position}", get(amend::measurand).post(amend::change_measurand))
        .route("/rounds/{code}/forecast", get(forecast::forecast))
        .route("/rounds/{code}/sealed", get(sealed::page))
        .route("/rounds/{code}/sealed.json", get(sealed::text))
        .route("/rounds/{code}/asks", get(asks::ask).post(asks::save))
        .route("/rounds/{code}/labels", get(asks::labels))
        .route("/rounds/{code}/labels.csv", get(asks::labels_file))
        .route("/rounds/{code}/labels.xlsx", get(asks::labels_file))
        .route("/rounds/{code}/questions", get(questions::list).post(questions::ask))
        .route("/rounds/{code}/questions/{id}", get(questions::ask_answer).post(questions::answer))
        .route("/rounds/{code}/requests", get(rulings::list).post(rulings::ask))
        .route("/rounds/{code}/requests/{id}", get(rulings::ask_ruling).post(rulings::rule))
        .route("/rounds/{code}/messages", get(messages::list).post(messages::retry))
        .route("/rounds/{code}/remind", get(messages::ask_remind).post(messages::remind))
        .route("/rounds/{code}/results/{item}", get(entry::entry).post(entry::save))
        .route("/rounds/{code}/results/{item}/paste", get(proposals::ask_paste).post(proposals::paste))
        .route("/rounds/{code}/proposals/{id}", get(proposals::proposal))
        .route("/rounds/{code}/proposals/{id}/take", post(proposals::take))
        .route("/rounds/{code}/proposals/{id}/leave", post(proposals::leave))
        .route("/rounds/{code}/proposals/{id}/undo", post(proposals::undo))
        .route("/rounds/{code}/proposals/{id}/file", get(files::refused_file))
        .route("/rounds/{code}/results-template.csv", get(files::results_template))
        .route("/rounds/{code}/results-template.xlsx", get(files::results_template))
        .route(
            "/rounds/{code}/results-upload",
            get(files::ask_results).post(files::upload_results.layer(upload_limit())),
        )
        .route("/rounds/{code}/results.csv", get(files::results))
        .route("/rounds/{code}/results.xlsx", get(files::results))
        .route("/rounds/{code}/tasks/{task}", get(tasks::task).post(tasks::save))
        .route("/rounds/{code}/check", get(check::check))
        .route("/rounds/{code}/submit", post(check::submit))
        .route("/receipts/{id}", get(receipt::receipt))
        .route("/receipts/{id}/document.json", get(receipt::document))
        .route("/receipts/{id}/receipt.json", get(receipt::sealed))
        .route("/receipts/{id}/receipt.pdf", get(receipt::pdf))
        .route("/receipts/{id}/signed.json", get(receipt::signed))
        .route("/receipts/{id}/signature.bin", get(receipt::signature))
        .route("/keys", get(keys::list))
        .route("/keys.json", get(keys::file))
        .route("/keys/change", get(keys::ask_change).post(keys::change))
        .route("/notices", get(notices::board))
        .route("/notices/{number}", get(notices::one))
        .route("/notices.json", get(notices::list))
        .route("/verify", get(verify::ask).post(verify::check.layer(upload_limit())))
        .route("/verify/{code}", get(verify::certificate))
        .route("/keys/{key}", get(keys::pem))
        .route("/rounds/{code}/evaluation", get(evaluation::overview).post(evaluation::evaluate))
        .route("/rounds/{code}/evaluation/{position}", get(evaluation::measurand))
        .route("/rounds/{code}/evaluation/{position}/decide/{lab}", get(evaluation::ask_decide))
        .route("/rounds/{code}/review", get(review::worklist))
        .route("/rounds/{code}/review/finding", get(review::finding::look).post(review::finding::note))
        .route("/rounds/{code}/review/{position}", get(review::measurand::look).post(review::measurand::decide))
        .route("/rounds/{code}/review/laboratory/{lab}", get(review::laboratory::look))
        .route("/rounds/{code}/decide", get(review::decide::ask).post(review::decide::decide))
        .route("/rounds/{code}/clarifications", get(review::clarify::list).post(review::clarify::post))
        .route("/rounds/{code}/trials", get(trials::list).post(trials::try_out))
        .route("/rounds/{code}/trials/{id}", get(trials::trial))
        .route("/rounds/{code}/approval", get(approval::show).post(approval::say))
        .route("/rounds/{code}/approval/recompute", post(approval::recompute))
        .route("/rounds/{code}/approval/{id}/answer", post(approval::answer))
        .route("/rounds/{code}/corrections", get(approval::corrections).post(approval::correct))
        .route("/rounds/{code}/cases", get(cases::list).post(cases::receive))
        .route("/rounds/{code}/cases/{number}", get(cases::show_case).post(cases::step))
        .route("/rounds/{code}/publish", get(publish::ask_publish).post(publish::publish))
        .route("/rounds/{code}/report", get(report::overview).post(report::issue))
        .route("/rounds/{code}/report.pdf", get(report::pdf))
        .route("/rounds/{code}/report/read", get(report::read))
        .route("/rounds/{code}/report/texts/{heading}", get(report_texts::ask).post(report_texts::say))
        .route("/methods-of-evaluation", get(report::sheets))
        .route("/rounds/{code}/methods", get(methods::overview).post(methods::set_smallest))
        .route("/rounds/{code}/methods.csv", get(methods::file))
        .route("/rounds/{code}/methods.xlsx", get(methods::file))
        .route("/rounds/{code}/precision", get(precision::page))
        .route("/rounds/{code}/package.json", get(publish::package))
        .route("/rounds/{code}/files", get(tables::list))
        .route("/rounds/{code}/own.zip", get(tables::own))
        .route("/rounds/{code}/tables/round.xlsx", get(tables::workbook))
        .route("/rounds/{code}/tables/results.csv", get(tables::table))
        .route("/rounds/{code}/tables/scores.csv", get(tables::table))
        .route("/rounds/{code}/tables/summary.csv", get(tables::table))
        .route("/rounds/{code}/tables/plan.csv", get(tables::table))
        .route("/rounds/{code}/tables/decisions.csv", get(tables::table))
        .route("/rounds/{code}/open-data", get(open_data::page).post(open_data::release))
        .route("/rounds/{code}/open-data/consent", post(open_data::consent))
        .route("/rounds/{code}/open-data.zip", get(open_data::file))
        .route("/rounds/{code}/scores", get(scores::overview))
        .route("/rounds/{code}/scores.csv", get(files::scores))
        .route("/rounds/{code}/scores.xlsx", get(files::scores))
        .route("/rounds/{code}/scores/{position}", get(score_measurand::measurand))
        .route("/rounds/{code}/certificate.pdf", get(certificates::certificate))
        .route("/rounds/{code}/certificate.json", get(certificates::certificate_json))
        .route("/rounds/{code}/certificate-signed.json", get(certificates::certificate_signed))
        .route("/rounds/{code}/certificate-signature.bin", get(certificates::certificate_signature))
        .route("/rounds/{code}/name-on-certificates", get(certificates::ask_name).post(certificates::set_name))
        .route(
            "/rounds/{code}/certificates/{lab}/withdraw",
            get(certificates::ask_withdraw).post(certificates::withdraw),
        )
        .route("/rounds/{code}/certificates", post(jobs::certificates))
        .route("/jobs", get(jobs::list))
        .route("/jobs/{id}", get(jobs::job))
        .route("/jobs/{id}/cancel", post(jobs::cancel))
        .route("/jobs/{id}/resume", post(jobs::resume))
        .route("/jobs/{id}/certificates.zip", get(jobs::archive))
        .route("/rounds/{code}/certificates/{lab}", get(certificates::certificate_of))
        .fallback(|| async { error::not_found() })
        .method_not_allowed_fallback(error::method_not_allowed)
        .layer(middleware::from_fn_with_state(app.clone(), extract::visit));
    Router::new()
        .merge(pages)
        .nest(api::BASE, api::router(app.clone()))
        .route("/static/{name}", get(assets::get))
        .route("/livez", get(|| async { "alive\n" }))
        .route("/readyz", get(ready))
        .layer(CatchPanicLayer::custom(|_: Box<dyn std::any::Any + Send>| {
            error::Error::Fault("finish a request: it panicked".to_owned()).into_response()
        }))
        .layer(CompressionLayer::new().gzip(true))
        .layer(middleware::from_fn(harden))
        .with_state(app)
}

fn upload_limit() -> DefaultBodyLimit {
    DefaultBodyLimit::max(MOST_UPLOAD)
}

fn large_upload_limit() -> DefaultBodyLimit {
    DefaultBodyLimit::max(MOST_LARGE_UPLOAD)
}

/// `GET /readyz`: whether the database answers.
async fn ready(State(app): State<App>) -> Response {
    let answer = async { roundel_store::installation::get(&mut app.db.read().await?).await };
    match answer.await {
        Ok(_) => "ready\n".into_response(),
        Err(error) => {
            tracing::error!(cause = ?error, "failed to reach the database");
            (StatusCode::SERVICE_UNAVAILABLE, "the database does not answer\n").into_response()
        }
    }
}

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
    connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// What every answer tells the browser: nothing from elsewhere, nothing inline,
/// no frame, no guessing of types.
async fn harden(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    let fixed: [(HeaderName, &'static str); 6] = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (HeaderName::from_static("permissions-policy"), "camera=(), microphone=(), geolocation=()"),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

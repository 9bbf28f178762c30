//! The program `roundel`.

use clap::Parser;
use jiff::Timestamp;
use roundel::actions::accounts;
use roundel::clock::Clock;
use roundel::config::{Cli, Command, DemoSettings, Document, OutlierRule, Settings, unknown_variable};
use roundel::smtp::Mailer;
use roundel::state::App;
use roundel::verify::{Exit, Given, verify};
use roundel::{ENGINE, demo, files, serve};
use roundel_domain::evaluation::precision::{self, Outliers};
use roundel_domain::package::RoundPackage;
use roundel_domain::{evaluation, package};
use roundel_store::Db;
use std::io::{self, BufWriter, Read, Write};
use std::net::SocketAddr;
use std::path::Path;
use std::process::ExitCode;
use tokio::net::TcpListener;
use tracing_subscriber::EnvFilter;

/// Exit status of a setting that is not known or not possible.
const BAD_SETTING: u8 = 78;

fn main() -> ExitCode {
    let names = std::env::vars_os().filter_map(|(name, _)| name.into_string().ok());
    if let Some(sentence) = unknown_variable(names) {
        eprintln!("error: {sentence}");
        return ExitCode::from(BAD_SETTING);
    }
    match Cli::parse().command {
        Command::Serve(settings) => match settings.mailer() {
            Ok(mailer) => run(serve_service(settings, mailer)),
            Err(sentence) => {
                eprintln!("error: {sentence}");
                ExitCode::from(BAD_SETTING)
            }
        },
        Command::Demo(settings) => run(serve_demo(settings)),
        Command::Evaluate { package } => print_of(&package, |package, out| evaluation::write(package, ENGINE, out)),
        Command::Precision { package, outliers } => print_of(&package, |package, out| {
            let outliers = match outliers {
                OutlierRule::SetAside => Outliers::SetAside,
                OutlierRule::Harmonised => Outliers::Harmonised,
                OutlierRule::Keep => Outliers::Keep,
            };
            out.write_all(precision::evaluate(package, outliers, ENGINE).to_json().as_bytes())
        }),
        Command::Verify { certificate, keys, key, notices } => {
            verify_file(&certificate, keys.as_deref(), key.as_deref(), notices.as_deref())
        }
        Command::Schema { document } => {
            let schema = match document {
                Document::RoundPackage => package::SCHEMA,
                Document::RoundEvaluation => evaluation::SCHEMA,
                Document::Precision => precision::SCHEMA,
            };
            print(|out| out.write_all(schema.as_bytes()))
        }
    }
}

/// Something that stops the program, as a sentence.
struct Stop(String);

fn stop(doing: &str, error: impl std::error::Error) -> Stop {
    let mut sentence = format!("could not {doing}: {error}");
    let mut source = error.source();
    while let Some(cause) = source {
        sentence.push_str(&format!(": {cause}"));
        source = cause.source();
    }
    Stop(sentence)
}

fn run(service: impl Future<Output = Result<(), Stop>>) -> ExitCode {
    let filter = EnvFilter::try_from_env("RUST_LOG").unwrap_or_else(|_| EnvFilter::new("warn"));
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).init();
    let runtime = match tokio::runtime::Builder::new_multi_thread().enable_all().build() {
        Ok(runtime) => runtime,
        Err(error) => {
            eprintln!("error: could not start: {error}");
            return ExitCode::FAILURE;
        }
    };
    match runtime.block_on(service) {
        Ok(()) => ExitCode::SUCCESS,
        Err(Stop(sentence)) => {
            eprintln!("error: {sentence}");
            ExitCode::FAILURE
        }
    }
}

async fn listen(address: SocketAddr) -> Result<(TcpListener, SocketAddr), Stop> {
    let listener = TcpListener::bind(address).await.map_err(|error| stop(&format!("listen on {address}"), error))?;
    let local = listener.local_addr().map_err(|error| stop("see the address", error))?;
    Ok((listener, local))
}

/// Opens the database file of a folder, which is made if it does not exist.
async fn open_folder(data: &Path) -> Result<Db, Stop> {
    files::make_private(data).map_err(|error| stop(&format!("make the folder {}", data.display()), error))?;
    let file = data.join("roundel.sqlite");
    Db::open_file(&file).await.map_err(|error| stop(&format!("open {}", file.display()), error))
}

async fn serve_service(settings: Settings, mailer: Option<Mailer>) -> Result<(), Stop> {
    let db = match &settings.database {
        Some(url) => Db::open(url).await.map_err(|error| stop("open the database", error))?,
        None => open_folder(&settings.data).await?,
    };
    let (listener, local) = listen(settings.listen).await?;
    let public_url = settings.public_url.unwrap_or_else(|| format!("http://{local}"));
    let app = App::new(db, Clock::default(), &public_url).await.map_err(|error| stop("read the database", error))?;
    let app = app.with_mail(mailer);
    let stopped = serve::stop_signal();
    eprintln!("Roundel is ready at {public_url}");
    if let Some(token) = offer_setup(&app).await.map_err(|error| stop("make a set-up link", error))? {
        eprintln!("Set it up, within 60 minutes and once, at {public_url}/setup/{token}");
    }
    serve::run(app, listener, stopped).await;
    Ok(())
}

async fn offer_setup(app: &App) -> Result<Option<String>, roundel::error::Error> {
    let mut tx = app.db.write().await?;
    let token = accounts::offer_setup(&mut tx, app.clock.now()).await?;
    tx.commit().await?;
    Ok(token)
}

async fn serve_demo(settings: DemoSettings) -> Result<(), Stop> {
    demo::clear_folder(&settings.data).map_err(Stop)?;
    let db = open_folder(&settings.data).await?;
    let (listener, local) = listen(settings.listen).await?;
    let public_url = format!("http://{local}");
    let clock = Clock::default();
    let now: Timestamp = clock.now();
    let accounts = demo::fill(&db, now, &public_url)
        .await
        .map_err(|error| Stop(format!("could not make the demonstration: {error}")))?;
    let app = App::new(db, clock, &public_url).await.map_err(|error| stop("read the database", error))?;
    let stopped = serve::stop_signal();
    let mut out = std::io::stdout().lock();
    let mut lines = vec![public_url];
    lines.extend(accounts.iter().map(|account| format!("{}\t{}\t{}", account.role, account.email, account.password)));
    writeln!(out, "{}", lines.join("\n")).map_err(|error| stop("print the address", error))?;
    drop(out);
    serve::run(app, listener, stopped).await;
    Ok(())
}

/// Reads a package, prints what `evaluate` makes of it.
fn print_of(path: &Path, evaluate: impl FnOnce(&RoundPackage, &mut dyn Write) -> io::Result<()>) -> ExitCode {
    let mut text = String::new();
    let read = if path.as_os_str() == "-" {
        io::stdin().read_to_string(&mut text).map(|_| ())
    } else {
        std::fs::read_to_string(path).map(|read| text = read)
    };
    if let Err(error) = read {
        eprintln!("error: could not read {}: {error}", path.display());
        return ExitCode::FAILURE;
    }
    let parsed = package::parse(&text);
    // Half of the memory of a large package.
    drop(text);
    match parsed {
        Ok(package) => print(|out| evaluate(&package, out)),
        Err(problems) => {
            for problem in problems {
                eprintln!("{problem}");
            }
            ExitCode::from(2)
        }
    }
}

/// Checks a certificate and says what was found.
fn verify_file(certificate: &Path, keys: Option<&Path>, key: Option<&Path>, notices: Option<&Path>) -> ExitCode {
    let bytes =
        |path: &Path| std::fs::read(path).map_err(|error| format!("could not read {}: {error}", path.display()));
    let text = |path: &Path| bytes(path).map(|bytes| String::from_utf8_lossy(&bytes).into_owned());
    let read = || -> Result<_, String> {
        let certificate = bytes(certificate)?;
        Ok((certificate, keys.map(text).transpose()?, key.map(text).transpose()?, notices.map(bytes).transpose()?))
    };
    match read() {
        Ok((certificate, keys, key, notices)) => {
            let given = Given { keys: keys.as_deref(), key: key.as_deref(), notices: notices.as_deref() };
            let (said, exit) = verify(&certificate, given);
            let printed = print(|out| out.write_all(said.as_bytes()));
            if printed == ExitCode::SUCCESS { ExitCode::from(exit as u8) } else { printed }
        }
        Err(sentence) => {
            eprintln!("error: {sentence}");
            ExitCode::from(Exit::Unreadable as u8)
        }
    }
}

fn print(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> ExitCode {
    let mut out = BufWriter::new(io::stdout().lock());
    match write(&mut out).and_then(|()| out.flush()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: could not write to standard output: {error}");
            ExitCode::FAILURE
        }
    }
}

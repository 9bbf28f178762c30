//! Listening, answering, and stopping in time.

use crate::state::App;
use crate::{jobs, routes, work};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::future::Future;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::watch;

/// How long a client may take to send the head of a request.
const HEADER_TIMEOUT: Duration = Duration::from_secs(15);
/// How long requests that have begun may still take at the end.
const DRAIN: Duration = Duration::from_secs(8);

/// Answers requests on `listener`, sends messages and does long work until `stop` comes true, then
/// lets what has begun finish.
pub async fn run(app: App, listener: TcpListener, stop: impl Future<Output = ()>) {
    let (end, ended) = watch::channel(false);
    let mut mail = tokio::spawn(jobs::deliver(app.clone(), ended.clone()));
    let mut work = tokio::spawn(work::run(app.clone(), ended));
    let router = routes::router(app.clone());
    let mut server = hyper::server::conn::http1::Builder::new();
    server.timer(TokioTimer::new()).header_read_timeout(HEADER_TIMEOUT);
    let graceful = GracefulShutdown::new();
    tokio::pin!(stop);
    loop {
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            () = &mut stop => break,
        };
        let stream = match accepted {
            Ok((stream, _)) => stream,
            Err(error) => {
                tracing::warn!(%error, "failed to accept a connection");
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            }
        };
        let service = TowerToHyperService::new(router.clone());
        let connection = graceful.watch(server.serve_connection(TokioIo::new(stream), service));
        tokio::spawn(async move {
            // A client that goes away in the middle is no event.
            let _ = connection.await;
        });
    }
    drop(listener);
    let _ = end.send(true);
    let finished = async {
        graceful.shutdown().await;
        // A job that panicked has said so.
        let _ = (&mut mail).await;
        let _ = (&mut work).await;
    };
    tokio::select! {
        () = finished => {}
        () = tokio::time::sleep(DRAIN) => tracing::warn!("requests, a message or a job were still running at the end"),
    }
    mail.abort();
    work.abort();
    app.db.close().await;
}

/// Comes true at the first interrupt or termination signal. From the call on, such
/// a signal ends the program in order, even before the future is waited for.
pub fn stop_signal() -> impl Future<Output = ()> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let mut interrupt = signal(SignalKind::interrupt()).expect("the system takes signal handlers");
        let mut term = signal(SignalKind::terminate()).expect("the system takes signal handlers");
        async move {
            tokio::select! {
                _ = interrupt.recv() => {}
                _ = term.recv() => {}
            }
        }
    }
    #[cfg(not(unix))]
    {
        async {
            let _ = tokio::signal::ctrl_c().await;
        }
    }
}

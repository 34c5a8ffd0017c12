//! The server: on this machine only.

use std::{net::SocketAddr, path::PathBuf};

use jiff::Timestamp;
use tokio::net::TcpListener;

use crate::{App, WebError, router};

/// How the pages are served.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// The grower's own record.
    pub collection: PathBuf,
    /// Whether to begin in the demo.
    pub demo: bool,
    /// The port; 0 for any that is free.
    pub port: u16,
    /// Host names under which the pages answer; filled in by [`serve`].
    pub hosts: Vec<String>,
    /// A fixed instant, for tests.
    pub clock: Option<Timestamp>,
}

/// A server that listens.
pub struct Running {
    /// The address of the first page.
    pub address: String,
    listener: TcpListener,
    app: App,
}

impl Running {
    /// Answers until `stop` is done.
    ///
    /// # Errors
    /// If the socket fails.
    pub async fn run(
        self,
        stop: impl Future<Output = ()> + Send + 'static,
    ) -> Result<(), WebError> {
        let address = self.address.clone();
        axum::serve(self.listener, router(self.app))
            .with_graceful_shutdown(stop)
            .await
            .map_err(|source| WebError::Listen { address, source })
    }
}

/// Opens the record and begins to listen, on this machine only.
///
/// # Errors
/// If the record cannot be opened or the port is in use.
pub async fn serve(mut options: Options) -> Result<Running, WebError> {
    let wanted = SocketAddr::from(([127, 0, 0, 1], options.port));
    let listen = |source| WebError::Listen { address: wanted.to_string(), source };
    let listener = TcpListener::bind(wanted).await.map_err(listen)?;
    let port = listener.local_addr().map_err(listen)?.port();
    for host in ["localhost", "127.0.0.1", "[::1]"] {
        options.hosts.push(format!("{host}:{port}"));
    }
    let app = App::open(&options)?;
    Ok(Running { address: format!("http://localhost:{port}/"), listener, app })
}

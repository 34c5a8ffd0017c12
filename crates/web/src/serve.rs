//! The server: on this machine only, unless it is opened to phones.

use std::{
    net::{Ipv4Addr, SocketAddr},
    path::PathBuf,
    sync::Arc,
};

use jiff::Timestamp;
use tokio::{
    net::TcpListener,
    sync::{mpsc, watch},
    task::JoinSet,
};
use tokio_rustls::rustls::ServerConfig;

use crate::{
    App, Peer, WebError,
    certificate::{self, Certificate},
    gate::Ways,
    phones::{self, LABEL_PORT, Opened, host_at},
    router,
    wire::Wires,
};

/// How the pages are served.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// The grower's own record.
    pub collection: PathBuf,
    /// Whether to begin in the demo.
    pub demo: bool,
    /// The port; 0 for any that is free.
    pub port: u16,
    /// Whether devices in this machine's network that give the passcode are let in. Without, the
    /// pages are listened for on this machine only.
    pub phones: bool,
    /// Whether those devices may come over a plain connection, which others in the network can
    /// read. Without, they come over one that is encrypted with the house's own certificate.
    pub plain: bool,
    /// Host names under which the pages answer; filled in by [`serve`].
    pub hosts: Vec<String>,
    /// A fixed instant, for tests.
    pub clock: Option<Timestamp>,
}

/// What there is to know while a server runs, a sentence each.
pub type Notes = mpsc::UnboundedReceiver<String>;

/// A server that listens.
pub struct Running {
    /// The address of the first page.
    pub address: String,
    /// What the person who started it should know, a sentence each.
    pub notes: Vec<String>,
    listeners: Vec<TcpListener>,
    later: Option<Notes>,
    _answering: Option<phones::Answering>,
    config: Option<Arc<ServerConfig>>,
    app: App,
}

impl Running {
    /// Where it listens.
    ///
    /// # Errors
    /// If a socket failed.
    pub fn listens_on(&self) -> std::io::Result<Vec<SocketAddr>> {
        self.listeners.iter().map(TcpListener::local_addr).collect()
    }

    /// What the person who started it should know later on, while it runs. Given once.
    pub fn later(&mut self) -> Option<Notes> {
        self.later.take()
    }

    /// Answers until `stop` is done.
    ///
    /// # Errors
    /// If a socket fails.
    pub async fn run(
        self,
        stop: impl Future<Output = ()> + Send + 'static,
    ) -> Result<(), WebError> {
        let (end, ended) = watch::channel(false);
        let mut servers = JoinSet::new();
        for listener in self.listeners {
            let mut ended = ended.clone();
            let pages = router(self.app.clone()).into_make_service_with_connect_info::<Peer>();
            let address = self.address.clone();
            let wires = Wires::of(listener, self.config.clone())
                .map_err(|source| WebError::Listen { address, source })?;
            servers.spawn(async move {
                let stop = async move {
                    // An error is a sender that is gone: then it is over as well.
                    let _ = ended.wait_for(|over| *over).await;
                };
                axum::serve(wires, pages).with_graceful_shutdown(stop).await
            });
        }
        let stopping = tokio::spawn(async move {
            stop.await;
            let _ = end.send(true);
        });
        let mut outcome = Ok(());
        while let Some(served) = servers.join_next().await {
            let served = served.map_err(std::io::Error::other).and_then(|s| s);
            if let Err(source) = served {
                // Dropping the sender ends the other sockets.
                stopping.abort();
                outcome = Err(WebError::Listen { address: self.address.clone(), source });
            }
        }
        outcome
    }
}

async fn bind(ip: Ipv4Addr, port: u16) -> Result<(TcpListener, u16), WebError> {
    let wanted = SocketAddr::from((ip, port));
    let failed = |source| WebError::Listen { address: wanted.to_string(), source };
    let listener = TcpListener::bind(wanted).await.map_err(failed)?;
    let port = listener.local_addr().map_err(failed)?.port();
    Ok((listener, port))
}

/// Opens the record and begins to listen: on this machine only, or, where the options say so and
/// a passcode has been set, to the network.
///
/// # Errors
/// If the record cannot be opened, the port is in use, or the pages are to be opened to phones
/// and no passcode has been set.
pub async fn serve(mut options: Options) -> Result<Running, WebError> {
    let opened = if options.phones { Some(Opened::of(&options.collection)?) } else { None };
    let ip = if opened.is_some() { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
    let (listener, port) = bind(ip, options.port).await?;
    let mut names = vec!["localhost".to_owned(), "127.0.0.1".to_owned(), "[::1]".to_owned()];
    let mut listeners = vec![listener];
    let mut ports = vec![port];
    let mut notes = Vec::new();
    if let Some(Opened { name }) = &opened {
        names.push(name.clone());
        if port != LABEL_PORT {
            match bind(ip, LABEL_PORT).await {
                Ok((listener, _)) => {
                    listeners.push(listener);
                    ports.push(LABEL_PORT);
                }
                Err(e) => notes.push(without_label_port(name, port, &e)),
            }
        }
    }
    for port in &ports {
        options.hosts.extend(names.iter().map(|name| host_at(name, *port)));
    }
    let app = App::open(&options)?;
    app.water().begin(app.journal(), app.hand(&axum::http::HeaderMap::new()));
    let certificate = match &opened {
        Some(Opened { name }) if !options.plain => {
            Some(certificate::of_house(&options.collection, name, app.now())?)
        }
        _ => None,
    };
    let mut running = Running {
        address: format!("http://{}/", host_at("localhost", port)),
        notes,
        listeners,
        later: None,
        _answering: None,
        config: certificate.as_ref().map(|c| Arc::clone(&c.config)),
        app,
    };
    if let Some(Opened { name }) = &opened {
        // The port of labels comes last, where it could be had.
        let best = ports.last().copied().unwrap_or(port);
        running.reached_at(name, best, port, certificate.as_ref())?;
        running.answer_for(name, best);
    }
    Ok(running)
}

fn without_label_port(name: &str, port: u16, error: &WebError) -> String {
    let why = match error {
        WebError::Listen { source, .. } => source.to_string(),
        other => other.to_string(),
    };
    format!(
        "port {LABEL_PORT}, which squares on labels lead to, cannot be had ({why}): open http://{name}:{port}/ on the phone and type the six characters of the label; on Linux, “sudo sysctl net.ipv4.ip_unprivileged_port_start=80” lets Umbel have it"
    )
}

impl Running {
    /// Says under which addresses it is open to phones.
    fn reached_at(
        &mut self,
        name: &str,
        best: u16,
        port: u16,
        certificate: Option<&Certificate>,
    ) -> Result<(), WebError> {
        // The port of labels is plain: encrypted connections come to the other one.
        let at = |host: &str, best: u16| match certificate {
            Some(_) => format!("https://{host}:{port}"),
            None => format!("http://{}", host_at(host, best)),
        };
        let by_number: Vec<String> =
            phones::addresses().iter().map(|ip| at(&ip.to_string(), port)).collect();
        let ways = Ways {
            by_name: at(name, best),
            by_number: by_number.first().cloned().unwrap_or_default(),
            fingerprint: certificate.map(|c| c.fingerprint.clone()).unwrap_or_default(),
            port,
        };
        if by_number.is_empty() {
            self.notes.push(
                "this machine is in no network now, so no phone can reach it; the pages are open here, and to phones as soon as it is".to_owned(),
            );
        } else {
            self.notes.push(format!(
                "open to phones in this network that are let in: {}/ or {}/",
                ways.by_name,
                by_number.join("/ or ")
            ));
        }
        self.notes.push(match certificate {
            Some(c) => format!(
                "encrypted with the house's own certificate{}; a phone warns once, since nobody else vouches for it; its fingerprint (SHA-256) must be {}",
                if c.made { ", which was made now" } else { "" },
                c.fingerprint
            ),
            None => "not encrypted: whoever listens in this network can read what goes between, the passcode too, and write in a phone's name; without --plain it is encrypted".to_owned(),
        });
        self.app.gate().reached(ways)
    }

    /// Answers for the house's name in the network.
    fn answer_for(&mut self, name: &str, best: u16) {
        let (send, later) = mpsc::unbounded_channel();
        let app = self.app.clone();
        let tell = move |note: String| {
            if app.gate().note(&note) {
                // Nobody may be listening; the page of the house shows it all the same.
                let _ = send.send(note);
            }
        };
        match phones::answer(name, best, tell) {
            Ok(answering) => {
                self._answering = Some(answering);
                self.later = Some(later);
            }
            Err(e) => {
                let note = format!(
                    "{name} cannot be answered for in this network ({e}); on a phone type one of the other addresses"
                );
                self.app.gate().note(&note);
                self.notes.push(note);
            }
        }
    }
}

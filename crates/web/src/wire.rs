//! Connections, encrypted or plain, at one port: the first byte tells which.

use std::{
    io,
    net::SocketAddr,
    pin::Pin,
    sync::Arc,
    task::{Context, Poll},
    time::Duration,
};

use axum::{
    extract::connect_info::Connected,
    serve::{IncomingStream, Listener},
};
use tokio::{
    io::{AsyncRead, AsyncWrite, ReadBuf},
    net::{TcpListener, TcpStream},
    sync::{Semaphore, mpsc},
    task::JoinHandle,
    time::timeout,
};
use tokio_rustls::{TlsAcceptor, rustls::ServerConfig, server::TlsStream};

use crate::Peer;

/// How long a connection may take to say what it is. Browsers open some ahead of use.
const FIRST_WORD: Duration = Duration::from_secs(60);

/// How long agreeing on the encryption may take.
const AGREEING: Duration = Duration::from_secs(15);

/// The most connections that are being agreed on at once.
const AT_ONCE: usize = 256;

/// The first byte of an encrypted connection: a handshake record (RFC 8446, section 5.1).
const HANDSHAKE: u8 = 0x16;

/// A connection.
pub(crate) enum Wire {
    Plain(TcpStream),
    Encrypted(Box<TlsStream<TcpStream>>),
}

impl AsyncRead for Wire {
    fn poll_read(
        self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(s) => Pin::new(s).poll_read(cx, buf),
            Self::Encrypted(s) => Pin::new(s).poll_read(cx, buf),
        }
    }
}

impl AsyncWrite for Wire {
    fn poll_write(
        self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        match self.get_mut() {
            Self::Plain(s) => Pin::new(s).poll_write(cx, bytes),
            Self::Encrypted(s) => Pin::new(s).poll_write(cx, bytes),
        }
    }

    fn poll_flush(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(s) => Pin::new(s).poll_flush(cx),
            Self::Encrypted(s) => Pin::new(s).poll_flush(cx),
        }
    }

    fn poll_shutdown(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(s) => Pin::new(s).poll_shutdown(cx),
            Self::Encrypted(s) => Pin::new(s).poll_shutdown(cx),
        }
    }
}

/// Connections that are agreed on, as they come.
pub(crate) struct Wires {
    ready: mpsc::Receiver<(Wire, Peer)>,
    local: SocketAddr,
    taking: JoinHandle<()>,
}

impl Drop for Wires {
    fn drop(&mut self) {
        self.taking.abort();
    }
}

impl Wires {
    /// Takes the connections of a socket; encrypted ones too where there is a certificate.
    pub(crate) fn of(listener: TcpListener, config: Option<Arc<ServerConfig>>) -> io::Result<Self> {
        let local = listener.local_addr()?;
        let (send, ready) = mpsc::channel(32);
        let acceptor = config.map(TlsAcceptor::from);
        let taking = tokio::spawn(take(listener, acceptor, send));
        Ok(Self { ready, local, taking })
    }
}

async fn take(
    listener: TcpListener,
    acceptor: Option<TlsAcceptor>,
    send: mpsc::Sender<(Wire, Peer)>,
) {
    let room = Arc::new(Semaphore::new(AT_ONCE));
    loop {
        let Ok(place) = Arc::clone(&room).acquire_owned().await else { return };
        let (stream, address) = match listener.accept().await {
            Ok(taken) => taken,
            Err(_) => {
                // Such as too many open files: others must end first.
                tokio::time::sleep(Duration::from_millis(200)).await;
                continue;
            }
        };
        let (acceptor, send) = (acceptor.clone(), send.clone());
        tokio::spawn(async move {
            let agreed = agree(stream, address, acceptor).await;
            drop(place);
            if let Some(agreed) = agreed {
                // Nobody takes it when the server ends.
                let _ = send.send(agreed).await;
            }
        });
    }
}

/// Tells by the first byte what a connection is, and agrees on the encryption; one that says
/// nothing or cannot agree is closed.
async fn agree(
    stream: TcpStream,
    address: SocketAddr,
    acceptor: Option<TlsAcceptor>,
) -> Option<(Wire, Peer)> {
    let Some(acceptor) = acceptor else {
        return Some((Wire::Plain(stream), Peer::plain(address)));
    };
    let mut first = [0_u8; 1];
    match timeout(FIRST_WORD, stream.peek(&mut first)).await {
        Ok(Ok(1)) if first[0] == HANDSHAKE => {
            let agreed = timeout(AGREEING, acceptor.accept(stream)).await.ok()?.ok()?;
            Some((Wire::Encrypted(Box::new(agreed)), Peer { address, encrypted: true }))
        }
        Ok(Ok(1)) => Some((Wire::Plain(stream), Peer::plain(address))),
        _ => None,
    }
}

impl Listener for Wires {
    type Io = Wire;
    type Addr = Peer;

    async fn accept(&mut self) -> (Wire, Peer) {
        match self.ready.recv().await {
            Some(agreed) => agreed,
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> io::Result<Peer> {
        Ok(Peer::plain(self.local))
    }
}

impl Connected<IncomingStream<'_, Wires>> for Peer {
    fn connect_info(stream: IncomingStream<'_, Wires>) -> Self {
        *stream.remote_addr()
    }
}

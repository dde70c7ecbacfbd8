//! The server: one page and one socket behind a secret, on one address, in threads of its own.
//!
//! It reads no file and writes none. Without the secret every request has the same answer. The deck
//! takes what phones say from [`Server::take`] and shows them how it is; nothing here waits for it.

use std::io::{self, ErrorKind, Read, Write};
use std::net::{IpAddr, SocketAddr, TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::door::Door;
use super::link::{Ends, FromPhone, SILENT, talk};
use super::page::page;
use super::post::{Board, Own};
use super::request::{LONGEST, LetIn, asked};
use super::secret::Secret;
use super::tries::Tries;
use crate::error::{Error, Result};

/// Messages that wait for the deck.
const WAITING: usize = 256;
/// How long the end waits for connections to say so.
const GOODBYE: Duration = Duration::from_millis(300);
/// From one look for a connection, or for the end, to the next: what waits for a connection for good
/// is woken by one alone, and none comes to an address that this machine has no more.
const LOOK: Duration = Duration::from_millis(20);
/// The answer to everything but the page and its socket.
const NOTHING: &str = "HTTP/1.1 404 Not Found\r\nContent-Type: text/plain\r\nContent-Length: 9\r\n\
                       Connection: close\r\n\r\nNot found";

struct Shared {
    secret: Secret,
    host: String,
    began: Instant,
    board: Board,
    door: Door,
    tries: Mutex<Tries>,
    ended: AtomicBool,
    /// Connections so far.
    count: AtomicU64,
}

/// A running server; it ends with this.
pub struct Server {
    shared: Arc<Shared>,
    inbox: Receiver<FromPhone>,
    listening: Option<JoinHandle<()>>,
}

impl Server {
    /// Serves at an address of this machine, at a port or at a free one.
    ///
    /// # Errors
    /// When the port is taken, or the system lets nothing be served there.
    pub fn start(address: IpAddr, port: Option<u16>) -> Result<Self> {
        let (listener, address) =
            open(address, port).map_err(|error| not_served(address, port, &error))?;
        let (to, inbox) = sync_channel(WAITING);
        let shared = Arc::new(Shared {
            secret: Secret::new()?,
            host: host_of(address),
            began: Instant::now(),
            board: Board::new(),
            door: Door::default(),
            tries: Mutex::default(),
            ended: AtomicBool::new(false),
            count: AtomicU64::new(0),
        });
        let listening = {
            let shared = Arc::clone(&shared);
            std::thread::Builder::new()
                .name("phones".into())
                .spawn(move || listen(&listener, &shared, &to))
                .map_err(|error| Error::failed(format!("no thread for the page: {error}")))?
        };
        Ok(Self {
            shared,
            inbox,
            listening: Some(listening),
        })
    }

    /// The page's whole address, with the secret in it.
    pub fn address(&self) -> String {
        format!("http://{}/{}", self.shared.host, self.shared.secret.text())
    }

    /// What a phone has said, the oldest first.
    pub fn take(&self) -> Option<FromPhone> {
        self.inbox.try_recv().ok()
    }

    /// Milliseconds on the clock by which phones are asked.
    pub fn ms(&self, at: Instant) -> f64 {
        at.saturating_duration_since(self.shared.began)
            .as_secs_f64()
            * 1e3
    }

    /// Shows every phone how everything is, as JSON.
    pub fn show(&self, state: String) {
        self.shared.board.show(state);
    }

    /// Tells one phone what it alone has to know.
    pub fn tell(&self, phone: &str, own: Own) {
        self.shared.board.tell(phone, own);
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.shared.ended.store(true, Ordering::Relaxed);
        if let Some(listening) = self.listening.take() {
            let _ = listening.join();
        }
        let begun = Instant::now();
        while self.shared.door.count() > 0 && begun.elapsed() < GOODBYE {
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}

/// A listener that never waits, and where it listens.
fn open(address: IpAddr, port: Option<u16>) -> io::Result<(TcpListener, SocketAddr)> {
    let listener = TcpListener::bind((address, port.unwrap_or(0)))?;
    listener.set_nonblocking(true)?;
    let address = listener.local_addr()?;
    Ok((listener, address))
}

/// An address as browsers write it: port 80 is the web's own, and they leave it out.
fn host_of(address: SocketAddr) -> String {
    let whole = address.to_string();
    match whole.strip_suffix(":80") {
        Some(without) if address.port() == 80 => without.to_string(),
        _ => whole,
    }
}

fn not_served(address: IpAddr, port: Option<u16>, error: &io::Error) -> Error {
    let Some(port) = port else {
        return Error::failed(format!("the page cannot be served at {address}: {error}"))
            .at("--phone-address");
    };
    let why = match error.kind() {
        ErrorKind::AddrInUse => "it is in use".to_string(),
        ErrorKind::PermissionDenied => "the system keeps it for itself".to_string(),
        _ => error.to_string(),
    };
    Error::failed(format!("port {port} cannot be served: {why}"))
        .at("--port")
        .accepted("a free port from 1024 to 65535; without --port a free one is found")
        .example("--port 8090")
}

fn listen(listener: &TcpListener, shared: &Arc<Shared>, to: &SyncSender<FromPhone>) {
    while !shared.ended.load(Ordering::Relaxed) {
        // Some systems let a connection wait for nothing where its listener does not.
        let come = (listener.accept()).and_then(|(stream, from)| {
            stream.set_nonblocking(false)?;
            Ok((stream, from))
        });
        let Ok((stream, from)) = come else {
            // Nobody has come; or out of handles, say, and others may end meanwhile.
            std::thread::sleep(LOOK);
            continue;
        };
        let connection = shared.count.fetch_add(1, Ordering::Relaxed);
        if !shared.door.enter(connection, from.ip(), &stream) {
            continue;
        }
        let (own, to) = (Arc::clone(shared), to.clone());
        let thread = std::thread::Builder::new().name("phone".into());
        let serving = thread.spawn(move || {
            // An end that nobody waits for: the browser asks again.
            let _ = serve(stream, from.ip(), connection, &own, &to);
            own.door.leave(connection);
        });
        if serving.is_err() {
            shared.door.leave(connection);
        }
    }
}

/// Answers one connection's one request.
fn serve(
    mut stream: TcpStream,
    from: IpAddr,
    connection: u64,
    shared: &Shared,
    to: &SyncSender<FromPhone>,
) -> io::Result<()> {
    stream.set_write_timeout(Some(SILENT))?;
    match read(&mut stream, shared)? {
        LetIn::More | LetIn::Nothing => {
            let now_ms = shared.began.elapsed().as_millis() as u64;
            let mut tries = shared.tries.lock().unwrap_or_else(PoisonError::into_inner);
            let wait_ms = tries.wrong(from, now_ms);
            drop(tries);
            // Whatever it says or leaves unsaid meanwhile; once it has made room, nobody waits.
            if !shared
                .door
                .stays(connection, Duration::from_millis(wait_ms))
            {
                return Ok(());
            }
            stream.write_all(NOTHING.as_bytes())
        }
        _ if !shared.door.has_secret(connection) => Ok(()),
        LetIn::Page => {
            let page = page();
            stream.write_all(head(&sockets(&shared.host), page.len()).as_bytes())?;
            stream.write_all(page.as_bytes())
        }
        LetIn::Socket(accept) => {
            stream.write_all(
                format!(
                    "HTTP/1.1 101 Switching Protocols\r\nUpgrade: websocket\r\n\
                     Connection: Upgrade\r\nSec-WebSocket-Accept: {accept}\r\n\r\n"
                )
                .as_bytes(),
            )?;
            let ends = Ends {
                connection,
                board: &shared.board,
                inbox: to,
                began: shared.began,
                ended: &|| shared.ended.load(Ordering::Relaxed),
            };
            talk(stream, &ends);
            Ok(())
        }
    }
}

/// Reads a request's head within 10 s, and what it comes to.
fn read(stream: &mut TcpStream, shared: &Shared) -> io::Result<LetIn> {
    let begun = Instant::now();
    let mut head = Vec::with_capacity(1024);
    let mut piece = [0; 1024];
    loop {
        let left = SILENT.saturating_sub(begun.elapsed());
        if left.is_zero() {
            return Err(ErrorKind::TimedOut.into());
        }
        stream.set_read_timeout(Some(left))?;
        let count = stream.read(&mut piece)?;
        if count == 0 {
            return Err(ErrorKind::UnexpectedEof.into());
        }
        head.extend_from_slice(&piece[..count.min(LONGEST - head.len().min(LONGEST))]);
        let found = asked(&head, &shared.secret, &shared.host);
        if found != LetIn::More {
            return Ok(found);
        }
    }
}

/// Where the page may open a socket: at its own host alone. Such a source cannot be written with an
/// address in brackets (Content Security Policy Level 3, section 2.3.1, `host-char`): what is said in its
/// place is the page's own origin, which holds for its sockets too ("Does url match expression in origin
/// with redirect count?").
fn sockets(host: &str) -> String {
    if host.starts_with('[') {
        "'self'".into()
    } else {
        format!("ws://{host}")
    }
}

/// The head before the page: nothing from elsewhere, nothing kept, nothing told to others.
fn head(sockets: &str, length: usize) -> String {
    format!(
        "HTTP/1.1 200 OK\r\nContent-Type: text/html; charset=utf-8\r\nContent-Length: {length}\r\n\
         Content-Security-Policy: default-src 'none'; script-src 'unsafe-inline'; \
         style-src 'unsafe-inline'; connect-src {sockets}; media-src data:; img-src data:; \
         base-uri 'none'; form-action 'none'; frame-ancestors 'none'\r\n\
         Cache-Control: no-store\r\nReferrer-Policy: no-referrer\r\n\
         X-Content-Type-Options: nosniff\r\nConnection: close\r\n\r\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_host_is_written_as_browsers_write_it() {
        // RFC 3986, section 6.2.3: the port of the scheme itself is left out.
        for (address, host) in [
            ("192.168.1.20:8090", "192.168.1.20:8090"),
            ("192.168.1.20:80", "192.168.1.20"),
            ("192.168.1.20:8080", "192.168.1.20:8080"),
            ("[fd00::80]:80", "[fd00::80]"),
            ("[fd00::80]:8090", "[fd00::80]:8090"),
        ] {
            let address = address.parse().expect("an address");
            assert_eq!(host_of(address), host);
        }
    }
}

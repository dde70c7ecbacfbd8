//! One phone's socket: what it says goes to the deck, what is posted goes to it.

use std::io::ErrorKind;
use std::net::TcpStream;
use std::sync::mpsc::SyncSender;
use std::time::{Duration, Instant};

use serde_json::json;
use tungstenite::protocol::frame::coding::CloseCode;
use tungstenite::protocol::{CloseFrame, Role, WebSocketConfig};
use tungstenite::{Error as SocketError, WebSocket};

use super::message::{LONGEST_MESSAGE, Message};
use super::post::{Board, Found};
use super::rationed::Rationed;

/// A phone that says nothing for so long has gone.
pub const SILENT: Duration = Duration::from_secs(10);
/// Messages a second that a phone may send.
pub const MOST_MESSAGES: u32 = 50;
/// Bytes a second: so many of the longest messages, each with the longest header of a frame (14 bytes, RFC
/// 6455, section 5.2).
const MOST_BYTES: usize = MOST_MESSAGES as usize * (LONGEST_MESSAGE + 14);
/// From one look at the board to the next.
const LOOK: Duration = Duration::from_millis(15);
/// From one question for the time to the next: at first, and once there were a few.
const ASK: [Duration; 2] = [Duration::from_millis(150), Duration::from_millis(500)];
/// Questions that follow one another quickly.
const QUICK_QUESTIONS: u32 = 12;

/// Something that a phone has said, and when it came.
#[derive(Debug, Clone, PartialEq)]
pub struct FromPhone {
    /// Who.
    pub phone: String,
    /// When.
    pub at: Instant,
    /// What.
    pub message: Message,
}

/// What a connection needs of the server.
pub struct Ends<'e> {
    /// Its own number.
    pub connection: u64,
    /// Where everything is posted.
    pub board: &'e Board,
    /// Where all that phones say goes.
    pub inbox: &'e SyncSender<FromPhone>,
    /// When the program's clock was 0.
    pub began: Instant,
    /// Whether the program ends.
    pub ended: &'e dyn Fn() -> bool,
}

/// Why a connection ends, as the page has to know it.
enum End {
    /// The phone has gone, or has said what it may not.
    Gone,
    /// The program ends.
    Ended,
    /// The phone has come by another connection.
    Elsewhere,
    /// There are too many phones.
    Full,
}

/// Talks with one phone until either goes.
pub fn talk(stream: TcpStream, ends: &Ends) {
    // Both hold for every call; where they cannot be set, the socket is of no use.
    let limits = stream
        .set_read_timeout(Some(LOOK))
        .and_then(|()| stream.set_write_timeout(Some(SILENT)))
        .and_then(|()| stream.set_nodelay(true));
    if limits.is_err() {
        return;
    }
    let config = WebSocketConfig::default()
        .read_buffer_size(LONGEST_MESSAGE)
        .max_message_size(Some(LONGEST_MESSAGE))
        .max_frame_size(Some(LONGEST_MESSAGE));
    let socket = WebSocket::from_raw_socket(
        Rationed::new(stream, MOST_BYTES),
        Role::Server,
        Some(config),
    );
    let mut link = Link {
        socket,
        ends,
        phone: None,
        heard: Instant::now(),
        second: (Instant::now(), 0),
        asked: (None, 0),
        shown: None,
    };
    let end = link.run();
    let code = match end {
        End::Gone => CloseCode::Normal,
        End::Ended => CloseCode::Away,
        End::Elsewhere => CloseCode::Library(4001),
        End::Full => CloseCode::Library(4002),
    };
    let reason = "".into();
    // Whoever has gone does not hear it.
    let _ = link.socket.close(Some(CloseFrame { code, reason }));
    let _ = link.socket.flush();
}

struct Link<'e> {
    socket: WebSocket<Rationed>,
    ends: &'e Ends<'e>,
    phone: Option<String>,
    /// When it said something last.
    heard: Instant,
    /// The present second, and how many messages came in it.
    second: (Instant, u32),
    /// When it was asked for the time last, and how often.
    asked: (Option<Instant>, u32),
    shown: Option<Found>,
}

impl Link<'_> {
    fn run(&mut self) -> End {
        loop {
            if (self.ends.ended)() {
                return End::Ended;
            }
            if let Err(end) = self.hear().and_then(|()| self.tell()) {
                return end;
            }
        }
    }

    /// Waits a little for what the phone says.
    fn hear(&mut self) -> Result<(), End> {
        self.socket.get_mut().read_until(Instant::now() + LOOK);
        let said = self.socket.read();
        let at = Instant::now();
        if at - self.heard >= SILENT {
            return Err(End::Gone);
        }
        let said = match said {
            Ok(said) => said,
            Err(SocketError::Io(error)) if is_wait(error.kind()) => return Ok(()),
            Err(_) => return Err(End::Gone),
        };
        if at - self.second.0 >= Duration::from_secs(1) {
            self.second = (at, 0);
        }
        self.second.1 += 1;
        if self.second.1 > MOST_MESSAGES {
            return Err(End::Gone);
        }
        let tungstenite::Message::Text(text) = said else {
            // Pings are answered by the socket itself; to send them is to say nothing.
            return Ok(());
        };
        self.heard = at;
        let message = Message::read(&text).map_err(|_| End::Gone)?;
        self.take(message, at)
    }

    fn take(&mut self, message: Message, at: Instant) -> Result<(), End> {
        match (&self.phone, &message) {
            (None, Message::Hello { phone, .. }) => {
                if !self.ends.board.come(phone, self.ends.connection) {
                    return Err(End::Full);
                }
                self.phone = Some(phone.clone());
            }
            (Some(_), Message::Hello { .. }) | (None, _) => return Err(End::Gone),
            (Some(_), _) => {}
        }
        let phone = self.phone.clone().unwrap_or_default();
        let came = FromPhone { phone, at, message };
        // A deck that takes nothing any more is asked for nothing.
        self.ends.inbox.try_send(came).map_err(|_| End::Gone)
    }

    /// Tells the phone what is new, and asks it for the time.
    fn tell(&mut self) -> Result<(), End> {
        let Some(phone) = &self.phone else {
            return Ok(());
        };
        let found = self.ends.board.look(phone, self.ends.connection);
        let found = found.ok_or(End::Elsewhere)?;
        let before = self.shown.replace(found.clone());
        if before.as_ref().map(|before| before.own) != Some(found.own) {
            self.say(found.own.json().to_string())?;
        }
        let is_new = before.is_none_or(|before| before.state != found.state);
        if is_new && !found.state.is_empty() {
            self.say(found.state.to_string())?;
        }
        let (last, count) = self.asked;
        let wait = ASK[usize::from(count >= QUICK_QUESTIONS)];
        if last.is_none_or(|last| last.elapsed() >= wait) {
            let now = Instant::now();
            self.asked = (Some(now), count.saturating_add(1));
            let asked_ms = (now - self.ends.began).as_secs_f64() * 1e3;
            self.say(json!({ "is": "clock", "asked_ms": asked_ms }).to_string())?;
        }
        Ok(())
    }

    fn say(&mut self, text: String) -> Result<(), End> {
        let text = tungstenite::Message::text(text);
        self.socket.send(text).map_err(|_| End::Gone)
    }
}

/// Whether an error says only that nothing has come yet.
fn is_wait(kind: ErrorKind) -> bool {
    matches!(kind, ErrorKind::WouldBlock | ErrorKind::TimedOut)
}

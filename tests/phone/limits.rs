//! The server against whoever guesses, floods it, says too much or nothing at all.

use std::io::{ErrorKind, Read, Write};
use std::net::{IpAddr, Ipv4Addr, Shutdown, TcpStream};
use std::time::{Duration, Instant};

use cuelane::phone::Server;
use tungstenite::protocol::Role;
use tungstenite::{Message, WebSocket};

const HERE: IpAddr = IpAddr::V4(Ipv4Addr::LOCALHOST);
/// A client that says nothing is dropped after 10 s; a busy machine takes a little more.
const DROPPED: std::ops::Range<f64> = 9.0..14.0;

/// A server with its host and its secret path.
fn served() -> (Server, String, String) {
    let server = Server::start(HERE, None).expect("this machine's own address");
    let address = server.address();
    let rest = address
        .strip_prefix("http://")
        .expect("an address of the web");
    let (host, secret) = rest.split_once('/').expect("a path");
    let (host, path) = (host.to_string(), format!("/{secret}"));
    (server, host, path)
}

fn connect(host: &str) -> TcpStream {
    let stream = TcpStream::connect(host).expect("it listens");
    let most = Some(Duration::from_secs(20));
    stream.set_read_timeout(most).expect("a time above zero");
    stream
}

/// Everything that comes before the end; nothing where the connection is cut.
fn rest_of(mut stream: TcpStream) -> String {
    let mut all = Vec::new();
    let _ = stream.read_to_end(&mut all);
    String::from_utf8(all).expect("text")
}

/// The whole answer to a request, byte by byte as it was sent.
fn answer(host: &str, request: &str) -> String {
    let mut stream = connect(host);
    stream.write_all(request.as_bytes()).expect("it reads");
    rest_of(stream)
}

fn get(host: &str, path: &str, more: &str) -> String {
    answer(
        host,
        &format!("GET {path} HTTP/1.1\r\nHost: {host}\r\n{more}\r\n"),
    )
}

/// A frame of a browser's (RFC 6455, section 5.2), masked by zeros: whether it is the last part, what
/// it is, and up to 125 bytes.
fn frame(is_last: bool, opcode: u8, inside: &[u8]) -> Vec<u8> {
    let length = u8::try_from(inside.len()).expect("a short one");
    assert!(length < 126);
    let mut frame = vec![u8::from(is_last) << 7 | opcode, 0x80 | length, 0, 0, 0, 0];
    frame.extend_from_slice(inside);
    frame
}

/// Kinds of frames.
const PART: u8 = 0;
const TEXT: u8 = 1;
const PING: u8 = 9;

fn socket_request(host: &str, path: &str) -> String {
    format!(
        "GET {path}/socket HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nUpgrade: websocket\r\n\
         Connection: Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\
         Sec-WebSocket-Version: 13\r\n\r\n"
    )
}

/// A socket that has said nothing yet; none where it is refused.
fn socket(host: &str, path: &str) -> Option<WebSocket<TcpStream>> {
    let mut stream = connect(host);
    stream
        .write_all(socket_request(host, path).as_bytes())
        .ok()?;
    let (mut head, mut byte) = (Vec::new(), [0]);
    while !head.ends_with(b"\r\n\r\n") {
        if stream.read(&mut byte).ok()? == 0 {
            return None;
        }
        head.push(byte[0]);
    }
    assert!(
        head.starts_with(b"HTTP/1.1 101 "),
        "{}",
        String::from_utf8_lossy(&head)
    );
    Some(WebSocket::from_raw_socket(stream, Role::Client, None))
}

/// A socket with the first message said; none where it is refused.
fn phone(host: &str, path: &str, name: &str) -> Option<WebSocket<TcpStream>> {
    let mut socket = socket(host, path)?;
    let hello = format!(r#"{{"is":"hello","phone":"{name}","load":1}}"#);
    socket.send(Message::text(hello)).ok()?;
    // Its own first message: it is let in. An end is a message too.
    let is_let_in = socket.read().ok()?.is_text();
    is_let_in.then_some(socket)
}

/// Whether a socket has ended within two seconds.
fn has_ended(socket: &mut WebSocket<TcpStream>) -> bool {
    let until = Instant::now() + Duration::from_secs(2);
    while Instant::now() < until {
        match socket.read() {
            Ok(Message::Close(_)) | Err(_) => return true,
            Ok(_) => {}
        }
    }
    false
}

#[test]
fn without_the_secret_every_answer_is_the_same() {
    let (_server, host, path) = served();
    let page = get(&host, &path, "");
    assert!(page.starts_with("HTTP/1.1 200 OK\r\n") && page.ends_with("</html>\n"));
    for no in ["Set-Cookie", "Server:", "Date:"] {
        assert!(!page.contains(no), "{no}");
    }
    let nothing = get(&host, "/", "");
    assert!(nothing.starts_with("HTTP/1.1 404 "), "{nothing}");
    let wrong = "/AAAAAAAAAAAAAAAAAAAAAA";
    let others = [
        "/index.html",
        wrong,
        "/../../etc/passwd",
        &path[..22],
        &format!("{path}/x"),
    ];
    for other in others {
        assert_eq!(get(&host, other, ""), nothing, "{other}");
    }
    assert_eq!(get(&host, &path, "Host: rebound.example\r\n"), nothing);
    assert_eq!(get(&host, &format!("{path}/socket"), ""), nothing);
    // Neither what was asked for nor how it was is in the answer, whatever is right about it.
    let here = format!("Host: {host}\r\n");
    let others = [
        format!("POST {path} HTTP/1.1\r\n{here}\r\n"),
        format!("HEAD {path} HTTP/1.1\r\n{here}\r\n"),
        format!("GET {path} HTTP/1.0\r\n{here}\r\n"),
        format!("GET {path} HTTP/1.1\r\n\r\n"),
        format!("GET {path}?<script> HTTP/1.1\r\n{here}\r\n"),
        format!("GET {path} HTTP/1.1\r\n{here}{}\r\n", "X: y\r\n".repeat(64)),
        "\u{16}\u{3}\u{1}\r\n\r\n".to_string(),
        "x".repeat(4096),
        socket_request(&host, &path).replace("http://", "https://"),
        socket_request(&host, wrong),
    ];
    for other in others {
        assert_eq!(answer(&host, &other), nothing, "{other}");
    }
}

#[test]
fn whoever_guesses_is_answered_more_slowly() {
    let (_server, host, path) = served();
    let waits: Vec<f64> = (0..24)
        .map(|_| {
            let begun = Instant::now();
            get(&host, "/wrong", "");
            begun.elapsed().as_secs_f64()
        })
        .collect();
    assert!(waits[..10].iter().all(|wait| *wait < 0.45), "{waits:?}");
    assert!(waits[21..].iter().all(|wait| *wait >= 0.45), "{waits:?}");
    // Nor is anybody answered sooner who says that it is done, or more than was asked for.
    let wrong = format!("GET /wrong HTTP/1.1\r\nHost: {host}\r\n\r\n");
    for (more, is_done) in [("", true), (&*"x".repeat(1100), false)] {
        let begun = Instant::now();
        let mut stream = connect(&host);
        stream
            .write_all(format!("{wrong}{more}").as_bytes())
            .expect("it reads");
        if is_done {
            stream.shutdown(Shutdown::Write).expect("it is open");
        }
        rest_of(stream);
        let wait = begun.elapsed().as_secs_f64();
        assert!(wait >= 0.45, "{wait} s, done: {is_done}");
    }
    // Whoever has the secret does not wait, not even at the same address.
    let begun = Instant::now();
    assert!(get(&host, &path, "").starts_with("HTTP/1.1 200 "));
    assert!(begun.elapsed().as_secs_f64() < 0.45);
}

#[test]
fn whoever_says_nothing_or_half_of_it_is_dropped_in_ten_seconds() {
    let (_server, host, path) = served();
    let silent = |said: String| {
        let host = host.clone();
        std::thread::spawn(move || {
            let begun = Instant::now();
            let mut stream = connect(&host);
            stream.write_all(said.as_bytes()).expect("it reads");
            assert_eq!(rest_of(stream), "");
            begun.elapsed().as_secs_f64()
        })
    };
    let half = silent(format!("GET {path} HTTP/1.1\r\nHost: "));
    let nothing = silent(String::new());
    let mut gone = phone(&host, &path, "gone").expect("there is room");
    let begun = Instant::now();
    while !matches!(gone.read(), Err(_) | Ok(Message::Close(_))) {}
    let gone = begun.elapsed().as_secs_f64();
    for took in [
        half.join().expect("dropped"),
        nothing.join().expect("dropped"),
        gone,
    ] {
        assert!(DROPPED.contains(&took), "{took} s");
    }
}

/// How long a client is borne that says a little every so often, s.
fn borne(mut stream: TcpStream, little: impl Fn(usize) -> Vec<u8>, every: Duration) -> f64 {
    let begun = Instant::now();
    let mut said = 0;
    let most = Some(Duration::from_millis(1));
    stream.set_read_timeout(most).expect("a time above zero");
    loop {
        // Nothing comes back, or what a phone is told.
        match stream.read(&mut [0; 4096]) {
            Ok(0) => break,
            Ok(_) => {}
            Err(error) if matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut) => {}
            Err(_) => break,
        }
        if stream.write_all(&little(said)).is_err() || begun.elapsed().as_secs() > 20 {
            break;
        }
        said += 1;
        std::thread::sleep(every);
    }
    begun.elapsed().as_secs_f64()
}

#[test]
fn whoever_says_a_little_now_and_then_is_dropped_in_ten_seconds_too() {
    let (_server, host, path) = served();
    let second = Duration::from_secs(1);
    let head = socket_request(&host, &path);
    let silent = |name: &str| {
        let socket = phone(&host, &path, name).expect("there is room");
        socket.get_ref().try_clone().expect("a handle")
    };
    let unnamed = socket(&host, &path).expect("there is room");
    let unnamed = unnamed.get_ref().try_clone().expect("a handle");
    let (dribbles, pings, parts) = (silent("dribbles"), silent("pings"), silent("parts"));
    let stranger = connect(&host);
    let took = std::thread::scope(|scope| {
        let clients = [
            // A request, a byte a second; with the secret, which comes late.
            scope.spawn(|| borne(stranger, |n| head.as_bytes()[n..=n].to_vec(), second)),
            // The first message, a byte a second.
            scope.spawn(|| {
                let first = frame(true, TEXT, b"{\"is\":\"hello\",\"phone\":\"a\",\"load\":1}");
                borne(dribbles, move |n| first[n..=n].to_vec(), second)
            }),
            // Pings alone, and before the first message too.
            scope.spawn(|| borne(pings, |_| frame(true, PING, b""), second)),
            scope.spawn(|| borne(unnamed, |_| frame(true, PING, b""), second)),
            // One message in parts without an end.
            scope.spawn(|| {
                let part = |n| frame(false, if n == 0 { TEXT } else { PART }, b"");
                borne(parts, part, Duration::from_millis(5))
            }),
        ];
        clients.map(|client| client.join().expect("it was dropped"))
    });
    for took in took {
        assert!(DROPPED.contains(&took), "{took} s");
    }
}

#[test]
fn a_phone_that_says_too_much_is_dropped_and_the_others_stay() {
    let (_server, host, path) = served();
    let mut other = phone(&host, &path, "other").expect("there is room");
    let clock = r#"{"is":"clock","asked_ms":1,"got_ms":2,"answered_ms":3}"#;
    let too_much: [(&str, Vec<String>); 4] = [
        ("long", vec![format!("{clock}{}", " ".repeat(5000))]),
        ("many", vec![clock.to_string(); 60]),
        ("nonsense", vec!["{}".into()]),
        (
            "again",
            vec![r#"{"is":"hello","phone":"again","load":2}"#.into()],
        ),
    ];
    for (name, messages) in too_much {
        let mut socket = phone(&host, &path, name).expect("there is room");
        for message in messages {
            // It may be gone before the last one.
            let _ = socket.send(Message::text(message));
        }
        assert!(has_ended(&mut socket), "{name}");
    }
    let parts = |size: usize| {
        let part = |n| frame(false, if n == 0 { TEXT } else { PART }, &vec![b' '; size]);
        (0..60_000 / size.max(1))
            .flat_map(part)
            .collect::<Vec<u8>>()
    };
    let too_much: [(&str, Vec<u8>); 3] = [
        ("pings", frame(true, PING, b"").repeat(60)),
        // Each part is short, and the message is not.
        ("parts", parts(100)[..48 * 106].to_vec()),
        ("empty-parts", parts(0)),
    ];
    for (name, bytes) in too_much {
        let mut socket = phone(&host, &path, name).expect("there is room");
        let _ = socket.get_mut().write_all(&bytes);
        assert!(has_ended(&mut socket), "{name}");
    }
    // In parts, with a ping in between, is as good as whole.
    let (first, rest) = clock.as_bytes().split_at(20);
    for part in [
        frame(false, TEXT, first),
        frame(true, PING, b"?"),
        frame(true, PART, rest),
    ] {
        other.get_mut().write_all(&part).expect("it stays");
    }
    other.send(Message::text(clock)).expect("it stays");
    assert!(!has_ended(&mut other));
}

#[test]
fn sixteen_may_be_there_and_phones_come_before_whoever_has_no_secret() {
    let (_server, host, path) = served();
    // Whoever only takes up room makes room.
    let idle: Vec<TcpStream> = (0..40).map(|_| connect(&host)).collect();
    let mut phones: Vec<_> = (0..16)
        .map(|n| phone(&host, &path, &n.to_string()).expect("there is room"))
        .collect();
    drop(idle);
    assert!(phone(&host, &path, "one-too-many").is_none());
    let left = phones.pop().expect("sixteen");
    drop(left);
    let until = Instant::now() + Duration::from_secs(5);
    while phone(&host, &path, "another").is_none() {
        assert!(Instant::now() < until, "no room was made");
    }
}

#[test]
fn a_phone_that_comes_again_is_served_and_its_old_connection_is_not() {
    let (_server, host, path) = served();
    let mut old = phone(&host, &path, "same").expect("there is room");
    let mut new = phone(&host, &path, "same").expect("there is room");
    assert!(has_ended(&mut old));
    assert!(!has_ended(&mut new));
}

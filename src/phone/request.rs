//! What a browser asks for, and what it gets: the page, the socket behind it, or nothing.

use tungstenite::handshake::derive_accept_key;

use super::secret::Secret;

/// The longest head of a request, bytes.
pub const LONGEST: usize = 4096;
/// The path of the socket, after the secret.
pub const SOCKET: &str = "/socket";
/// Headers of a request that are looked at.
const MOST_HEADERS: usize = 64;

/// What a request comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LetIn {
    /// It is not whole yet.
    More,
    /// The page.
    Page,
    /// The socket: the key that answers the browser's (RFC 6455, section 4.2.2).
    Socket(String),
    /// Anything else: no path, a wrong one, another host, no request at all.
    Nothing,
}

/// Reads a request's head. `host` is the address and port at which the page is served: a page of
/// another name, which was led here, may neither have the page nor open its socket.
pub fn asked(head: &[u8], secret: &Secret, host: &str) -> LetIn {
    let mut headers = [httparse::EMPTY_HEADER; MOST_HEADERS];
    let mut request = httparse::Request::new(&mut headers);
    match request.parse(head) {
        Ok(httparse::Status::Complete(_)) => {}
        Ok(httparse::Status::Partial) if head.len() < LONGEST => return LetIn::More,
        _ => return LetIn::Nothing,
    }
    let path = request.path.unwrap_or_default();
    let (tried, is_socket) = match path.strip_suffix(SOCKET) {
        Some(before) => (before, true),
        None => (path, false),
    };
    // Looked at first and whole, so that what else is wrong changes nothing.
    let has_secret = secret.is(tried.strip_prefix('/').unwrap_or_default());
    let headers = Headers(request.headers);
    let is_read = request.method == Some("GET") && request.version == Some(1);
    let is_here = headers
        .only("host")
        .is_some_and(|found| found.eq_ignore_ascii_case(host));
    if !has_secret || !is_read || !is_here {
        return LetIn::Nothing;
    }
    if !is_socket {
        return LetIn::Page;
    }
    let origin = format!("http://{host}");
    let is_ours = headers
        .only("origin")
        .is_some_and(|found| found.eq_ignore_ascii_case(&origin));
    let upgrades = headers.has("connection", "upgrade") && headers.has("upgrade", "websocket");
    let version = headers.only("sec-websocket-version") == Some("13");
    match headers.only("sec-websocket-key") {
        Some(key) if is_ours && upgrades && version && !key.is_empty() => {
            LetIn::Socket(derive_accept_key(key.as_bytes()))
        }
        _ => LetIn::Nothing,
    }
}

struct Headers<'h>(&'h [httparse::Header<'h>]);

impl<'h> Headers<'h> {
    fn all(&self, name: &str) -> impl Iterator<Item = &'h str> {
        let of_name = self
            .0
            .iter()
            .filter(move |one| one.name.eq_ignore_ascii_case(name));
        of_name.map(|one| std::str::from_utf8(one.value).unwrap_or_default().trim())
    }

    /// The value of a header that stands once.
    fn only(&self, name: &str) -> Option<&'h str> {
        let mut all = self.all(name);
        all.next().filter(|_| all.next().is_none())
    }

    /// Whether a header's list holds a word.
    fn has(&self, name: &str, word: &str) -> bool {
        let mut words = self.all(name).flat_map(|value| value.split(','));
        words.any(|one| one.trim().eq_ignore_ascii_case(word))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOST: &str = "192.168.43.20:8080";

    fn get(path: &str, headers: &str) -> String {
        format!("GET {path} HTTP/1.1\r\n{headers}\r\n")
    }

    fn socket_headers(host: &str, origin: &str) -> String {
        // The key of the example in RFC 6455, section 1.3.
        format!(
            "Host: {host}\r\nOrigin: {origin}\r\nUpgrade: websocket\r\nConnection: keep-alive, \
             Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n"
        )
    }

    #[test]
    fn with_the_secret_there_are_the_page_and_its_socket() {
        let secret = Secret::new().expect("random bits");
        let page = get(&format!("/{}", secret.text()), &format!("Host: {HOST}\r\n"));
        assert_eq!(asked(page.as_bytes(), &secret, HOST), LetIn::Page);
        let path = format!("/{}/socket", secret.text());
        let socket = get(&path, &socket_headers(HOST, &format!("http://{HOST}")));
        // The answer that the example gives.
        let answer = "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=".to_string();
        assert_eq!(
            asked(socket.as_bytes(), &secret, HOST),
            LetIn::Socket(answer)
        );
        for end in 0..page.len() {
            assert_eq!(
                asked(&page.as_bytes()[..end], &secret, HOST),
                LetIn::More,
                "{end}"
            );
        }
    }

    #[test]
    fn without_the_secret_or_from_elsewhere_there_is_nothing() {
        let secret = Secret::new().expect("random bits");
        let here = format!("Host: {HOST}\r\n");
        let right = format!("/{}", secret.text());
        let socket = format!("{right}/socket");
        let ours = format!("http://{HOST}");
        let wrong = [
            get("/", &here),
            get("/favicon.ico", &here),
            get("/socket", &here),
            get(&right[..22], &here),
            get(&format!("{right}/"), &here),
            get(&format!("{right}/../etc/passwd"), &here),
            get(&format!("http://{HOST}{right}"), &here),
            get(&right, ""),
            get(&right, "Host: rebound.example:8080\r\n"),
            get(&right, &format!("{here}{here}")),
            get(&right, &here).replace("GET", "POST"),
            get(&right, &here).replace("1.1", "1.0"),
            get(&socket, &here),
            get(&socket, &socket_headers(HOST, "http://elsewhere.example")),
            get(
                &socket,
                &socket_headers(HOST, &ours).replace("Origin", "X-Origin"),
            ),
            get(&socket, &socket_headers("rebound.example", &ours)),
            get(&socket, &socket_headers(HOST, &ours).replace(": 13", ": 8")),
            get(
                &socket,
                &socket_headers(HOST, &ours).replace("websocket", "h2c"),
            ),
            "\u{16}\u{3}\u{1}\r\n\r\n".to_string(),
            "x".repeat(LONGEST),
        ];
        for wrong in wrong {
            assert_eq!(
                asked(wrong.as_bytes(), &secret, HOST),
                LetIn::Nothing,
                "{wrong}"
            );
        }
    }
}

//! The open book of `overbend watch`: a server on the loopback address, which reloads the page after every build.
//!
//! Only this file opens a socket, and only `watch` uses it. It answers to nobody but this machine, under a path with a
//! random part that no other page can know, and it gives out nothing but the book: no file of the disk is read.

use std::hash::{BuildHasher, RandomState};
use std::io::{Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// What stands at the end of a served page: when it was built, and the script that reloads it.
const LIVE: &str = include_str!("../../../templates/watch.html");
/// Largest head of a request that is read, bytes.
const HEAD: usize = 8192;
/// How long a caller may take to ask or to listen.
const PATIENCE: Duration = Duration::from_secs(5);
/// Maximum number of callers at once: a page has one or two.
const CALLERS: usize = 16;

/// The book as it is now.
#[derive(Default)]
struct Shown {
    page: Vec<u8>,
    /// Milliseconds since 1970 at which it was built or its notice changed; the page asks for it and reloads when it grows.
    built_ms: u128,
}

/// A running server.
pub(crate) struct Server {
    shown: Arc<Mutex<Shown>>,
    /// Where the book is to be seen.
    pub(crate) address: String,
}

impl Server {
    /// Begins to listen on a free port of the loopback address.
    pub(crate) fn start() -> std::io::Result<Self> {
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)))?;
        let host = listener.local_addr()?.to_string();
        let token = token();
        let shown = Arc::new(Mutex::new(Shown::default()));
        let server = Self { shown: Arc::clone(&shown), address: format!("http://{host}/{token}/") };
        let desk = Arc::new(Desk { shown, host, token, callers: AtomicUsize::new(0) });
        thread::spawn(move || {
            for caller in listener.incoming().flatten() {
                let desk = Arc::clone(&desk);
                if desk.callers.fetch_add(1, Ordering::SeqCst) < CALLERS {
                    thread::spawn(move || {
                        // A caller that went away needs no answer.
                        let _ = desk.serve(caller);
                        desk.callers.fetch_sub(1, Ordering::SeqCst);
                    });
                } else {
                    desk.callers.fetch_sub(1, Ordering::SeqCst);
                }
            }
        });
        Ok(server)
    }

    /// Shows this page from now on.
    pub(crate) fn show(&self, page: &[u8]) {
        let now = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |t| t.as_millis());
        let mut shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        shown.built_ms = now.max(shown.built_ms + 1);
        shown.page = page.to_vec();
    }
}

/// Thirty-two random hexadecimal digits from the keys that the system gave the standard library's hash maps.
fn token() -> String {
    let keys = RandomState::new();
    format!("{:016x}{:016x}", keys.hash_one(0_u8), keys.hash_one(1_u8))
}

/// What every caller meets.
struct Desk {
    shown: Arc<Mutex<Shown>>,
    host: String,
    token: String,
    callers: AtomicUsize,
}

impl Desk {
    fn serve(&self, mut caller: TcpStream) -> std::io::Result<()> {
        caller.set_read_timeout(Some(PATIENCE))?;
        caller.set_write_timeout(Some(PATIENCE))?;
        let Some(head) = head(&mut caller)? else { return Ok(()) };
        let answer = self.answer(&head);
        caller.write_all(&answer)
    }

    /// The answer to a request's head.
    fn answer(&self, head: &str) -> Vec<u8> {
        let mut lines = head.lines();
        let mut words = lines.next().unwrap_or_default().split(' ');
        let (method, path) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
        let host = lines.find_map(|l| {
            let (name, value) = l.split_once(':')?;
            name.eq_ignore_ascii_case("host").then(|| value.trim())
        });
        // A page elsewhere that has this address under a name of its own says that name.
        if host != Some(self.host.as_str()) {
            return response("403 Forbidden", "text/plain", b"");
        }
        if method != "GET" {
            return response("405 Method Not Allowed", "text/plain", b"");
        }
        let shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        match path.strip_prefix('/').and_then(|p| p.strip_prefix(self.token.as_str())) {
            Some("/") => response("200 OK", "text/html; charset=utf-8", &live(&shown)),
            Some("/built") => response("200 OK", "text/plain", shown.built_ms.to_string().as_bytes()),
            _ => response("404 Not Found", "text/plain", b""),
        }
    }
}

/// A request up to its empty line; nothing where it is longer than any browser's, not text, or ends before.
fn head(caller: &mut TcpStream) -> std::io::Result<Option<String>> {
    let mut head = Vec::new();
    let mut piece = [0; 1024];
    while !head.windows(4).any(|w| w == b"\r\n\r\n") {
        let read = caller.read(&mut piece)?;
        if read == 0 || head.len() + read > HEAD {
            return Ok(None);
        }
        head.extend_from_slice(&piece[..read]);
    }
    Ok(String::from_utf8(head).ok())
}

/// The page with its time and its script; before the first book, a page that waits for it.
fn live(shown: &Shown) -> Vec<u8> {
    let page = String::from_utf8_lossy(&shown.page);
    let waiting = "<!DOCTYPE html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>Waiting</title></head>\
                   <body><p>No book was built yet; the terminal says why.</p></body></html>";
    let page = if page.is_empty() { waiting } else { &page };
    let strip = LIVE.replace("BUILT_MS", &shown.built_ms.to_string());
    match page.rfind("</body>") {
        Some(end) => [&page[..end], &strip, &page[end..]].concat().into_bytes(),
        None => page.as_bytes().to_vec(),
    }
}

fn response(status: &str, kind: &str, body: &[u8]) -> Vec<u8> {
    let head = format!(
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nCache-Control: no-store\r\n\
         X-Content-Type-Options: nosniff\r\nReferrer-Policy: no-referrer\r\nContent-Security-Policy: default-src 'none'; \
         style-src 'unsafe-inline'; script-src 'unsafe-inline'; connect-src 'self'; img-src data:; form-action 'none'; \
         frame-ancestors 'none'\r\nConnection: close\r\n\r\n",
        body.len()
    );
    [head.as_bytes(), body].concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn desk() -> Desk {
        let shown = Shown { page: b"<html><body><p>book</p></body></html>".to_vec(), built_ms: 42 };
        Desk {
            shown: Arc::new(Mutex::new(shown)),
            host: "127.0.0.1:8000".to_owned(),
            token: "secret".to_owned(),
            callers: AtomicUsize::new(0),
        }
    }

    fn ask(path: &str, host: &str) -> String {
        let head = format!("GET {path} HTTP/1.1\r\nhost: {host}\r\n\r\n");
        String::from_utf8(desk().answer(&head)).unwrap()
    }

    #[test]
    fn the_book_is_given_to_who_knows_its_path_on_this_machine() {
        let page = ask("/secret/", "127.0.0.1:8000");
        assert!(page.starts_with("HTTP/1.1 200") && page.contains("<p>book</p>"), "{page}");
        assert!(page.contains("data-built=\"42\"") && page.ends_with("</body></html>"), "{page}");
        assert!(ask("/secret/built", "127.0.0.1:8000").ends_with("\r\n\r\n42"));
    }

    #[test]
    fn anything_else_is_refused_without_a_word() {
        let answered = |answer: &str| answer.contains("book</p>") || answer.ends_with("42");
        for (path, host, status) in [
            ("/", "127.0.0.1:8000", "404"),
            ("/secret", "127.0.0.1:8000", "404"),
            ("/secret/../job.toml", "127.0.0.1:8000", "404"),
            ("/secretive/", "127.0.0.1:8000", "404"),
            ("/secret/", "elsewhere.example", "403"),
            ("/secret/", "127.0.0.1:80", "403"),
        ] {
            let answer = ask(path, host);
            assert!(answer.starts_with(&format!("HTTP/1.1 {status}")) && !answered(&answer), "{path} {host}: {answer}");
        }
        let posted = desk().answer("POST /secret/ HTTP/1.1\r\nHost: 127.0.0.1:8000\r\n\r\n");
        assert!(posted.starts_with(b"HTTP/1.1 405"));
        assert!(desk().answer("").starts_with(b"HTTP/1.1 403"));
    }

    #[test]
    fn tokens_are_long_and_never_alike() {
        let (a, b) = (token(), token());
        assert!(a.len() == 32 && a != b && a.bytes().all(|c| c.is_ascii_hexdigit()), "{a} {b}");
    }

    #[test]
    fn a_later_page_is_a_newer_one_even_within_a_millisecond() {
        let server = Server::start().unwrap();
        assert!(server.address.starts_with("http://127.0.0.1:"), "{}", server.address);
        let built = || server.shown.lock().unwrap().built_ms;
        server.show(b"one");
        let first = built();
        server.show(b"two");
        assert!(built() > first);
    }
}

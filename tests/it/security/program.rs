//! The program itself, over a connection: where a request ends, and what the log tells of those that are refused.
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

use serde_json::Value;

/// The demo, served in a directory of its own.
struct Served {
    child: Child,
    address: String,
    /// The path of the weaver's personal link.
    weaver: String,
    log: mpsc::Receiver<Value>,
    _folder: tempfile::TempDir,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Served {
    fn begin() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let data = folder.path().join("data");
        let mut command = Command::new(env!("CARGO_BIN_EXE_thrumhall"));
        command.args(["demo", "--listen", "127.0.0.1:0", "--log-format", "json", "--data"]).arg(data);
        command
            .env_remove("DATABASE_URL")
            .env_remove("RUST_LOG")
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let (out, err) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
        let (tell, log) = mpsc::channel();
        std::thread::spawn(move || {
            for line in BufReader::new(err).lines().map_while(Result::ok) {
                if let Ok(line) = serde_json::from_str(&line) {
                    let _ = tell.send(line);
                }
            }
        });
        let mut lines = BufReader::new(out).lines().map_while(Result::ok);
        let link =
            lines.find_map(|line| Some(line.strip_prefix("weaver")?.trim().to_owned())).expect("no link");
        let (address, path) = link.strip_prefix("http://").and_then(|rest| rest.split_once('/')).unwrap();
        let (address, weaver) = (address.to_owned(), format!("/{path}"));
        Self { child, address, weaver, log, _folder: folder }
    }

    /// Sends these bytes, and reads all that is answered until the program hangs up.
    fn ask(&self, said: &str) -> String {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        stream.write_all(said.as_bytes()).unwrap();
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        String::from_utf8_lossy(&answer).into_owned()
    }

    fn request(&self, method: &str, path: &str, more: &str) -> String {
        self.ask(&format!("{method} {path} HTTP/1.1\r\nhost: loft.test\r\n{more}content-length: 0\r\nconnection: close\r\n\r\n"))
    }

    /// The next refusal in the log that gives this reason.
    fn refused(&self, reason: &str) -> Value {
        loop {
            let line = self
                .log
                .recv_timeout(Duration::from_secs(10))
                .unwrap_or_else(|_| panic!("no line says {reason}"));
            if line["message"] == "refused" && line["reason"] == reason {
                return line;
            }
        }
    }
}

/// What sets requests apart on one connection: the status lines.
fn answers(told: &str) -> usize {
    told.matches("HTTP/1.1 ").count()
}

/// Source: RFC 9112, 6.3: where a message has both lengths, the chunks count or it is refused; one whose length can't be told is
/// answered 400.
#[test]
fn two_lengths_of_one_request_smuggle_nothing() {
    let served = Served::begin();
    let hidden = "GET /healthz HTTP/1.1\r\nhost: loft.test\r\nconnection: close\r\n\r\n";
    let post = |lengths: &str, body: &str| {
        format!(
            "POST /sign-in HTTP/1.1\r\nhost: loft.test\r\nsec-fetch-site: same-origin\r\n\
             content-type: application/x-www-form-urlencoded\r\n{lengths}\r\n{body}"
        )
    };
    // By its chunks the first ends at once, and what follows is a request; by its length the second would be its body.
    let chunked = format!("0\r\n\r\n{hidden}");
    for lengths in [
        format!("transfer-encoding: chunked\r\ncontent-length: {}\r\n", chunked.len()),
        format!("content-length: {}\r\ntransfer-encoding: chunked\r\n", chunked.len()),
    ] {
        let told = served.ask(&post(&lengths, &chunked));
        let ended = answers(&told) == 1
            && (told.starts_with("HTTP/1.1 400") || told.to_lowercase().contains("\r\nconnection: close"));
        assert!(ended || (answers(&told) == 2 && told.ends_with("ok\n")), "{lengths}: {told}");
    }
    // Lengths that contradict each other, or an encoding that hides, are no request at all.
    for lengths in [
        "content-length: 5\r\ncontent-length: 60\r\n",
        "transfer-encoding: chunked, identity\r\n",
        "content-length: 5, 60\r\n",
        "content-length: +5\r\n",
    ] {
        let told = served.ask(&post(lengths, hidden));
        assert!(told.starts_with("HTTP/1.1 400") && answers(&told) == 1, "{lengths}: {told}");
        assert!(!told.ends_with("ok\n"), "{lengths}: {told}");
    }
}

#[test]
fn refusals_are_told_in_the_log() {
    let served = Served::begin();
    let entered = served.request("POST", &served.weaver, "sec-fetch-site: same-origin\r\n");
    let cookie = entered
        .lines()
        .filter_map(|line| line.strip_prefix("set-cookie: "))
        .find(|cookie| cookie.starts_with("thrumhall="))
        .and_then(|cookie| cookie.split(';').next())
        .unwrap_or_else(|| panic!("nobody was let in: {entered}"));
    let signed_in = format!("cookie: {cookie}\r\n");

    // A page of another role: who, from where, at which route.
    assert!(served.request("GET", "/people", &signed_in).starts_with("HTTP/1.1 403"));
    let line = served.refused("not for this role");
    assert_eq!((&line["target"], &line["from"]), (&"security".into(), &"127.0.0.1".into()), "{line}");
    assert_eq!((&line["status"], &line["span"]["route"]), (&403.into(), &"/people".into()), "{line}");
    assert!(line["person"].as_str().is_some_and(|person| person.len() == 36), "{line}");

    for (method, path, more, status, reason) in [
        ("POST", "/people", "sec-fetch-site: same-origin\r\n", 401, "not signed in"),
        ("POST", "/people", "sec-fetch-site: cross-site\r\n", 403, "from another site"),
        ("GET", "/enter/no-such-link", "", 404, "a link that opens nothing"),
    ] {
        let told = served.request(method, path, more);
        assert!(told.starts_with(&format!("HTTP/1.1 {status}")), "{told}");
        let line = served.refused(reason);
        assert_eq!((&line["target"], &line["status"]), (&"security".into(), &status.into()), "{line}");
        assert!(!line.to_string().contains("no-such-link"), "the log holds a secret: {line}");
    }
}

//! The program itself: connections that hang, the health pages meanwhile, what it logs, and that it is gone when it is told to stop.
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

use serde_json::Value;

/// A program that serves, with what it says.
pub struct Served {
    child: Child,
    pub address: String,
    log: mpsc::Receiver<String>,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Served {
    /// Begins, with a log of JSON.
    pub fn begin(database: &[String], more: &[&str]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_thrumhall"));
        command.args(["serve", "--listen", "127.0.0.1:0", "--log-format", "json"]).args(database).args(more);
        command.env_remove("DATABASE_URL").stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let (out, err) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
        let (tell, log) = mpsc::channel();
        std::thread::spawn(move || {
            for line in BufReader::new(err).lines().map_while(Result::ok) {
                let _ = tell.send(line);
            }
        });
        let mut lines = BufReader::new(out).lines().map_while(Result::ok);
        let base = lines.find_map(|line| Some(line.strip_prefix("Thrumhall serves http://")?.to_owned()));
        let address = base.expect("the program never served");
        Self { child, address, log }
    }

    fn open(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        stream
    }

    /// Asks, and reads the answer to its end.
    fn ask(&self, head: &str) -> String {
        let mut stream = self.open();
        stream.write_all(head.as_bytes()).unwrap();
        let mut answer = String::new();
        let _ = stream.read_to_string(&mut answer);
        answer
    }

    fn get(&self, path: &str) -> String {
        self.ask(&format!("GET {path} HTTP/1.1\r\nhost: loft.test\r\nconnection: close\r\n\r\n"))
    }

    /// The next line of the log that has this message.
    fn logged(&self, message: &str) -> Value {
        loop {
            let line = self.log.recv_timeout(Duration::from_secs(10)).expect("nothing more is logged");
            assert!(!line.contains('\u{1b}'), "colour in a file: {line}");
            let line: Value = serde_json::from_str(&line).unwrap();
            if line["message"] == message {
                return line;
            }
        }
    }

    /// Tells it to stop, and gives how long it took.
    fn stop(mut self) -> Duration {
        let began = Instant::now();
        let told = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status().unwrap();
        assert!(told.success());
        let code = self.child.wait().unwrap();
        assert!(code.success(), "{code}");
        began.elapsed()
    }
}

/// It waits out the time that a connection has for its first request, and the grace of those that are being answered: sixteen
/// seconds in all, in which it hardly computes.
#[test]
fn connections_that_hang_keep_nobody_out_and_end_with_the_program() {
    let dir = tempfile::tempdir().unwrap();
    let database = ["--data".to_owned(), dir.path().to_str().unwrap().to_owned()];
    let served = Served::begin(&database, &["--metrics-listen", "127.0.0.1:0"]);
    let metrics = served.logged("numbers are told")["address"].as_str().unwrap().to_owned();
    assert!(served.get("/readyz").starts_with("HTTP/1.1 200"));

    // More than are kept at once, half of them in the middle of a head.
    let hanging: Vec<TcpStream> = (0..600)
        .map(|n| {
            let mut stream = served.open();
            if n % 2 == 0 {
                stream.write_all(b"GET /sign-in HTTP/1.1\r\nhost: lo").unwrap();
            }
            stream
        })
        .collect();
    let began = Instant::now();
    assert!(served.get("/healthz").ends_with("ok\n"));
    assert!(served.get("/sign-in").starts_with("HTTP/1.1 200"));
    assert!(began.elapsed() < Duration::from_secs(2), "{:?}", began.elapsed());

    let long = format!("GET /healthz HTTP/1.1\r\nhost: loft.test\r\nx-long: {}\r\n\r\n", "a".repeat(17_000));
    assert!(served.ask(&long).starts_with("HTTP/1.1 431"), "a head of 17 kB is read");

    // Who sends nothing whole is hung up on.
    let mut last = hanging.last().unwrap();
    let _ = last.read(&mut [0; 512]);
    assert!((8..15).contains(&began.elapsed().as_secs()), "{:?}", began.elapsed());

    let body = "name=Nobody&passphrase=four+words+of+wool";
    let answer = served.ask(&format!(
        "POST /sign-in HTTP/1.1\r\nhost: loft.test\r\nsec-fetch-site: same-origin\r\nx-request-id: proxy-7\r\n\
         content-type: application/x-www-form-urlencoded\r\ncontent-length: {}\r\nconnection: close\r\n\r\n{body}",
        body.len()
    ));
    assert!(answer.starts_with("HTTP/1.1 422"), "{answer}");
    assert!(answer.contains("x-request-id: proxy-7\r\n"), "{answer}");
    let line = served.logged("refused");
    assert_eq!((&line["target"], &line["from"]), (&"security".into(), &"127.0.0.1".into()), "{line}");
    assert_eq!(line["span"]["id"], "proxy-7", "{line}");
    assert!(!line.to_string().contains("Nobody"), "who was typed isn't kept: {line}");
    assert!(!served.get("/healthz").contains("x-request-id: proxy 7"));

    let mut asked = TcpStream::connect(metrics).unwrap();
    asked.write_all(b"GET /metrics HTTP/1.1\r\nhost: loft.test\r\nconnection: close\r\n\r\n").unwrap();
    let mut told = String::new();
    asked.read_to_string(&mut told).unwrap();
    for line in [
        "thrumhall_requests_total{method=\"POST\",route=\"/sign-in\",status=\"422\"} 1\n",
        "thrumhall_refusals_total{reason=\"a sign-in failed\"} 1\n",
        "thrumhall_notices_waiting 0\n",
    ] {
        assert!(told.contains(line), "{line} in {told}");
    }
    assert!(served.get("/metrics").starts_with("HTTP/1.1 404"), "the numbers are told to everybody");

    // Half a request is no reason to stay.
    let mut half = served.open();
    half.write_all(
        b"POST /sign-in HTTP/1.1\r\nhost: loft.test\r\ncontent-type: application/x-www-form-urlencoded\r\n\
          sec-fetch-site: same-origin\r\ncontent-length: 90\r\n\r\nname=",
    )
    .unwrap();
    std::thread::sleep(Duration::from_millis(200));
    let took = served.stop();
    assert!(took < Duration::from_secs(8), "{took:?}");
}

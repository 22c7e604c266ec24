//! Those who are sent something, each on its own socket: a receiver of signed requests that behaves as told, and a mail server.
use std::collections::{HashMap, VecDeque};
use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use tokio::io::{AsyncBufReadExt as _, AsyncReadExt as _, AsyncWriteExt as _, BufReader};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Notify;

/// How a receiver treats the next request.
#[derive(Clone, Debug)]
pub enum Behaviour {
    /// Answers with this status line and these header lines.
    Answers(&'static str, String),
    /// Takes the message and never answers.
    Hangs,
    /// Takes the message and answers 200 after so long.
    AnswersLate(Duration),
    /// Takes the message and answers with this status line once it is let.
    AnswersWhenLet(&'static str, Arc<Notify>),
    /// Hangs up without a word.
    HangsUp,
}

pub fn status(line: &'static str) -> Behaviour {
    Behaviour::Answers(line, String::new())
}

/// A request as it came.
#[derive(Clone, Debug)]
pub struct Got {
    /// Header lines by lower-case name.
    pub headers: HashMap<String, String>,
    pub body: String,
}

/// A receiver: what it got, and how it goes on behaving. After the last behaviour it answers 200.
#[derive(Clone)]
pub struct Receiver {
    pub at: SocketAddr,
    /// Says so when a message has come.
    pub arrived: Arc<Notify>,
    got: Arc<Mutex<Vec<Got>>>,
}

impl Receiver {
    pub async fn new(behaviour: impl IntoIterator<Item = Behaviour>) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let at = listener.local_addr().unwrap();
        let (got, next) =
            (Arc::default(), Arc::new(Mutex::new(behaviour.into_iter().collect::<VecDeque<_>>())));
        let receiver = Self { at, arrived: Arc::default(), got };
        let serving = receiver.clone();
        tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                tokio::spawn(serving.clone().serve(stream, next.clone()));
            }
        });
        receiver
    }

    pub fn got(&self) -> Vec<Got> {
        self.got.lock().unwrap().clone()
    }

    async fn serve(self, stream: TcpStream, next: Arc<Mutex<VecDeque<Behaviour>>>) {
        let mut stream = BufReader::new(stream);
        let mut headers = HashMap::new();
        loop {
            let mut line = String::new();
            if stream.read_line(&mut line).await.unwrap_or(0) == 0 {
                return;
            }
            if line.trim().is_empty() {
                break;
            }
            if let Some((name, value)) = line.split_once(':') {
                headers.insert(name.to_lowercase(), value.trim().to_owned());
            }
        }
        let length: usize = headers.get("content-length").map_or(0, |n| n.parse().unwrap());
        let mut body = vec![0; length];
        stream.read_exact(&mut body).await.unwrap();
        self.got.lock().unwrap().push(Got { headers, body: String::from_utf8(body).unwrap() });
        self.arrived.notify_one();
        let behaviour = next.lock().unwrap().pop_front().unwrap_or(status("200 OK"));
        let answer = match behaviour {
            Behaviour::Answers(status, more) => {
                format!("HTTP/1.1 {status}\r\n{more}content-length: 0\r\nconnection: close\r\n\r\n")
            }
            Behaviour::Hangs => std::future::pending().await,
            Behaviour::AnswersLate(after) => {
                tokio::time::sleep(after).await;
                "HTTP/1.1 200 OK\r\ncontent-length: 0\r\nconnection: close\r\n\r\n".to_owned()
            }
            Behaviour::AnswersWhenLet(status, let_go) => {
                let_go.notified().await;
                format!("HTTP/1.1 {status}\r\ncontent-length: 0\r\nconnection: close\r\n\r\n")
            }
            Behaviour::HangsUp => return,
        };
        let _ = stream.write_all(answer.as_bytes()).await;
    }
}

/// A mail server (RFC 5321) that takes everything but mail to one address. Each mail is kept below its envelope.
pub async fn mail_server(refused: &'static str) -> (SocketAddr, Arc<Mutex<Vec<String>>>) {
    mail_server_that(refused, []).await
}

/// The same, which answers the first mails as told: they are kept all the same, as by one that is then cut off.
pub async fn mail_server_that(
    refused: &'static str,
    answers: impl IntoIterator<Item = &'static str>,
) -> (SocketAddr, Arc<Mutex<Vec<String>>>) {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let at = listener.local_addr().unwrap();
    let mails: Arc<Mutex<Vec<String>>> = Arc::default();
    let kept = mails.clone();
    let answers = Arc::new(Mutex::new(answers.into_iter().collect::<VecDeque<_>>()));
    tokio::spawn(async move {
        while let Ok((stream, _)) = listener.accept().await {
            tokio::spawn(converse(stream, refused, answers.clone(), mails.clone()));
        }
    });
    (at, kept)
}

async fn converse(
    stream: TcpStream,
    refused: &str,
    answers: Arc<Mutex<VecDeque<&'static str>>>,
    mails: Arc<Mutex<Vec<String>>>,
) -> Option<()> {
    let mut stream = BufReader::new(stream);
    stream.write_all(b"220 post.test\r\n").await.ok()?;
    let (mut line, mut envelope) = (String::new(), String::new());
    while stream.read_line(&mut line).await.ok()? > 0 {
        let given = std::mem::take(&mut line);
        let said = given.to_uppercase();
        let answer = match said.split([' ', ':', '\r']).next().unwrap() {
            "RCPT" if said.contains(&refused.to_uppercase()) => "550 nobody of this name",
            "DATA" => {
                stream.write_all(b"354 go on\r\n").await.ok()?;
                let mut mail = std::mem::take(&mut envelope);
                while !mail.ends_with("\r\n.\r\n") {
                    stream.read_line(&mut mail).await.ok()?;
                }
                mails.lock().unwrap().push(mail);
                answers.lock().unwrap().pop_front().unwrap_or("250 taken")
            }
            "QUIT" => "221 good bye",
            verb => {
                if matches!(verb, "MAIL" | "RCPT") {
                    envelope += &given;
                }
                "250 well"
            }
        };
        stream.write_all(format!("{answer}\r\n").as_bytes()).await.ok()?;
    }
    Some(())
}

//! Two helpers of `pages.py`: the smallest service there can be on the same crates, to compare with; and somebody who asks at an
//! even pace, whatever the answers take.
//!
//!     ask hello
//!     ask pace 127.0.0.1:8080 /today 'thrumhall=…' --rate 200 --seconds 10
//!
//! `pace` prints the median and the 99th percentile in milliseconds, from the moment at which each request was due, so that one
//! that waits behind a slow one counts as slow itself, and how many were not answered with 200. `{n}` in the path is the request's
//! number, so that none is asked for twice.
#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a command for measuring")]
use std::time::{Duration, Instant};

use axum::Router;
use axum::routing::get;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};

/// Connections of an asker at an even pace.
const CONNECTIONS: u32 = 16;

#[tokio::main]
async fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        ["hello"] => hello().await,
        ["pace", address, path, cookie, "--rate", rate, "--seconds", seconds] => {
            pace(address, path, cookie, rate.parse().unwrap(), seconds.parse().unwrap()).await;
        }
        _ => println!("ask hello | ask pace ADDRESS PATH COOKIE --rate N --seconds N"),
    }
}

async fn hello() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    println!("http://{}", listener.local_addr().unwrap());
    let pages = Router::new().route("/", get(|| async { "Hello, World!" }));
    axum::serve(listener, pages).await.unwrap();
}

async fn pace(address: &str, path: &str, cookie: &str, rate: u32, seconds: u32) {
    let head = format!("GET {path} HTTP/1.1\r\nhost: {address}\r\ncookie: {cookie}\r\n\r\n");
    let began = Instant::now() + Duration::from_millis(200);
    let mut going = tokio::task::JoinSet::new();
    for n in 0..CONNECTIONS {
        let (head, address) = (head.clone(), address.to_owned());
        going.spawn(async move {
            let mut to = TcpStream::connect(address).await.unwrap();
            to.set_nodelay(true).unwrap();
            let (mut took, mut wrong) = (Vec::new(), 0);
            for nth in (n..rate * seconds).step_by(CONNECTIONS as usize) {
                let due = began + Duration::from_secs(1) * nth / rate;
                tokio::time::sleep_until(due.into()).await;
                let request = head.replace("{n}", &nth.to_string());
                wrong += u32::from(!ask(&mut to, request.as_bytes()).await);
                took.push(due.elapsed());
            }
            (took, wrong)
        });
    }
    let (mut all, mut wrong) = (Vec::new(), 0);
    while let Some(done) = going.join_next().await {
        let (took, failed) = done.unwrap();
        all.extend(took);
        wrong += failed;
    }
    all.sort();
    let at = |part: f64| all[((all.len() - 1) as f64 * part) as usize].as_secs_f64() * 1000.0;
    println!("{:.2} {:.2} {wrong}", at(0.5), at(0.99));
}

/// Asks once and reads the whole answer; whether it is a page.
async fn ask(to: &mut TcpStream, request: &[u8]) -> bool {
    to.write_all(request).await.unwrap();
    let mut read = Vec::with_capacity(64 << 10);
    loop {
        let head = read.windows(4).position(|end| end == b"\r\n\r\n");
        if let Some(head) = head {
            let text = String::from_utf8_lossy(&read[..head]).to_lowercase();
            let length =
                text.lines().find_map(|line| line.strip_prefix("content-length:")?.trim().parse().ok());
            if read.len() >= head + 4 + length.unwrap_or(0) {
                return text.starts_with("http/1.1 200");
            }
        }
        if to.read_buf(&mut read).await.unwrap() == 0 {
            return false;
        }
    }
}

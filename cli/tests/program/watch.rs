//! `withy watch`: what its page answers to whom, and what becomes of good and bad changes.
#![cfg(unix)]

use super::desk::{BLADE, Desk, PART, drawing, withy};
use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Longer than any solve of the blade takes on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// A program that watches the blade, ended with the test.
struct Watching {
    child: Child,
    port: String,
    path: String,
}

impl Watching {
    fn start(desk: &Desk) -> Self {
        let mut command = withy();
        command.current_dir(desk.path("")).args(["watch", "blade.toml"]);
        let mut child = command.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
        let mut said = BufReader::new(child.stderr.take().unwrap());
        let mut line = String::new();
        said.read_line(&mut line).unwrap();
        // What else is said must not fill the pipe.
        std::thread::spawn(move || std::io::copy(&mut said, &mut std::io::sink()));
        let address = line.split("http://127.0.0.1:").nth(1).unwrap_or_else(|| panic!("{line}"));
        let (port, path) = address.trim().split_once('/').unwrap();
        Self { child, port: port.to_owned(), path: format!("/{path}") }
    }

    /// Status and body of a request.
    fn ask(&self, method: &str, path: &str, host: &str) -> (u16, String) {
        let mut stream = TcpStream::connect(format!("127.0.0.1:{}", self.port)).unwrap();
        write!(stream, "{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")
            .unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        let answer = String::from_utf8(answer).unwrap();
        let status = answer.split(' ').nth(1).unwrap().parse().unwrap();
        let body = answer.split_once("\r\n\r\n").unwrap().1.to_owned();
        (status, body)
    }

    fn get(&self, name: &str) -> (u16, String) {
        let host = format!("127.0.0.1:{}", self.port);
        self.ask("GET", &format!("{}{name}", self.path), &host)
    }

    /// Waits until the state is as told.
    fn until(&self, what: &str, holds: impl Fn(&Value) -> bool) -> Value {
        let begun = Instant::now();
        loop {
            let (status, body) = self.get("state");
            assert_eq!(status, 200, "{body}");
            // A long answer comes in pieces, each after its length.
            let json: String = body.lines().filter(|l| l.starts_with('{')).collect();
            let state: Value =
                serde_json::from_str(&json).unwrap_or_else(|e| panic!("{e}: {body}"));
            if holds(&state) {
                return state;
            }
            assert!(begun.elapsed() < PATIENCE, "{what}: {state}");
            std::thread::sleep(Duration::from_millis(100));
        }
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_change_is_solved_again_and_a_bad_one_keeps_the_last_good_result() {
    let desk = Desk::new();
    let mut watching = Watching::start(&desk);
    watching.until("the first result", |s| s["version"] == 1 && s["state"] == "solved");
    assert!(watching.get("report").1.contains("<title>Blade</title>"), "the report");
    desk.write("blade.toml", &PART.replace("steps = 4", "stepz = 4"));
    let refused = watching.until("a refusal", |s| s["state"] == "refused");
    let message = refused["message"].as_str().unwrap();
    assert!(
        message.contains("blade.toml:13:1") && message.contains("did you mean 'steps'"),
        "{message}"
    );
    assert_eq!(refused["version"], 1, "the last good result stays");
    assert!(watching.get("report").1.contains("<title>Blade</title>"), "and is shown");
    assert_eq!(desk.summary()["steps"].as_array().unwrap().len(), 4, "and kept in its folder");
    desk.write("blade.toml", &PART.replace("steps = 4", "steps = 3"));
    watching.until("the second result", |s| s["version"] == 2 && s["state"] == "solved");
    assert_eq!(desk.summary()["steps"].as_array().unwrap().len(), 3, "its results are written");
    // The drawing counts too.
    desk.write("blade.svg", &drawing(&BLADE.replace("height='4'", "height='3.5'")));
    watching.until("the third result", |s| s["version"] == 3 && s["state"] == "solved");
    let sent =
        Command::new("kill").args(["-INT", &watching.child.id().to_string()]).status().unwrap();
    assert!(sent.success(), "it still runs");
    assert_eq!(watching.child.wait().unwrap().code(), Some(0), "Ctrl-C is its usual end");
}

#[test]
fn the_page_is_for_its_own_reader_and_only_to_be_read() {
    let desk = Desk::new();
    let watching = Watching::start(&desk);
    let host = format!("127.0.0.1:{}", watching.port);
    let status = |method: &str, path: &str, host: &str| watching.ask(method, path, host).0;
    assert_eq!(status("GET", &watching.path, &host), 200, "the page");
    assert_eq!(
        status("GET", &watching.path, &format!("localhost:{}", watching.port)),
        200,
        "by name"
    );
    assert_eq!(
        status("GET", &watching.path, "elsewhere.example"),
        403,
        "another name for this address"
    );
    assert_eq!(status("GET", "/", &host), 404, "no guess");
    assert_eq!(status("GET", "/state", &host), 404, "no guess");
    let other = format!("/{}/", "0".repeat(watching.path.len() - 2));
    assert_eq!(status("GET", &other, &host), 404, "another path");
    for method in ["POST", "PUT", "DELETE"] {
        assert_eq!(status(method, &watching.path, &host), 405, "{method}");
    }
    assert_eq!(status("GET", &format!("{}../blade.toml", watching.path), &host), 404, "no files");
}

#[test]
fn there_must_be_a_part_and_a_port() {
    let desk = Desk::new();
    let outcome = desk.withy("watch", &["--port", "1x"]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    std::fs::remove_file(desk.path("blade.toml")).unwrap();
    let outcome = desk.withy("watch", &[]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    assert!(outcome.said().contains("there is no such part file"), "{}", outcome.stderr);
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    desk.write("blade.toml", PART);
    let port = taken.local_addr().unwrap().port().to_string();
    let outcome = desk.withy("watch", &["--port", &port]);
    assert_eq!(outcome.status, Some(2), "{}", outcome.stderr);
    assert!(outcome.said().contains("no page on port"), "{}", outcome.stderr);
}

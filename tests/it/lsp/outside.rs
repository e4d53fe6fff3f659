//! The real program over its standard streams, driven by a client library that others wrote, by an
//! editor without a screen, and by bytes that nobody should send.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::sandbox::{Sandbox, in_project, project, wait};

/// A tool that is missing: said loudly, and a failure where everything must be tried.
fn missing(tool: &str, how: &str) {
    assert!(
        std::env::var_os("CI").is_none_or(|ci| ci.is_empty()),
        "{tool} is missing: {how}"
    );
    // Straight to the stream: what a passing test prints is kept back.
    let _ = writeln!(std::io::stderr(), "\n!!! NOT TESTED: {tool} is missing: {how}\n");
}

fn works(program: &Path, arguments: &[&str]) -> bool {
    Command::new(program)
        .args(arguments)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success())
}

/// A copy of the demo ledger, which may be changed.
fn demo() -> Sandbox {
    let demo = project().join("examples/low-barn");
    let mut sandbox = Sandbox::new();
    let mut open = vec![demo.clone()];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let inside = path.strip_prefix(&demo).unwrap().to_str().unwrap().to_owned();
                sandbox = sandbox.file(&inside, std::fs::read(&path).unwrap());
            }
        }
    }
    sandbox
}

fn ran(mut command: Command) -> (Option<i32>, String) {
    let child = command
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let (status, out, err) = wait(child);
    let said = format!(
        "{}{}",
        String::from_utf8_lossy(&out),
        String::from_utf8_lossy(&err)
    );
    (status, said)
}

#[test]
fn a_client_library_finds_every_answer_in_the_form_of_the_protocol() {
    let own = project().join("target/clients/bin/python");
    let python = [own, PathBuf::from("python3")]
        .into_iter()
        .find(|python| works(python, &["-c", "import pygls.lsp.client"]));
    let Some(python) = python else {
        return missing(
            "pygls",
            "python3 -m venv target/clients && target/clients/bin/pip install -r tests/editors/requirements.txt",
        );
    };
    let demo = demo();
    let mut command = Command::new(python);
    command
        .arg(project().join("tests/editors/client.py"))
        .arg(env!("CARGO_BIN_EXE_scruple"))
        .arg(demo.path().canonicalize().unwrap());
    let (status, said) = ran(command);
    assert_eq!(status, Some(0), "{said}");
    assert!(
        said.contains("every answer has the form of the protocol"),
        "{said}"
    );
}

#[test]
fn neovim_types_hovers_completes_mends_renames_and_tidies() {
    if !works(Path::new("nvim"), &["--version"]) {
        return missing("Neovim", "apt-get install neovim");
    }
    let demo = demo();
    let mut command = Command::new("nvim");
    command
        .args(["--headless", "-u", "NONE", "-i", "NONE", "-n", "-S"])
        .arg(project().join("tests/editors/neovim.lua"))
        .env("SCRUPLE", env!("CARGO_BIN_EXE_scruple"))
        .env("LEDGER", demo.path().canonicalize().unwrap())
        .env("XDG_STATE_HOME", demo.path().join(".state"))
        .env("XDG_CACHE_HOME", demo.path().join(".cache"));
    let (status, said) = ran(command);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("the buffers say what they should"), "{said}");
}

// ---- bytes -----------------------------------------------------------------------------------------

fn framed(text: &str) -> Vec<u8> {
    format!("Content-Length: {}\r\n\r\n{text}", text.len()).into_bytes()
}

/// What the program answers to bytes, and how it ends.
fn answers(bytes: &[u8]) -> (Option<i32>, String) {
    let mut child = in_project(["lsp", "--stdio"])
        .prepare()
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = child.stdin.take().unwrap();
    let bytes = bytes.to_vec();
    let writer = std::thread::spawn(move || {
        let _ = to.write_all(&bytes);
    });
    let (status, out, err) = wait(child);
    writer.join().unwrap();
    let err = String::from_utf8_lossy(&err);
    assert!(!err.contains("panicked"), "{err}");
    (status, String::from_utf8_lossy(&out).into_owned())
}

#[test]
fn bytes_that_nobody_should_send() {
    let begin = framed(r#"{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"capabilities":{}}}"#);
    let end = framed(r#"{"jsonrpc":"2.0","id":2,"method":"shutdown"}"#);
    let exit = framed(r#"{"jsonrpc":"2.0","method":"exit"}"#);
    let (status, said) = answers(&[begin.clone(), end.clone(), exit.clone()].concat());
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains(r#""name":"scruple""#), "{said}");
    // A message that can't be read costs itself only.
    for odd in [
        "{",
        "[]",
        "3",
        "\u{0}",
        r#"{"id":99999999999,"method":"x"}"#,
        r#"{"jsonrpc":"2.0"}"#,
        &"[".repeat(5000),
    ] {
        let (status, said) = answers(&[begin.clone(), framed(odd), end.clone(), exit.clone()].concat());
        assert_eq!(status, Some(0), "{odd}: {said}");
        assert!(said.contains(r#""id":2"#), "{odd}: {said}");
    }
    // What is no message at all ends it, and the exit code says that it was not agreed.
    for odd in [
        &b""[..],
        b"\xff\xfe\x00",
        b"GET / HTTP/1.1\r\n\r\n",
        b"Content-Length: 99999999999999\r\n\r\n{}",
    ] {
        let (status, _) = answers(&[begin.as_slice(), odd].concat());
        assert_eq!(status, Some(1), "{odd:?}");
    }
}

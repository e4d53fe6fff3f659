//! Turns bytes from an editor into messages, and messages into bytes: as the protocol frames them.
//!
//! What can't be read costs one message and not the session, and no length that is claimed is
//! believed before the bytes are there.

use std::io::{self, BufRead, Read, Write};

use lsp_server::Message;

/// A longer message is skipped: the largest file has 16 MiB, and letters may be escaped.
const LONGEST: u64 = 128 * 1024 * 1024;
/// A longer line is no header.
const LONGEST_HEADER: u64 = 8 * 1024;

/// What came in.
#[derive(Debug)]
pub enum Incoming {
    /// A message.
    Message(Message),
    /// One that can't be read, and why.
    Unreadable(String),
}

/// The next message; nothing at the end, or where no message can be found any more.
pub fn read(from: &mut impl BufRead) -> Option<Incoming> {
    let length = match header(from) {
        Ok(length) => length?,
        Err(_) => return None,
    };
    if length > LONGEST {
        let skipped = io::copy(&mut from.by_ref().take(length), &mut io::sink()).ok()?;
        return (skipped == length)
            .then(|| Incoming::Unreadable(format!("a message of {length} bytes is too long")));
    }
    let mut bytes = Vec::new();
    from.by_ref().take(length).read_to_end(&mut bytes).ok()?;
    if u64::try_from(bytes.len()).ok()? != length {
        return None;
    }
    Some(match serde_json::from_slice(&bytes) {
        Ok(message) => Incoming::Message(message),
        Err(why) => Incoming::Unreadable(format!("a message can't be read: {why}")),
    })
}

/// The length that a header says; nothing at the end of all messages.
fn header(from: &mut impl BufRead) -> io::Result<Option<u64>> {
    let mut length = None;
    loop {
        let mut line = Vec::new();
        let read = from.by_ref().take(LONGEST_HEADER).read_until(b'\n', &mut line)?;
        if read == 0 {
            return Ok(None);
        }
        let line = String::from_utf8_lossy(&line);
        if !line.ends_with('\n') {
            return Ok(None);
        }
        let line = line.trim_end();
        if line.is_empty() {
            // Blank lines between messages are passed over.
            if length.is_some() {
                return Ok(length);
            }
            continue;
        }
        if let Some((name, value)) = line.split_once(':')
            && name.trim().eq_ignore_ascii_case("content-length")
        {
            match value.trim().parse() {
                Ok(value) => length = Some(value),
                Err(_) => return Ok(None),
            }
        }
    }
}

/// Writes a message.
///
/// # Errors
/// What the stream says: nobody listens any more.
pub fn write(message: &Message, to: &mut impl Write) -> io::Result<()> {
    message.write(to)?;
    to.flush()
}

#[cfg(test)]
mod tests {
    use super::{Incoming, read};

    fn all(bytes: &[u8]) -> Vec<String> {
        let mut from = bytes;
        std::iter::from_fn(|| read(&mut from))
            .map(|one| match one {
                Incoming::Message(lsp_server::Message::Notification(one)) => one.method,
                Incoming::Message(_) => "another".to_owned(),
                Incoming::Unreadable(_) => "unreadable".to_owned(),
            })
            .collect()
    }

    #[test]
    fn a_broken_message_costs_only_itself() {
        let text = b"Content-Length: 3\r\n\r\n{]}Content-Length: 16\r\nX: y\r\n\r\n{\"method\":\"exit\"}";
        assert_eq!(
            all(text),
            ["unreadable", "unreadable"],
            "the length is one short, so the rest is lost"
        );
        let text = b"Content-Length: 3\r\n\r\n{]}content-length:17\r\nX: y\r\n\r\n{\"method\":\"exit\"}";
        assert_eq!(all(text), ["unreadable", "exit"]);
    }

    #[test]
    fn no_length_is_believed() {
        assert!(all(b"Content-Length: 18446744073709551615\r\n\r\n{}").is_empty());
        assert!(all(b"Content-Length: 99999999999999999999999\r\n\r\n{}").is_empty());
        assert!(all(b"Content-Length: -1\r\n\r\n{}").is_empty());
        assert!(all(b"Content-Length: 5000\r\n\r\n{}").is_empty());
        assert!(all(&vec![b'x'; 100_000]).is_empty());
        assert!(all(b"").is_empty());
    }
}

//! Turns what an editor asks by its protocol into answers of [`crate::editor`], and those into the protocol.
//!
//! Only this folder knows the protocol. It holds no rule of the language and reckons nothing.

mod abilities;
mod acting;
mod address;
mod answers;
mod documents;
mod edits;
mod findings;
mod ledgers;
mod positions;
mod reader;
mod server;
mod wire;

use std::io;
use std::sync::mpsc::{Sender, channel};
use std::thread;

use lsp_server::{Connection, Message};

use server::{Event, Server};
use wire::Incoming;

/// How a session ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The editor said that it would end, and ended it.
    AsAgreed,
    /// The editor was gone, or ended it without a word before.
    Abruptly,
}

/// Answers an editor over standard input and output until it ends the session.
pub fn over_standard_streams() -> Ended {
    let (events, inbox) = channel();
    let incoming = events.clone();
    // Reading never waits for writing, so that neither side can wait for the other for ever.
    thread::spawn(move || {
        let mut from = io::stdin().lock();
        while let Some(one) = wire::read(&mut from) {
            let event = match one {
                Incoming::Message(message) => Event::Message(message),
                Incoming::Unreadable(why) => Event::Unreadable(why),
            };
            if incoming.send(event).is_err() {
                return;
            }
        }
        let _ = incoming.send(Event::Closed);
    });
    let mut out = io::stdout().lock();
    Server::new(events, |message| wire::write(&message, &mut out).is_ok()).run(&inbox)
}

/// Answers an editor over a pair of channels, as tests do.
pub fn over(connection: Connection) -> Ended {
    let (events, inbox) = channel();
    forward(connection.receiver, events.clone());
    let sender = connection.sender;
    Server::new(events, move |message| sender.send(message).is_ok()).run(&inbox)
}

fn forward(messages: impl IntoIterator<Item = Message> + Send + 'static, events: Sender<Event>) {
    thread::spawn(move || {
        for message in messages {
            if events.send(Event::Message(message)).is_err() {
                return;
            }
        }
        let _ = events.send(Event::Closed);
    });
}

//! The server for editors: asked by the protocol, in this process and as the real program.

mod actions;
mod client;
mod features;
mod findings;
mod hostile;
mod outside;

//! Pages as a browser asks for them, without a socket.

mod door;
mod import;
mod support;

//! A page on this computer that shows the last good results and what became of the newest change.
//!
//! The page is served on the loopback address alone, under a random path that nobody can guess, and it can only
//! be read: there is no request that changes anything.

mod files;
mod server;

pub use files::Stamp;
pub use server::{Live, LiveError, Shown};

//! What time and use do to a part: what it loses while it is kept drawn, and how often it may be drawn.
//!
//! Both are read from the solved path and the card's own values; no further solve is needed, because a
//! material that relaxes in all directions alike loses the same share of every stress at a kept shape.

mod draws;
mod held;
mod written;

pub use draws::{Draws, Endured, draws};
pub use held::{Held, HeldFor, Law, held, law};
pub use written::{DrawsSummary, HeldSummary, draws_words, held_words, rest_words, rests_on};

//! What time and use do to a part: what it loses while it is kept drawn, and how often it may be drawn.
//!
//! Most is read from the solved path and the card's own values, because a material that relaxes in all directions alike
//! loses the same share of every stress at a kept shape; where the part rests afterwards takes some shapes of its own.

mod draws;
mod held;
mod recovery;
mod written;

pub use draws::{Draws, Endured, Swing, draws, swung};
pub use held::{Held, HeldFor, Law, TIMES, held, law};
pub use recovery::{Recovery, recovery_of};
pub use written::{
    DrawsSummary, HeldSummary, RestSummary, draws_words, held_words, rest_rows, rest_words,
    rests_on,
};

//! The cards that ship with the program: generic polymers, values typical and from memory.

/// Name and text of each card, in the order in which they are listed.
const SHELF: [(&str, &str); 15] = [
    ("pla", include_str!("../../cards/pla.toml")),
    ("petg", include_str!("../../cards/petg.toml")),
    ("pctg", include_str!("../../cards/pctg.toml")),
    ("abs", include_str!("../../cards/abs.toml")),
    ("pa6-dry", include_str!("../../cards/pa6-dry.toml")),
    ("pa6-conditioned", include_str!("../../cards/pa6-conditioned.toml")),
    ("pa12", include_str!("../../cards/pa12.toml")),
    ("pc", include_str!("../../cards/pc.toml")),
    ("pom", include_str!("../../cards/pom.toml")),
    ("pp", include_str!("../../cards/pp.toml")),
    ("tpu-95a", include_str!("../../cards/tpu-95a.toml")),
    ("pla-cf", include_str!("../../cards/pla-cf.toml")),
    ("petg-cf", include_str!("../../cards/petg-cf.toml")),
    ("abs-cf", include_str!("../../cards/abs-cf.toml")),
    ("pa-cf-dry", include_str!("../../cards/pa-cf-dry.toml")),
];

/// The names of the cards that ship.
pub fn shelf() -> impl Iterator<Item = &'static str> {
    SHELF.iter().map(|(name, _)| *name)
}

/// The text of a card that ships.
pub(super) fn text(name: &str) -> Option<&'static str> {
    SHELF.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, text)| *text)
}

//! The known word nearest to a misspelt one.

/// The known word within a third of its length in edits (at least 2), if any.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let near = known.into_iter().map(|candidate| (edits(word, candidate), candidate));
    let allowed = (word.chars().count() / 3).max(2);
    near.filter(|(count, _)| *count <= allowed)
        .min_by_key(|(count, _)| *count)
        .map(|(_, word)| word)
}

/// Insertions, deletions, replacements and swaps of neighbours that turn `a` into `b`, ignoring case
/// (optimal string alignment).
fn edits(a: &str, b: &str) -> usize {
    let letters = |text: &str| text.to_lowercase().chars().take(60).collect::<Vec<_>>();
    let (a, b) = (letters(a), letters(b));
    let mut rows = vec![(0..=b.len()).collect::<Vec<usize>>()];
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let replaced = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = replaced.min(rows[i - 1][j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            row.push(least);
        }
        rows.push(row);
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn misspelt_words_find_their_neighbour_and_strangers_none() {
        let known = ["thickness", "drawing", "fillet", "state"];
        assert_eq!(nearest("thicknes", known), Some("thickness"), "a letter short");
        assert_eq!(nearest("tihckness", known), Some("thickness"), "letters swapped");
        assert_eq!(nearest("Drawing", known), Some("drawing"), "case does not count");
        assert_eq!(nearest("colour", known), None, "nothing like it");
        assert_eq!(edits("", "abc"), 3, "from nothing");
    }
}

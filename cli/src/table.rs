//! Tables of plain text.

/// Where the cells of a column stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// Rows with their columns aligned and two blanks between them, each line indented by two.
#[must_use]
pub fn aligned(rows: &[Vec<String>], sides: &[Side]) -> String {
    let width = |c: usize| {
        rows.iter().filter_map(|r| r.get(c)).map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..sides.len()).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let mut line = String::new();
        for ((cell, side), width) in row.iter().zip(sides).zip(&widths) {
            line += "  ";
            line += &match side {
                Side::Left => format!("{cell:<width$}"),
                Side::Right => format!("{cell:>width$}"),
            };
        }
        text += line.trim_end();
        text.push('\n');
    }
    text
}

/// The first few items of a list behind each other, and how many more there are.
#[must_use]
pub fn first_few(items: &[String], most: usize, between: &str, unit: &str) -> String {
    let shown = items[..items.len().min(most)].join(between);
    match items.len().saturating_sub(most) {
        0 => format!("{shown}{unit}"),
        more => format!("{shown}{unit} and {more} more"),
    }
}

/// A text broken into lines of at most `width` characters, the first one as it is and the others
/// behind `indent` blanks.
#[must_use]
pub fn wrapped(text: &str, width: usize, indent: usize) -> String {
    let mut lines = String::new();
    let mut length = 0;
    let mut rest = text;
    while let Some(start) = rest.find(|c: char| !c.is_whitespace()) {
        // Blanks that align the first words are kept; elsewhere one is enough.
        let blanks = if length < indent { start } else { start.min(1) };
        let word_end = rest[start..].find(char::is_whitespace).map_or(rest.len(), |n| start + n);
        let word = &rest[start..word_end];
        let size = word.chars().count();
        if length > indent && length + blanks + size > width {
            lines = lines.trim_end().to_owned() + "\n" + &" ".repeat(indent);
            length = indent;
        } else {
            lines += &" ".repeat(blanks);
            length += blanks;
        }
        lines += word;
        length += size;
        rest = &rest[word_end..];
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_and_lines_end_with_their_last_word() {
        let rows = [["a", "10.5", "x"], ["longer", "9", ""]];
        let rows = rows.map(|r| r.map(str::to_owned).to_vec());
        let text = aligned(&rows, &[Side::Left, Side::Right, Side::Left]);
        assert_eq!(text, "  a       10.5  x\n  longer     9\n");
    }

    #[test]
    fn a_paragraph_is_broken_between_words_and_hangs() {
        assert_eq!(wrapped("key   one two three", 12, 6), "key   one\n      two\n      three");
        assert_eq!(wrapped("short", 12, 2), "short");
    }
}

//! Text on its way into HTML: whatever a user wrote is shown, never run.

use serde::Serialize;

/// Text as content of an element or of a quoted attribute.
pub(crate) fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe += "&amp;",
            '<' => safe += "&lt;",
            '>' => safe += "&gt;",
            '"' => safe += "&quot;",
            '\'' => safe += "&#39;",
            // Control characters have no place in HTML; they would be parse errors.
            c if c.is_control() && !matches!(c, '\n' | '\t') => safe.push('\u{fffd}'),
            c => safe.push(c),
        }
    }
    safe
}

/// Data as JSON that cannot end the script element it stands in.
///
/// # Errors
/// Those of the serialiser: a map with keys that are no text.
pub(super) fn json_in_script(data: &impl Serialize) -> Result<String, serde_json::Error> {
    let json = serde_json::to_string(data)?;
    // Outside of strings JSON has none of these, and in a string the escape means the same.
    Ok(json
        .replace('<', "\\u003c")
        .replace('>', "\\u003e")
        .replace('&', "\\u0026")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029"))
}

/// A list of facts: what it is, and what stands beside it; both plain text.
pub(super) fn facts(list: &[(String, String)]) -> String {
    let rows = list.iter().map(|(label, fact)| {
        format!("<div><dt>{}</dt><dd>{}</dd></div>\n", escape(label), escape(fact))
    });
    format!("<dl class=\"facts\">\n{}</dl>\n", rows.collect::<String>())
}

/// A list of sentences.
pub(super) fn bullets<T: AsRef<str>>(list: &[T]) -> String {
    let rows = list.iter().map(|text| format!("<li>{}</li>\n", escape(text.as_ref())));
    format!("<ul>\n{}</ul>\n", rows.collect::<String>())
}

/// A table whose first row and column are headings; all is plain text. Narrow pages show each row as a block.
pub(super) fn table(class: &str, rows: &[Vec<String>]) -> String {
    let Some((head, rows)) = rows.split_first() else { return String::new() };
    let headings: String =
        head.iter().map(|h| format!("<th scope=\"col\">{}</th>", escape(h))).collect();
    let row = |row: &Vec<String>| -> String {
        let cell = |(k, text): (usize, &String)| match (k, head.get(k)) {
            (0, _) => format!("<th scope=\"row\">{}</th>", escape(text)),
            (_, Some(label)) if !label.is_empty() => {
                format!("<td data-label=\"{}\">{}</td>", escape(label), escape(text))
            }
            _ => format!("<td>{}</td>", escape(text)),
        };
        format!("<tr>{}</tr>\n", row.iter().enumerate().map(cell).collect::<String>())
    };
    let body: String = rows.iter().map(row).collect();
    format!(
        "<table class=\"{class}\">\n<thead><tr>{headings}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>\n"
    )
}

/// Charts side by side, each a heading and an `svg` element.
pub(super) fn pair<T: AsRef<str>>(charts: &[(T, String)]) -> String {
    let figures = charts.iter().map(|(heading, svg)| {
        format!("<figure class=\"chart\"><h3>{}</h3>{svg}</figure>\n", escape(heading.as_ref()))
    });
    format!("<div class=\"pair\">\n{}</div>\n", figures.collect::<String>())
}

/// A section with its heading; `body` is HTML.
pub(super) fn section(id: &str, heading: &str, body: &str) -> String {
    format!("<section id=\"{id}\">\n<h2>{}</h2>\n{body}</section>\n", escape(heading))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOSTILE: &str = "</script><script>alert(1)</script><!-- \" ' & \u{2028} \u{0}";

    #[test]
    fn hostile_text_stays_text() {
        let safe = escape(HOSTILE);
        assert!(!safe.contains(['<', '>', '"', '\'', '\u{0}']), "{safe}");
        assert!(safe.starts_with("&lt;/script&gt;&lt;script&gt;alert(1)"), "{safe}");
        assert_eq!(escape("12 \u{b5}m, two"), "12 \u{b5}m, two", "the rest as it is");
    }

    #[test]
    fn data_cannot_end_its_script_and_reads_back_the_same() {
        let json = json_in_script(&[HOSTILE]).unwrap();
        assert!(!json.contains(['<', '>', '&', '\u{2028}']), "{json}");
        let back: Vec<String> = serde_json::from_str(&json).unwrap();
        assert_eq!(back, [HOSTILE], "the same text");
    }
}

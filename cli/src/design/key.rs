//! A number's place in a part file: `spring.width`, `drive.0.move.1`.

use super::written::Written;
use std::fmt;
use toml_edit::{DocumentMut, Item, Value};

/// The way to a value: names of tables and keys, and numbers of list entries from 0.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key(Vec<String>);

impl Key {
    /// The way by its steps.
    #[must_use]
    pub fn new(steps: Vec<String>) -> Self {
        Self(steps)
    }

    /// "spring.width".
    #[must_use]
    pub fn parse(text: &str) -> Self {
        Self(text.split('.').map(|step| step.trim().to_owned()).collect())
    }

    /// Its last name that is no number: "width".
    #[must_use]
    pub fn short(&self) -> &str {
        let named = self.0.iter().rev().find(|step| step.parse::<usize>().is_err());
        named.map_or("", String::as_str)
    }

    /// What stands there.
    #[must_use]
    pub fn get<'a>(&self, document: &'a DocumentMut) -> Option<&'a Item> {
        let mut item = document.as_item();
        for step in &self.0 {
            item = match step.parse::<usize>() {
                Ok(at) => item.get(at)?,
                Err(_) => item.get(step.as_str())?,
            };
        }
        Some(item)
    }

    /// Puts a value there; a key that its table lacks is added.
    ///
    /// # Errors
    /// A step that leads into something without keys, or to a list entry that is not there.
    pub fn set(&self, document: &mut DocumentMut, value: &Written) -> Result<(), String> {
        self.put(document.as_item_mut(), 0, value)
    }

    fn put(&self, item: &mut Item, at: usize, value: &Written) -> Result<(), String> {
        let Some(step) = self.0.get(at) else {
            let decor = item.as_value().map(|old| old.decor().clone());
            let mut new: Value = value.to_toml();
            if let Some(decor) = decor {
                *new.decor_mut() = decor;
            }
            *item = Item::Value(new);
            return Ok(());
        };
        let last = at + 1 == self.0.len();
        let missing = || format!("there is no {}", self.0[..=at].join("."));
        if let Ok(entry) = step.parse::<usize>() {
            if let Some(table) = item.as_array_of_tables_mut().and_then(|list| list.get_mut(entry))
            {
                // The rest of the way, from inside that entry.
                let mut inner = Item::Table(std::mem::take(table));
                let result = self.put(&mut inner, at + 1, value);
                if let Item::Table(back) = inner {
                    *table = back;
                }
                return result;
            }
            let list = item.as_array_mut().filter(|list| entry < list.len() && last);
            let list = list.ok_or_else(missing)?;
            list.replace(entry, value.to_toml());
            return Ok(());
        }
        let table = item.as_table_like_mut().ok_or_else(missing)?;
        if !table.contains_key(step) {
            if last {
                table.insert(step, Item::Value(value.to_toml()));
                return Ok(());
            }
            table.insert(step, Item::Table(toml_edit::Table::new()));
        }
        let next = table.get_mut(step).ok_or_else(missing)?;
        self.put(next, at + 1, value)
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.join("."))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PART: &str = "[outline]\nthickness = \"6 mm\" # kept\n[spring]\nwidth = 1.6\nframe = { rail = 4 }\n\
                        [[drive]]\nregion = \"a\"\nmove = [0, -5]\n";

    #[test]
    fn values_are_put_where_the_key_leads() {
        let mut part: DocumentMut = PART.parse().unwrap();
        let mm = |v: f64| Written::quantity(v, "mm");
        for (key, value) in [
            ("outline.thickness", mm(5.0)),
            ("spring.width", mm(1.2)),
            ("spring.frame.rail", mm(3.0)),
            ("spring.carriage.width", mm(8.0)),
            ("spring.middle", mm(1.0)),
            ("drive.0.move.1", mm(-4.0)),
            ("drive.0.region", Written::Text("b".into())),
        ] {
            let key = Key::parse(key);
            key.set(&mut part, &value).unwrap();
            let found = key.get(&part).and_then(Item::as_value).unwrap();
            assert_eq!(Written::of(found).unwrap(), value, "{key}");
        }
        let text = part.to_string();
        assert!(text.contains("thickness = \"5 mm\" # kept"), "comments stay: {text}");
        assert!(text.parse::<toml::Table>().is_ok(), "{text}");
    }

    #[test]
    fn a_key_that_leads_nowhere_is_told() {
        let mut part: DocumentMut = PART.parse().unwrap();
        for (key, words) in [
            ("drive.1.region", "there is no drive.1"),
            ("spring.width.x", "there is no spring.width.x"),
            ("drive.0.move.2", "there is no drive.0.move.2"),
        ] {
            let why = Key::parse(key).set(&mut part, &Written::Integer(1)).unwrap_err();
            assert_eq!(why, words, "{key}");
        }
    }
}

//! `withy materials`: the shelf as a table, or one card explained.

use crate::error::Refusal;
use crate::material::properties::{Described, MODULI, PROPERTIES, RULES};
use crate::material::{Card, Datum, card, shelf};
use crate::remark::Remark;
use crate::table::{Side, aligned, wrapped};
use serde_json::{Value, json};

/// Lines of explanations end here.
const WIDTH: usize = 100;

/// The text that goes to standard output.
///
/// # Errors
/// A card that is not there or is wrong.
pub fn materials(args: &crate::args::MaterialsArgs) -> Result<String, Box<Refusal>> {
    let names: Vec<&str> = match &args.card {
        Some(name) => vec![name.as_str()],
        None => shelf().collect(),
    };
    let cards = names.into_iter().map(card).collect::<Result<Vec<_>, _>>().map_err(Box::new)?;
    Ok(match (&args.card, &cards[..]) {
        (Some(_), [(card, remarks)]) if !args.json => explained(card, remarks),
        _ if args.json => document(&cards),
        _ => listed(&cards),
    })
}

/// The columns of the list; strength and strain at break share one.
const COLUMNS: [(&str, &[usize]); 7] = [
    ("tensile MPa", &[0]),
    ("flexural MPa", &[1]),
    ("yield MPa", &[3]),
    ("yield %", &[4]),
    ("break MPa", &[5]),
    ("break %", &[6]),
    ("g/cm3", &[7]),
];

fn listed(cards: &[(Card, Vec<Remark>)]) -> String {
    let mut header = vec!["card".to_owned()];
    header.extend(COLUMNS.iter().map(|(name, _)| (*name).to_owned()));
    header.push("what".to_owned());
    let mut rows = vec![header];
    for (card, _) in cards {
        let mut row = vec![card.name.clone()];
        for (_, properties) in COLUMNS {
            let cells: Vec<String> =
                properties.iter().map(|&p| PROPERTIES[p].shown(card)).collect();
            row.push(cells.join(", "));
        }
        row.push(card.title.clone());
        rows.push(row);
    }
    let mut sides = vec![Side::Left; COLUMNS.len() + 2];
    sides[COLUMNS.len()] = Side::Right;
    let mut text = format!("{} cards on the shelf: value (spread)\n", cards.len());
    text += &aligned(&rows, &sides);
    text += "\nGeneric polymers, printed flat and pulled along the beads, 23 C, dry unless said; typical \
             values from memory.\n`withy materials CARD` explains one. A pull test of your own print is \
             better evidence than any card.\n";
    text
}

fn explained(card: &Card, remarks: &[Remark]) -> String {
    let mut text = format!("{}: {}\n", card.name, card.title);
    if let Some(notes) = &card.notes {
        text += &format!("  {}\n", wrapped(notes, WIDTH - 2, 2));
    }
    let rows: Vec<Vec<String>> = PROPERTIES
        .iter()
        .map(|p| {
            let source = (p.pick)(card).map_or("not known", |d| d.source.as_str());
            let value = format!("{} {}", p.shown(card), p.unit);
            let value = if (p.pick)(card).is_some() { value } else { "-".to_owned() };
            vec![p.name.to_owned(), value.trim_end().to_owned(), source.to_owned()]
        })
        .collect();
    text += "\n";
    text += &aligned(&rows, &[Side::Left; 3]);
    if let Some(gap) = gap_of_moduli(card) {
        text += &format!("\n  {}\n", wrapped(&gap, WIDTH - 2, 2));
    }
    text += "\nEstimated here (marked ~)\n";
    if remarks.is_empty() {
        text += "  nothing: every value above is the card's own\n";
    }
    for remark in remarks {
        text += &format!("  {}\n", wrapped(&remark.text, WIDTH - 2, 2));
    }
    text += "\nThe rules\n";
    for rule in RULES {
        text += &format!("  - {}\n", wrapped(rule, WIDTH - 4, 4));
    }
    text += "\nWhat the values are\n";
    for p in PROPERTIES {
        let line = format!("{:<25}{}", p.name, p.meaning);
        text += &format!("  {}\n", wrapped(&line, WIDTH - 2, 27));
    }
    text += "\nWhich modulus bends a rib\n";
    for paragraph in MODULI {
        text += &format!("  {}\n", wrapped(paragraph, WIDTH - 2, 15));
    }
    text
}

/// What it means where a card's own two moduli are far apart.
fn gap_of_moduli(card: &Card) -> Option<String> {
    let flexural = card.flexural_modulus.as_ref()?;
    let tensile = &card.youngs_modulus;
    let gap = flexural.value / tensile.value - 1.0;
    (!tensile.estimated && gap.abs() > 0.1).then(|| {
        let side = if gap < 0.0 { "below" } else { "above" };
        let percent = 100.0 * gap.abs();
        format!(
            "The flexural modulus of this card is {percent:.0} % {side} the tensile one. Withy computes \
             with the tensile one; with the other, forces and energies would be {percent:.0} % {side}. A \
             pull test decides."
        )
    })
}

/// The cards as data; each property names its unit.
fn document(cards: &[(Card, Vec<Remark>)]) -> String {
    let cards: Vec<Value> = cards.iter().map(|(card, remarks)| data(card, remarks)).collect();
    let document = json!({ "format": "withy-materials/1", "cards": cards, "rules": RULES });
    format!("{document:#}\n")
}

fn data(card: &Card, remarks: &[Remark]) -> Value {
    let properties: serde_json::Map<String, Value> = PROPERTIES
        .iter()
        .map(|p| (p.key.to_owned(), (p.pick)(card).map_or(Value::Null, |d| property(p, d))))
        .collect();
    json!({
        "name": card.name,
        "title": card.title,
        "notes": card.notes,
        "properties": properties,
        "relaxation_terms": card.relaxation_terms,
        "remarks": remarks,
    })
}

fn property(described: &Described, datum: &Datum) -> Value {
    // Twelve digits: the factors of the units leave rounding in the last ones.
    let number = |v: f64| {
        let text = format!("{:.11e}", v * described.factor);
        text.parse::<f64>().unwrap_or(v * described.factor)
    };
    json!({
        "value": number(datum.value),
        "low": datum.low.map(number),
        "high": datum.high.map(number),
        "unit": described.unit,
        "source": datum.source,
        "estimated": datum.estimated,
    })
}

//! `withy schema`: the JSON Schemas of what people and programs write and read, made from the types.

use crate::args::{SchemaArgs, SchemaOf};
use crate::seek::description::SeekFile;
use crate::sweep::description::SweepFile;
use crate::{case, export};

/// The text asked for.
#[must_use]
pub fn schema(args: &SchemaArgs) -> String {
    of(args.what)
}

/// The schema of a file.
#[must_use]
pub fn of(what: SchemaOf) -> String {
    let schema = match what {
        SchemaOf::Part => case::schema()["part"].take(),
        SchemaOf::Card => case::schema()["card"].take(),
        SchemaOf::Summary => export::summary::schema(),
        SchemaOf::Compare => export::comparison::schema(),
        SchemaOf::Set => export::set::schema(),
        SchemaOf::Release => export::in_time::schema(),
        SchemaOf::Spread => export::spread::schema(),
        SchemaOf::Reconcile => export::reconciled::schema(),
        SchemaOf::Sweep => schemars::schema_for!(SweepFile).into(),
        SchemaOf::Seek => schemars::schema_for!(SeekFile).into(),
    };
    format!("{schema:#}\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::ValueEnum as _;

    #[test]
    fn every_schema_in_the_repository_is_the_one_of_the_types() {
        for (what, kept) in [
            (SchemaOf::Summary, include_str!("../../schema/summary.schema.json")),
            (SchemaOf::Compare, include_str!("../../schema/compare.schema.json")),
            (SchemaOf::Set, include_str!("../../schema/set.schema.json")),
            (SchemaOf::Release, include_str!("../../schema/release.schema.json")),
            (SchemaOf::Spread, include_str!("../../schema/spread.schema.json")),
            (SchemaOf::Reconcile, include_str!("../../schema/reconcile.schema.json")),
        ] {
            let made = of(what);
            let name = what.to_possible_value().unwrap();
            let name = name.get_name();
            assert!(
                kept == made,
                "cli/schema/{name}.schema.json is out of step; `withy schema {name}` prints it:\n{made}"
            );
        }
    }
}

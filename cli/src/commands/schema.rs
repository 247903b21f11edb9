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
        SchemaOf::Sweep => schemars::schema_for!(SweepFile).into(),
        SchemaOf::Seek => schemars::schema_for!(SeekFile).into(),
    };
    format!("{schema:#}\n")
}

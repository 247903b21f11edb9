//! 3MF: a zip archive of a model, its relation and its content types.
//!
//! After the "3D Manufacturing Format Core Specification", 3MF Consortium, from memory: namespaces, the
//! relation of the start part, `unit="millimeter"`, triangles counter-clockwise seen from outside.

use super::solid::Solid;
use crate::report::escape;
use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

const TYPES: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"#;

const RELATIONS: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"#;

/// The solid as the bytes of a 3MF file, named for people.
///
/// # Errors
/// The archive cannot be built.
pub fn threemf(title: &str, solid: &Solid) -> std::io::Result<Vec<u8>> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    // No time of day: the same part gives the same bytes.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::default());
    let files = [
        ("[Content_Types].xml", TYPES.to_owned()),
        ("_rels/.rels", RELATIONS.to_owned()),
        ("3D/3dmodel.model", model(title, solid)),
    ];
    for (name, text) in files {
        archive.start_file(name, options)?;
        archive.write_all(text.as_bytes())?;
    }
    Ok(archive.finish()?.into_inner())
}

fn model(title: &str, solid: &Solid) -> String {
    let title = escape(title);
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"millimeter\" xml:lang=\"en-US\" \
         xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n\
         <metadata name=\"Title\">{title}</metadata>\n<resources>\n\
         <object id=\"1\" type=\"model\" name=\"{title}\">\n<mesh>\n<vertices>\n"
    );
    for [x, y, z] in &solid.corners {
        let _ = writeln!(text, "<vertex x=\"{x:.6}\" y=\"{y:.6}\" z=\"{z:.6}\"/>");
    }
    text += "</vertices>\n<triangles>\n";
    for [a, b, c] in &solid.triangles {
        let _ = writeln!(text, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    }
    text += "</triangles>\n</mesh>\n</object>\n</resources>\n<build>\n<item objectid=\"1\"/>\n</build>\n</model>\n";
    text
}

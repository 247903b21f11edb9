//! Files for printing. What they hold is read back by other programs' libraries in `tests/readers`; here, that
//! they come, are closed surfaces, and are refused where they should be.

use super::desk::Desk;
use std::collections::BTreeMap;

/// Corners of the triangles of an STL file, as bits.
fn triangles(bytes: &[u8]) -> Vec<[[u32; 3]; 3]> {
    let count = u32::from_le_bytes(bytes[80..84].try_into().unwrap());
    let word = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
    let corner = |at: usize| [word(at), word(at + 4), word(at + 8)];
    assert_eq!(bytes.len(), 84 + 50 * count as usize, "50 bytes a triangle");
    let begin = |n: u32| 84 + 50 * n as usize + 12;
    (0..count).map(|n| [0, 12, 24].map(|corner_at| corner(begin(n) + corner_at))).collect()
}

/// Six times the volume of a closed surface, by the divergence theorem.
fn volume(triangles: &[[[u32; 3]; 3]]) -> f64 {
    let sum = triangles.iter().map(|t| {
        let [a, b, c] = t.map(|corner| corner.map(|bits| f64::from(f32::from_bits(bits))));
        a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0])
            + a[2] * (b[0] * c[1] - b[1] * c[0])
    });
    sum.sum::<f64>() / 6.0
}

#[test]
fn a_blade_with_a_hole_becomes_every_format_and_its_solid_is_closed() {
    let holed = "<rect x='10' y='20' width='80' height='4'/><circle cx='50' cy='22' r='1.2'/>";
    let desk = Desk::with(super::desk::PART, &super::desk::drawing(holed));
    let outcome = desk.withy("export", &["--tolerance", "0.001 mm"]);
    assert_eq!(outcome.status, Some(0), "{}", outcome.stderr);
    let files = [".withy-results", "blade.3mf", "blade.dxf", "blade.stl", "blade.svg"];
    assert_eq!(desk.names("blade-results"), files, "all formats");
    let bytes = std::fs::read(desk.path("blade-results/blade.stl")).unwrap();
    let triangles = triangles(&bytes);
    let mut edges: BTreeMap<([u32; 3], [u32; 3]), i32> = BTreeMap::new();
    for [a, b, c] in &triangles {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            assert!(from != to, "no edge without length");
            *edges.entry((*from, *to)).or_default() += 1;
        }
    }
    let closed = edges.iter().all(|((a, b), n)| *n == 1 && edges.get(&(*b, *a)) == Some(&1));
    assert!(closed, "every edge is met once each way");
    let exact = 6.0 * (80.0 * 4.0 - std::f64::consts::PI * 1.44);
    // Chords of a hole make it smaller: by two thirds of the tolerance along its border at most.
    let more = volume(&triangles) - exact;
    assert!(more > 0.0 && more < 6.0 * 0.001 * 7.6, "{more} mm3");
    // Its own drawings are read again.
    for drawing in ["blade.svg", "blade.dxf"] {
        let from = desk.path("blade-results").join(drawing);
        std::fs::copy(from, desk.path(drawing)).unwrap();
        let part = super::desk::PART.replace("blade.svg", drawing);
        desk.write("blade.toml", &part);
        let checked = desk.withy("check", &["--out", "checked"]);
        assert_eq!(checked.status, Some(0), "{drawing}: {}", checked.stderr);
        let words = "80.0 x 4.00 mm, 6.00 mm deep, 1 opening, 315 mm2";
        assert!(checked.stdout.contains(words), "{drawing}: {}", checked.stdout);
    }
}

#[test]
fn only_what_is_asked_for_is_written_and_the_bytes_are_the_same_every_time() {
    let desk = Desk::new();
    assert_eq!(desk.withy("export", &["--to", "3mf,stl", "--out", "a"]).status, Some(0), "two");
    assert_eq!(desk.names("a"), [".withy-results", "blade.3mf", "blade.stl"], "and no more");
    assert_eq!(desk.withy("export", &["--to", "3mf,stl", "--out", "b"]).status, Some(0), "again");
    for file in ["blade.3mf", "blade.stl"] {
        let [a, b] = ["a", "b"].map(|folder| std::fs::read(desk.path(folder).join(file)).unwrap());
        assert!(a == b, "{file}");
    }
    for bad in [["--to", "obj"], ["--tolerance", "0 mm"], ["--tolerance", "5 N"]] {
        assert_eq!(desk.withy("export", &bad).status, Some(2), "{bad:?}");
    }
}

//! Files spoilt at random: refused or read, never a panic, a hang, or a shape of no numbers.

use super::*;

const SVG: &str = include_str!("../../../demo-data/kicker/kicker.svg");
const DXF: &str = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
    0\nLWPOLYLINE\n8\npart\n90\n3\n70\n1\n10\n0\n20\n0\n42\n0.5\n10\n9\n20\n0\n10\n0\n20\n9\n\
    0\nARC\n8\nhole\n10\n2\n20\n2\n40\n1\n50\n0\n51\n180\n0\nLINE\n8\nhole\n10\n1\n20\n2\n11\n3\n21\n2\n\
    0\nSPLINE\n71\n2\n40\n0\n40\n0\n40\n0\n40\n1\n40\n1\n40\n1\n41\n1\n41\n2\n41\n1\n\
    10\n0\n20\n0\n10\n1\n20\n1\n10\n2\n20\n0\n0\nELLIPSE\n10\n0\n20\n0\n11\n3\n21\n0\n40\n0.5\n41\n0\n42\n3\n\
    0\nENDSEC\n0\nEOF\n";

/// Bytes that change the meaning of what they replace.
const SPOILERS: &[u8] = b"0123456789.-+eE \n\"<>/=MLHVCSQTAZmlhvcsqtaz,()#&";

fn spoilt(text: &str, next: &mut impl FnMut(usize) -> usize) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=next(4) {
        let at = next(bytes.len());
        match next(4) {
            0 => drop(bytes.remove(at)),
            1 => bytes.insert(at, SPOILERS[next(SPOILERS.len())]),
            2 => bytes[at] = SPOILERS[next(SPOILERS.len())],
            _ => {
                let end = (at + next(30)).min(bytes.len());
                let piece = bytes[at..end].to_vec();
                let to = next(bytes.len());
                bytes.splice(to..to, piece);
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

#[test]
fn spoilt_files_are_refused_or_read_as_finite_shapes() {
    // A linear congruential generator with a fixed seed.
    let mut state = 7_u64;
    let mut next = |below: usize| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(state >> 33).unwrap() % below.max(1)
    };
    let (mut read, mut refused) = (0, 0);
    for round in 0..6000 {
        let is_svg = round % 2 == 0;
        let text = spoilt(if is_svg { SVG } else { DXF }, &mut next);
        let source = Source::new(Path::new("spoilt"), text);
        let outcome = if is_svg { svg::read(&source) } else { dxf::read(&source) };
        match outcome.and_then(|drawing| drawing.loops(|_| true)) {
            Ok(loops) => {
                read += 1;
                for one in loops {
                    assert!(are_within_limits(&one.curves), "round {round}: {one:?}");
                    let ends = one.curves.iter().zip(one.curves.iter().cycle().skip(1));
                    let gap = ends.map(|(a, b)| a.end().distance(b.start()));
                    let largest = withy_mesh::number::largest(0.0, gap);
                    assert!(largest <= 1e-6, "round {round}: a gap of {largest} mm in {one:?}");
                }
            }
            Err(refusal) => {
                refused += 1;
                assert!(
                    refusal.mend().is_some() && !refusal.to_string().is_empty(),
                    "round {round}"
                );
            }
        }
    }
    assert!(read > 500 && refused > 500, "both happen: {read} read, {refused} refused");
}

#[test]
fn files_that_are_no_drawing_are_refused_before_they_are_read() {
    let directory = tempfile::tempdir().unwrap();
    let cause = |name: &str, bytes: u64| {
        let path = directory.path().join(name);
        std::fs::File::create(&path).unwrap().set_len(bytes).unwrap();
        match read(&path).unwrap_err().cause() {
            Cause::Drawing(cause) => cause.clone(),
            other => panic!("{other}"),
        }
    };
    assert!(
        matches!(cause("a.svg", 70_000_000), DrawingCause::TooLarge { .. }),
        "70 MB of nothing"
    );
    assert!(matches!(cause("a.pdf", 0), DrawingCause::UnknownKind { .. }), "another kind");
    assert!(matches!(cause("A.SVG", 0), DrawingCause::BadXml { .. }), "an extension in capitals");
    assert!(matches!(cause("a.dxf", 9), DrawingCause::NotDxf { .. }), "binary zeros");
    let missing = read(&directory.path().join("no.dxf")).unwrap_err();
    assert!(missing.to_string().contains("cannot be read"), "{missing}");
    let folder = directory.path().join("folder.svg");
    std::fs::create_dir(&folder).unwrap();
    assert!(read(&folder).is_err(), "a folder");
}

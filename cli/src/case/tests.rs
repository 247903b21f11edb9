//! Part files that mean something, and every way in which one may not.

use super::*;
use crate::drawing::DrawingCause;
use crate::error::Cause;
use std::fs;

const DRAWING: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='50mm' viewBox='0 0 100 50'>\n\
    <g id='part'><rect x='10' y='20' width='80' height='4'/></g>\n\
    <g id='regions'><rect id='root' x='10' y='20' width='5' height='4'/>\
    <rect id='tip' x='85' y='20' width='5' height='4'/><circle id='spare' cx='50' cy='22' r='1'/></g></svg>";

const PART: &str = "title = \"Blade\"\n[outline]\ndrawing = \"blade.svg\"\nthickness = \"6 mm\"\n\
    [material]\ncard = \"petg\"\n[[hold]]\nregion = \"root\"\n[[drive]]\nregion = \"tip\"\nmove = [0, \"-5 mm\"]\n";

fn read_with(part: &str, drawing: &str, overrides: &Overrides) -> Result<Case, Refusal> {
    let directory = tempfile::tempdir().unwrap();
    fs::write(directory.path().join("blade.svg"), drawing).unwrap();
    let path = directory.path().join("blade.toml");
    fs::write(&path, part).unwrap();
    read(&path, overrides)
}

fn read_part(part: &str) -> Result<Case, Refusal> {
    read_with(part, DRAWING, &Overrides::default())
}

/// The part file above with one text replaced by another.
fn changed(from: &str, to: &str) -> String {
    assert!(PART.contains(from), "the test's own text {from:?}");
    PART.replacen(from, to, 1)
}

/// The cause, and the text of the part file from the complaint's place on.
fn refused(part: &str) -> (CaseCause, String) {
    let refusal = read_part(part).unwrap_err();
    assert!(refusal.mend().is_some(), "a mend for {refusal}");
    let rest = refusal.line_column().map(|(line, column)| {
        let line = part.lines().nth(line - 1).unwrap_or_default();
        line.chars().skip(column - 1).collect::<String>()
    });
    match refusal.cause() {
        Cause::Case(cause) => (cause.clone(), rest.unwrap_or_default()),
        other => panic!("{other}"),
    }
}

#[test]
fn a_part_file_becomes_a_case() {
    let case = read_part(PART).unwrap();
    assert_eq!(case.title, "Blade", "its title");
    assert!((case.thickness - 6.0).abs() < 1e-15, "its thickness");
    assert_eq!(case.plane_state, PlaneChoice::Auto, "chosen later");
    assert_eq!((case.steps, case.accuracy.to_bits()), (20, 0.02f64.to_bits()), "the usual");
    assert_eq!(
        case.holds,
        [Hold { region: "root".into(), along: Held { x: true, y: true } }],
        "held"
    );
    let drive =
        Drive { region: "tip".into(), shift: [0.0, -5.0], turn: 0.0, free: Free::default() };
    assert_eq!(case.drives, [drive], "driven");
    assert_eq!(case.outline.loops().len(), 1, "the part alone");
    let names: Vec<_> = case.outline.regions().iter().map(|region| region.name.as_str()).collect();
    assert_eq!(names, ["root", "tip"], "regions in use");
    assert_eq!(case.page.map(|[w, h]| (w.round(), h.round())), Some((100.0, 50.0)), "the page");
    let said: Vec<_> = case.remarks.iter().map(|remark| remark.code).collect();
    assert_eq!(said, ["unused-shapes"], "the spare circle");
    assert_eq!(case.imperfection, None, "none asked for");
}

#[test]
fn everything_that_can_be_written_arrives() {
    let part = "[outline]\ndrawing = \"blade.svg\"\nthickness = 6\nfillet = \"0.4 mm\"\nstate = \"plane strain\"\n\
        [material]\ncard = \"petg\"\npoissons_ratio = 0.4\n\
        [regions]\nbox = { box = [\"50 mm\", 26, 40, 30] }\nround = { circle = [60, 28, 1] }\nunused = { circle = [1, 1, 1] }\n\
        [[hold]]\nregion = \"root\"\n[[hold]]\nregion = \"box\"\nalong = [\"y\"]\n\
        [[drive]]\nregion = \"tip\"\nturn = 10\nfree = [\"x\", \"y\"]\n\
        [[load]]\nregion = \"round\"\nforce = [\"1 lbf\", 0]\nmoment = \"1 N m\"\n\
        [solve]\nsteps = 7\naccuracy = \"5 %\"\n[imperfection]\namplitude = \"0.05 mm\"\n";
    let case = read_part(part).unwrap();
    assert_eq!(case.title, "blade.toml", "no title: its name");
    assert_eq!(case.plane_state, PlaneChoice::PlaneStrain, "as written");
    assert_eq!(case.holds[1].along, Held { x: false, y: true }, "a roller");
    assert!((case.drives[0].turn - 10f64.to_radians()).abs() < 1e-15, "degrees");
    assert_eq!(case.drives[0].free, Free { x: true, y: true, turn: false }, "free");
    assert!((case.loads[0].force[0] - 4.448_221_615_260_5).abs() < 1e-12, "pounds");
    assert!((case.loads[0].moment - 1000.0).abs() < 1e-12, "N m");
    assert_eq!((case.steps, case.imperfection), (7, Some(0.05)), "numbers");
    assert!(
        case.remarks.iter().any(|remark| remark.text.contains("'unused'")),
        "{:?}",
        case.remarks
    );
    let rectangle = case.outline.regions().iter().find(|region| region.name == "box").unwrap();
    let area: f64 = rectangle.loops[0].curves.iter().map(withy_mesh::Curve::doubled_area).sum();
    assert!((0.5 * area - 40.0).abs() < 1e-12, "corners in any order: {area}");
}

#[test]
fn without_a_part_group_every_shape_counts_that_no_region_names() {
    let drawing = DRAWING.replace("id='part'", "id='layer1'");
    let case = read_with(PART, &drawing, &Overrides::default()).unwrap();
    assert_eq!(case.outline.loops().len(), 2, "the blade and the spare circle, as an opening");
}

#[test]
fn a_layer_called_part_in_capitals_is_the_part() {
    let drawing = DRAWING.replace("id='part'", "id='Part'");
    let case = read_with(PART, &drawing, &Overrides::default()).unwrap();
    assert_eq!(case.outline.loops().len(), 1, "the spare circle is not an opening");
}

#[test]
fn the_command_line_has_the_last_word() {
    let overrides = Overrides {
        steps: Some(3),
        accuracy: Some(0.1),
        material: Some("abs".into()),
        ..Overrides::default()
    };
    let case = read_with(PART, DRAWING, &overrides).unwrap();
    assert_eq!((case.steps, case.material.name.as_str()), (3, "abs"), "overruled");
    let overrides = Overrides { steps: Some(0), ..Overrides::default() };
    let refusal = read_with(PART, DRAWING, &overrides).unwrap_err();
    assert!(refusal.to_string().contains("--steps is 0"), "and is checked: {refusal}");
    assert_eq!(refusal.line_column(), None, "the part file is not to blame");
}

#[test]
fn unknown_words_are_refused_with_the_nearest_known_one() {
    for (from, to, expected) in [
        ("thickness", "thicknes", Some("thickness")),
        ("[outline]", "[outlne]", Some("outline")),
        ("move =", "mvoe =", Some("move")),
        ("title =", "colour =", None),
    ] {
        let (cause, place) = refused(&changed(from, to));
        let CaseCause::UnknownWord { found, nearest, .. } = cause else { panic!("{cause:?}") };
        assert_eq!(nearest.as_deref(), expected, "{found}");
        assert!(place.starts_with(&found), "at {place}");
    }
    let (cause, place) = refused(&changed("move =", "free = [\"trun\"]\nmove ="));
    assert!(
        matches!(&cause, CaseCause::UnknownWord { nearest: Some(word), .. } if word == "turn"),
        "{cause:?}"
    );
    assert!(place.starts_with("\"trun\""), "at {place}");
}

#[test]
fn a_hold_needs_a_card_that_knows_what_is_lost() {
    let stages = "[[stage]]\ndraw = \"100 %\"\n[[stage]]\nhold = \"1 h\"\n";
    let own = PART.replace("card = \"petg\"", "youngs_modulus = 2000");
    assert_eq!(refused(&format!("{own}{stages}")).0, CaseCause::NoRelaxation);
    let (cause, _) = refused(&format!("{PART}[[stage]]\nhold = \"1 h\"\n"));
    assert!(matches!(cause, CaseCause::BadStage { .. }), "nothing is drawn yet: {cause:?}");
}

#[test]
fn missing_keys_are_asked_for() {
    for (from, to, key) in [
        ("thickness = \"6 mm\"\n", "", "thickness"),
        ("drawing = \"blade.svg\"\n", "", "drawing"),
        ("[material]\ncard = \"petg\"\n", "", "material"),
        ("region = \"tip\"\n", "", "region"),
    ] {
        assert_eq!(refused(&changed(from, to)).0, CaseCause::MissingKey { key: key.into() });
    }
}

#[test]
fn wrong_values_are_refused_where_they_stand() {
    for (from, to, place) in [
        ("\"6 mm\"", "\"5 N\"", "\"5 N\""),
        ("\"6 mm\"", "\"6\"", "\"6\""),
        ("\"6 mm\"", "\"6,5 mm\"", "\"6,5 mm\""),
        ("\"6 mm\"", "nan", "nan"),
        ("\"6 mm\"", "true", "true"),
        ("[0, \"-5 mm\"]", "[0]", "[0]"),
        ("[0, \"-5 mm\"]", "[0, \"-5 s\"]", "[0, \"-5 s\"]"),
        ("\"Blade\"", "\"Blade", "\"Blade"),
    ] {
        let (cause, rest) = refused(&changed(from, to));
        assert!(matches!(cause, CaseCause::BadToml { .. }), "{to}: {cause:?}");
        assert!(rest.starts_with(place) || place.ends_with(rest.as_str()), "{to}: at {rest:?}");
    }
}

#[test]
fn a_wrong_unit_is_mended_by_a_unit_and_a_wrong_text_by_quotes() {
    let mend = |to: &str| refused(&changed("\"6 mm\"", to)).0.mend().unwrap();
    for quantity in ["\"6 N\"", "nan", "\"1e400 mm\"", "\"6,5 mm\"", "\"mm\""] {
        assert!(mend(quantity).contains("unit"), "{quantity}: {}", mend(quantity));
    }
    assert!(mend("6 mm").contains("quotes"), "{}", mend("6 mm"));
}

#[test]
fn numbers_out_of_range_are_refused() {
    for (from, to) in [
        ("\"6 mm\"", "0"),
        ("\"6 mm\"", "\"-6 mm\""),
        ("\"6 mm\"", "\"11 m\""),
        ("[material]", "fillet = 0\n[material]"),
        ("[[hold]]", "[solve]\nsteps = 0\n[[hold]]"),
        ("[[hold]]", "[solve]\nsteps = 1001\n[[hold]]"),
        ("[[hold]]", "[solve]\nsteps = -3\n[[hold]]"),
        ("[[hold]]", "[solve]\naccuracy = 2\n[[hold]]"),
        ("[[hold]]", "[solve]\naccuracy = \"0.05 %\"\n[[hold]]"),
        ("[[hold]]", "[imperfection]\namplitude = 0\n[[hold]]"),
    ] {
        let (cause, place) = refused(&changed(from, to));
        assert!(matches!(cause, CaseCause::OutOfRange { .. }), "{to}: {cause:?}");
        assert!(to.contains(&place), "{to}: at {place}");
    }
}

#[test]
fn regions_must_be_known_and_defined_once() {
    let (cause, place) = refused(&changed("\"tip\"", "\"tpi\""));
    let CaseCause::UnknownRegion { nearest, known, .. } = cause else { panic!("{cause:?}") };
    assert_eq!(nearest.as_deref(), Some("tip"), "the nearest");
    assert!(
        known.iter().any(|name| name == "spare") && !known.iter().any(|name| name == "part"),
        "{known:?}"
    );
    assert_eq!(place, "\"tpi\"", "at the name");
    let regions = |text: &str| changed("[[hold]]", &format!("[regions]\n{text}\n[[hold]]"));
    let (cause, place) = refused(&regions("tip = { circle = [1, 2, 3] }"));
    assert_eq!(cause, CaseCause::RegionTwice { name: "tip".into() });
    assert!(place.starts_with("tip ="), "at {place}");
    assert_eq!(refused(&regions("part = { circle = [1, 2, 3] }")).0, CaseCause::PartAsRegion);
    assert_eq!(refused(&changed("\"tip\"", "\"part\"")).0, CaseCause::PartAsRegion);
    for text in [
        "a = { circle = [1, 2, 0] }",
        "a = { box = [1, 2, 1, 3] }",
        "a = { }",
        "a = { circle = [1, 2, 3], box = [1, 2, 3, 4] }",
        "a = { circle = [1e9, 0, 1] }",
    ] {
        assert!(matches!(refused(&regions(text)).0, CaseCause::BadRegion { .. }), "{text}");
    }
    let twice = "a = { circle = [1, 2, 3] }\na = { circle = [1, 2, 4] }";
    assert!(matches!(refused(&regions(twice)).0, CaseCause::BadToml { .. }), "one key twice");
}

#[test]
fn contradictions_are_refused() {
    let with = |text: &str| format!("{PART}{text}");
    let conflict = |text: &str| {
        let (cause, _) = refused(&with(text));
        let CaseCause::Conflict { first, second, .. } = cause else { panic!("{text}: {cause:?}") };
        (first, second)
    };
    assert_eq!(conflict("[[hold]]\nregion = \"tip\"\n"), ("held", "driven"));
    assert_eq!(conflict("[[hold]]\nregion = \"root\"\n"), ("held", "listed so twice"));
    assert_eq!(conflict("[[drive]]\nregion = \"tip\"\nturn = 1\n"), ("driven", "listed so twice"));
    assert_eq!(conflict("[[load]]\nregion = \"tip\"\nforce = [1, 0]\n"), ("driven", "loaded"));
    assert_eq!(conflict("[[load]]\nregion = \"root\"\nforce = [1, 0]\n"), ("held", "loaded"));
    let roller = |load: &str| {
        changed("\"root\"", "\"root\"\nalong = [\"x\"]") + "[[load]]\nregion = \"root\"\n" + load
    };
    assert!(
        read_part(&roller("force = [0, 1]\n")).is_ok(),
        "a load along a direction that is not held"
    );
    assert!(
        matches!(refused(&roller("force = [1, 0]\n")).0, CaseCause::Conflict { .. }),
        "along one that is"
    );
}

#[test]
fn drives_and_loads_of_nothing_are_refused() {
    let zero = CaseCause::ZeroDrive { name: "tip".into() };
    assert_eq!(refused(&changed("[0, \"-5 mm\"]", "[0, 0]")).0, zero);
    assert_eq!(refused(&changed("move = [0, \"-5 mm\"]\n", "")).0, zero);
    assert_eq!(
        refused(&changed("[0, \"-5 mm\"]", "[0, 0]\nfree = [\"x\", \"y\", \"turn\"]")).0,
        zero
    );
    let load = format!("{PART}[[load]]\nregion = \"spare\"\n");
    assert_eq!(refused(&load).0, CaseCause::ZeroLoad { name: "spare".into() });
    assert_eq!(refused(&changed("[[hold]]\nregion = \"root\"\n", "")).0, CaseCause::NoHold);
    let still = changed("[[drive]]\nregion = \"tip\"\nmove = [0, \"-5 mm\"]\n", "");
    assert_eq!(refused(&still).0, CaseCause::NothingActs);
}

#[test]
fn directions_are_named_once_and_not_both_free_and_moved() {
    let (cause, place) = refused(&changed("[0, \"-5 mm\"]", "[0, \"-5 mm\"]\nfree = [\"y\"]"));
    assert_eq!(cause, CaseCause::FreeAndMoved { name: "tip".into(), direction: "y" });
    assert!(place.starts_with("[0, \"-5 mm\"]"), "at {place}");
    assert!(
        read_part(&changed("[0, \"-5 mm\"]", "[0, \"-5 mm\"]\nfree = [\"x\", \"turn\"]")).is_ok(),
        "others may be"
    );
    for (from, to) in [
        ("\"root\"", "\"root\"\nalong = [\"x\", \"x\"]"),
        ("\"root\"", "\"root\"\nalong = []"),
        ("[0, \"-5 mm\"]", "[0, \"-5 mm\"]\nfree = [\"x\", \"x\"]"),
    ] {
        assert!(matches!(refused(&changed(from, to)).0, CaseCause::BadDirections { .. }), "{to}");
    }
}

#[test]
fn a_missing_drawing_is_the_part_files_mistake() {
    for (name, kind) in [("no.svg", "read"), ("blade.pdf", "pdf"), ("blade", "extension")] {
        let refusal = read_part(&changed("blade.svg", name)).unwrap_err();
        assert!(refusal.file().ends_with("blade.toml"), "{refusal}");
        assert_eq!(refusal.line_column(), Some((3, 11)), "{refusal}");
        assert!(refusal.to_string().contains(kind), "{refusal}");
    }
    let refusal = read(Path::new("no/such.toml"), &Overrides::default()).unwrap_err();
    assert!(matches!(refusal.cause(), Cause::Case(CaseCause::Unreadable { .. })), "{refusal}");
}

#[test]
fn an_outline_of_too_many_pieces_is_refused_before_it_is_meshed() {
    let steps = "l0.0001 0.00001 l0.0001 -0.00001 ".repeat(50_000);
    let path = format!("<path d='M10 20 {steps} H90 V24 H10 Z'/>");
    let drawing =
        DRAWING.replace("<rect x='10' y='20' width='80' height='4'/></g>\n", &(path + "</g>"));
    let refusal = read_with(PART, &drawing, &Overrides::default()).unwrap_err();
    let Cause::Case(cause) = refusal.cause() else { panic!("{refusal}") };
    assert!(matches!(cause, CaseCause::TooManyPieces { pieces: 100_004, .. }), "{cause}");
}

#[test]
fn a_broken_drawing_is_the_drawings_mistake() {
    let open = DRAWING.replace("</g>\n", "<path d='M0 0 L9 9'/></g>\n");
    let refusal = read_with(PART, &open, &Overrides::default()).unwrap_err();
    assert!(matches!(refusal.cause(), Cause::Drawing(DrawingCause::Open { .. })), "{refusal}");
    assert!(
        refusal.file().ends_with("blade.svg") && refusal.line_column().is_some_and(|p| p.0 == 2),
        "{refusal}"
    );
    let empty = "<svg xmlns='http://www.w3.org/2000/svg'><rect id='root' width='1' height='1'/><rect id='tip' width='1' height='1'/></svg>";
    let refusal = read_with(PART, empty, &Overrides::default()).unwrap_err();
    assert!(matches!(refusal.cause(), Cause::Case(CaseCause::NoPart)), "{refusal}");
}

#[test]
fn a_complaint_shows_the_line_and_the_mend() {
    let refusal = read_part(&changed("thickness", "thicknes")).unwrap_err();
    let mut shown = String::new();
    let handler =
        miette::GraphicalReportHandler::new_themed(miette::GraphicalTheme::unicode_nocolor());
    handler.render_report(&mut shown, &refusal).unwrap();
    for expected in ["blade.toml:4:1", "thicknes = \"6 mm\"", "did you mean 'thickness'?"] {
        assert!(shown.contains(expected), "{expected} in\n{shown}");
    }
}

#[test]
fn the_schema_knows_the_keys_and_nothing_that_has_to_wait() {
    let schema = schema();
    let part = &schema["part"];
    let keys = part["properties"].as_object().unwrap();
    assert_eq!(part["additionalProperties"], false, "unknown keys are refused");
    let names: Vec<_> = keys.keys().map(String::as_str).collect();
    let expected = [
        "clip",
        "drive",
        "guidance",
        "hand",
        "hold",
        "imperfection",
        "launch",
        "leaf",
        "load",
        "material",
        "outline",
        "pin",
        "printer",
        "rail",
        "regions",
        "solve",
        "stage",
        "spring",
        "title",
    ];
    assert_eq!(names.len(), expected.len(), "{names:?}");
    assert!(expected.iter().all(|name| names.contains(name)), "{names:?}");
    let text = schema.to_string();
    assert!(
        text.contains("plane stress") && text.contains("accepted: mm, cm"),
        "units and words: {text}"
    );
    assert_eq!(schema["card"]["properties"].as_object().unwrap().len(), 25, "a card's keys");
}

#[test]
fn the_demo_part_is_read_as_it_was_drawn() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-data/kicker/kicker.toml");
    let case = read(&path, &Overrides::default()).unwrap();
    assert!(case.remarks.is_empty(), "nothing is assumed: {:?}", case.remarks);
    let launch = case.launch.as_ref().unwrap();
    assert_eq!((launch.region.as_str(), launch.limits.len()), ("grip", 0), "it throws: {launch:?}");
    let loops = case.outline.loops();
    assert_eq!(loops.len(), 13, "the border, eleven windows between twelve ribs, the finger pull");
    let curves = || loops.iter().flat_map(|one| &one.curves);
    let bounds = curves().map(withy_mesh::Curve::bounds).reduce(|a, b| a.union(b)).unwrap();
    assert!(
        (bounds.width() - 100.0).abs() < 1e-9 && (bounds.height() - 80.0).abs() < 1e-9,
        "{bounds:?}"
    );
    let radii = curves().filter_map(|curve| match curve {
        withy_mesh::Curve::Arc(arc) => Some(arc.radius),
        _ => None,
    });
    let roots = radii.filter(|radius| (radius - 1.6).abs() < 1e-3).count();
    assert!(roots >= 48, "every rib has four rounded roots: {roots}");
}

#[test]
fn part_files_that_are_none_are_refused() {
    let deep = format!("title = {}", "[".repeat(100_000));
    assert!(matches!(refused(&deep).0, CaseCause::BadToml { .. }), "nested without end");
    assert!(matches!(refused("").0, CaseCause::MissingKey { .. }), "an empty file");
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("part.toml");
    for bytes in [vec![0xff, 0xfe, 0x00], vec![b'#'; 2_000_000]] {
        fs::write(&path, bytes).unwrap();
        let refusal = read(&path, &Overrides::default()).unwrap_err();
        assert!(matches!(refusal.cause(), Cause::Case(CaseCause::Unreadable { .. })), "{refusal}");
    }
    fs::write(&path, PART.replace('\n', "\r\n").replacen("title", "\u{feff}title", 1)).unwrap();
    fs::write(directory.path().join("blade.svg"), DRAWING).unwrap();
    assert!(
        read(&path, &Overrides::default()).is_ok(),
        "line ends and marks of other systems do no harm"
    );
}

#[test]
fn a_launch_arrives_in_the_units_used_inside() {
    let text = "[launch]\nmass = \"0.005 kg\"\nregion = \"tip\"\ntip_diameter = \"1.6 cm\"\nlosses = \"15 %\"\n\
        friction = 0.4\nstop = \"1 mm\"\n[[launch.limit]]\nname = \"ours\"\nenergy = \"0.08 J\"\n\
        energy_per_area = 1600\nsource = \"house rule\"\n";
    let case = read_part(&format!("{PART}{text}")).unwrap();
    let launch = case.launch.unwrap();
    let close = |a: f64, b: f64| (a - b).abs() < 1e-12;
    assert!(
        close(launch.mass, 5.0) && launch.tip_diameter.is_some_and(|d| close(d, 16.0)),
        "{launch:?}"
    );
    assert!(
        close(launch.losses, 0.15) && close(launch.friction, 0.4) && close(launch.stop, 1.0),
        "{launch:?}"
    );
    let limit = &launch.limits[0];
    assert!(limit.energy.is_some_and(|e| close(e, 80.0)), "80 mJ: {limit:?}");
    assert!(limit.energy_per_area.is_some_and(|e| close(e, 1.6)), "1600 J/m2 in mJ/mm2: {limit:?}");
    assert!(case.remarks.iter().all(|r| r.code != "no-losses"), "losses are given");
    let plain = format!("{PART}[launch]\nmass = 5\nregion = \"tip\"\n");
    let case = read_part(&plain).unwrap();
    assert!(case.remarks.iter().any(|r| r.code == "no-losses"), "said: {:?}", case.remarks);
}

#[test]
fn a_launch_that_cannot_be_is_refused_at_its_place() {
    let with = |text: &str| refused(&format!("{PART}[launch]\n{text}\n"));
    for (text, place) in [
        ("mass = 0\nregion = \"tip\"", "0"),
        ("mass = -1\nregion = \"tip\"", "-1"),
        ("mass = \"11 kg\"\nregion = \"tip\"", "\"11 kg\""),
        ("mass = 5\nregion = \"tip\"\nlosses = \"100 %\"", "\"100 %\""),
        ("mass = 5\nregion = \"tip\"\nlosses = -0.1", "-0.1"),
        ("mass = 5\nregion = \"tip\"\nfriction = \"-1 N\"", "\"-1 N\""),
        ("mass = 5\nregion = \"tip\"\nstop = \"5 mm\"", "\"5 mm\""),
        ("mass = 5\nregion = \"tip\"\ntip_diameter = 0", "0"),
    ] {
        let (cause, rest) = with(text);
        assert!(matches!(cause, CaseCause::OutOfRange { .. }), "{text}: {cause:?}");
        assert!(rest.starts_with(place), "{text}: at {rest}");
    }
    let (cause, rest) = with("mass = 5\nregion = \"root\"");
    assert!(
        matches!(cause, CaseCause::BadLaunch { .. }) && rest.starts_with("\"root\""),
        "{cause:?}"
    );
    let (cause, _) = with("mass = 5");
    assert!(matches!(&cause, CaseCause::MissingKey { key } if key == "region"), "{cause:?}");
    let turned = changed("move = [0, \"-5 mm\"]", "turn = 10");
    let (cause, _) = refused(&format!("{turned}[launch]\nmass = 5\nregion = \"tip\"\n"));
    assert!(
        matches!(&cause, CaseCause::BadLaunch { why, .. } if why.contains("turns")),
        "{cause:?}"
    );
    let loaded = format!("{PART}[[load]]\nregion = \"spare\"\nforce = [1, 0]\n");
    let (cause, _) = refused(&format!("{loaded}[launch]\nmass = 5\nregion = \"tip\"\n"));
    assert!(
        matches!(&cause, CaseCause::BadLaunch { why, .. } if why.contains("load")),
        "{cause:?}"
    );
    let light = changed("card = \"petg\"", "youngs_modulus = 2000\npoissons_ratio = 0.4");
    let (cause, _) = refused(&format!("{light}[launch]\nmass = 5\nregion = \"tip\"\n"));
    assert_eq!(cause, CaseCause::NoDensity, "a mass is needed");
}

#[test]
fn a_limit_that_says_nothing_is_refused_at_its_place() {
    let head = "mass = 5\nregion = \"tip\"\n[[launch.limit]]\nname = \"ours\"\n";
    let with = |text: &str| refused(&format!("{PART}[launch]\n{head}{text}\n"));
    for (text, words) in [
        ("source = \"a law\"", "limits nothing"),
        ("source = \"a law\"\nenergy = 0", "above zero"),
        ("source = \"a law\"\nenergy_per_area = 1600", "diameter is not given"),
        ("source = \" \"\nenergy = 80", "where it is written"),
    ] {
        let (cause, _) = with(text);
        assert!(
            matches!(&cause, CaseCause::BadLimit { why, .. } if why.contains(words)),
            "{cause:?}"
        );
    }
    let (cause, _) = with("energy = 80");
    assert!(matches!(&cause, CaseCause::MissingKey { key } if key == "source"), "{cause:?}");
    let (cause, _) = with("source = \"a law\"\nenergy = \"80 N\"");
    assert!(matches!(&cause, CaseCause::BadToml { why } if why.contains("an energy")), "{cause:?}");
}

#[test]
fn a_hand_is_read_and_refused_where_it_would_be_compared_with_nothing() {
    let with = |hand: &str| format!("{PART}[hand]\n{hand}");
    let hand = read_part(&with("force = \"60 N\"\n")).unwrap().hand.unwrap();
    assert_eq!(hand, Hand { force: Some(60.0), moment: None });
    assert_eq!(read_part(PART).unwrap().hand, None);
    assert_eq!(refused(&with("")).0, CaseCause::EmptyHand);
    for wrong in ["force = 0\n", "force = \"-5 N\"\n", "moment = 0\n"] {
        assert!(matches!(refused(&with(wrong)).0, CaseCause::OutOfRange { .. }), "{wrong}");
    }
    let (cause, place) = refused(&with("moment = \"300 N mm\"\n"));
    assert!(matches!(cause, CaseCause::IdleHand { what: "moment", .. }), "{cause:?}");
    assert!(place.starts_with("\"300 N mm\""), "at {place}");
    let turned = changed("move = [0, \"-5 mm\"]", "turn = \"10 deg\"");
    let (cause, _) = refused(&format!("{turned}[hand]\nforce = \"60 N\"\n"));
    assert!(matches!(cause, CaseCause::IdleHand { what: "force", .. }), "{cause:?}");
    let case = read_part(&format!("{turned}[hand]\nmoment = \"300 N mm\"\n")).unwrap();
    assert_eq!(case.hand, Some(Hand { force: None, moment: Some(300.0) }));
}

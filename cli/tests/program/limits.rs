//! How far a part may be drawn, as a person reads it: in the verdict, the summary, the pictures, the exit
//! status.

use super::desk::{BLADE, Desk, PART, drawing};
use super::schema::misfits;

#[test]
fn a_pull_beyond_the_hand_is_told_with_its_draw_and_its_force() {
    let desk = Desk::new();
    assert_eq!(desk.solve(&["--strict"]).status, Some(0), "without a hand there is no limit");
    let full = desk.summary()["steps"][3]["reaction_N"]["tip"][1].as_f64().unwrap().abs();
    let hand = 0.4 * full;
    desk.write("blade.toml", &format!("{PART}[hand]\nforce = \"{hand:.4} N\"\n"));
    let outcome = desk.solve(&["--strict"]);
    assert_eq!(outcome.status, Some(1), "{}", outcome.stdout);
    assert!(outcome.stdout.contains("tip needs more than the hand gives"), "{}", outcome.stdout);
    let summary = desk.summary();
    assert_eq!(misfits("summary", &summary), Vec::<String>::new(), "its schema");
    let limit = &summary["limits"][0];
    assert_eq!((&limit["code"], &limit["region"]), (&"hand".into(), &"tip".into()), "{limit}");
    assert!(limit["governs"] == true && limit["confirmed"] == true, "{limit}");
    let number = |key: &str| limit[key].as_f64().unwrap();
    assert!((number("value") - hand).abs() < 1e-3 * hand, "solved there: {limit}");
    assert!(number("fraction") > 0.4 && number("fraction") < 0.7, "{limit}");
    assert!((number("travel") - 5.0 * number("fraction")).abs() < 1e-9, "of 5 mm: {limit}");
}

/// The blade with a slit of 1 mm along it, open at its tip, whose halves are pressed together.
#[test]
fn a_part_that_runs_into_itself_is_an_error_everywhere() {
    let slit = "<path d='M 10 18 H 90 V 21.5 H 25 A 0.5 0.5 0 0 0 25 22.5 H 90 V 26 H 10 Z'/>";
    let page =
        drawing(slit).replace("<rect id='tip' x='85' y='20' width='5' height='4'/>", "").replace(
            "</g></svg>",
            "<rect id='up' x='85' y='18' width='5' height='3.5'/>\
            <rect id='down' x='85' y='22.5' width='5' height='3.5'/></g></svg>",
        );
    let part = PART.replace("region = \"tip\"", "region = \"up\"").replace("-5 mm", "-0.6 mm");
    let part = format!("{part}[[drive]]\nregion = \"down\"\nmove = [0, 0.6]\n");
    // Two halves that are driven cannot give way to each other: the solve ends where they meet.
    let pushed = Desk::with(&part, &page).solve(&[]);
    assert_eq!(pushed.status, Some(3), "{}{}", pushed.stdout, pushed.stderr);
    assert!(pushed.stdout.contains("are driven into each other"), "{}", pushed.stdout);
    // Where they may run through each other, that is an error.
    let desk = Desk::with(&part.replace("steps = 4", "steps = 4\ncontact = false"), &page);
    let outcome = desk.solve(&[]);
    assert_eq!(outcome.status, Some(0), "{}{}", outcome.stdout, outcome.stderr);
    assert!(outcome.stdout.contains("ERROR: touches itself near"), "{}", outcome.stdout);
    assert!(
        outcome.stdout.contains("0.50 mm (83 % of the draw), then it touches itself"),
        "{}",
        outcome.stdout
    );
    assert!(outcome.said().contains("error: from 83.3 % of the draw on"), "{}", outcome.said());
    for picture in ["shape.svg", "stress.svg"] {
        let text = desk.read(&format!("blade-results/{picture}"));
        assert!(text.contains("runs into itself"), "{picture} marks the place");
    }
    let summary = desk.summary();
    assert_eq!(misfits("summary", &summary), Vec::<String>::new(), "its schema");
    let limit = &summary["limits"][0];
    assert_eq!(limit["code"], "touch", "{limit}");
    assert!((limit["fraction"].as_f64().unwrap() - 1.0 / 1.2).abs() < 2e-4, "{limit}");
    let x = limit["place_mm"][0].as_f64().unwrap();
    assert!((84.9..=90.1).contains(&x), "between the pressed half and the other: {limit}");
    let gap = summary["steps"][2]["smallest_gap_mm"].as_f64().unwrap();
    assert!((gap - 0.1).abs() < 1e-9, "1 mm less three quarters of 1.2 mm: {gap}");
    assert_eq!(desk.solve(&["--strict"]).status, Some(1), "and no pass");
}

#[test]
fn what_the_part_pushes_is_drawn_and_told() {
    let pin = "[[pin]]\nname = \"post\"\nat = [60, 24]\nradius = 1.5\n";
    let part = PART.replace("-5 mm", "-2 mm");
    let desk = Desk::with(&format!("{part}{pin}"), &drawing(BLADE));
    let outcome = desk.solve(&["--strict"]);
    assert_eq!(outcome.status, Some(0), "a pin is no limit: {}{}", outcome.stdout, outcome.stderr);
    assert!(outcome.stdout.contains("pushes post"), "{}", outcome.stdout);
    let number =
        |text: &str| text.split("post with ").nth(1).unwrap().split(' ').next().map(str::to_owned);
    let shape = number(&desk.read("blade-results/shape.svg"));
    for file in ["stress.svg", "report.html"] {
        let text = desk.read(&format!("blade-results/{file}"));
        assert_eq!(number(&text), shape, "{file}: one force");
    }
    assert!(outcome.stdout.contains(&format!("with {} N", shape.unwrap())), "{}", outcome.stdout);
    let report = desk.read("blade-results/report.html");
    assert!(report.contains("What it runs into"), "a section of its own");
    let free = Desk::new();
    assert_eq!(free.solve(&[]).status, Some(0), "without a pin");
    assert!(!free.read("blade-results/report.html").contains("What it runs into"), "no section");
}

#[test]
fn the_stiffness_is_told_at_a_point_of_the_users_too() {
    let desk =
        Desk::with(&format!("{PART}[guidance]\nat = [\"87.5 mm\", \"40 mm\"]\n"), &drawing(BLADE));
    let outcome = desk.solve(&[]);
    assert_eq!(outcome.status, Some(0), "{}{}", outcome.stdout, outcome.stderr);
    assert!(outcome.stdout.contains("at (87.5, 40.0) mm"), "{}", outcome.stdout);
    let summary = desk.summary();
    assert_eq!(misfits("summary", &summary), Vec::<String>::new(), "its schema");
    let number = |place: &str| {
        summary["steps"][0]["guidance"]["tip"].pointer(place).unwrap().as_f64().unwrap()
    };
    // The tip's centroid is (87.5, 28), y up on a page of 50 mm: the point is 12 mm above it, along
    // the draw, so that a turn about it moves the centroid by 12 mm a rad across. The tip is driven
    // and does not turn.
    let radian = 1f64.to_radians();
    let force = summary["steps"][0]["reaction_N"]["tip"].clone();
    let (lateral, coupling) = (number("/lateral_N_per_mm"), number("/coupling_N"));
    // Across is to the left of a draw down: along +x. r = (0, 12), so S_tt gains 24 c + 144 k + 12 F_y.
    let expected = number("/yaw_Nmm_per_deg")
        + radian * (24.0 * coupling + 144.0 * lateral + 12.0 * force[1].as_f64().unwrap());
    let got = number("/at_point/yaw_Nmm_per_deg");
    assert!((got / expected - 1.0).abs() < 1e-6, "{got} {expected}");
    assert!(
        (number("/at_point/lateral_N_per_mm") / lateral - 1.0).abs() < 1e-9,
        "a shift is a shift"
    );
}

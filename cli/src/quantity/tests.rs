//! Units, defaults, and what is refused.

use super::*;

fn value<D: Dimension>(text: &str) -> f64 {
    text.parse::<Quantity<D>>().unwrap().value()
}

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-12 * expected.abs(), "{found}, expected {expected}");
}

#[test]
fn every_unit_has_its_factor() {
    close(value::<LengthKind>("28 mm"), 28.0);
    close(value::<LengthKind>("1.1in"), 27.94);
    close(value::<LengthKind>("-40 thou"), -1.016);
    close(value::<LengthKind>("3 µm"), 0.003);
    close(value::<LengthKind>("1e-2 m"), 10.0);
    close(value::<StressKind>("2.1 GPa"), 2100.0);
    close(value::<StressKind>("50 N/mm²"), 50.0);
    close(value::<StressKind>("1 ksi"), 6.894_757_293_168_361);
    close(value::<StressKind>("101.325 kPa"), 0.101_325);
    close(value::<ForceKind>("40 lbf"), 177.928_864_610_42);
    close(value::<ForceKind>("1 kgf"), 9.806_65);
    close(value::<ForceKind>("16 ozf"), 4.448_221_615_260_5);
    close(value::<ForceKind>("100 gf"), 0.980_665);
    close(value::<MomentKind>("30 N·mm"), 30.0);
    close(value::<MomentKind>("0.2 Nm"), 200.0);
    close(value::<EnergyKind>("0.5 J"), 500.0);
    close(value::<EnergyKind>("7 N mm"), 7.0);
    close(value::<AngleKind>("180°"), std::f64::consts::PI);
    close(value::<AngleKind>("0.5 turn"), std::f64::consts::PI);
    close(value::<RatioKind>("2 %"), 0.02);
    close(value::<RatioKind>("0.38"), 0.38);
    close(value::<DensityKind>("1270 kg/m3"), value::<DensityKind>("1.27 g/cm^3"));
    close(value::<SpeedKind>("26 ft/s"), 7.9248);
    close(value::<TimeKind>("1 h"), value::<TimeKind>("60 min"));
    close(value::<TimeKind>("1 d"), value::<TimeKind>("86400 s"));
    close(value::<MassKind>("1 lb"), value::<MassKind>("16 oz"));
    close(value::<MassKind>("5 kg"), value::<MassKind>("5e6 mg"));
}

#[test]
fn a_unit_of_another_kind_is_named_and_the_right_ones_listed() {
    let error = "5 N".parse::<Length>().unwrap_err().to_string();
    assert!(error.contains("expected a length") && error.contains("which is a force"), "{error}");
    assert!(error.contains("mm, cm, m, um, in, ft, thou"), "{error}");
    let error = "5 furlong".parse::<Length>().unwrap_err().to_string();
    assert!(error.contains("no unit 'furlong'"), "{error}");
    let error = "5 mpa".parse::<Stress>().unwrap_err().to_string();
    assert!(error.contains("MPa"), "{error}");
}

#[test]
fn what_is_no_number_is_refused() {
    for text in
        ["", "mm", "NaN mm", "inf", "-inf mm", "1e400 mm", "--3 mm", "e5 mm", ".", "1..2 mm"]
    {
        assert!(text.parse::<Length>().is_err(), "{text:?} is refused");
    }
    assert!(
        matches!("28".parse::<Length>(), Err(QuantityError::NoUnit { .. })),
        "a text needs its unit"
    );
    assert!(Length::of_bare(f64::NAN).is_err(), "a bare nan");
    assert!(Length::of_bare(f64::INFINITY).is_err(), "a bare inf");
}

#[test]
fn a_decimal_comma_is_pointed_out() {
    let error = "1,5 mm".parse::<Length>().unwrap_err().to_string();
    assert!(error.contains("\"1.5 mm\""), "{error}");
}

#[test]
fn bare_numbers_have_the_default_unit() {
    #[derive(Debug, serde::Deserialize)]
    struct Bare {
        length: Length,
        angle: Angle,
        density: Density,
    }
    let bare: Bare = toml::from_str("length = 28\nangle = 180.0\ndensity = 1.27").unwrap();
    close(bare.length.value(), 28.0);
    close(bare.angle.value(), std::f64::consts::PI);
    close(bare.density.value(), 1.27e-3);
    let error = toml::from_str::<Bare>("length = 28\nangle = true\ndensity = 1.27").unwrap_err();
    assert!(error.message().contains("an angle, such as \"10 deg\""), "{error}");
    assert_eq!(error.span(), Some(20..24), "the place of the value");
}

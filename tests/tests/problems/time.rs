//! What time does: the standard linear solid in closed form, a power law by inverse Laplace transforms
//! (`reference/make.py`), the definition of the creep modulus, and a line of lives by hand.

use withy_solver::endurance::{Cycle, StrainLife};
use withy_solver::relaxation::{Relaxation, Term};
use withy_tests::compare;
use withy_tests::reference::{exact, number, rows};

/// E_inf 1000 MPa beside a Maxwell arm of 500 MPa and 10 s.
fn solid() -> Relaxation {
    Relaxation::Terms(vec![Term { share: 500.0 / 1500.0, time: 10.0 }])
}

#[test]
fn a_standard_linear_solid_relaxes_and_creeps() {
    // Stress at a strain of 1 %: 10 + 5 exp(-t/10) MPa; five digits are given for each time.
    for (t, stress) in [(1.0, 14.524_19), (5.0, 13.032_65), (30.0, 10.248_94), (100.0, 10.000_23)] {
        let found = 1500.0 * 0.01 * solid().left(t);
        compare::relative(&format!("relaxation, {t} s: stress (MPa)"), stress, found, 1e-6);
    }
    // Strain at 10 MPa: retarded with 10 (1000 + 500) / 1000 = 15 s. Second order in steps of 4 % of the time: 3e-6.
    for (t, strain) in [(1.0, 6.881_643e-3), (10.0, 8.288_61e-3), (100.0, 9.995_758e-3)] {
        let found = 10.0 / 1500.0 * solid().creep(t);
        compare::relative(&format!("creep, {t} s: strain"), strain, found, 1e-5);
    }
    // ISO 899-1: creep modulus is stress by strain; for ever it is E_inf.
    let modulus = 1500.0 / solid().creep(1e4);
    compare::relative("creep modulus after all (MPa)", 1000.0, modulus, 1e-4);
}

/// Second order in steps of 4 % of the time: 1e-5 of the draw, of which little is left when it has rested long.
#[test]
fn a_power_law_creeps_and_recovers_as_laplace_s_transform_says() {
    for row in rows(&exact()["relaxing"]) {
        let of = |key: &str| number(row, key);
        let (held, waited) = (of("held"), of("waited"));
        let law = Relaxation::PowerLaw { exponent: of("exponent"), since: 1.0 };
        let what = |w: &str| format!("(1 + t)^-{}, held {held}: {w}", of("exponent"));
        compare::relative(&what("left"), of("left"), law.left(held), 1e-9);
        compare::relative(&what("creep"), of("creep"), law.creep(held), 2e-5);
        let rest = law.rest(held, waited);
        compare::relative(&what(&format!("rest {waited} later")), of("rest"), rest, 1e-3);
    }
}

#[test]
fn a_line_of_lives_is_basquin_s() {
    // 2 % borne 1000 times and 1 % borne a million times, by hand: b = log 2 / log 1000 = 0.10034; so
    // sqrt 2 % is borne sqrt(1e3 1e6) = 31 623 times.
    let line = StrainLife::through([1e3, 0.02], [1e6, 0.01]).unwrap();
    compare::relative("exponent of the line", 0.100_343, line.exponent, 1e-5);
    let middle = Cycle::drawn(0.01 * 2f64.sqrt(), 0.0);
    compare::relative("draws between", 31_622.776_6, line.draws(middle), 1e-8);
}

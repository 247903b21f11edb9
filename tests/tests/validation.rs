//! Withy against the outside world: exact solutions, published values, an independent code.
//!
//! Each file in `problems/` opens with its sources; values that are not a short formula are in
//! `reference/`, beside the script that makes them. `cargo test -p withy-tests --release -- --nocapture`
//! prints every comparison as a row. The last column is the largest difference found when the checks
//! were written; the tolerance is in the column before.
//!
//! | problem | source | compared | tolerance and why | found |
//! |---|---|---|---|---|
//! | [`bar`] pulled and pushed, stretch 0.9 to 1.2, plane stress and strain | closed form, St. Venant-Kirchhoff | force, true stress | 1e-8, uniform: Newton's residual | 1.3e-10 |
//! | [`patch`] test at large strain, two distorted meshes | Irons and Razzaque 1972 | displacement, strain | 1e-10 mm, exact but for rounding | 3e-14 mm |
//! | [`rotation`] of a free body by 90 and 180 degrees | exact | energy, force, true stress | 1e-10, rounding | 3e-16 |
//! | [`balance`]: force against slope of energy, mixed stiffnesses, equilibrium, symmetry, threads | exact | force, moment, all bits | 1e-5 to 1e-9, differences of steps | 2e-6 |
//! | [`properties`]: turned, mirrored, scaled, stiffer, deeper | exact | force, moment, energy, stiffness | 1e-10; 1e-9, rounding | 2e-13; 5e-13 |
//! | [`properties`]: turned drawing through the whole program | exact | force and energy; peak | 0.1 %; 2 %, another mesh | 0.001 %; 0.06 % |
//! | [`elastica`], dead force, PL2/EI 1 to 10 | Bisshopp and Drucker 1945; elliptic integrals | v, u, tip angle, root moment | 5e-4, strip L/h = 100 shears and stretches | 1.4e-4 L |
//! | [`elastica`], end moment up to the full circle | arc | tip place and angle | 5e-4, surface strain 1.6 % | 4.7e-4 L |
//! | [`guided`] beam free to shorten, d/L 0.05 to 0.5 | two elasticas | force, shortening, moment | 0.1 %, shear | 0.06 % |
//! | [`guided`] beam that may not shorten, L/h = 20 | Reissner's beam 1972 | P, H | 0.5 % + 1 % per mm, the law's axial stiffening | 2.9 % at 3 mm, 0.4 % at 0.5 mm |
//! | the same | independent plane-stress code | P, H | 0.05 %, five digits, clamped corners | 0.03 % |
//! | [`ribs`] at 60 and 75 degrees, stretched | Reissner's beam | force along and across | 0.3 %, clamped contraction | 0.21 % |
//! | [`small`] deflection of a cantilever | Timoshenko, Cowper 1966 | deflection | 0.02 % (nu = 0), 0.2 % (nu = 0.35, clamp) | 0.001 %, 0.17 % |
//! | [`columns`], five end conditions | Euler, Engesser | load where a pivot turns negative | 0.3 %, P/EA | 0.14 % |
//! | [`truss`] of two bars, snap under drive | closed form | P(w), limit loads | 1e-6; 0.2 % from steps of 1 mm | 3e-12; 0.13 % |
//! | [`truss`] under a dead force | closed form | load factor of the snap, state beyond | 0.05 % arc step; 1e-6 | 0.004 % |
//! | [`toggle`] frame | Williams 1964; Reissner's beam | P at w = 0.1 to 0.6 in | 0.5 %, small difference of large thrusts | 0.18 % |
//! | [`curved`] bar in pure bending, b/a 1.3, 2, 3 | Golovin 1881 | hoop stress at both edges | 0.5 % on 4 cells across | 0.05 % |
//! | [`curved`]: thick ring under pressure | Lame | hoop stress, displacement | 0.5 %, 0.05 % | 0.13 %, 0.02 % |
//! | [`curved`]: orders on both | theory: 2; 3 inside, 2.5 overall | energy norm; recovered stress | 0.25; 2.35 to 4.25 | 1.94 to 1.98; 2.47 to 3.36 |
//! | [`beam`] model: elastica, guided beam | elliptic integrals | place, angle, force, moment | 1e-5, 2e-5: L/h = 1000 | 4e-6 |
//! | [`beam`]: end moment to the full circle | arc | turn; tip | 1e-8, residual; 2e-5 L, 12 elements | below 1e-9; 1.7e-6 |
//! | [`beam`]: blocked beam; ribs at 30 to 75 degrees stretched and folded to 0.3 L | Reissner's boundary value problem | forces, root moment, strain | 2e-4 on 24 elements, 0.5 % on 8 | 5e-5, 0.4 % |
//! | [`beam`]: order, turned and shifted, work of the drive | theory; exact | h^4; force; energy | 3.6 to 4.4; 1e-7; 1e-6 | 3.92 to 3.98 |
//! | [`beam_frames`]: toggle, arch, bistable beam | Williams 1964; Reissner's beams | load | 1e-4 | 9e-6 |
//! | [`beam_frames`]: frame of Lee, by arc length | Lee 1968; Reissner's beams | both limit loads, place there | 1e-4; 1e-3 | 1e-5; 1e-4 |
//! | [`beam_frames`]: columns; stiffness of a carriage | Euler; beams at rest by hand | load where a pivot turns negative; 3 x 3 | 1e-4; 1e-5 | within |
//! | [`membranes`]: elliptic | NAFEMS LE1, 92.7 MPa (92.66 converged) | stress at D | 0.06 %; 0.3 % on 8 cells across | 0.036 %; 0.21 % |
//! | [`membranes`]: Cook's | Cook 1974, 23.96 (23.967 converged) | deflection, two stresses | 0.1 %, 0.3 % | 0.04 %, 0.01 % |
//! | [`frame`] of Lee | Lee 1968; Reissner's beams | first limit load, where its place is then | 0.5 %, corner | 0.24 % |
//! | [`snap`]: clamped shallow arch | Reissner's beam, curved | P at w = 1 to 10 mm | 0.8 % of the largest; 2 % stretched | 0.6 %; 1.1 % |
//! | [`snap`]: bistable cosine beam, to its second rest | Reissner's beam, curved | P; where its third mode branches | 0.8 % of the largest; 1.5 % | 0.7 %; 1.0 % |
//! | [`buckled`] rib, slopes blocked, driven | Euler, Engesser | critical strain, mode | 0.3 %, P/EA; 5e-3 | 0.02 % |
//! | [`buckled`]: symmetric bank of three ribs | Euler | draw at which it reports to be unstable | 0.5 % | 0.3 % |
//! | [`buckled`]: the bank off its drawing, below and beyond | a P/(P_cr - P); elastica | aside; force | 1 %; 0.5 % | 0.8 %; 0.2 % |
//! | [`kept_column`]: clamped column between rails, off its drawing | Euler; Chai 1998, beam-column | draw at first push, draw; push on the rail | 1 %, slopes; 2 %, begins at P_cr | 0.83 %; 0.96 % |
//! | [`kept_column`]: the same beside a rail | Euler | aside, load | 1.5 %, slopes | 0.20 %; 0.10 % |
//! | [`kept_column`]: block off its drawing into the rail it stands on | uniform | push | 2 %, overlap, edges | 1.8 % |
//! | [`guidance`] of one, two and six-rib banks | common practice, no source | sign of the smallest stiffness; couplings | qualitative; 1e-5 | 4e-7 |
//! | [`hole`] in a strip, d/W 0.1 to 0.5 | complex potentials; Howland 1930 | stress concentration | 0.5 % on refined meshes | 0.15 % |
//! | [`hole`] in an infinite plate, cut at four radii | Kirsch 1898 | hoop stress along the hole | 0.5 % of the peak on refined meshes | 0.2 % |
//! | [`shoulder`] fillets, pulled and bent | independent plane-stress code | stress concentration | 1 %, both meshes | 0.26 % |
//! | [`hole`], [`curved`], [`membranes`]: error estimate | exact or fine energy | estimated over true error | 0.5 to 2; 3 on the coarsest ring | 1.1 to 1.8; 2.9 |
//! | [`gaps`] of leaves, corners, circles and holes that close | geometry | width, place, crossing | 1e-12 mm; 2.9e-6 mm on a circle of parabolas | 1e-15 mm; 2.4e-6 mm |
//! | [`limits`]: truss flat, fork closing, from three or four states | closed form; geometry | draw | 1e-6, 1e-4 of the draw, as located | 2e-7; 3e-5 |
//! | [`limits`]: guidance of a pushed leaf, lost before the first state | Euler, rigid end | draw | 0.5 %, P/EA | 0.1 % |
//! | [`limits`]: two driven leaves, each with a guidance of its own | Euler, rigid end | draw | 0.5 %, P/EA | 0.13 % |
//! | [`limits`]: roof driven beside a leaf, and alone | the same roof | where it no longer pulls back | 1e-3, both meshes | 1.2e-4 |
//! | [`limits`]: yield, break, hand from 2 and from 24 states | the same path | draw, value there | 1.5e-4; 1e-3 | 1e-5; 6e-6 |
//! | [`contact`] of a cylinder with a flat and with another one, plane strain | Hertz 1881; Johnson 1985 | half-width; pressure, fitted and highest | 2 %, strains of 2 % | 1.4 %; 1.7 %, 2.7 % |
//! | [`contact`]: blocks pressed on each other | uniform | force; unevenness | 0.7 %, overlap; 1e-6 where nodes meet nodes, else 6 % (5 on 7 edges), 16 % (4 on 11) | 0.64 %; 4.3 %, 14 % |
//! | [`contact`]: leaf on a pin, leaf on a leaf | beams, superposition | force, push | 0.5 %; 1 %, small deflection | 0.36 %; 0.17 % |
//! | [`contact`]: work against energy; turned frames; threads; a whole part | exact; geometry | energy; push; all bits; first touch | 2e-3, sums of steps; 1e-8; 1e-3 | 2e-4 |
//! | [`contact_paths`]: leaf that a force bends onto a pin | beams, superposition | way; push | 0.6 %; 1 %, small deflection | 0.22 %; 0.3 % |
//! | [`contact_paths`]: arch that a force snaps through onto a rail | the same arch driven | load factor of the snap; way; push | 1e-3; 5e-4 mm; 1e-3, overlap | 8e-5; 2e-4 mm; 4e-5 |
//! | [`contact_paths`]: nose that passes a pin between two states | circles | first push | 5e-3 mm, edges are parabolas | 2e-4 mm |
//! | [`contact_paths`]: the same past a head of its own, without contact | circles | touch | 5e-3 mm | 4e-4 mm |
//! | [`contact_paths`]: feeler that passes a pin while a roof snaps | the same roof alone | load factor of the push | 1e-3 | below 1e-6 |
//! | [`contact_paths`]: leaf on a pin that throws | beams; Rayleigh | speed | 0.6 %, small deflection | 0.36 % |
//! | [`parts`]: filleted leaf, drawing to hot spot | independent plane-stress code | force and energy at 10 steps; peaks | 0.2 %; 2 % | 0.010 %; 0.23 % |
//! | [`parts`]: folding bank of three ribs a side | independent plane-stress code | the same, lateral force | 0.2 %; 2 %; 1e-3 | 0.018 %; 0.11 %; 5e-6 |
//! | [`scaling`]: the gate with E times 3.7, read from one solve | homogeneity in E | force, energy, stress, strain | 1e-6, Newton's residual | 4e-8 |
//! | [`scaling`]: nu 0.30 on the mesh of 0.40 | an analysis of its own | energy, force; peak | 1e-4; 0.5 %, both meshes | 1.2e-5; 0.023 % |
//! | [`launch`]: rigid mass on a spring; own mass, friction, early leaving | closed form; Lagrange's equation in time (scipy) | speed, time, place | 1e-9; 1e-6; 1e-5 mm | 3e-12; 1.3e-8; 1e-7 mm |
//! | [`launch`]: cantilever 33/140, guided beam 13/35, bar 1/3 | Rayleigh; Blevins | effective mass from solved states | 5e-4, shear (h/L)^2 = 3e-4 | 1.7e-4 |
//! | [`launch`]: beams let go with 0.5 to 4 of their mass | all modes in time (numpy) | speed | 0.5 %; 3 % at half the mass, ringing | 0.32 %; 2.99 % |
//! | [`launch`]: impulse, energies, order in time, steps | exact | momentum; sum; order; speed | 5e-4, beam 1/1000 of the mass; 1e-12; 3.8 to 4.2; 1e-6 | 2e-4; 2e-16; 3.84 to 3.99; 2e-8 |
//! | [`launch`]: consistent mass of a curved mesh | exact moments of a quarter ring | area, first and polar moment | 1e-6, sides of 3.75 degrees | 8e-8 |
//! | [`time`]: standard linear solid, relaxation and creep | closed form; ISO 899-1 | stress, strain, creep modulus | 1e-6; 1e-5, steps of 4 % of the time | below 1e-6; 3e-6 |
//! | [`time`]: power law, creep and recovery | Tschoegl; inverse Laplace transform (mpmath) | strain, rest | 2e-5, 1e-3, the same steps | 7e-6, 2e-4 |
//! | [`time`]: line of lives | Basquin, by hand | exponent, draws | 1e-5, digits; 1e-8 | below 1e-6 |
//! | [`bending_test`]: cantilever, strip on rollers, large deflections | elliptic integrals; scipy | force, curvature | 1e-8, ten digits of the reference | below 1e-9 |
//! | [`bending_test`]: stress at large deflection | ASTM D790, from memory | factor on the stress | 1 %, two terms of a series | 0.5 % |
//! | [`plastic`]: Hencky bar, stretch 0.8 and 1.2, plane stress and strain | closed form | force, true stress | 1e-8, Newton's residual | 1e-10 |
//! | [`plastic`]: bar of saturating hardening, let down, drawn again | closed form | force, plastic strain; plastic work | 1e-8; 0.2 %, trapezoids of 20 steps | 1e-10; 0.14 % |
//! | [`plastic`]: perfectly plastic beam, 1.2 to 10 times its yield curvature | Hill 1950; Timoshenko | moment, shape factor 1.5; residual curvature | 0.1 %, 16 layers; 1.5e-3 of the yield curvature | 0.08 %; 7e-4 |
//! | [`plastic`]: work of the drive over two draws; order; turned part | exact | energy; 2; set, plastic work | 5e-6; 1.5 to 2.5; 1e-6 | 8e-7; 2.00; 1e-9 |
//! | [`plastic`]: a bar held while its stress falls, let down | by hand | force; rest; energy; work | 1e-8; 1e-6 N; 1e-6, Simpson's rule | 1e-10; 1e-7 |
//! | [`kept`]: Hencky bar held and left alone | standard linear solid | force; strain; energy | 1e-8; 1e-4, steps of 4 % of the time | 1e-10; 1e-5 |
//! | [`kept`]: holds, rests and draws in turn, five laws | Boltzmann's superposition (scipy) | force, rest | 2e-4, the same steps and arms of 5e-5 | 4.6e-5 |
//! | [`kept`]: stretched rib at a kept shape | F(t) / F(0) = E(t) / E(0) | force; work | 6e-5, arms; 1e-6 | within |
//! | [`kept`]: leaf turned by 2 rad, pushed by 0.6 of its length | share of the curvature | rest | 5e-4, surface strain 1 % | 6e-6 |
//! | [`kept`]: one curve of shares against the whole history, ribs guided and stretched | the other way | rest by the draw | 1e-3; 5e-3 | 7e-5; 3.3e-3 |
//! | [`kept`]: a bar that has yielded, held, let go, drawn on | by hand | force, plastic strain | 1e-8; 1e-7 | within |
//! | [`beads`] aslant, pulled | Jones, off-axis modulus | force, shear, contraction, stress | 5e-6, strains of 1e-6 | 2e-6 |
//! | [`beads`] round about: ring under pressure | Lekhnitskii | hoop stress; displacement | 0.5 %; 0.2 %, as the isotropic ring | 0.07 %; 0.001 % |
//! | [`transient`]: three frequencies of a cantilever | Timoshenko | rad/ms | 0.15 %, shear and turning sections | 0.07 % |
//! | [`transient`]: a cantilever let go from half its length, with a mass, a stop, damping | exact | energy; momentum by impulse | 1e-8; 1e-7 mN s, Newton's residual | 1e-10; 1e-9 |
//! | [`transient`]: a block on a bar that rubs | Den Hartog, mass on a spring with Coulomb's friction | turns, where it sticks; energy, momentum | 1 %, ringing; 1e-8, 1e-7 mN s | 0.24 %; within |
//! | [`transient`]: cantilevers that throw 0.5 to 4 of their mass | all modes in time (numpy) | speed | 1.5 %, pushed by a spring of 1 % | 0.93 % |
#![expect(clippy::unwrap_used, reason = "a problem that cannot be set up is a failed test")]

#[path = "problems/balance.rs"]
mod balance;
#[path = "problems/bar.rs"]
mod bar;
#[path = "problems/beads.rs"]
mod beads;
#[path = "problems/beam.rs"]
mod beam;
#[path = "problems/beam_frames.rs"]
mod beam_frames;
#[path = "problems/bending_test.rs"]
mod bending_test;
#[path = "problems/buckled.rs"]
mod buckled;
#[path = "problems/columns.rs"]
mod columns;
#[path = "problems/contact.rs"]
mod contact;
#[path = "problems/contact_paths.rs"]
mod contact_paths;
#[path = "problems/curved.rs"]
mod curved;
#[path = "problems/elastica.rs"]
mod elastica;
#[path = "problems/frame.rs"]
mod frame;
#[path = "problems/gaps.rs"]
mod gaps;
#[path = "problems/guidance.rs"]
mod guidance;
#[path = "problems/guided.rs"]
mod guided;
#[path = "problems/hole.rs"]
mod hole;
#[path = "problems/kept.rs"]
mod kept;
#[path = "problems/kept_column.rs"]
mod kept_column;
#[path = "problems/launch.rs"]
mod launch;
#[path = "problems/limits.rs"]
mod limits;
#[path = "problems/membranes.rs"]
mod membranes;
#[path = "problems/parts.rs"]
mod parts;
#[path = "problems/patch.rs"]
mod patch;
#[path = "problems/plastic.rs"]
mod plastic;
#[path = "problems/properties.rs"]
mod properties;
#[path = "problems/ribs.rs"]
mod ribs;
#[path = "problems/rotation.rs"]
mod rotation;
#[path = "problems/scaling.rs"]
mod scaling;
#[path = "problems/shoulder.rs"]
mod shoulder;
#[path = "problems/small.rs"]
mod small;
#[path = "problems/snap.rs"]
mod snap;
#[path = "problems/time.rs"]
mod time;
#[path = "problems/toggle.rs"]
mod toggle;
#[path = "problems/transient.rs"]
mod transient;
#[path = "problems/truss.rs"]
mod truss;

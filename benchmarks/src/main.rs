//! Where Withy's time goes, and how it grows with the part.
//!
//! Every size is measured in a process of its own, so that its memory is its own too.
#![expect(clippy::print_stdout, reason = "tables are this program's output")]

use clap::{Parser, Subcommand, ValueEnum};
use serde::{Deserialize, Serialize};
use std::error::Error;
use std::io::Write;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;
use withy_benchmarks::clock::{Times, growth, most_memory};
use withy_benchmarks::parts::{Kind, model, rib_spring};
use withy_mesh::mesh_outline;
use withy_solver::beam::{BeamOptions, follow_beams};
use withy_solver::pieces::Pieces;
use withy_solver::{PathOptions, follow_path};

#[derive(Parser)]
#[command(about = "Measures meshing, the pieces of a Newton iteration, and the demo")]
struct Args {
    #[command(subcommand)]
    what: Option<What>,
    /// Leave out the sizes beyond 300 000 unknowns or triangles.
    #[arg(long, global = true)]
    small: bool,
}

#[derive(Clone, Subcommand)]
enum What {
    /// Meshing: 5 k, 50 k and 500 k triangles.
    Mesh,
    /// One Newton iteration in its pieces: 10 k, 100 k, 300 k and 1 M unknowns.
    Iteration,
    /// A path of ten steps: 10 k, 100 k, 300 k and 1 M unknowns.
    Path,
    /// A spring of 12 ribs as beams, from rest to full draw.
    Beam,
    /// The whole program on the demo.
    Demo,
    /// Measures one size and prints it as JSON.
    One { piece: Piece, kind: String, size: f64 },
    /// Writes the tangent of a part and its ordering for the comparison with other libraries.
    Matrix { kind: String, unknowns: f64, file: PathBuf, order: PathBuf },
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Piece {
    /// Meshing.
    Mesh,
    /// A Newton iteration and its pieces.
    Iteration,
    /// A path of ten steps.
    Path,
    /// Assembly alone, thirty times, for counting instructions.
    Assembly,
    /// Factorisation and solution alone, thirty times, for counting instructions.
    Factor,
}

/// How often a piece is run where instructions are counted: enough to outweigh what comes before it.
const COUNTED: usize = 30;

/// Parts of fewer triangles are meshed again and again.
const QUICK: f64 = 1e5;

/// What one process measured (s, MB).
#[derive(Debug, Default, Deserialize, Serialize)]
struct Measured {
    triangles: usize,
    unknowns: usize,
    factor_entries: usize,
    mesh: f64,
    analyse: f64,
    assemble: f64,
    factor: f64,
    solve: f64,
    iteration: f64,
    iteration_best: f64,
    /// Ten steps of a path, and the linear solutions that it took.
    path: f64,
    iterations: usize,
    memory: Option<f64>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let args = Args::parse();
    match args.what {
        None => {
            mesh_table(args.small)?;
            iteration_table(args.small)?;
            path_table(args.small)?;
            beam()?;
            demo()
        }
        Some(What::Mesh) => mesh_table(args.small),
        Some(What::Iteration) => iteration_table(args.small),
        Some(What::Path) => path_table(args.small),
        Some(What::Beam) => beam(),
        Some(What::Demo) => demo(),
        Some(What::One { piece, kind, size }) => {
            let measured = measure(piece, kind_of(&kind)?, size)?;
            println!("{}", serde_json::to_string(&measured)?);
            Ok(())
        }
        Some(What::Matrix { kind, unknowns, file, order }) => {
            write_matrix(kind_of(&kind)?, unknowns, &file, &order)
        }
    }
}

fn kind_of(name: &str) -> Result<Kind, Box<dyn Error>> {
    let found = Kind::ALL.into_iter().find(|k| k.name() == name);
    found.ok_or_else(|| format!("\"{name}\" is neither \"ribs\" nor \"block\"").into())
}

/// A mesh of 6-node triangles has about four unknowns to an element.
const UNKNOWNS_PER_TRIANGLE: f64 = 4.2;

fn measure(piece: Piece, kind: Kind, size: f64) -> Result<Measured, Box<dyn Error>> {
    let triangles = match piece {
        Piece::Mesh => size,
        _ => size / UNKNOWNS_PER_TRIANGLE,
    };
    let (outline, sizing) = kind.part(triangles)?;
    let start = Instant::now();
    let mesh = mesh_outline(&outline, &sizing)?;
    let first = start.elapsed().as_secs_f64();
    let mut measured =
        Measured { triangles: mesh.elements().len(), mesh: first, ..Measured::default() };
    // By size, not by time: instructions are counted of the same work on any machine.
    let repeats = if triangles < QUICK { 5 } else { 1 };
    if piece == Piece::Mesh {
        measured.mesh = Times::of(repeats, || {
            std::hint::black_box(mesh_outline(&outline, &sizing).is_ok());
        })
        .median();
        measured.memory = most_memory();
        return Ok(measured);
    }
    let model = model(&mesh)?;
    if piece == Piece::Path {
        let options = PathOptions { steps: 10, ..PathOptions::default() };
        let start = Instant::now();
        let path = follow_path(&model, &options, &mut |_| ControlFlow::Continue(()))?;
        measured.path = start.elapsed().as_secs_f64();
        measured.iterations = path.steps.iter().map(|s| s.iterations).sum();
        measured.unknowns = 2 * mesh.nodes().len();
        measured.memory = most_memory();
        return Ok(measured);
    }
    let start = Instant::now();
    let mut pieces = Pieces::new(&model);
    measured.analyse = start.elapsed().as_secs_f64();
    (measured.unknowns, measured.factor_entries) = (pieces.equations(), pieces.factor_entries());
    if piece == Piece::Assembly || piece == Piece::Factor {
        pieces.assemble();
        for _ in 0..COUNTED {
            if piece == Piece::Assembly {
                std::hint::black_box(pieces.assemble());
            } else {
                std::hint::black_box((pieces.factor()?, pieces.solve()));
            }
        }
        return Ok(measured);
    }
    let repeats = if pieces.equations() < 200_000 { 15 } else { 5 };
    measured.assemble = Times::of(repeats, || {
        std::hint::black_box(pieces.assemble());
    })
    .median();
    measured.factor = Times::of(repeats, || {
        std::hint::black_box(pieces.factor().is_ok());
    })
    .median();
    measured.solve = Times::of(repeats, || {
        std::hint::black_box(pieces.solve());
    })
    .median();
    let whole = Times::of(repeats, || {
        pieces.assemble();
        std::hint::black_box(pieces.factor().is_ok());
        std::hint::black_box((pieces.solve(), pieces.residual()));
    });
    (measured.iteration, measured.iteration_best) = (whole.median(), whole.best());
    measured.memory = most_memory();
    Ok(measured)
}

/// Measures in a process of its own.
fn apart(piece: &str, kind: Kind, size: f64) -> Result<Measured, Box<dyn Error>> {
    let output = Command::new(std::env::current_exe()?)
        .args(["one", piece, kind.name(), &size.to_string()])
        .stderr(Stdio::inherit())
        .output()?;
    if !output.status.success() {
        return Err(format!("{piece} of {} {size} failed", kind.name()).into());
    }
    Ok(serde_json::from_slice(&output.stdout)?)
}

fn mesh_table(small: bool) -> Result<(), Box<dyn Error>> {
    println!("Meshing, smoothed and checked\n");
    println!("{:<8}{:>12}{:>10}{:>16}{:>10}", "part", "triangles", "s", "triangles/s", "MB");
    for kind in Kind::ALL {
        let mut pairs = Vec::new();
        for size in sizes(&[5e3, 5e4, 5e5], small) {
            let m = apart("mesh", kind, size)?;
            let rate = m.triangles as f64 / m.mesh;
            println!(
                "{:<8}{:>12}{:>10.3}{:>16.0}{:>10.0}",
                kind.name(),
                m.triangles,
                m.mesh,
                rate,
                m.memory.unwrap_or(f64::NAN)
            );
            pairs.push((m.triangles as f64, m.mesh));
        }
        println!(
            "{:<8}time grows with triangles to the power {:.2}\n",
            kind.name(),
            growth(&pairs)
        );
    }
    Ok(())
}

fn iteration_table(small: bool) -> Result<(), Box<dyn Error>> {
    println!("One Newton iteration and its pieces (s)\n");
    println!(
        "{:<8}{:>10}{:>10}{:>9}{:>10}{:>10}{:>10}{:>10}{:>10}{:>10}{:>9}",
        "part",
        "unknowns",
        "L, M",
        "mesh",
        "analyse",
        "assemble",
        "factor",
        "solve",
        "iteration",
        "best",
        "MB"
    );
    for kind in Kind::ALL {
        let (mut factors, mut iterations) = (Vec::new(), Vec::new());
        for size in sizes(&[1e4, 1e5, 3e5, 1e6], small) {
            let m = apart("iteration", kind, size)?;
            println!(
                "{:<8}{:>10}{:>10.2}{:>9.2}{:>10.3}{:>10.4}{:>10.4}{:>10.4}{:>10.4}{:>10.4}{:>9.0}",
                kind.name(),
                m.unknowns,
                m.factor_entries as f64 / 1e6,
                m.mesh,
                m.analyse,
                m.assemble,
                m.factor,
                m.solve,
                m.iteration,
                m.iteration_best,
                m.memory.unwrap_or(f64::NAN)
            );
            factors.push((m.unknowns as f64, m.factor));
            iterations.push((m.unknowns as f64, m.iteration));
        }
        println!(
            "{:<8}factor grows with unknowns to the power {:.2}, iteration {:.2}\n",
            kind.name(),
            growth(&factors),
            growth(&iterations)
        );
    }
    Ok(())
}

fn path_table(small: bool) -> Result<(), Box<dyn Error>> {
    println!("A path of ten steps, region stiffness at each (s)\n");
    println!(
        "{:<8}{:>10}{:>9}{:>10}{:>12}{:>9}",
        "part", "unknowns", "mesh", "path", "solutions", "MB"
    );
    for kind in Kind::ALL {
        let mut times = Vec::new();
        for size in sizes(&[1e4, 1e5, 3e5, 1e6], small) {
            let m = apart("path", kind, size)?;
            println!(
                "{:<8}{:>10}{:>9.2}{:>10.2}{:>12}{:>9.0}",
                kind.name(),
                m.unknowns,
                m.mesh,
                m.path,
                m.iterations,
                m.memory.unwrap_or(f64::NAN)
            );
            times.push((m.unknowns as f64, m.path));
        }
        println!("{:<8}time grows with unknowns to the power {:.2}\n", kind.name(), growth(&times));
    }
    Ok(())
}

fn sizes(all: &[f64], small: bool) -> Vec<f64> {
    all.iter().copied().filter(|&s| !small || s <= 3e5).collect()
}

/// The beams' path of a spring, whole: model, states, reactions.
fn beam() -> Result<(), Box<dyn Error>> {
    println!("A spring of 12 ribs as beams, 20 steps (ms, median of 50 and best)\n");
    println!("{:>10}{:>10}{:>12}{:>10}{:>10}", "elements", "unknowns", "iterations", "ms", "best");
    for elements in [8, 24] {
        let model = rib_spring(12, elements)?;
        let path =
            || follow_beams(&model, &BeamOptions::default(), &mut |_| ControlFlow::Continue(()));
        let steps = path()?;
        let iterations: usize = steps.iter().map(|s| s.iterations).sum();
        let times = Times::of(50, || {
            std::hint::black_box(path().is_ok());
        });
        println!(
            "{:>10}{:>10}{iterations:>12}{:>10.2}{:>10.2}",
            12 * elements,
            3 * 12 * (2 * elements - 1) + 2,
            1e3 * times.median(),
            1e3 * times.best()
        );
    }
    println!();
    Ok(())
}

/// The program beside this one, on the demo of the repository.
fn demo() -> Result<(), Box<dyn Error>> {
    let program = std::env::current_exe()?.with_file_name("withy");
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..");
    if !program.exists() {
        return Err("build the program first: cargo build --release".into());
    }
    let out = tempfile::tempdir()?;
    println!("The whole program (s, median of 5 and best)\n");
    for part in ["kicker", "gate", "clip", "tweezers"] {
        let file = root.join("demo-data").join(part).join(format!("{part}.toml"));
        let mut worked = true;
        let times = Times::of(5, || {
            let status = Command::new(&program)
                .arg("solve")
                .arg(&file)
                .arg("--out")
                .arg(out.path().join(part))
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .status();
            worked &= status.is_ok_and(|s| s.success());
        });
        if !worked {
            return Err(format!("the program failed on {}", file.display()).into());
        }
        println!("solve {part:<12}{:>10.2}{:>10.2}", times.median(), times.best());
    }
    let help = Times::of(20, || {
        let _ = Command::new(&program).arg("--help").stdout(Stdio::null()).status();
    });
    println!("--help            {:>10.4}{:>10.4}", help.median(), help.best());
    let size = std::fs::metadata(&program)?.len() as f64 / 1e6;
    println!("the program's file is {size:.1} MB");
    Ok(())
}

/// Matrix Market (coordinate, real, symmetric), lower triangle; and the old equation of each new one.
fn write_matrix(
    kind: Kind,
    unknowns: f64,
    file: &Path,
    order: &Path,
) -> Result<(), Box<dyn Error>> {
    let (outline, sizing) = kind.part(unknowns / UNKNOWNS_PER_TRIANGLE)?;
    let mesh = mesh_outline(&outline, &sizing)?;
    let model = model(&mesh)?;
    let mut pieces = Pieces::new(&model);
    pieces.assemble();
    let matrix = pieces.tangent();
    let mut out = std::io::BufWriter::new(std::fs::File::create(file)?);
    writeln!(out, "%%MatrixMarket matrix coordinate real symmetric")?;
    writeln!(out, "{} {} {}", matrix.nrows(), matrix.ncols(), matrix.nnz())?;
    for (i, j, value) in matrix.triplet_iter() {
        writeln!(out, "{} {} {value:e}", i + 1, j + 1)?;
    }
    out.flush()?;
    let mut out = std::io::BufWriter::new(std::fs::File::create(order)?);
    for old in pieces.order() {
        writeln!(out, "{old}")?;
    }
    out.flush()?;
    Ok(())
}

"""Runs the same work in Withy and in general-purpose libraries, turn by turn, and prints ratios.

Turn by turn because the machine's speed drifts: a ratio is taken within a round, and its median and spread
over the rounds are what counts. CHOLMOD runs under OMP_THREAD_LIMIT=1 where one thread is meant: its loops
carry a thread count of their own that no other variable caps.
"""

import json
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

target = Path(sys.argv[1])
rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 5
sizes = [int(s) for s in sys.argv[3:]] or [100_000, 1_000_000]
bench, work = target / "release" / "withy-benchmarks", target / "compare"
ONE = {"OMP_THREAD_LIMIT": "1", "OPENBLAS_NUM_THREADS": "1"}
# Either OpenMP or BLAS threads: both at once is slower than one thread.
TWO = {
    "loops": {"OMP_THREAD_LIMIT": "2", "OMP_NUM_THREADS": "2", "OPENBLAS_NUM_THREADS": "1"},
    "blas": {"OMP_THREAD_LIMIT": "1", "OPENBLAS_NUM_THREADS": "2"},
}


def run(*words, **more):
    output = subprocess.run([str(w) for w in words], env={**os.environ, **more}, check=True, stdout=subprocess.PIPE)
    return json.loads(output.stdout) if output.stdout.strip().startswith(b"{") else None


def withy(kind, size, threads):
    m = run(bench, "one", "iteration", kind, size, RAYON_NUM_THREADS=str(threads))
    return {**m, "both": m["factor"] + m["solve"]}


def cholmod(matrix, order, repeats, settings):
    m = run(work / "cholmod", matrix, order, repeats, **settings)
    assert m["positive"] == 1 and m["residual"] < 1e-12, m
    return {**m, "both": m["factor"] + m["solve"]}


def spread(ratios):
    return f"{statistics.median(ratios):.2f} ({min(ratios):.2f} to {max(ratios):.2f})"


def linear_algebra():
    print("Factorisation and solution, the same matrix in the same order; ratios Withy / CHOLMOD, median (range)\n")
    print(f"{'part':<7}{'unknowns':>9}{'Withy s':>10}{'CHOLMOD s':>11}   {'1 thread':<23}{'2 threads':<23}"
          f"{'against its own order, 1 thread':<34}{'solve alone'}")
    for kind in ("ribs", "block"):
        for size in sizes:
            matrix, order = work / f"{kind}-{size}.mtx", work / f"{kind}-{size}.order"
            subprocess.run([bench, "matrix", kind, str(size), matrix, order], check=True)
            repeats = 7 if size <= 300_000 else 3
            one, two, own, solve, seconds = [], [], [], [], []
            for _ in range(rounds):
                w1, c1 = withy(kind, size, 1), cholmod(matrix, order, repeats, ONE)
                w2 = withy(kind, size, 2)
                c2 = min((cholmod(matrix, order, repeats, s) for s in TWO.values()), key=lambda m: m["both"])
                o1 = cholmod(matrix, "own", repeats, ONE)
                one.append(w1["both"] / c1["both"])
                # CHOLMOD's best on two threads is sometimes its best on one.
                two.append(w2["both"] / min(c1["both"], c2["both"]))
                own.append(w1["both"] / o1["both"])
                solve.append(w1["solve"] / c1["solve"])
                seconds.append((w1["both"], c1["both"]))
            w, c = (statistics.median(s[i] for s in seconds) for i in (0, 1))
            print(f"{kind:<7}{w1['unknowns']:>9}{w:>10.3f}{c:>11.3f}   {spread(one):<23}{spread(two):<23}"
                  f"{spread(own):<34}{spread(solve)}", flush=True)
            matrix.unlink()
            order.unlink()
    print()


def superlu():
    from scipy.io import mmread
    from scipy.sparse.linalg import splu

    print("The same against SuperLU through scipy (its own order, symmetric mode), one thread\n")
    for kind in ("ribs", "block"):
        size = min(sizes)
        matrix, order = work / f"{kind}-{size}.mtx", work / f"{kind}-{size}.order"
        subprocess.run([bench, "matrix", kind, str(size), matrix, order], check=True)
        a = mmread(matrix).tocsc()
        ratios = []
        for _ in range(max(2, rounds // 2)):
            w = withy(kind, size, 1)
            start = time.perf_counter()
            lu = splu(a, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
            lu.solve(a.diagonal())
            ratios.append(w["both"] / (time.perf_counter() - start))
        print(f"{kind:<7}{w['unknowns']:>9}   {spread(ratios)}", flush=True)
        matrix.unlink()
        order.unlink()
    print()


def assembly():
    import numpy as np
    import skfem
    from skfem.helpers import ddot, identity, transpose

    print("Tangent and residual of the St. Venant-Kirchhoff law, 6-node triangles, 3 points; elements a second\n")
    mesh = skfem.MeshTri().refined(6)
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementTriP2()), intorder=2)
    lam, mu = 900.0, 800.0

    def strain(h):
        return 0.5 * (h + transpose(h) + np.einsum("ki...,kj...->ij...", h, h))

    def stress(e):
        return lam * np.einsum("ii...", e) * identity(e) + 2 * mu * e

    @skfem.BilinearForm
    def tangent(u, v, w):
        h = w["u"].grad
        f = identity(h) + h
        de_u = np.einsum("ki...,kj...->ij...", f, u.grad)
        de_v = np.einsum("ki...,kj...->ij...", f, v.grad)
        s = stress(strain(h))
        geometric = np.einsum("ki...,kj...,ij...->...", u.grad, v.grad, s)
        symmetric = 0.5 * (de_u + transpose(de_u))
        return ddot(stress(symmetric), 0.5 * (de_v + transpose(de_v))) + geometric

    @skfem.LinearForm
    def residual(v, w):
        h = w["u"].grad
        de = np.einsum("ki...,kj...->ij...", identity(h) + h, v.grad)
        return ddot(stress(strain(h)), 0.5 * (de + transpose(de)))

    x = 1e-3 * np.sin(np.arange(basis.N))
    rates, ratios = {1: [], 2: []}, {1: [], 2: []}
    for _ in range(rounds):
        start = time.perf_counter()
        tangent.assemble(basis, u=basis.interpolate(x))
        residual.assemble(basis, u=basis.interpolate(x))
        theirs = mesh.t.shape[1] / (time.perf_counter() - start)
        for threads in (1, 2):
            m = withy("block", min(sizes), threads)
            rates[threads].append(m["triangles"] / m["assemble"])
            ratios[threads].append(rates[threads][-1] / theirs)
    for threads in (1, 2):
        print(f"{threads} thread{'s' if threads > 1 else ''}: {statistics.median(rates[threads]) / 1e6:.2f} M/s, "
              f"{statistics.median(ratios[threads]):.0f} times scikit-fem "
              f"({min(ratios[threads]):.0f} to {max(ratios[threads]):.0f})", flush=True)


linear_algebra()
superlu()
assembly()

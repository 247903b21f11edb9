#!/usr/bin/env python3
"""Reference values from closed forms and from ordinary differential equations of beams.

    make.py            writes exact.json beside this file
    make.py --check    computes everything again and compares it with exact.json

Needs mpmath and scipy. None of it shares a line or an idea with the program under test: no mesh, no
elements, no two-dimensional elasticity.

elastica        Cantilever of length 1 under a dead force at its tip, inextensible and rigid in shear:
                elliptic integrals, k^2 = (1 + sin t)/2 with t the tip's angle (K. E. Bisshopp and
                D. C. Drucker, "Large deflection of cantilever beams", Quart. Appl. Math. 3 (1945)
                272-275).
guided          Beam with both end slopes blocked, free to shorten: two such cantilevers back to back.
blocked, ribs,  Beam after E. Reissner ("On one-dimensional finite-strain beam theory", ZAMP 23 (1972)
inclined,       795-804), linear between force and strain of its axis, as a boundary value problem.
toggle
truss           Two bars, P = EA/L0^3 w (w - h)(w - 2h) from the Green-Lagrange strain.
lee             Such beams as a frame with a rigid corner.
arch, bistable  The same beam curved before it is loaded: theta' = kappa_0 + M/EI.
post_buckled    Column beyond its buckling load, both slopes blocked, free to go aside: two cantilevers,
                P/P_cr = (2 K/pi)^2, shortening 2 - 2 E/K, sideways 2 k/K of its length (S. Timoshenko and
                J. M. Gere, Theory of Elastic Stability, art. 2.7, from memory; K(k), E(k) by mpmath).
euler           Buckling loads of straight columns in EI/L^2.
golovin         Pure bending of a curved bar (S. Timoshenko and J. N. Goodier, Theory of Elasticity,
                3rd ed., art. 29).
release         A spring F = k x + c x^3 with a mass of its own M(x) = M0 + M2 x^2 at its end throws a
                mass m against friction: Lagrange's equation (m + M) x'' + M' x'^2 / 2 = friction - F
                integrated in time (DOP853) until the mass leaves, x'' = 0, or rest.
thrown          A uniform elastic beam, clamped at one end, its other end guided or free to turn, bent by a
                static force and let go with a mass on that end: all its modes (60 beam elements with
                consistent mass) superposed in time until the end's acceleration turns. Speed as a
                share of sqrt(2 E / beam's mass).
relaxing        A material with E(t) = E(0) (1 + t)^-n: creep under a kept stress, 1 / (s^2 E) in Laplace's
                domain (N. W. Tschoegl, The Phenomenological Theory of Linear Viscoelastic Behavior, from
                memory), E's transform an incomplete gamma function, inverted numerically (Talbot's
                contour); and by superposition (Boltzmann) the strain left when it was kept strained and
                then let go. The standard linear solid in closed form.
history         The same material strained, kept, strained less, left alone and strained again: Boltzmann's
                superposition, stress = e + integral of E'(t - s) e(s) ds, with E(0) = 1. Where it is left
                alone the strain solves that equation of Volterra's for no stress, by collocation in
                Chebyshev's polynomials.
on_rollers      Inextensible strip on two rollers that push at right angles to it, pushed in its middle: its
                angle integrated from a roller to the middle. Lengths
                by the half span, forces by EI.
"""
import json
import sys
from pathlib import Path

import mpmath as mp
import numpy as np
from scipy.integrate import solve_bvp, solve_ivp
from scipy.interpolate import CubicSpline
from scipy.linalg import eigh
from scipy.optimize import brentq

FILE = Path(__file__).with_name("exact.json")
# Elliptic integrals and closed forms carry all digits of a double; the boundary value problems are
# solved to 1e-9 of their states and agree between machines to a little less.
DIGITS = {"relaxing": 1e-5, "history": 1e-7, "release": 1e-7, "thrown": 1e-6, "blocked": 1e-6, "ribs": 1e-6, "inclined": 1e-6, "toggle": 1e-6,
          "arch": 1e-6, "bistable": 1e-6, "lee": 1e-6}
USUAL_DIGITS = 1e-9


def cantilever(alpha):
    """v/L, u/L, tip angle and root moment M L/EI under alpha = P L^2/EI."""
    def missing(sine):
        k2 = (1 + sine) / 2
        first = mp.asin(1 / mp.sqrt(2 * k2))
        return mp.ellipk(k2) - mp.ellipf(first, k2) - mp.sqrt(alpha)

    low, high = mp.mpf("1e-12"), 1 - mp.mpf("1e-12")
    sine = mp.findroot(missing, (low, high), solver="anderson", tol=1e-28)
    k2 = (1 + sine) / 2
    first = mp.asin(1 / mp.sqrt(2 * k2))
    v = 1 - 2 / mp.sqrt(alpha) * (mp.ellipe(k2) - mp.ellipe(first, k2))
    u = 1 - mp.sqrt(2 * sine / alpha)
    return v, u, mp.asin(sine), mp.sqrt(2 * alpha * sine)


def elastica():
    rows = []
    for alpha in (1, 2, 5, 10):
        v, u, angle, moment = cantilever(mp.mpf(alpha))
        rows.append({"alpha": alpha, "v": v, "u": u, "angle": angle, "root_moment": moment})
    return rows


def guided():
    rows = []
    for tenths in (1, 2, 4, 6, 8, 10):
        delta = mp.mpf(tenths) / 20
        alpha = mp.findroot(lambda a: cantilever(a)[0] - delta, (3 * delta, 6 * delta), tol=1e-20)
        _, u, angle, moment = cantilever(alpha)
        rows.append({"delta": delta, "force": 4 * alpha, "shortening": u, "mid_slope": angle,
                     "end_moment": 2 * moment})
    return rows


def reissner(length, EI, EA, kGA, ends):
    """Forces (H, V) and end moment of a straight beam along x whose far end is moved by each of
    `ends` = (dx, dy) without turning; the near end is clamped. One is the next one's guess."""
    def slopes(s, y, p):
        _, _, theta, moment = y
        H, V = p
        c, d = np.cos(theta), np.sin(theta)
        stretch = 1 + (H * c + V * d) / EA
        shear = (V * c - H * d) / kGA
        dx, dy = stretch * c - shear * d, stretch * d + shear * c
        return np.array([dx, dy, moment / EI, dy * H - dx * V])

    s = np.linspace(0, length, 41)
    y, p = np.array([s, 0 * s, 0 * s, 0 * s]), np.zeros(2)
    rows = []
    for dx, dy in ends:
        def missed(a, b, _p):
            return np.array([a[0], a[1], a[2], b[0] - length - dx, b[1] - dy, b[2]])

        found = solve_bvp(slopes, missed, s, y, p=p, tol=1e-9, max_nodes=200_000)
        if found.status != 0:
            raise RuntimeError(f"no solution at {dx}, {dy}: {found.message}")
        s, y, p = found.x, found.y, found.p
        rows.append((*map(float, p), float(abs(found.sol(0)[3]))))
    return rows


def blocked():
    L, h, E, nu = 20.0, 1.0, 1000.0, 0.3
    ends = [(0.0, d / 2) for d in range(1, 7)]
    rows = reissner(L, E * h**3 / 12, E * h, 5 / 6 * E / (2 * (1 + nu)) * h, ends)
    return [{"draw": dy, "P": V, "H": H, "end_moment": M} for (_, dy), (H, V, M) in zip(ends, rows)]


def ribs():
    L, h, E, nu = 20.0, 1.0, 1000.0, 0.3
    rows = []
    for degrees in (60, 75):
        c, d = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
        fractions = (0.01, 0.02, 0.03)
        ends = [(f * L * c, f * L * d) for f in fractions]
        found = reissner(L, E * h**3 / 12, E * h, 5 / 6 * E / (2 * (1 + nu)) * h, ends)
        for f, (H, V, _) in zip(fractions, found):
            rows.append({"degrees": degrees, "fraction": f, "along": H * c + V * d,
                         "across": H * d - V * c})
    return rows


def inclined():
    """Ribs at four angles to the draw, stretched and folded to 0.3 L, on the branch that is an S."""
    L, h, E, nu = 20.0, 1.0, 1000.0, 0.3
    wanted = (0.01, 0.02, 0.05, 0.1, 0.2, 0.3)
    rows = []
    for degrees in (30, 45, 60, 75):
        c, d = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
        for sense in (1, -1):
            # Small steps where a folded rib turns from pressing to bending.
            fractions = np.concatenate((
                np.arange(1, 11) / 500, np.arange(3, 31) / 100,
            ) if sense > 0 else (np.arange(1, 51) / 1000, np.arange(11, 61) / 200))
            ends = [(sense * f * L * c, sense * f * L * d) for f in fractions]
            found = reissner(L, E * h**3 / 12, E * h, 5 / 6 * E / (2 * (1 + nu)) * h, ends)
            for f, (H, V, _) in zip(fractions, found):
                if any(abs(f - w) < 1e-9 for w in wanted):
                    rows.append({"degrees": float(degrees), "sense": float(sense),
                                 "fraction": float(f), "along": sense * (H * c + V * d),
                                 "across": sense * (H * d - V * c)})
    return rows


def toggle():
    """F. W. Williams' toggle frame (QJMAM 17 (1964) 451-469): half of it, its apex pushed down."""
    span, rise, E, b, h = 12.943, 0.386, 1.03e7, 0.753, 0.243
    L = np.hypot(span, rise)
    c, d = span / L, rise / L
    sinks = [k / 20 for k in range(1, 13)]
    ends = [(-w * d, -w * c) for w in sinks]
    found = reissner(L, E * b * h**3 / 12, E * b * h, 5 / 6 * E / 2 * b * h, ends)
    rows = []
    for w, (H, V, _) in zip(sinks, found):
        if round(20 * w) % 2 == 0:
            rows.append({"w": w, "P": -2 * (H * d + V * c), "thrust": -(H * c - V * d)})
    return rows


def curved_half(shape, half_span, EI, EA, kGA, sinks):
    """Force of one half of a symmetric curved beam, clamped at x = -half_span, its apex at x = 0 pushed
    down by each of `sinks` without turning. `shape` gives height, slope and second derivative."""
    def slopes(x, y, p):
        _, _, theta, moment = y
        H, V = p
        _, first, second = shape(x)
        stretch_0 = np.sqrt(1 + first**2)
        c, d = np.cos(theta), np.sin(theta)
        stretch = 1 + (H * c + V * d) / EA
        shear = (V * c - H * d) / kGA
        dx, dy = stretch * c - shear * d, stretch * d + shear * c
        bend = second / stretch_0**3 + moment / EI
        return stretch_0 * np.array([dx, dy, bend, dy * H - dx * V])

    def at_rest(x):
        height, first, _ = shape(x)
        return np.array([x, height, np.arctan(first), 0 * x])

    x = np.linspace(-half_span, 0, 81)
    y, p = at_rest(x), np.zeros(2)
    foot, top = y[:, 0].copy(), y[:, -1].copy()
    before, rows = (at_rest, np.zeros(2)), []
    for w in sinks:
        def missed(a, b, _p):
            return np.array([a[0] - foot[0], a[1] - foot[1], a[2] - foot[2],
                             b[0], b[1] - top[1] + w, b[2] - top[2]])

        found = solve_bvp(slopes, missed, x, y, p=p, tol=1e-9, max_nodes=400_000)
        if found.status != 0:
            raise RuntimeError(f"no solution at {w}: {found.message}")
        rows.append((float(-found.p[1]), float(-found.p[0])))
        # The next guess goes straight on from the last two.
        x, y, p = found.x, 2 * found.y - before[0](found.x), 2 * found.p - before[1]
        before = found.sol, found.p
    return rows


def arch():
    """A shallow circular arch, clamped, half of it; thickness 1, nu = 0."""
    half_span, rise, E, h = 50.0, 5.0, 1000.0, 1.0
    R = (half_span**2 + rise**2) / (2 * rise)
    def shape(x):
        root = np.sqrt(R * R - x * x)
        return root - R + rise, -x / root, -R * R / root**3
    sinks = [k / 4 for k in range(1, 41)]
    found = curved_half(shape, half_span, E * h**3 / 12, E * h, 5 / 6 * E / 2 * h, sinks)
    rows = [{"w": w, "P": P, "thrust": T} for w, (P, T) in zip(sinks, found)]
    return {"half_span": half_span, "rise": rise, "E": E, "depth": h, "curve": rows[3::4]}


def bistable():
    """A cosine-shaped beam that is made curved, half of it, its middle kept from turning. Its shape is the
    first buckling mode of the straight beam; where the thrust is that of the third, 16 pi^2 EI/l^2, it
    may leave this path for one with that mode."""
    span, height, E, h = 100.0, 3.0, 1000.0, 1.0
    w = 2 * np.pi / span
    def shape(x):
        return (height / 2 * (1 + np.cos(w * x)), -height / 2 * w * np.sin(w * x),
                -height / 2 * w * w * np.cos(w * x))
    sinks = [k / 16 for k in range(1, 89)]
    EI = E * h**3 / 12
    found = curved_half(shape, span / 2, EI, E * h, 5 / 6 * E / 2 * h, sinks)
    rows = [{"w": w, "P": P} for w, (P, _) in zip(sinks, found)]
    thrust = CubicSpline(sinks, [T for _, T in found])
    third = brentq(lambda w: thrust(w) - 16 * np.pi**2 * EI / span**2, 0.5, 2.5)
    return {"span": span, "height": height, "E": E, "depth": h, "third_mode_w": third,
            "curve": rows[7::8]}


def lee():
    """S. L. Lee, F. S. Manuel and E. C. Rossow's frame (J. Eng. Mech. Div. ASCE 94 (1968) 521-547): both
    limit loads and where the load's place is then. Column, beam up to the load, beam beyond it; the load's
    place is pushed down step by step and free to go aside until the first, then pushed aside and free to
    go down, since down it turns back before the second."""
    side, at, E, b, h = 120.0, 24.0, 7.2e6, 3.0, 2.0
    # Lengths in sides, forces in EI/side^2.
    lengths = (1.0, at / side, 1 - at / side)
    unit = E * b * h**3 / 12 / side**2
    EA = 12 * (side / h)**2
    kGA = 5 / 12 * EA

    def slopes(s, y, p):
        H, V, P = p
        rates = []
        for k, length in enumerate(lengths):
            _, _, theta, moment = y[4 * k:4 * k + 4]
            up = V + (P if k == 2 else 0.0)
            c, d = np.cos(theta), np.sin(theta)
            stretch, shear = 1 + (H * c + up * d) / EA, (up * c - H * d) / kGA
            dx, dy = stretch * c - shear * d, stretch * d + shear * c
            rates += [length * dx, length * dy, length * moment, length * (dy * H - dx * up)]
        return np.array(rates)

    s = np.linspace(0, 1, 41)
    o = 0 * s
    turn = np.pi / 2
    first = lengths[1]
    y = np.array([o, s, o + turn, o, first * s, o + 1, o, o, first + (1 - first) * s, o + 1, o, o])
    p = np.zeros(3)
    before, rows = (y, p), []
    # Down to behind the first limit load, then aside to behind the second: (by, to).
    ways = [("down", v) for v in (*np.arange(1.5, 45.1, 1.5), *np.arange(46.0, 51.1, 0.5))]
    ways += [("aside", u) for u in np.arange(34.0, 93.1, 1.0)]
    for n, (by, to) in enumerate(ways):
        def missed(a, b, _p):
            driven = b[5] - 1 + to / side if by == "down" else b[4] - first - to / side
            return np.array([a[0], a[1], a[3], b[0] - a[4], b[1] - a[5], b[2] - turn - a[6], b[3] - a[7],
                             b[4] - a[8], b[5] - a[9], b[6] - a[10], b[7] - a[11], driven,
                             b[8] - 1, b[9] - 1, b[11]])

        found = solve_bvp(slopes, missed, s, y, p=p, tol=1e-9, max_nodes=100_000)
        if found.status != 0:
            raise RuntimeError(f"no solution at {to} {by}: {found.message}")
        now = found.sol(s), found.p
        sunk, aside = side * (1 - float(now[0][5, -1])), side * (float(now[0][4, -1])) - at
        rows.append((sunk, unit * float(now[1][2]), aside))
        # The next guess goes straight on, in the coordinate that drives next.
        next_by, next_to = ways[min(n + 1, len(ways) - 1)]
        own = 0 if next_by == "down" else 2
        ahead = (next_to - rows[n][own]) / (rows[n][own] - (rows[n - 1][own] if n else 0))
        y, p = (new + ahead * (new - old) for new, old in zip(now, before))
        before = now
    v, P, aside = map(np.array, zip(*rows[30:41]))
    load = CubicSpline(v, P)
    top = brentq(load.derivative(), 46.0, 50.5)
    sunk, low, u = map(np.array, zip(*rows[41:]))
    fall = CubicSpline(u, low)
    bottom = brentq(fall.derivative(), 85.0, 92.0)
    return {"side": side, "load_at": at, "E": E, "breadth": b, "depth": h, "limit_load": float(load(top)),
            "sunk": top, "aside": float(CubicSpline(v, aside)(top)), "second_load": float(fall(bottom)),
            "second_sunk": float(CubicSpline(u, sunk)(bottom)), "second_aside": bottom}


def post_buckled():
    rows = []
    for degrees in (20, 40, 60, 80):
        k = mp.sin(mp.radians(degrees) / 2)
        K, E = mp.ellipk(k * k), mp.ellipe(k * k)
        rows.append({"largest_slope_deg": degrees, "P_over_critical": (2 * K / mp.pi)**2,
                     "shortening": 2 - 2 * E / K, "sideways": 2 * k / K})
    return rows


def truss():
    half_span, rise, EA = mp.mpf(100), mp.mpf(25), mp.mpf(100000)
    L0 = mp.sqrt(half_span**2 + rise**2)
    def force(w):
        return EA / L0**3 * w * (w - rise) * (w - 2 * rise)
    w_limit = rise * (1 - 1 / mp.sqrt(3))
    return {"half_span": half_span, "rise": rise, "EA": EA, "P_limit": force(w_limit),
            "w_limit": w_limit, "curve": [{"w": w, "P": force(w)} for w in (5, 10, 20, 30, 40, 45)]}


def euler():
    root = mp.findroot(lambda x: mp.tan(x) - x, 4.4934)
    return {"fixed_free": mp.pi**2 / 4, "pinned_pinned": mp.pi**2, "fixed_pinned": root**2,
            "fixed_fixed": 4 * mp.pi**2, "fixed_guided": mp.pi**2}


def golovin():
    rows = []
    for b in ("1.3", "2", "3"):
        a, b = mp.mpf(1), mp.mpf(b)
        L = mp.log(b / a)
        N = (b * b - a * a)**2 - 4 * a * a * b * b * L * L
        def hoop(r):
            return -4 / N * (-a * a * b * b / r**2 * L + b * b * mp.log(r / b)
                             + a * a * mp.log(a / r) + b * b - a * a)
        rows.append({"b_over_a": b, "inner": hoop(a), "outer": hoop(b)})
    return rows


def release():
    rows = []
    for k, c, M0, M2, m, friction, full in (
        (1.0, 0.0, 0.0, 0.0, 5.0, 0.0, 10.0),
        (4.0, 0.05, 4.0, -0.05, 5.0, 1.0, 6.0),
        (4.0, -0.06, 2.0, 0.08, 3.0, 0.0, 6.0),
    ):
        def acceleration(x, v, k=k, c=c, M0=M0, M2=M2, m=m, friction=friction):
            return (friction - k * x - c * x**3 - M2 * x * v * v) / (m + M0 + M2 * x * x)

        def rate(_t, y):
            return [y[1], acceleration(*y)]

        def leaves(_t, y):
            return acceleration(*y)

        def rest(_t, y):
            return y[0]

        leaves.terminal = rest.terminal = True
        found = solve_ivp(rate, (0, 100), [full, 0.0], method="DOP853", rtol=1e-12, atol=1e-13,
                          events=(leaves, rest))
        x, v = found.y[0][-1], -found.y[1][-1]
        rows.append({"k": k, "c": c, "M0": M0, "M2": M2, "m": m, "friction": friction, "full": full,
                     "speed": v, "time": found.t[-1], "leaves_at": abs(x) if abs(x) > 1e-9 else 0.0})
    return rows


def thrown():
    n = 60
    h = 1.0 / n
    k = np.array([[12, 6*h, -12, 6*h], [6*h, 4*h*h, -6*h, 2*h*h],
                  [-12, -6*h, 12, -6*h], [6*h, 2*h*h, -6*h, 4*h*h]]) / h**3
    m = np.array([[156, 22*h, 54, -13*h], [22*h, 4*h*h, 13*h, -3*h*h],
                  [54, 13*h, 156, -22*h], [-13*h, -3*h*h, -22*h, 4*h*h]]) * h / 420
    rows = []
    for end, ratios in (("guided", (0.5, 1.0, 2.0, 4.0)), ("turning", (0.5, 1.0, 2.0, 4.0))):
        for ratio in ratios:
            K, M = np.zeros((2*n + 2, 2*n + 2)), np.zeros((2*n + 2, 2*n + 2))
            for e in range(n):
                s = slice(2*e, 2*e + 4)
                K[s, s] += k
                M[s, s] += m
            M[2*n, 2*n] += ratio
            free = list(range(2, 2*n + 1 + (end == "turning")))
            tip = free.index(2*n)
            K, M = K[np.ix_(free, free)], M[np.ix_(free, free)]
            squares, modes = eigh(K, M)
            w = np.sqrt(squares)
            bent = np.linalg.solve(K, np.eye(len(free))[tip])
            bent /= bent[tip]
            energy = bent @ K @ bent / 2
            share = modes[tip] * (modes.T @ M @ bent)

            def acceleration(t):
                return -np.sum(share * squares * np.cos(w * t))

            times = np.linspace(0, np.pi / w[0], 20001)
            turned = next(t for t in times if acceleration(t) >= 0)
            t = brentq(acceleration, turned - times[1], turned, xtol=1e-14)
            speed = np.sum(share * w * np.sin(w * t))
            rows.append({"guided": float(end == "guided"), "ratio": ratio,
                         "speed": speed / np.sqrt(2 * energy)})
    return rows


def relaxing():
    # Every value is an integral of numerical inversions: seven digits of it are enough, thirty cost minutes.
    with mp.workdps(12):
        return relaxing_rows()


def relaxing_rows():
    rows = []
    for n in (mp.mpf("0.038"), mp.mpf("0.1")):
        left = lambda t, n=n: (1 + t) ** -n
        slope = lambda t, n=n: -n * (1 + t) ** (-n - 1)
        modulus = lambda s, n=n: mp.exp(s) * s ** (n - 1) * mp.gammainc(1 - n, s)
        creep = lambda t, modulus=modulus: mp.invertlaplace(
            lambda s: 1 / (s * s * modulus(s)), t, method="talbot")
        for held, waited in ((6, 6), (360, 36), (360, 3600)):
            t = mp.mpf(held + waited)
            # Talbot's contour needs a time above zero; the shortest here is `waited`.
            past = mp.quad(lambda s: creep(t - s) * slope(s), [0, held / 10, held], maxdegree=4)
            rest = creep(t) + past - creep(mp.mpf(waited)) * left(held)
            rows.append({"exponent": n, "held": held, "waited": waited, "left": left(held),
                         "creep": creep(mp.mpf(held)), "rest": rest})
    return rows


def history():
    n = 0.1
    modulus = lambda t: (1 + t) ** -n
    slope = lambda t: -n * (1 + t) ** (-n - 1)
    x, weights = np.polynomial.legendre.leggauss(120)
    chebyshev = np.polynomial.chebyshev
    degree = 90
    pieces, now, rows = [], 0.0, []

    def past(t):
        total = 0.0
        for a, b, c in pieces:
            s = a + (b - a) * (x + 1) / 2
            values = chebyshev.chebval(x, c)
            total += (b - a) / 2 * np.sum(weights * slope(t - s) * values)
        return total

    # Strain that is kept, or None where it is left alone, and for how long.
    for strain, time in ((1.0, 30.0), (0.5, 20.0), (None, 40.0), (1.0, 10.0), (None, 25.0)):
        a, b = now, now + time
        if strain is None:
            nodes = np.cos(np.pi * (np.arange(degree + 1) + 0.5) / (degree + 1))
            matrix, right = np.empty((degree + 1, degree + 1)), np.empty(degree + 1)
            for row, z in enumerate(nodes):
                t = a + (b - a) * (z + 1) / 2
                s = a + (t - a) * (x + 1) / 2
                inside = chebyshev.chebvander(2 * (s - a) / (b - a) - 1, degree)
                integral = (t - a) / 2 * (weights * slope(t - s)) @ inside
                matrix[row] = chebyshev.chebvander(np.array([z]), degree)[0] + integral
                right[row] = -past(t)
            c = np.linalg.solve(matrix, right)
        else:
            c = np.array([strain])
        begun = chebyshev.chebval(-1.0, c) + past(a)
        pieces.append((a, b, c))
        ended = chebyshev.chebval(1.0, c) + past(b)
        rows.append({"rests": float(strain is None), "time": time,
                     "strain": [chebyshev.chebval(z, c) for z in (-1.0, 1.0)],
                     "stress": [begun, ended]})
        now = b
    return rows


def on_rollers():
    # From the roller to the middle, arc by arc: the roller pushes with a force of 1 at right angles to the
    # strip's end, EI = 1; the middle is where the strip is level again.
    rows = []
    for slope in (0.05, 0.2, 0.4, 0.55):
        push = np.array([-np.sin(slope), np.cos(slope)])

        def bent(s, y, push=push):
            # Angle falls from `slope`; the moment is the arm of the force about the place.
            angle, x, z = y
            return [-(x * push[1] - z * push[0]), np.cos(angle), np.sin(angle)]

        def level(s, y):
            return y[0]
        level.terminal = True
        run = solve_ivp(bent, (0, 20), [slope, 0.0, 0.0], events=level, rtol=1e-12, atol=1e-13)
        _, half, sag = run.y_events[0][0]
        curvature = half * push[1] - sag * push[0]
        rows.append({"deflection": sag / half, "force": 2 * np.cos(slope) * half ** 2,
                     "curvature": curvature * half})
    return rows


def plain(value):
    """JSON numbers of twelve digits."""
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, list):
        return [plain(one) for one in value]
    return float(mp.nstr(mp.mpf(value), 12))


def differences(old, new, tolerance, place):
    if isinstance(new, dict):
        if not isinstance(old, dict) or old.keys() != new.keys():
            return [f"{place}: other keys"]
        return [d for k in new for d in differences(old[k], new[k], tolerance, f"{place}.{k}")]
    if isinstance(new, list):
        if not isinstance(old, list) or len(old) != len(new):
            return [f"{place}: another length"]
        pairs = enumerate(zip(old, new))
        return [d for i, (a, b) in pairs for d in differences(a, b, tolerance, f"{place}[{i}]")]
    # Written so that a NaN is a difference.
    return [] if abs(old - new) <= tolerance * max(1e-3, abs(new)) else [f"{place}: {old} {new}"]


def main():
    mp.mp.dps = 30
    made = (elastica, guided, blocked, ribs, inclined, toggle, arch, bistable, lee, post_buckled,
            truss, euler, golovin, release, thrown, relaxing, history, on_rollers)
    values = {one.__name__: plain(one()) for one in made}
    if "--check" not in sys.argv:
        FILE.write_text(json.dumps(values, indent=1) + "\n")
        return
    kept = json.loads(FILE.read_text())
    found = []
    if kept.keys() != values.keys():
        found.append("other problems than in the file")
    for name in values:
        found += differences(kept.get(name), values[name], DIGITS.get(name, USUAL_DIGITS), name)
    for line in found:
        print(line)
    print(f"{len(values)} problems made again, {len(found)} differences")
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()

#!/usr/bin/env python3
"""Reference values of an arrow's buckling at launch and of its first bending mode.

What    Two eigenvalue problems of an Euler-Bernoulli beam, solved by shooting
        and tabulated in reference.json, beside this file, for tests to compare
        with. Nothing here is shared with the program under test.
          Buckling  (EI w'')'' + (P w')' = 0 on [0, L], L being the cut end and
                    P(x) the acceleration times the mass ahead of x; what is
                    beyond the cut end presses on it there. Pinned at x = 0,
                    w = 0 at the rest, the part ahead of the rest free.
                    S = EI w''' + P w' changes at the rest only.
          Bending   EI w'''' = mu omega^2 w on the tube, both ends free, mu its
                    mass a metre; other pieces are point masses at their centres.
        x runs from the throat of the nock towards the head. SI units unless a
        name says otherwise.
Solver  scipy.integrate.solve_ivp, method DOP853, rtol 1e-12, atol 1e-14, started
        anew wherever load or mass is not smooth; roots by scipy.optimize.brentq.
        Made with Debian's python3-scipy 1.10.1 under Python 3.11; the output
        names the versions that made it.
Run     apt-get install python3-scipy
        /usr/bin/python3 testdata/stiffness/reference.py
        It takes some 15 s and rewrites reference.json only when its checks hold:
        known eigenvalues of columns and beams, and a Ritz solution of every case,
        which cannot lie below the true first eigenvalue, so that no lower root
        can have been stepped over.
Inputs  Invented: round numbers chosen to spread over the model, and the job in
        testdata/jobs/example.json. They describe no real arrow, bow or archer.
"""

import json
import os
import platform
from math import pi, sin, sqrt

import numpy as np
import scipy
from numpy.polynomial import Legendre, Polynomial
from scipy.integrate import solve_ivp
from scipy.linalg import eigh
from scipy.optimize import brentq

GRAIN, INCH, POUND_FORCE = 6.479891e-5, 0.0254, 4.4482216152605
RTOL, ATOL = 1e-12, 1e-14
VIRTUAL_MASS = 90 * GRAIN  # what is assumed of a compound with a single speed reading
STATIONS, GRID = 9, 4001   # the grid is fine enough to find the largest |w| to 1e-7
HERE = os.path.dirname(os.path.abspath(__file__))


def job(name, peak, draw, behind, **build):
    """A whole job document with one build and one speed reading."""
    bow = dict(name="Invented bow", kind="compound", release="aid", peak_weight_lb=peak,
               draw_length_in=draw, brace_height_in=6.5, rest_behind_pivot_in=behind,
               readings=[dict(arrow_gr=420, speed_fps=280, sd_fps=1)])
    return dict(format="foreshaft-job/1", bow=bow, builds=[dict(name="Invented " + name, **build)])


def jobs():
    with open(os.path.join(HERE, "..", "jobs", "example.json"), encoding="utf-8") as f:
        example = json.load(f)
    example["builds"], example["baseline"] = example["builds"][:1], 0
    yield "example", example
    yield "heavy front", job(
        "heavy front", 72, 27, 0.5, length_in=31, shaft=dict(weight_gr_per_in=9.7, spine_in=0.34),
        nock=dict(weight_gr=11, throat_in=0.4, balance_in=0.3),
        vanes=dict(count=4, weight_gr=7.5, length_in=2.8, rear_in=1.1),
        wrap=dict(weight_gr=8, length_in=5), collar=dict(weight_gr=18, length_in=0.6),
        insert=dict(weight_gr=100, depth_in=1.4, proud_in=0.3),
        head=dict(weight_gr=125, length_in=1.2),
        extras=[dict(name="ballast", weight_gr=30, balance_in=15.5, length_in=4)])
    # Here the nock's and the head's weight both act inside the tube.
    yield "rest at the cut end", job(
        "rest at the cut end", 60, 31, 0, length_in=29.25,
        shaft=dict(tube_weight_gr=212.5, spine_in=0.4),
        nock=dict(weight_gr=20, throat_in=0.5, balance_in=0.8),
        vanes=dict(count=3, weight_gr=5, length_in=1.8, rear_in=1.5),
        insert=dict(weight_gr=25, depth_in=0.9), head=dict(weight_gr=85, balance_in=-0.25))
    # No insert, and an extra that is partly beyond the cut end.
    yield "short overhang", job(
        "short overhang", 50, 29, -0.2, length_in=27.5,
        shaft=dict(weight_gr_per_in=6.5, spine_in=0.5), nock=dict(weight_gr=7),
        vanes=dict(count=3, weight_gr=4, length_in=4, rear_in=0.9),
        head=dict(weight_gr=100, balance_in=0.4),
        extras=[dict(name="footing", weight_gr=22, balance_in=27, length_in=1.6)])
    yield "long overhang", job(
        "long overhang", 45, 24.75, 0, length_in=31,
        shaft=dict(weight_gr_per_in=7.4, spine_in=0.6),
        nock=dict(weight_gr=9, throat_in=0.55, balance_in=0.45),
        vanes=dict(count=3, weight_gr=10, length_in=3, rear_in=1.25),
        insert=dict(weight_gr=40, depth_in=1.2, proud_in=0.1),
        head=dict(weight_gr=150, balance_in=0.6))
    # The rest lies an inch ahead of the cut end: then it is taken at the cut end.
    yield "bare tube", job(
        "bare tube", 55, 31.75, 0, length_in=29, shaft=dict(weight_gr_per_in=8, spine_in=0.4),
        nock=dict(weight_gr=0, throat_in=0), head=dict(weight_gr=0))


def arrow(j):
    """EI, throat, length, rest, the tube's mass, and the other pieces as (mass, from, to)."""
    b, bow = j["builds"][0], j["bow"]
    nock, shaft, head = b["nock"], b["shaft"], b["head"]
    t, L, seat = nock.get("throat_in", 0.5), b["length_in"], b["length_in"]
    tube = shaft.get("tube_weight_gr", shaft.get("weight_gr_per_in", 0) * (L - t))
    at = nock.get("balance_in", t)
    pieces = [(nock["weight_gr"], at, at)]
    if v := b.get("vanes"):
        pieces.append((v["count"] * v["weight_gr"], v["rear_in"], v["rear_in"] + v["length_in"]))
    if w := b.get("wrap"):
        pieces.append((w["weight_gr"], t, t + w["length_in"]))
    if i := b.get("insert"):
        seat = L + i.get("proud_in", 0)
        pieces.append((i["weight_gr"], L - i["depth_in"], seat))
    if c := b.get("collar"):
        pieces.append((c["weight_gr"], L - c["length_in"], L))
    at = seat + head.get("balance_in", head.get("length_in", 1.0) / 2)
    pieces.append((head["weight_gr"], at, at))
    for e in b.get("extras", []):
        half = e.get("length_in", 0) / 2
        pieces.append((e["weight_gr"], e["balance_in"] - half, e["balance_in"] + half))
    rest = bow["draw_length_in"] - 1.75 - bow["rest_behind_pivot_in"]
    EI = 1.94 * 28 ** 3 / (48 * shaft["spine_in"]) * POUND_FORCE * INCH ** 2  # ASTM F2031
    return (EI, t * INCH, L * INCH, rest * INCH, tube * GRAIN,
            [(m * GRAIN, p * INCH, q * INCH) for m, p, q in pieces])


def clean(*xs):
    return [round(x, 12) for x in xs]  # so that places that should coincide do


def tidy(L, rest, pieces):
    return *clean(L, min(rest, L)), [(m, *clean(p, q)) for m, p, q in pieces]


def lumps(t, L, pieces):
    """Every piece as a point mass at its centre, or at the end of the tube it is beyond."""
    return [(m, *clean(min(max((p + q) / 2, t), L))) for m, p, q in pieces]


def ahead(x, pieces):
    return sum(m * (np.clip((q - x) / (q - p), 0, 1) if q > p else x < p) for m, p, q in pieces)


def places(L, rest, pieces):
    """The places between which the mass ahead falls in a straight line."""
    return sorted({0.0, L, rest} | {x for _, p, q in pieces for x in (p, q) if 0 < x < L})


def integrate(EI, P, mu_omega2, x0, x1, Y):
    """Carry columns of (w, w', EI w'', S) from x0 to x1."""
    def rhs(x, y):
        w, slope, M, S = y.reshape(4, -1)
        return np.concatenate([slope, M / EI, S - P(x) * slope, mu_omega2 * w])
    sol = solve_ivp(rhs, (x0, x1), Y.ravel(), method="DOP853", rtol=RTOL, atol=ATOL,
                    dense_output=True)
    assert sol.success
    return sol.y[:, -1].reshape(4, -1), sol.sol


def first_root(f, start, step):
    a, fa = start, f(start)
    while fa * (fb := f(a + step)) > 0:
        a, fa = a + step, fb
    return brentq(f, a, a + step, xtol=1e-13 * step, rtol=1e-14)


def buckling(EI, L, rest, pieces):
    """Least acceleration at which a bent shape exists, and that shape on a grid.

    Two columns start at the throat, one with unit slope and one with unit S.
    S is nothing at the cut end, so it is nothing all the way from the rest on:
    the reaction is known, and w = 0 at the rest and no moment at the cut end
    are the two conditions left."""
    L, rest, pieces = tidy(L, rest, pieces)
    ends, grid = places(L, rest, pieces), np.linspace(0, L, GRID)

    def shoot(a, sample=False):
        Y, W = np.array([[0, 0], [1, 0], [0, 0], [0, 1]], float), np.zeros((GRID, 2))
        for x0, x1 in zip(ends, ends[1:]):
            # Inside a stretch, because a point mass at its end makes a step there.
            p, q = x0 + (x1 - x0) / 4, x1 - (x1 - x0) / 4
            Pp, Pq = a * ahead(p, pieces), a * ahead(q, pieces)
            Y, dense = integrate(EI, lambda x: Pp + (Pq - Pp) * (x - p) / (q - p), 0.0, x0, x1, Y)
            if sample:
                here = (grid >= x0) & (grid <= x1)
                W[here] = dense(grid[here])[:2].T
            if x1 == rest:
                at_rest, Y[3] = Y[0].copy(), 0.0
        return W if sample else (at_rest, Y[2])

    def determinant(a):
        (w1, w2), (M1, M2) = shoot(a)
        return w1 * M2 - w2 * M1

    unit = EI / (L ** 2 * sum(m for m, _, _ in pieces))
    a = first_root(determinant, 0.01 * unit, 0.05 * unit)
    (w1, w2), _ = shoot(a)
    return a, upright(shoot(a, sample=True) @ (w2, -w1), rest / L)


def upright(w, rest):
    """The shape with its largest |w| made 1, and positive behind the rest."""
    return w * np.sign(w[int(rest / 2 * GRID)]) / np.abs(w).max()


def bending(EI, t, L, tube, pieces):
    """First free-free angular frequency of the tube."""
    t, L = clean(t, L)
    points = lumps(t, L, pieces)
    ends = sorted({t, L} | {x for _, x in points})

    def determinant(omega):
        Y = np.array([[1, 0], [0, 1], [0, 0], [0, 0]], float)
        for x0, x1 in zip(ends, ends[1:] + [None]):
            Y[3] += omega ** 2 * sum(m for m, x in points if x == x0) * Y[0]
            if x1 is not None:
                Y, _ = integrate(EI, lambda x: 0.0, tube / (L - t) * omega ** 2, x0, x1, Y)
        return Y[2, 0] * Y[3, 1] - Y[2, 1] * Y[3, 0]

    # Moving as a whole is a root at nothing, so the scan starts above it.
    unit = sqrt(EI / ((tube + sum(m for m, _ in points)) * (L - t) ** 3))
    return first_root(determinant, unit, 0.25 * unit)


def ritz(EI, ends, basis, load, order, points=()):
    """Eigenvalues and shapes of EI w'' against load on the derivative of that order."""
    u, c = np.polynomial.legendre.leggauss(40)
    K, G = np.zeros((2, len(basis), len(basis)))
    for x0, x1 in zip(ends, ends[1:]):
        x, dx = (x0 + x1) / 2 + (x1 - x0) / 2 * u, (x1 - x0) / 2 * c
        d, d2 = (np.array([f.deriv(k)(x) for f in basis]) for k in (order, 2))
        K, G = K + (d2 * EI * dx) @ d2.T, G + (d * load(x) * dx) @ d.T
    for m, at in points:
        w = np.array([f(at) for f in basis])
        G += m * np.outer(w, w)
    return eigh(K, G)


def ritz_buckling(EI, L, rest, pieces):
    L, rest, pieces = tidy(L, rest, pieces)
    held = Polynomial([0, -rest, 1]).convert(domain=[0, L], kind=Legendre)
    basis = [held * Legendre.basis(k, domain=[0, L]) for k in range(22)]
    value, shape = ritz(EI, places(L, rest, pieces), basis, lambda x: ahead(x, pieces), 1)
    grid = np.linspace(0, L, GRID)
    return value[0], upright(shape[:, 0] @ [f(grid) for f in basis], rest / L)


def ritz_bending(EI, t, L, tube, pieces):
    basis = [Legendre.basis(k, domain=[t, L]) for k in range(22)]
    value, _ = ritz(EI, [t, L], basis, lambda x: tube / (L - t), 0, lumps(t, L, pieces))
    return sqrt(value[2])  # the first two are moving as a whole


CHECKS = {}  # what was held to what, for the output


def check(name, got, want, within):
    """Hold a value to one known beforehand, as closely as that one is known."""
    CHECKS[name] = dict(got=got, want=want)
    print(f"{name:52s} {got:<14.12g} want {want:<14.12g} off by {got / want - 1:+.1e}")
    assert abs(got / want - 1) < within, name


def known():
    """Columns and beams whose eigenvalues are known, by the same two functions."""
    check("end load, P L^2/EI", buckling(1, 1, 1, [(1, 1, 1)])[0], pi ** 2, 1e-10)
    check("own inertia, q L^3/EI", buckling(1, 1, 1, [(1, 0, 1)])[0], 18.5687248, 1e-8)
    both = buckling(1, 1, 1, [(9.367885, 1, 1), (1, 0, 1)])[0]
    check("both, share of q L^3/EI = 1 with P L^2/EI = 9.367885", both, 1, 1e-7)
    for back in (0.5, 0.74, 0.97):  # end load with an overhang has a closed form
        k = first_root(lambda k: k * back * sin(k) - sin(k * back) * sin(k * (1 - back)), 0.5, 0.05)
        check(f"end load, rest at {back} L", buckling(1, 1, back, [(1, 1, 1)])[0], k * k, 1e-10)
    check("free-free, beta L", sqrt(bending(1, 0, 1, 1, [])), 4.7300407448627, 1e-10)
    tip = sqrt(bending(1, 0, 1, 1, [(0.5, 1, 1)]))
    check("free-free with half its mass at one end, beta L", tip, 4.12813721, 1e-8)
    EI, L, head = 5.092352, 0.7112, (0.0065, 0.7112, 0.7112)
    check("worked, Hz", bending(EI, 0, L, 0.018, []) / (2 * pi), 99.8585, 1e-6)
    check("worked with head, Hz", bending(EI, 0, L, 0.018, [head]) / (2 * pi), 78.0265, 1e-6)
    check("worked with head, critical m/s^2", buckling(EI, L, L, [head, (0.018, 0, L)])[0],
          6270.96, 1e-6)


def solve(name, j):
    EI, t, L, rest, tube, pieces = arrow(j)
    every = pieces + [(tube, t, L)]
    a, w = buckling(EI, L, rest, every)
    omega = bending(EI, t, L, tube, pieces)
    bound, shape = ritz_buckling(EI, L, rest, every)
    above, high, off = bound / a - 1, ritz_bending(EI, t, L, tube, pieces) / omega - 1, abs(w - shape)
    print(f"{name}: Ritz above by {above:.1e} and {high:.1e}, shape off by {off.max():.1e}")
    assert -1e-10 < above < 1e-5 and -1e-10 < high < 1e-5 and off.max() < 1e-4, name
    force, mass = j["bow"]["peak_weight_lb"] * POUND_FORCE, sum(m for m, _, _ in every)
    step, inches = (GRID - 1) // (STATIONS - 1), np.linspace(0, L / INCH, GRID)
    return dict(name=name, critical_m_s2=a, frequency_hz=omega / (2 * pi),
                margin=a / (force / (mass + VIRTUAL_MASS)), total_gr=mass / GRAIN, ei_n_m2=EI,
                rest_in=rest / INCH, job=j,
                shape=[dict(x_in=x, w=y) for x, y in zip(inches[::step], w[::step])])


def main():
    known()
    cases = [solve(name, j) for name, j in jobs()]
    by_name = {c["name"]: c for c in cases}
    # Both are known to 0.3 % from another program.
    check("example, Hz", by_name["example"]["frequency_hz"], 87.158, 3e-3)
    check("example, margin", by_name["example"]["margin"], 0.9219, 3e-3)
    bare, (EI, _, L, _, tube, _) = by_name["bare tube"], arrow(by_name["bare tube"]["job"])
    check("bare tube, critical m/s^2", bare["critical_m_s2"], 18.5687248 * EI / (tube * L ** 2), 1e-8)
    check("bare tube, Hz", bare["frequency_hz"],
          4.7300407448627 ** 2 * sqrt(EI / (tube * L ** 3)) / (2 * pi), 1e-10)
    out = dict(
        about="Buckling at launch and first bending mode by shooting; made by reference.py, which says how.",
        inputs="Invented round numbers. They describe no real arrow, bow or archer.",
        solver="scipy.integrate.solve_ivp method DOP853; roots scipy.optimize.brentq",
        scipy_version=scipy.__version__, numpy_version=np.__version__,
        python_version=platform.python_version(), rtol=RTOL, atol=ATOL,
        units="each name ends in its unit; w is relative to the largest |w|, positive behind the rest",
        virtual_mass_gr=VIRTUAL_MASS / GRAIN, checks=CHECKS, cases=cases)
    with open(os.path.join(HERE, "reference.json"), "w", encoding="utf-8") as f:
        json.dump(out, f, indent=1, allow_nan=False, default=float)
        f.write("\n")
    for c in cases:
        print(f"{c['name']:20s} rest {c['rest_in']:5.2f} in, critical {c['critical_m_s2']:.9g} m/s^2, "
              f"{c['frequency_hz']:.9g} Hz, margin {c['margin']:.9g}")


if __name__ == "__main__":
    main()

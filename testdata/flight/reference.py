#!/usr/bin/env python3
"""Reference table of arrow flight, made with a general-purpose ODE solver.

What    Point mass with quadratic drag in three dimensions,
            dV/dt = -k |V - W| (V - W) + g,
        integrated by scipy's DOP853 and tabulated in reference.json, beside
        this file, for tests to compare with. Nothing here is shared with the
        program under test: that is the table's whole worth.
Solver  scipy.integrate.solve_ivp, method DOP853, rtol 1e-13, atol 1e-14, steps
        of at most 0.02 s; roots by scipy.optimize.brentq, xtol 1e-15. Made with
        Debian's python3-scipy 1.10.1 under Python 3.11; the output names the
        versions that made it.
Run     apt-get install python3-scipy
        /usr/bin/python3 testdata/flight/reference.py
        It asserts its own checks against closed forms, and rewrites
        reference.json only when they all hold.
Inputs  Invented: the speeds, drags, heights and winds are round numbers chosen
        to spread over the model. They describe no real arrow, bow or archer.

Frame   x along the line of sight, y across it in the vertical plane (positive
        up), z sideways (positive the way a positive wind blows). Origin at the
        nock at launch; the line of sight is y = h. Uphill slopes are positive.
        SI units and radians unless a name says otherwise.
"""

import json
import math
import os
import platform
from math import asinh, atan, atan2, cos, hypot, pi, radians, sin, sqrt, tan

import numpy
import scipy
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar

G, YARD = 9.80665, 0.9144
REACH = 80 * YARD  # how far beyond the target range_long is looked for
RTOL, ATOL, MAX_STEP, XTOL, LAST = 1e-13, 1e-14, 0.02, 1e-15, 60.0
YARDS = (5, 20, 40, 60, 100)
ARROWS = {"middle": (86.4, 0.00195), "slow": (60.0, 0.0016), "draggy": (95.0, 0.004)}
WIND = 4.4704


SEEN = []  # every state a figure is read from, so that each of them can be checked


def make_case(name, v0, k, slope_deg, h=0.1143, p=0.8636, r=0.1016, wind=WIND):
    return dict(name=name, base=None, v0=v0, k=k, slope_deg=slope_deg,
                slope=radians(slope_deg), h=h, p=p, r=r, wind=wind)


def all_cases():
    cs = [make_case(f"{n}@{s:+d}", v, k, s) for s in (-30, -15, 0, 15, 30, 45)
          for n, (v, k) in ARROWS.items()]
    v, k = ARROWS["middle"]
    cs += [make_case("vacuum@+0", v, 0.0, 0), make_case("vacuum@+30", v, 0.0, 30),
           make_case("braked@+0", 70.0, 0.03, 0),
           make_case("crawl@-60", 45.0, 0.0025, -60), make_case("crawl@+60", 45.0, 0.0025, 60),
           make_case("no-height@+0", v, k, 0, h=0.0), make_case("wide@+0", v, k, 0, r=0.5),
           make_case("vast@+0", v, k, 0, r=3.0),  # so wide that range_long can run out of reach
           make_case("other-wind@+0", v, k, 0, wind=-8.0)]
    for c in cs:
        c["base"] = next(b["name"] for b in cs if (b["h"], b["slope"]) == (c["h"], c["slope"]))
    return cs


def fly(c, theta, stop, wind=0.0, slope=None, tight=True, also=()):
    """Integrate until stop(state) passes zero the way stop.direction says."""
    s = c["slope"] if slope is None else slope
    k, gx, gy = c["k"], -G * sin(s), -G * cos(s)

    def rhs(_, q):
        vx, vy, vz = q[3], q[4], q[5]
        b = k * sqrt(vx * vx + vy * vy + (vz - wind) ** 2)
        return vx, vy, vz, gx - b * vx, gy - b * vy, -b * (vz - wind)

    # Short steps are for the interpolant, which is of lower order than the
    # steps themselves; without them it would set the accuracy of every root.
    how = dict(rtol=RTOL, atol=ATOL, max_step=MAX_STEP) if tight else dict(rtol=1e-8, atol=1e-8)
    return solve_ivp(rhs, (0.0, LAST), (0, 0, 0, c["v0"] * cos(theta), c["v0"] * sin(theta), 0),
                     method="DOP853", dense_output=True, events=[stop, *also], **how)


def event(f, direction, terminal=True):
    def e(_, q):
        return f(q)
    e.direction, e.terminal = direction, terminal
    return e


def seen(c, slope, theta, wind, t, q):
    SEEN.append((c["v0"], c["k"], slope, theta, wind, t, q))
    return t, q


def at_x(c, theta, x, wind=0.0):
    """Time and state where x is first passed, or None when it never is."""
    sol = fly(c, theta, event(lambda q: q[0] - x, 1), wind=wind)
    if not len(sol.t_events[0]):
        return None
    return seen(c, c["slope"], theta, wind, sol.t_events[0][0], sol.y_events[0][0])


def miss(c, theta, D, tight=True):
    """True-vertical miss at the plumb line through the target.

    Level distance only ever grows along a path, so every launch angle has one
    answer here, even uphill where x itself can turn back."""
    s, h = c["slope"], c["h"]
    X, Y = D * cos(s) - h * sin(s), D * sin(s) + h * cos(s)
    sol = fly(c, theta, event(lambda q: q[0] * cos(s) - q[1] * sin(s) - X, 1), tight=tight)
    if not len(sol.t_events[0]):
        return None
    q = sol.y_events[0][0]
    return q[0] * sin(s) + q[1] * cos(s) - Y


def launch_angle(c, D):
    """(lower angle, None) or (None, why not)."""
    # The path lies below its launch line, so the straight line to the target
    # is a sure lower bound and the first rise through zero is the lower angle.
    lo, step, best = atan2(c["h"], D), radians(0.5), (-math.inf, None)
    while lo + step < pi / 2 - c["slope"]:
        hi = lo + step
        m = miss(c, hi, D, tight=False)
        if m is not None and m >= 0:
            f = lambda a: -1.0 if (d := miss(c, a, D)) is None else d
            theta = brentq(f, lo, hi, xtol=XTOL, rtol=4 * numpy.finfo(float).eps)
            assert abs(f(theta)) < 1e-11, (c["name"], D, f(theta))
            return theta, None
        if m is not None and m > best[0]:
            best = (m, hi)
        lo = hi
    if best[1] is None:
        return None, "no launch angle carries the path this far"
    # The scan could step over two angles lying close together.
    near = lambda a: -(miss(c, a, D, tight=False) or -1e3)
    top = -minimize_scalar(near, bounds=(best[1] - step, best[1] + step), method="bounded").fun
    assert top < -0.01, (c["name"], D, top)
    return None, f"out of reach: the best launch angle passes {-top:.3f} m below"


class Path:
    """A still-air path flown till it has fallen below all levels of interest.

    Across the line of sight a path only rises, then only falls, so each level
    is met once on either side of the top."""

    def __init__(self, c, theta, slope=None):
        floor = min(c["h"] - c["r"], 0.0) - 0.05
        sol = fly(c, theta, event(lambda q: q[1] - floor, -1), slope=slope,
                  also=[event(lambda q: q[4], -1, False)])
        self.at, self.end, self.top = sol.sol, sol.t[-1], sol.t_events[1][0]
        s = c["slope"] if slope is None else slope
        self.seen = lambda t: seen(c, s, theta, 0.0, t, sol.sol(t))
        assert len(sol.t_events[0]) == 1 and len(sol.t_events[1]) == 1

    def meets(self, level, rising):
        """Time and state there, or None."""
        if self.at(self.top)[1] <= level or (rising and level <= 0):
            return None
        span = (0.0, self.top) if rising else (self.top, self.end)
        return self.seen(brentq(lambda t: self.at(t)[1] - level, *span, xtol=XTOL))


def figures(c, yd):
    D, s, h, r = yd * YARD, c["slope"], c["h"], c["r"]
    theta, why = launch_angle(c, D)
    names = ("theta t speed mark drop drift t_wind y_wind range_short range_long hold_for "
             "impact vx vy").split()
    row = dict(distance_yd=yd, distance=D, reason=why, impact_reason=None, **dict.fromkeys(names))
    if theta is None:
        return row
    t, q = at_x(c, theta, D)
    assert abs(q[1] - h) < 1e-11 and q[3] > 0
    path = Path(c, theta)
    edges = [e for e in (path.meets(h - r, True), path.meets(h + r, True),
                         path.meets(h + r, False), path.meets(h - r, False)) if e is not None]
    before, (after, *_) = [q for e, q in edges if e < t], [q for e, q in edges if e > t]
    short = D - before[-1][0] if before else D
    beyond = after[0] - D
    assert 0 < short <= D and beyond > 0 and after[3] > 0
    assert [e for e, _ in edges] == sorted(e for e, _ in edges)
    row.update(theta=theta, t=t, speed=hypot(q[3], q[4]), vx=q[3], vy=q[4],
               mark=c["p"] * tan(theta), drop=(D * sin(theta) - h * cos(theta)) / cos(s + theta),
               range_short=short, range_long=beyond if beyond <= REACH else None)
    if (w := at_x(c, theta, D, wind=c["wind"])) is not None:
        row.update(t_wind=w[0], y_wind=w[1][1], drift=w[1][2])
    if s != 0:
        far = Path(c, theta, slope=0.0).meets(h, False)
        row["hold_for"] = None if far is None else far[1][0]
    return row


def hold_on(c):
    h, r = c["h"], c["r"]
    top = lambda a: fly(c, a, event(lambda q: q[4], -1)).y_events[0][0][1] - (h + r)
    theta = brentq(top, 1e-3, pi / 4, xtol=XTOL)
    path = Path(c, theta)
    near = path.meets(h - r, True)
    return dict(theta=theta, near=0.0 if near is None else near[1][0],
                far=path.meets(h - r, False)[1][0])


def plain():
    rows = []
    for name, (v, k) in ARROWS.items():
        for slope in (0, 30):
            c, states = make_case(name, v, k, slope), []
            for x in (10.0, 50.0, 91.44):
                t, q = at_x(c, radians(2), x, wind=WIND)
                states.append(dict(x=x, t=t, **dict(zip(("y", "z", "vx", "vy", "vz"), q[1:]))))
            rows.append(dict(name=f"{name}@{slope:+d}", v0=v, k=k, slope_deg=slope,
                             slope=c["slope"], theta_deg=2, theta=radians(2), wind=WIND,
                             states=states))
    return rows


# The checks use closed forms and plain quadrature, no stepping, so that an
# error in setting up the integration cannot also be in what it is held to.

def check_vacuum(c, row):
    """Largest difference from the parabola, over every figure of a row."""
    v, s, h, r, D = c["v0"], c["slope"], c["h"], c["r"], row["distance"]
    X, Y = D * cos(s) - h * sin(s), D * sin(s) + h * cos(s)
    a = G * X * X + 2 * Y * v * v
    phi = atan(a / (X * (v * v + sqrt(v ** 4 - G * a))))  # the form that does not cancel
    th, t = phi - s, X / (v * cos(phi))

    def x_at(level, side, th=th, s=s):
        d = (v * sin(th)) ** 2 - 2 * G * cos(s) * level
        t = (v * sin(th) + side * sqrt(d)) / (G * cos(s)) if d > 0 else math.nan
        return v * cos(th) * t - G * sin(s) * t * t / 2

    xs = [x_at(h - r, -1), x_at(h + r, -1), x_at(h + r, 1), x_at(h - r, 1)]
    beyond, hold_for = min(x for x in xs if x > D) - D, x_at(h, 1, s=0.0)
    want = dict(theta=th, t=t, speed=sqrt(v * v - 2 * G * Y), mark=c["p"] * tan(th),
                drop=G * t * t / 2, drift=0.0, t_wind=t, y_wind=h,
                range_short=D - max(x for x in xs if x < D),
                range_long=beyond if beyond <= REACH else None,
                hold_for=hold_for if s and hold_for == hold_for else None)
    assert all((row[n] is None) == (want[n] is None) for n in want), (c["name"], D)
    on, hold = math.asin(sqrt(2 * G * cos(s) * (h + r)) / v), c["hold_on"]
    diffs = [row[n] - want[n] for n in want if want[n] is not None]
    diffs += [hold["theta"] - on, hold["near"] - x_at(h - r, -1, th=on),
              hold["far"] - x_at(h - r, 1, th=on)]
    return max(map(abs, diffs))


def check_lag(v0, k, s, theta, wind, t, q):
    """Sideways lag z = W (t - X/v0X), X level: exact for a pure crosswind."""
    return abs(q[2] - wind * (t - (q[0] * cos(s) - q[1] * sin(s)) / (v0 * cos(s + theta))))


def check_quadrature(v0, k, s, theta, wind, t, q):
    """Flight with the tangent of the path's inclination as variable.

    Drag then has the closed form 1/u^2 = 1/u0^2 + (k/g)(F(p0) - F(p)), u being
    the level speed, and time and place are ordinary integrals of u. Seen from
    air moving straight across, a crosswind path is a still-air path turned
    aside by an angle that never changes, so it is held to the same integrals."""
    X, Y = q[0] * cos(s) - q[1] * sin(s), q[0] * sin(s) + q[1] * cos(s)
    VX, VY = q[3] * cos(s) - q[4] * sin(s), q[3] * sin(s) + q[4] * cos(s)
    ahead = v0 * cos(s + theta)
    u0, u1 = hypot(ahead, wind), hypot(VX, q[5] - wind)
    p0, p1 = v0 * sin(s + theta) / u0, VY / u1
    F = lambda p: p * sqrt(1 + p * p) + asinh(p)
    u = lambda p: (u0 ** -2 + k / G * (F(p0) - F(p))) ** -0.5
    go = lambda f: quad(f, p1, p0, epsabs=1e-11, epsrel=1e-12, limit=200)[0] / G
    return max(map(abs, (u(p1) - u1, go(u) - t, go(lambda p: u(p) ** 2) * ahead / u0 - X,
                         go(lambda p: p * u(p) ** 2) - Y)))


def main():
    cases = all_cases()
    for c in cases:
        c["hold_on"] = hold_on(c)
        c["distances"] = [figures(c, yd) for yd in YARDS]
        mark = {row["distance_yd"]: row["mark"] for row in c["distances"]}
        c["mark_spread"] = None if None in (mark[20], mark[60]) else mark[60] - mark[20]
    by_name = {c["name"]: c for c in cases}
    for c in cases:
        for row, base in zip(c["distances"], by_name[c["base"]]["distances"]):
            if base["theta"] is None:
                row["impact_reason"] = "the base case has no angle for this distance"
            elif (hit := at_x(c, base["theta"], row["distance"])) is None:
                row["impact_reason"] = "the path from the base case's angle never comes this far"
            else:
                row["impact"] = hit[1][1] - c["h"]
    rows = [(c, r) for c in cases for r in c["distances"] if r["theta"] is not None]
    level = plain()
    checks = dict(vacuum_parabola=max(check_vacuum(c, r) for c, r in rows if c["k"] == 0),
                  crosswind_lag=max(check_lag(*e) for e in SEEN),
                  drag_quadrature=max(check_quadrature(*e) for e in SEEN))
    for name, worst in checks.items():
        print(f"{name:22s} largest difference {worst:.3g} (SI)")
        assert worst < 1e-10, name
    out = dict(
        about="Arrow flight by a general-purpose ODE solver; made by reference.py, which says how.",
        inputs="Invented round numbers. They describe no real arrow, bow or archer.",
        solver="scipy.integrate.solve_ivp method DOP853; roots scipy.optimize.brentq",
        scipy_version=scipy.__version__, numpy_version=numpy.__version__,
        python_version=platform.python_version(), rtol=RTOL, atol=ATOL, max_step=MAX_STEP,
        root_xtol=XTOL, units="SI and radians unless a name ends in _deg or _yd",
        g=G, yard=YARD, range_long_reach=REACH, checks_largest_difference=checks,
        cases=cases, plain=level)
    where = os.path.join(os.path.dirname(os.path.abspath(__file__)), "reference.json")
    with open(where, "w", encoding="utf-8") as f:
        json.dump(out, f, indent=1, allow_nan=False, default=float)
        f.write("\n")
    print(f"{len(cases)} cases, {len(rows)} reachable distances, {len(SEEN)} states checked, "
          f"scipy {scipy.__version__}")


if __name__ == "__main__":
    main()

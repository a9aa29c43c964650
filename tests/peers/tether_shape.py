"""Free-hanging lines a second way, to check the tether solver and to have a peer for its speed.

The equations are those of the conventions in tests/data/tether-cases.json; the methods are others: collocation that refines its
own mesh (`solve_bvp`) and shooting from the drum (`solve_ivp`, DOP853, with `root` on force and end). Nothing here is translated
from the Rust code, and nothing starts from our solutions.

    cargo build --release -p beamstay-tests --bin lines
    python3 tests/peers/tether_shape.py                      # the cases of the file and 24 random lines
    python3 tests/peers/tether_shape.py --program PROGRAM --lines COUNT

Needs numpy and scipy. The truth is shot at 1e-12. Exit code 1 if a force of ours differs from it by more than 1e-6 of the larger end
force, or a length or place by more than 1e-6 of the length. Both ways are timed with the loosest tolerance, a power of ten and the
same for all lines, that keeps all of them to the same 1e-6; so is ours.
"""

import argparse
import json
import math
import pathlib
import subprocess
import sys
import time

import numpy as np
from scipy.integrate import solve_bvp, solve_ivp
from scipy.optimize import root

ROOT = pathlib.Path(__file__).parent.parent.parent
G = 9.80665
ALLOWED = 1e-6


class Line:
    """One case: load on a metre as a function of height and pull, for numbers and for arrays."""

    def __init__(self, case):
        given = case["inputs"]
        self.end = np.array(given["P_m"], float)
        self.length = given.get("L0_m")
        self.tension = given.get("T_base_N")
        self.give = 1.0 / given["EA_N"] if given["EA_N"] else 0.0
        self.d, self.ct, self.cn = given["d_m"], given["ct"], given["cn"]
        area = 0.25 * math.pi * self.d**2
        self.weight = (given["m_kg_per_m"] - given["rho_buoy_kg_m3"] * area) * G
        self.flow, self.density = given["flow"], given["density"]
        self.kink = self.flow.get("z_min")

    def speed(self, z, xp):
        flow = self.flow
        if flow["type"] == "uniform":
            return flow["speed"] + 0.0 * z
        if flow["type"] == "power":
            higher = max(z, flow["z_min"]) if xp is math else np.maximum(z, flow["z_min"])
            return flow["v_ref"] * (higher / flow["z_ref"]) ** flow["alpha"]
        if flow["type"] == "exp":
            return flow["v_surface"] * xp.exp(z / flow["delta"])
        share = (z + flow["depth"]) / flow["depth"]
        return flow["v_surface"] * (max(share, 0.0) if xp is math else np.maximum(share, 0.0)) ** flow["alpha"]

    def rates(self, z, fx, fy, fz, xp):
        """Changes of place and pull with the unstretched length."""
        tension = xp.sqrt(fx * fx + fy * fy + fz * fz)
        stretch = 1.0 + self.give * tension
        tx, ty, tz = fx / tension, fy / tension, fz / tension
        angle = math.pi / 180 * (self.flow["dir0_deg"] + self.flow["veer_deg_per_m"] * z)
        speed = self.speed(z, xp)
        ux, uy = speed * xp.cos(angle), speed * xp.sin(angle)
        along = ux * tx + uy * ty
        nx, ny, nz = ux - along * tx, uy - along * ty, -along * tz
        across = xp.sqrt(nx * nx + ny * ny + nz * nz)
        rho = self.density.get("rho")
        if rho is None:
            rho = 1.225 * (1 - 0.0065 * (self.density["station_alt_m"] + z) / 288.15) ** (G / (287.05287 * 0.0065) - 1)
        # Cn |u_n|, which stays finite as the flow across the line goes to nothing.
        normal = across * self.cn["value"] if self.cn["type"] == "const" else across + 10.0 * across ** (1 / 3) * (rho * self.d / self.cn["mu"]) ** (-2 / 3)
        half = 0.5 * rho * self.d * stretch
        rub = self.ct * abs(along) * along
        qx = half * (normal * nx + rub * tx)
        qy = half * (normal * ny + rub * ty)
        qz = half * (normal * nz + rub * tz) - self.weight
        return stretch * tx, stretch * ty, stretch * tz, -qx, -qy, -qz

    def guess(self):
        """Length, and force at the drum and load of a parabola under the load on the chord."""
        distance = np.linalg.norm(self.end)
        chord = self.end / distance
        places = [0.1127, 0.5, 0.8873]
        load = sum(w * -np.array(self.rates(p * self.end[2], *(1e-9 * chord), math)[3:]) for w, p in zip([5 / 18, 8 / 18, 5 / 18], places))
        across = load - load @ chord * chord
        total = np.linalg.norm(across) * distance
        if self.length is None:
            slack = total**2 / (24 * self.tension**2) - self.tension * self.give
            length, tension = distance * (1 + slack), self.tension
        else:
            length, slack = self.length, self.length / distance - 1
            # slack + T/EA = (load/T)²/24
            tension = total / math.sqrt(24 * max(slack, 1e-6))
            for _ in range(60):
                excess = slack + tension * self.give - total**2 / (24 * tension**2)
                tension -= excess / (self.give + total**2 / (12 * tension**3))
        return length, tension * chord + 0.5 * length * load, load


# --- shooting ------------------------------------------------------------------------------------------------------------------


def shot(line, force, length, rtol):
    """End place and pull; the integration begins anew where it crosses the kink of the flow."""

    def rates(_, y):
        return line.rates(y[2], y[3], y[4], y[5], math)

    s, y, way = 0.0, np.array([0.0, 0.0, 0.0, *force]), []
    crossing = None
    if line.kink is not None:
        crossing = lambda _, y: y[2] - line.kink
        crossing.terminal = True
    while True:
        scale = np.array([length] * 3 + [np.linalg.norm(force)] * 3)
        run = solve_ivp(rates, (s, length), y, method="DOP853", rtol=rtol, atol=rtol * scale, events=crossing, dense_output=True)
        way.append(run.sol)
        s, y = run.t[-1], run.y[:, -1]
        if run.status != 1:
            return y, way
        # Just past the kink.
        step = 1e-9 * length
        y, s = y + step * np.array(rates(s, y)), s + step


def shooting(line, rtol):
    length, force, _ = line.guess()
    scale_n = np.linalg.norm(force)

    def missed(unknown):
        force = unknown[:3] * scale_n
        if line.length is not None:
            return (shot(line, force, length, rtol)[0][:3] - line.end) / length
        here = unknown[3] * length
        off = (shot(line, force, here, rtol)[0][:3] - line.end) / length
        return np.append(off, np.linalg.norm(force) / line.tension - 1)

    start = force / scale_n if line.length is not None else np.append(force / scale_n, 1.0)
    found = root(missed, start, method="hybr", tol=max(1e-12, 0.1 * rtol))
    if np.max(np.abs(missed(found.x))) > 1e3 * rtol:
        raise ArithmeticError(f"shooting: {found.message}")
    force = found.x[:3] * scale_n
    here = length if line.length is not None else found.x[3] * length
    end, way = shot(line, force, here, rtol)
    half = next(sol for sol in way if 0.5 * here <= sol.t_max)(0.5 * here)[:3]
    return {"F_base_N": force, "F_top_N": end[3:], "L0_m": here, "r_half_m": half}


# --- collocation ---------------------------------------------------------------------------------------------------------------


def collocation(line, tol):
    length, force, load = line.guess()
    scale = np.array([length] * 3 + [np.linalg.norm(force)] * 3)
    free = line.length is None

    def rates(x, y, p=None):
        here = p[0] * length if free else length
        z = y * scale[:, None]
        return here * np.array(line.rates(z[2], z[3], z[4], z[5], np)) / scale[:, None]

    def ends(a, b, p=None):
        off = np.concatenate([a[:3], b[:3] - line.end / length])
        return np.append(off, np.linalg.norm(a[3:]) * scale[3] / line.tension - 1) if free else off

    x = np.linspace(0, 1, 25)
    pull = force[:, None] - np.outer(load, x) * length
    way = np.outer(line.end, x) + 0.5 * length**2 * np.outer(load - load @ line.end * line.end / (line.end @ line.end), x * (1 - x)) / np.linalg.norm(force)
    found = solve_bvp(rates, ends, x, np.vstack([way, pull]) / scale[:, None], p=[1.0] if free else None, tol=tol, max_nodes=200_000)
    if found.status != 0:
        raise ArithmeticError(f"solve_bvp: {found.message}")
    first, half, last = (found.sol(x) * scale for x in (0.0, 0.5, 1.0))
    return {"F_base_N": first[3:], "F_top_N": last[3:], "L0_m": length * found.p[0] if free else length, "r_half_m": half[:3]}


# --- comparison ----------------------------------------------------------------------------------------------------------------


def difference(a, b):
    """Largest difference of forces over the larger end force, and of length and place over the length."""
    force = max(np.linalg.norm(b["F_base_N"]), np.linalg.norm(b["F_top_N"]))
    forces = max(np.linalg.norm(np.subtract(a[key], b[key])) for key in ("F_base_N", "F_top_N")) / force
    places = max(abs(a["L0_m"] - b["L0_m"]), np.linalg.norm(np.subtract(a["r_half_m"], b["r_half_m"]))) / b["L0_m"]
    return max(forces, places)


def timed(solve, line, tolerance):
    start = time.process_time()
    try:
        answer = solve(line, tolerance)
    except (ArithmeticError, ValueError):
        return None, math.nan
    return answer, time.process_time() - start


def loosest(solve, lines, truths):
    """The loosest tolerance that does for all lines, and for each line time and error with it."""
    for tolerance in (10.0**-k for k in range(2, 11)):
        rows = []
        for line, truth in zip(lines, truths):
            answer, spent = timed(solve, line, tolerance)
            rows.append((spent, math.inf if answer is None else difference(answer, truth)))
            if rows[-1][1] > ALLOWED:
                break
        else:
            return tolerance, rows
    sys.exit(f"{solve.__name__} does not come to {ALLOWED}")


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--program", default=str(ROOT / "target" / "release" / "lines"))
    arguments.add_argument("--lines", default="24")
    options = arguments.parse_args()
    run = subprocess.run([options.program, options.lines], capture_output=True, text=True, check=True)
    cases = json.loads(run.stdout)
    lines, ours = [Line(case) for case in cases], [case["ours"] for case in cases]
    truths = [shooting(line, 1e-12) for line in lines]
    off = [difference(mine, truth) for mine, truth in zip(ours, truths)]
    (tol, by_collocation), (rtol, by_shooting) = (loosest(solve, lines, truths) for solve in (collocation, shooting))
    print(f"line          ours: µs, error    solve_bvp({tol:.0e}): ms, error, times ours    shooting({rtol:.0e}): ms, error, times ours")
    table = np.array([(mine["time_us"] * 1e-6, error, *a, *b) for mine, error, a, b in zip(ours, off, by_collocation, by_shooting)])
    ratios = table[:, [2, 4]] / table[:, :1]
    for case, row, ratio in zip(cases, table, ratios):
        print(f"{case['id']:12} {1e6 * row[0]:9.1f} {row[1]:9.1e} {1e3 * row[2]:19.1f} {row[3]:9.1e} {ratio[0]:8.0f} {1e3 * row[4]:20.1f} {row[5]:9.1e} {ratio[1]:8.0f}")
    middle, worst = np.median(table, axis=0), np.max(table, axis=0)
    print(f"{len(cases)} lines: worst error of ours {worst[1]:.1e}, of solve_bvp {worst[3]:.1e}, of shooting {worst[5]:.1e}")
    times = np.median(ratios, axis=0)
    print(f"median: ours {1e6 * middle[0]:.1f} µs; solve_bvp {1e3 * middle[2]:.0f} ms, {times[0]:.0f} times ours; shooting {1e3 * middle[4]:.0f} ms, {times[1]:.0f} times ours")
    sys.exit(0 if worst[1] <= ALLOWED else 1)


if __name__ == "__main__":
    main()

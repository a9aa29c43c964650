"""Blade-element momentum theory a second way, to check the implementation in crates/rotor.

Same theory (Prandtl tip and root loss, axial flow), written from the equations: 400 midpoint annuli instead of 12
Gauss points, and the two induced velocities of each annulus solved as a system with scipy.optimize instead of one
inflow angle. Prints CT and CP (propeller convention) of the UIUC propellers in tests/data/propellers with the section
constants of `Section::SMALL_PROPELLER`, for tests/cases/rotor.json.

    python3 tests/peers/rotor_blade_element.py
"""

import csv
import math
import pathlib

import numpy as np
from scipy.optimize import brentq

DATA = pathlib.Path(__file__).parent.parent / "data" / "propellers"
RHO, MU, SOUND = 1.225, 1.78938e-5, 340.294
DIAMETER = {"apcsf_10x4.7": 0.254, "apcsf_11x4.7": 0.2794, "apce_11x5.5": 0.2794, "apce_14x12": 0.3556}


def section(alpha, reynolds, mach, chord_over_radius):
    """Lift and drag coefficient, as documented at `Section`."""
    linear = 2 * math.pi / math.sqrt(1 - min(mach, 0.75) ** 2) * (alpha + 0.139)
    load = abs(linear) / (1.70 if linear > 0 else 0.8)
    share = max(0.3, 1 - 0.18 * math.sqrt(1e5 / reynolds))
    lift = share * linear / (1 + load**4) ** 0.25
    least = 0.0295 * (1e5 / reynolds) ** 0.2 + 20 * min(max(mach - 0.72, 0), 0.5) ** 4
    drag = least + 0.86 * min(max(load - 0.9, 0), 1) ** 2
    t = min(max((load - 1.2) / 1.5, 0), 1)
    plate = t * t * (3 - 2 * t)
    drag += plate * (max(1.8 * math.sin(alpha) ** 2, least) - drag)
    lift += plate * (1.1 * math.sin(2 * alpha) - lift)
    if linear > 0:
        upright = min(max((math.pi / 2 - abs(alpha)) / (math.pi / 4), 0), 1)
        lift += min(3 * chord_over_radius**2, 1) * upright * (share * linear - lift)
    return lift, drag


def annulus(r, chord, pitch, omega, axial, tip_radius, root_radius, blades):
    """Thrust and torque per length of one annulus. The through-flow w = V + u is the unknown; the swirl follows from it
    by fixed-point iteration on the torque balance."""
    reynolds, mach = RHO * omega * r * chord / MU, omega * r / SOUND

    def state(w):
        swirl = 0.0
        for _ in range(200):
            tangential = omega * r - swirl
            phi, speed2 = math.atan2(w, tangential), w * w + tangential**2
            lift, drag = section(pitch - phi, reynolds, mach, chord / r)
            normal = lift * math.cos(phi) - drag * math.sin(phi)
            sideways = lift * math.sin(phi) + drag * math.cos(phi)
            sine = max(abs(math.sin(phi)), 1e-9)
            loss = max(
                2 / math.pi * math.acos(math.exp(-blades / 2 * (tip_radius - r) / (r * sine)))
                * 2 / math.pi * math.acos(math.exp(-blades / 2 * (r - root_radius) / (r * sine))),
                1e-4,
            )
            thrust = 0.5 * RHO * speed2 * blades * chord * normal
            force = 0.5 * RHO * speed2 * blades * chord * sideways
            carried = max(abs(w), 0.02 * math.sqrt(speed2))
            new = force / (4 * math.pi * r * RHO * loss * carried)
            if abs(new - swirl) < 1e-13 * omega * r:
                break
            swirl += 0.5 * (new - swirl)
        return thrust, force * r, thrust - 4 * math.pi * r * RHO * loss * abs(w) * (w - axial)

    grid = np.linspace(1e-4, 1.2, 60) * omega * r
    values = [state(w)[2] for w in grid]
    for a, b, fa, fb in zip(grid, grid[1:], values, values[1:]):
        if fa > 0 >= fb:
            w = brentq(lambda w: state(w)[2], a, b, xtol=1e-12)
            return state(w)[:2]
    return 0.0, state(1e-4 * omega * r)[1]


def propeller(name, rpm, advance, count=400):
    diameter = DIAMETER[name]
    radius, omega = diameter / 2, rpm * math.pi / 30
    table = np.array([[float(c) for c in row] for row in list(csv.reader(open(DATA / f"{name}_geom.csv")))[1:]])
    axial = advance * rpm / 60 * diameter
    root, thrust, torque = table[0, 0] * radius, 0.0, 0.0
    step = (radius - root) / count
    for i in range(count):
        r = root + (i + 0.5) * step
        chord = np.interp(r / radius, table[:, 0], table[:, 1]) * radius
        pitch = math.radians(np.interp(r / radius, table[:, 0], table[:, 2]))
        t, q = annulus(r, chord, pitch, omega, axial, radius, root, 2)
        thrust, torque = thrust + t * step, torque + q * step
    n = rpm / 60
    return thrust / (RHO * n**2 * diameter**4), 2 * math.pi * torque / (RHO * n**2 * diameter**5)


if __name__ == "__main__":
    for name, rpm, advance in [
        ("apcsf_10x4.7", 5147, 0.0),
        ("apcsf_10x4.7", 6512, 0.3),
        ("apcsf_11x4.7", 4585, 0.0),
        ("apce_11x5.5", 4968, 0.0),
        ("apce_11x5.5", 4968, 0.4),
        ("apce_14x12", 3506, 0.0),
        ("apce_14x12", 3506, 0.3),
    ]:
        ct, cp = propeller(name, rpm, advance)
        print(f"{name} {rpm} rpm J {advance}: CT {ct:.6f} CP {cp:.6f}", flush=True)

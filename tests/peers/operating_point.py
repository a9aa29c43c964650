"""The whole operating point a second way, to check `beamstay point` and to have a peer for its speed.

The formulas are those of docs/models and of the documentation of the public functions; the methods are others. The tether is
shot from the drum (DOP853, steps to a relative error of 1e-12, Newton's method on force and length); the trim is a system of
three forces; temperature, maximum power point and laser setting are nested Brent roots. Nothing here is translated from the
Rust code.

    python3 tests/peers/operating_point.py                 # all cases of operating_point.json, table on standard output
    python3 tests/peers/operating_point.py --markdown FILE # the same as a page
    python3 tests/peers/operating_point.py --pace PROGRAM  # times of ours from `cargo build --release -p beamstay-tests --bin pace`

Needs numpy and scipy, and a built `beamstay` (`--program`, default target/release/beamstay). Exit code 1 if a figure differs by
more than 1e-6 of itself (the margin: of the demand).

What it covers: a multirotor with disk rotors, alone or on a tether; light through a fiber to evenly lit cells. Of a plan whose
light goes another way, the figures up to the demand are compared; of one with other rotors, tether, thrust and tilt.
"""

import argparse
import copy
import json
import math
import pathlib
import subprocess
import sys
import tempfile
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, fsolve, minimize_scalar

HERE = pathlib.Path(__file__).parent
ROOT = HERE.parent.parent

G = 9.80665
BOLTZMANN, CHARGE, PLANCK, LIGHT = 1.380649e-23, 1.602176634e-19, 6.62607015e-34, 299792458.0
STEFAN = 5.670374419e-8
ZERO_C = 273.15
ALLOWED = 1e-6


# --- air and wind (docs/models/environment.md) -------------------------------------------------------------------------


class Air:
    """U.S. Standard Atmosphere 1976 with a temperature offset, dry."""

    def __init__(self, site):
        self.elevation, self.offset = site.get("elevation_m", 0.0), site.get("temperature_offset_k", 0.0)
        assert site.get("relative_humidity_ratio") is None

    def at(self, height):
        gas = 8314.32 / 28.9644
        z = self.elevation + height
        standard = 288.15 - 0.0065 * (6356766.0 * z / (6356766.0 + z))
        pressure = 101325.0 * (standard / 288.15) ** (G / (gas * 0.0065))
        t = standard + self.offset
        return {
            "t": t,
            "rho": pressure / (gas * t),
            "mu": 1.458e-6 * t**1.5 / (t + 110.4),
            "k": 2.64638e-3 * t**1.5 / (t + 245.4 * 10 ** (-12 / t)),
            "cp": 3.5 * gas,
        }


class Wind:
    """Velocity over height above ground, times a factor."""

    def __init__(self, site):
        wind = site.get("wind", {})
        (self.kind, self.law), = wind.get("profile", {"uniform": {"speed_m_s": 0.0}}).items()
        self.veer = math.radians(wind.get("veer_deg_per_m", 0.0))
        self.floor = wind.get("floor_height_m", 0.5)
        (self.gust_kind, self.gust), = wind.get("gust", {"factor": {}}).items()
        self.reference = 0.0 if self.kind == "uniform" else self.law.get("reference_height_m", 10.0)
        self.factor = 1.0

    def speed(self, height):
        law, v = self.law, self.factor * self.law["speed_m_s"]
        if self.kind == "uniform":
            return v
        h = max(height, self.floor)
        if self.kind == "power_law":
            return v * (h / self.reference) ** law.get("exponent", 1 / 7)
        z0 = law["roughness_m"]
        return v * max(math.log(h / z0), 0.0) / math.log(self.reference / z0)

    def velocity(self, height):
        turn = -self.veer * (height - self.reference)
        return self.speed(height) * np.array([math.cos(turn), math.sin(turn), 0.0])

    def peak(self, mean, height):
        """Gust at a height above ground, from the mean there."""
        if self.gust_kind == "factor":
            return mean * self.gust.get("ratio", 1.45)
        if self.gust_kind == "dryden":
            feet = height / 0.3048
            sigma_w = 0.1 * mean * (20.0 / feet) ** self.gust.get("exponent", 1 / 7)
            feet = min(max(feet, 10.0), 1000.0)
            return mean + self.gust["deviations_count"] * sigma_w / (0.177 + 0.000823 * feet) ** 0.4
        v_ref = {"one": 50.0, "two": 42.5, "three": 37.5}[self.gust["wind_class"]]
        intensity = {"a": 0.16, "b": 0.14, "c": 0.12}[self.gust["turbulence_class"]]
        sigma = intensity * (0.75 * mean + 5.6)
        scale = 0.7 * min(height, 60.0)
        return mean + 0.74 * min(1.35 * (1.12 * v_ref - mean), 3.3 * sigma / (1 + 0.1 * 1.0 / scale))

    def gusting(self, height):
        """The same profile, all of it scaled so that the peak blows at a height."""
        mean = self.speed(height)
        blown = copy.copy(self)
        blown.factor = self.factor * self.peak(mean, max(height, 1.0)) / mean
        return blown


# Density and modulus of the handbook entries in use, and whether they carry load.
MATERIALS = {
    "silica": (2203.0, 72e9, True),
    "acrylate": (1150.0, 1.0e9, False),
    "aramid": (1450.0, 104.9e9, True),
    "copper": (8890.0, 117e9, True),
    "etfe": (1720.0, 0.8e9, False),
    "polyurethane": (1200.0, 30e6, False),
}


def layered(layers):
    """Mass per metre, outer diameter and stiffness from the layers, inside out."""
    mass, inside, stiffness = 0.0, 0.0, 0.0
    for layer in layers:
        density, modulus, carries = MATERIALS[layer["material"]]
        (kind, extent), = layer["extent"].items()
        if kind == "yarn_area":
            solid = 1e-6 * extent["area_mm2"]
            inside += solid / extent["fill_ratio"]
            carries = True
        else:
            outside = math.pi / 4 * (1e-3 * extent["diameter_mm"]) ** 2
            solid, inside = outside - inside, outside
        mass += density * solid
        stiffness += modulus * solid * carries
    return mass, math.sqrt(4 * inside / math.pi), stiffness


# --- tether (docs/models/tether-shape.md, tether-section.md) -----------------------------------------------------------


class Tether:
    def __init__(self, spec, air, exit_height):
        construction = spec["construction"]
        if "measured" in construction:
            measured = construction["measured"]
            mass, self.diameter = 1e-3 * measured["mass_g_per_m"], 1e-3 * measured["diameter_mm"]
            self.stiffness = measured["axial_stiffness_n"]
        else:
            mass, self.diameter, self.stiffness = layered(construction["layers"]["layers"])
        self.weight = mass * G
        self.tangential = spec.get("tangential_coefficient", 0.02)
        self.amplification = spec.get("drag_amplification_ratio", 1.0)
        drag = spec.get("normal_drag", "white")
        self.constant = drag["constant"]["coefficient"] if isinstance(drag, dict) else None
        self.curve = None if isinstance(drag, dict) else drag
        assert spec.get("ice_thickness_mm", 0.0) == 0.0
        self.air, self.exit_height = air, exit_height

    def normal_coefficient(self, reynolds):
        if self.constant is not None:
            return self.amplification * self.constant
        if self.curve == "white":
            re = min(max(reynolds, 1.0), 2e5)
            return self.amplification * (1 + 10 * re ** (-2 / 3))
        if self.curve == "cheng":
            re = min(max(reynolds, 0.1), 2e5)
            value = 11 * re**-0.75 + 0.9 * (1 - math.exp(-1000 / re)) + 1.2 * (1 - math.exp(-((re / 4500) ** 0.7)))
            return self.amplification * value
        re = min(max(reynolds, 1e-4), 2e5)
        value = 1.18 + 6.8 * re**-0.89 + 1.96 * re**-0.5 - 0.0004 * re / (1 + 3.64e-7 * re**2)
        return self.amplification * value

    def slopes(self, state, wind, share):
        """dr/ds and dF/ds for one metre; `share` scales the wind."""
        force, height = state[3:], state[2] + self.exit_height
        tension = math.sqrt(force @ force)
        t = force / tension
        stretch = 1 + tension / self.stiffness
        air = self.air.at(height)
        u = share * wind.velocity(height)
        along = u @ t
        across = u - along * t
        speed = math.sqrt(across @ across)
        c_n = self.normal_coefficient(air["rho"] * speed * self.diameter / air["mu"])
        q = 0.5 * air["rho"] * self.diameter * stretch * (c_n * speed * across + self.tangential * abs(along) * along * t)
        q[2] -= self.weight
        return np.concatenate([stretch * t, -q])

    def shoot(self, force, length, wind, share, rtol, dense=False):
        """From the drum with a force; ends at the vehicle. Restarts where the wind law has its floor."""

        def slopes(x, y):
            return length * self.slopes(y, wind, share)

        def floor(x, y):
            return y[2] + self.exit_height - wind.floor

        floor.terminal = True
        start, state, pieces = 0.0, np.concatenate([np.zeros(3), force]), []
        atol = rtol * np.array([1.0, 1.0, 1.0, 1e-2, 1e-2, 1e-2])
        for _ in range(4):
            events = floor if abs(floor(start, state)) > 1e-9 else None
            got = solve_ivp(slopes, (start, 1.0), state, "DOP853", rtol=rtol, atol=atol, dense_output=dense, events=events)
            if got.status < 0:
                raise FloatingPointError(got.message)
            pieces.append(got)
            start, state = got.t[-1], got.y[:, -1]
            if start >= 1.0:
                break
            # A hair further, so that the event is not met again.
            hair = min(1e-9, 1.0 - start)
            state, start = state + hair * slopes(start, state), start + hair
        return state, pieces

    def solve(self, wind, end, hold, kind, guess, rtol):
        """Force at the drum and length; `hold` is the length or the tension at the drum."""
        n = 3 if kind == "paid_out" else 4
        scale = np.array([max(hold if n == 4 else 1.0, 0.1)] * 3 + [np.linalg.norm(end)])[:n]

        def residual(x, share):
            length = hold if n == 3 else x[3] * scale[3]
            force = x[:3] * scale[:3]
            state, _ = self.shoot(force, length, wind, share, rtol)
            miss = (state[:3] - end) / np.linalg.norm(end)
            return miss if n == 3 else np.append(miss, np.linalg.norm(force) / hold - 1)

        def newton(x, share):
            r = residual(x, share)
            for _ in range(40):
                if np.abs(r).max() < 30 * rtol:
                    return x
                jacobian = np.empty((n, n))
                for i in range(n):
                    h = 1e-6 * max(abs(x[i]), 1e-2)
                    moved = x.copy()
                    moved[i] += h
                    jacobian[:, i] = (residual(moved, share) - r) / h
                step = np.linalg.solve(jacobian, -r)
                part = 1.0
                while part > 1e-3:
                    try:
                        tried = x + part * step
                        if n == 3 or tried[3] > 0.1:
                            new = residual(tried, share)
                            if np.abs(new).max() < (1 - 0.1 * part) * np.abs(r).max() or np.abs(new).max() < 30 * rtol:
                                break
                    except (FloatingPointError, OverflowError, ValueError):
                        pass
                    part *= 0.5
                else:
                    return None
                x, r = tried, new
            return None

        x = guess[:n] / scale
        found = newton(x, 1.0)
        if found is None:
            # Let the wind rise from calm.
            share, step, x = 0.0, 0.25, newton(x, 0.0)
            if x is None:
                raise ArithmeticError("no catenary found")
            while share < 1.0:
                tried = newton(x, min(share + step, 1.0))
                if tried is None:
                    step *= 0.5
                    if step < 1e-4:
                        raise ArithmeticError("no shape found")
                else:
                    share, x, step = min(share + step, 1.0), tried, 1.5 * step
            found = x
        if n == 4:
            # The shorter of two lengths: the drum tension falls with length there.
            length, slope = found[3] * scale[3], np.empty((3, 4))
            at = residual(found, 1.0)
            for i in range(4):
                moved = found.copy()
                moved[i] += 1e-6
                slope[:, i] = (residual(moved, 1.0) - at)[:3] / 1e-6
            turn = np.linalg.solve(slope[:, :3], -slope[:, 3])
            assert turn @ found[:3] < 0, "the longer of two lengths"
            return found[:3] * scale[:3], length
        return found * scale, hold

    def first_guess(self, end, hold, kind):
        chord = np.linalg.norm(end)
        if kind == "paid_out":
            # A parabola with the slack, a taut line without.
            slack = max(hold / chord - 1, 1e-5)
            tension = self.weight * chord / math.sqrt(24 * slack)
            force = tension * end / chord - np.array([0, 0, 0.5 * self.weight * chord])
            return np.append(force, hold)
        lower = np.array([0.0, 0.0, 0.5 * self.weight * chord])
        direction = (hold + lower[2]) * end / chord - lower
        return np.append(hold * direction / np.linalg.norm(direction), 1.001 * chord)

    def hang(self, wind, end, hold, kind, guess=None, rtol=1e-12):
        guess = self.first_guess(end, hold, kind) if guess is None else guess
        force, length = self.solve(wind, end, hold, kind, guess, rtol)
        state, pieces = self.shoot(force, length, wind, 1.0, rtol, dense=True)
        pull = -state[3:]
        places = [np.linspace(p.t[0], p.t[-1], 4001) for p in pieces]
        forces = np.hstack([p.sol(x)[3:] for p, x in zip(pieces, places)])
        tension = np.sqrt((forces**2).sum(axis=0))
        return {
            "paid_out_m": length,
            "force_on_vehicle_n": pull,
            "force_at_drum_n": force,
            "top_tension_n": np.linalg.norm(pull),
            "drum_tension_n": np.linalg.norm(force),
            "max_tension_n": tension.max(),
            "drum_elevation_deg": math.degrees(math.asin(force[2] / np.linalg.norm(force))),
        }


# --- multirotor (docs/models/vehicle.md, rotor.md) ---------------------------------------------------------------------


KAPPA = 1.15


def glauert(x, y):
    """Induced over hover velocity of the ideal disk: v √(y² + (x + v)²) = 1; x from -0.2 on there is one root."""
    return brentq(lambda v: v * math.hypot(y, x + v) - 1, max(-x, 0.0) if y == 0 else 0.0, 2 + abs(x), xtol=1e-15, rtol=8.9e-16)


def induced_ratio(x, y):
    """Induced over hover velocity, losses included. In slow descent Leishman's fit to measurements, which an edgewise stream fades out."""
    v = KAPPA * glauert(x, y)
    if x < 0:
        assert x > -0.2, "the vortex ring state is another model"
        fit = KAPPA - 1.125 * x - 1.372 * x**2 - 1.718 * x**3 - 0.655 * x**4
        v += max(1 - (y / 0.95) ** 2, 0.0) * (fit - KAPPA * glauert(x, 0.0))
    return v


class Multirotor:
    def __init__(self, spec):
        self.spec = spec
        # Of other rotors and drives the balance of forces alone is compared.
        self.powered = "disk" in spec["rotor"] and "efficiency" in spec["drive"]
        if self.powered:
            disk = spec["rotor"]["disk"]
            self.area, self.merit = math.pi * disk["diameter_m"] ** 2 / 4, disk["figure_of_merit"]
            self.efficiency = spec["drive"]["efficiency"]["motor_ratio"] * spec["drive"]["efficiency"]["controller_ratio"]
        arrangement = spec.get("arrangement", "single")
        self.interference = 1.0
        if arrangement != "single":
            far, near, at = 1.2807764064044151, 1.45, 0.1864
            left = lambda x: 1 - x / math.sqrt(x * x + 1)
            ratio = 2 * arrangement["coaxial_pairs"]["spacing_ratio"]
            self.interference = far + (near - far) / left(at) * left(ratio)
        level, tilted = spec["drag_area_level_m2"], spec["drag_area_tilted_m2"]
        s, c = math.sin(math.radians(40)), math.cos(math.radians(40))
        plan = math.sqrt(max(tilted**2 - (level * c) ** 2, 0.0)) / s
        spheroid = lambda level, plan, sine: math.sqrt(level**2 * (1 - sine**2) + plan**2 * sine**2)
        ring, rings, edge_on, above = spec.get("guard_ring"), 0, 0.0, 0.0
        if ring:
            # One around each rotor, both arcs in the wind.
            rings = spec["rotor_count"] if arrangement == "single" else spec["rotor_count"] // 2
            times = ring.get("drag_coefficient", 1.2) * ring["diameter_m"] * 1e-3
            edge_on, above = 2 * times * ring["height_mm"], math.pi * times * ring["width_mm"]
        self.drag_area = lambda sine: spheroid(level, plan, sine) + rings * spheroid(edge_on, above, sine)

    def trim(self, mass, pull, wind, air):
        needed = np.array([0.0, 0.0, mass * G]) - pull
        speed = np.linalg.norm(wind)
        in_plane = min(self.spec.get("rotor_drag_s_per_m", 0.014) * speed, 0.5)

        def drag(thrust):
            """Of the body, and of the rotors in their own plane."""
            if speed == 0:
                return np.zeros(3)
            size = np.linalg.norm(thrust)
            axis, along = thrust / size, wind / speed
            sine = -(along @ axis)
            return 0.5 * air["rho"] * self.drag_area(sine) * speed * wind + in_plane * size * (along + sine * axis)

        scale = np.linalg.norm(needed)
        miss = lambda x: x - (needed - drag(scale * x)) / scale
        found, _, _, _ = fsolve(miss, needed / scale, xtol=1e-12, full_output=True)
        thrust = scale * (found - miss(found))
        assert np.abs(miss(thrust / scale)).max() < 1e-11
        size = np.linalg.norm(thrust)
        axial = -(wind @ thrust) / size
        edgewise = math.sqrt(max(speed**2 - axial**2, 0.0))
        balance = {"thrust_n": size, "tilt_deg": math.degrees(math.acos(thrust[2] / size))}
        if not self.powered:
            return balance
        count = self.spec["rotor_count"]
        each = size / count
        hover = math.sqrt(each / (2 * air["rho"] * self.area))
        v = hover * induced_ratio(axial / hover, edgewise / hover) / KAPPA
        induced = count * KAPPA * each * v * self.interference
        tip_squared = each / (air["rho"] * self.area * 0.0125)
        profile = count * each * hover * (1 / self.merit - KAPPA) * (1 + 4.65 * edgewise**2 / tip_squared)
        shaft = induced + profile + size * axial
        return balance | {
            "induced_w": induced,
            "profile_w": profile,
            "shaft_w": shaft,
            "electrical_w": max(shaft, 0.0) / self.efficiency,
            "wake_m_s": math.hypot(axial + v, edgewise),
        }


# --- light (docs/models/light-path.md, receiver.md, electrical.md) -----------------------------------------------------


def silica_index(wavelength):
    x = (wavelength * 1e6) ** 2
    terms = [(0.6961663, 0.0684043), (0.4079426, 0.1162414), (0.8974794, 9.896161)]
    return math.sqrt(1 + sum(b * x / (x - c * c) for b, c in terms))


class Laser:
    def __init__(self, spec):
        self.spec = spec
        self.warming = spec.get("coolant_temperature_c", 20.0) - 25.0
        self.wavelength = 1e-9 * (spec["wavelength_nm"] + spec.get("drift_nm_per_k", 0.3) * self.warming)

    def heat_and_electrical(self, optical):
        (kind, e), = self.spec["efficiency"].items()
        if kind == "wall_plug":
            head = optical / (e["efficiency_ratio"] * math.exp(-0.00294 * self.warming))
        else:
            threshold = e["threshold_a"] * math.exp(self.warming / e["threshold_temperature_k"])
            slope = e["slope_w_per_a"] * math.exp(-self.warming / e["slope_temperature_k"])
            current = threshold + optical / slope
            head = current * (e["turn_on_v"] + e["series_resistance_ohm"] * current)
        electrical = head * (1 + self.spec.get("driver_loss_ratio", 0.0))
        return electrical - optical, electrical


def fiber_path(fiber, wavelength, bend_radius):
    """Light at the receiver over light of the laser."""
    launch, n = fiber["launch"], silica_index(wavelength)
    reflectance = launch.get("face_reflectance_ratio", ((n - 1) / (n + 1)) ** 2)
    core, na = 1e-6 * fiber["core_diameter_um"], fiber["numerical_aperture"]
    source = launch.get("source", "uniform")
    if source == "uniform":
        into = min(1, (fiber["core_diameter_um"] / launch["spot_diameter_um"]) ** 2)
        into *= min(1, (na / launch["source_numerical_aperture"]) ** 2)
    else:
        w = 0.5e-6 * launch["spot_diameter_um"]
        theta = source["gaussian"]["beam_quality_m2"] * wavelength / (math.pi * w)
        into = -math.expm1(-2 * (core / 2 / w) ** 2) * -math.expm1(-2 * (na / theta) ** 2)
    joints = sum(c["loss_db"] for c in fiber.get("ground_connections", []) + fiber.get("aircraft_connections", []))
    (kind, a), = fiber["attenuation"].items()
    um = 1e6 * wavelength
    if kind == "measured":
        per_km = a["attenuation_db_per_km"]
    else:
        per_km = a["rayleigh_db_per_km"] / um**4 + a["constant_db_per_km"]
        per_km += 0.001 * math.exp(4.67 / um) + 7.81e11 * math.exp(-48.48 / um)
    cladding = math.sqrt(n * n - na * na)
    contrast = na * na / (2 * n * n)
    k = 2 * math.pi / wavelength
    bend = 1 - (core / bend_radius + (3 / (2 * cladding * k * bend_radius)) ** (2 / 3)) / (2 * contrast)
    return into * (1 - reflectance) ** 2 * bend * 10 ** (-(joints + 1e-3 * per_km * fiber["total_length_m"]) / 10)


class Converter:
    """input = standby + (1 + k1) out + k2 out², half of the load loss resistive."""

    def __init__(self, spec):
        rated, eta, standby = spec["rated_w"], spec["efficiency_ratio"], spec.get("standby_w", 0.0)
        load_loss = rated / eta - rated - standby
        self.standby, self.a, self.b = standby, 1 + 0.5 * load_loss / rated, 0.5 * load_loss / rated**2
        self.mass = spec["mass_kg"]

    def input(self, output):
        return self.standby + self.a * output + self.b * output**2

    def output(self, given):
        left = given - self.standby
        return (math.sqrt(self.a**2 + 4 * self.b * left) - self.a) / (2 * self.b) if left > 0 else 0.0


class Receiver:
    def __init__(self, spec, wavelength, air, speed):
        self.spec, self.cells, self.sink = spec, spec["cells"], spec["sink"]
        assert spec.get("light", "even") in ("even", {"even": {}})
        self.energy = PLANCK * LIGHT / (CHARGE * wavelength)
        self.converter = Converter(spec["converter"])
        self.tracking = spec.get("tracking_efficiency_ratio", 0.99)
        self.joint = self.sink["junction_to_base_k_per_w"]
        self.air = air
        s = self.sink
        self.fins, self.gap, self.length = s["fins_count"], 1e-3 * s["gap_mm"], 1e-3 * s["length_mm"]
        self.height, self.thick = 1e-3 * s["height_mm"], 1e-3 * s["thickness_mm"]
        self.width = self.fins * self.thick + (self.fins - 1) * self.gap
        metal = {"aluminium": (200.0, 2700.0), "copper": (390.0, 8960.0)}[s.get("metal", "aluminium")]
        self.conductivity, density = metal
        metal_m3 = self.width * self.length * 1e-3 * s["base_thickness_mm"] + self.fins * self.height * self.thick * self.length
        c = self.cells
        area = c["series_count"] * c["parallel_count"] * c["area_cm2"]
        self.mass = 1e-3 * area * c["mass_g_per_cm2"] + spec["optics_kg"] + density * metal_m3 + self.converter.mass + spec["housing_kg"]
        if air is not None:
            self.prandtl = air["mu"] * air["cp"] / air["k"]
            self.forced = self.conductance(self.forced_coefficient(speed))

    def forced_coefficient(self, speed):
        re = 0.7 * speed * self.gap * self.air["rho"] / self.air["mu"] * self.gap / self.length
        if re <= 0:
            return 0.0
        one = re * self.prandtl / 2
        two = 0.664 * math.sqrt(re) * self.prandtl ** (1 / 3) * math.sqrt(1 + 3.65 / math.sqrt(re))
        return (one**-3 + two**-3) ** (-1 / 3) * self.air["k"] / self.gap

    def natural_coefficient(self, t):
        excess, nu = t - self.air["t"], self.air["mu"] / self.air["rho"]
        if excess <= 0:
            return 0.0
        per_m3 = G / (0.5 * (t + self.air["t"])) * excess * self.prandtl / nu**2
        plate = (0.825 + 0.387 * (per_m3 * self.length**3) ** (1 / 6) / (1 + (0.492 / self.prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
        x = per_m3 * self.gap**4 / self.length
        channel = (576 / x**2 + 2.873 / math.sqrt(x)) ** -0.5
        return min(plate / self.length, channel / self.gap) * self.air["k"]

    def conductance(self, h):
        mh = self.height * math.sqrt(2 * h / (self.conductivity * self.thick))
        fin = math.tanh(mh) / mh if mh > 0 else 1.0
        return h * (fin * 2 * self.fins * self.height * self.length + (self.fins - 1) * self.gap * self.length)

    def shed(self, t):
        """Heat that leaves at a base temperature."""
        outside = self.width * self.length + 2 * self.height * self.length
        convection = max(self.forced, self.conductance(self.natural_coefficient(t)))
        return convection * (t - self.air["t"]) + 0.85 * STEFAN * outside * (t**4 - self.air["t"] ** 4)

    def base(self, heat):
        return brentq(lambda t: self.shed(t) - heat, self.air["t"], self.air["t"] + 5000, xtol=1e-11, rtol=8.9e-16) if heat > 0 else self.air["t"]

    def most_of_cells(self, absorbed, t):
        """Maximum power of all cells at a temperature, single-diode equation along the junction voltage."""
        c = self.cells
        gap_0, alpha, beta, offset, edge = {
            "gallium_arsenide": (1.519, 5.405e-4, 204.0, 0.0, 0.0075),
            "silicon": (1.170, 4.73e-4, 636.0, 0.035, 0.020),
            "indium_gallium_arsenide": (0.8161, 3.78e-4, 294.0, 0.0, 0.0075),
        }[c["material"]]
        gap = lambda k: gap_0 - alpha * k * k / (k + beta)
        thermal = lambda k: BOLTZMANN * k / CHARGE
        qe = c["quantum_efficiency_ratio"] / (1 + math.exp(-(self.energy - gap(t) - offset) / edge))
        qe /= 1 + math.exp((self.energy - 3.0) / edge)
        series, cm2 = c["series_count"], c["area_cm2"] * c["parallel_count"]
        photo = absorbed * qe / self.energy / series
        j0 = c["saturation_a_per_cm2"] * (t / 298.15) ** 3 * math.exp(gap(298.15) / thermal(298.15) - gap(t) / thermal(t))
        x = c.get("series_resistance_change_per_k", 0.002) * (t - 298.15)
        r_s = c["series_resistance_ohm_cm2"] * ((1 + x) if x > 0 else 1 / (1 - x)) / cm2
        r_sh = c["shunt_resistance_ohm_cm2"] / cm2
        slope = c["ideality"] * thermal(t)
        dark = lambda v: j0 * cm2 * math.expm1(v / slope) + v / r_sh

        def rise(v):
            i = photo - dark(v)
            di = -(j0 * cm2 * math.exp(v / slope) / slope + 1 / r_sh)
            return i * (1 - r_s * di) + (v - r_s * i) * di

        highest = slope * math.log1p(photo / (j0 * cm2))
        v = brentq(rise, 0.0, highest, xtol=1e-15, rtol=8.9e-16)
        i = photo - dark(v)
        return series * i * (v - r_s * i)

    def at_maximum_power(self, arriving):
        """Power of the cells and their temperature with all drawn that the tracker gets."""
        if arriving <= 0:
            return 0.0, self.air["t"]
        absorbed = arriving * (1 - self.spec["reflection_ratio"])

        def drawn(base):
            return min(max(self.tracking * self.most_of_cells(absorbed, base + self.joint * self.shed(base)), 0.0), absorbed)

        hottest = self.base(absorbed)
        base = brentq(lambda t: self.shed(t) - absorbed + drawn(t), self.air["t"], hottest, xtol=1e-11, rtol=8.9e-16)
        return drawn(base), base + self.joint * self.shed(base)

    def with_heat(self, heat):
        return self.base(heat) + self.joint * heat

    def setting(self, wanted_bus, ceiling):
        """Least arriving light that gives a power at the bus; none if none does."""
        wanted = self.converter.input(wanted_bus)
        least = wanted / (1 - self.spec["reflection_ratio"])
        missing = lambda w: self.at_maximum_power(w)[0] - wanted
        last = least
        for w in np.geomspace(least, ceiling, 60)[1:]:
            if missing(w) >= 0:
                return brentq(missing, last, w, xtol=1e-11, rtol=1e-14)
            last = w
        return None

    def most_bus(self, ceiling):
        """Most power at the bus with no cell hotter than allowed."""
        limit = ZERO_C + self.cells["max_temperature_c"]
        hotter = lambda w: self.at_maximum_power(w)[1] - limit
        if hotter(ceiling) > 0:
            ceiling = brentq(hotter, 0.0, ceiling, xtol=1e-10, rtol=1e-14) if self.air["t"] < limit else 0.0
        bus = lambda w: self.converter.output(self.at_maximum_power(w)[0])
        best = minimize_scalar(lambda w: -bus(w), bounds=(0, ceiling), method="bounded", options={"xatol": 1e-6 * max(ceiling, 1e-6)})
        return max(bus(ceiling), -best.fun)


# --- the whole point ---------------------------------------------------------------------------------------------------


def operating_point(plan, rtol=1e-12):
    site, ground, vehicle = plan["site"], plan.get("ground", {}), plan["vehicle"]["multirotor"]
    station, payload = plan["station"], plan.get("payload", {})
    (way, delivery), = plan["delivery"].items()
    drum = ground.get("drum")
    exit_height = drum.get("exit_height_m", 0.5) if drum else 0.0
    air, wind = Air(site), Wind(site)
    height = station["height_m"]
    end = np.array([station.get("downwind_m", 0.0), station.get("crosswind_m", 0.0), height - exit_height])
    here = air.at(height)
    gust = wind.gusting(height)
    answer = {}

    mass = vehicle["empty_mass_kg"] + payload.get("mass_kg", 0.0)
    if "battery" in plan:
        mass += battery_mass(plan["battery"])
    if way == "copper":
        mass += delivery["converter"]["mass_kg"]
    elif "receiver" in plan:
        mass += Receiver(plan["receiver"], 1e-6, None, 0.0).mass

    pulls = {"": np.zeros(3), "_in_gust": np.zeros(3)}
    if way in ("fiber", "copper"):
        tether = Tether(delivery["tether"], air, exit_height)
        (kind, winch), = station["winch"].items()
        hold, = winch.values()
        mean = tether.hang(wind, end, hold, kind, rtol=rtol)
        keeps = drum.get("gust_response", "holds_length") == "holds_length"
        kind, hold = ("paid_out", mean["paid_out_m"]) if keeps else ("drum_tension", mean["drum_tension_n"])
        guess = np.append(mean["force_at_drum_n"], mean["paid_out_m"])
        blown = tether.hang(gust, end, hold, kind, guess, rtol)
        for suffix, shape in (("", mean), ("_in_gust", blown)):
            pulls[suffix] = shape["force_on_vehicle_n"]
            for key in ("paid_out_m", "drum_tension_n", "top_tension_n", "max_tension_n", "drum_elevation_deg"):
                answer[f"tether{suffix}.{key}"] = shape[key]

    craft = Multirotor(vehicle)
    trims = {}
    for suffix, flow in (("", wind), ("_in_gust", gust)):
        trims[suffix] = craft.trim(mass, pulls[suffix], flow.velocity(height), here)
        for key in ("thrust_n", "tilt_deg", "electrical_w", "wake_m_s"):
            if key in trims[suffix]:
                answer[f"vehicle{suffix}.{key}"] = trims[suffix][key]
    if not craft.powered:
        return answer
    demand = trims[""]["electrical_w"] + vehicle.get("avionics_w", 0.0) + payload.get("power_w", 0.0)
    answer["demand_w"] = demand
    if way == "fiber":
        answer |= lit(plan, delivery, ground, air.at(exit_height), here, trims[""], np.linalg.norm(wind.velocity(height)), demand)
    return answer


def battery_mass(battery):
    """Energy under the open-circuit curve of Chen and Rincón-Mora (2006), as published, over energy per mass."""
    s, w = np.polynomial.legendre.leggauss(200)
    s = 0.5 * (s + 1)
    volts = -1.031 * np.exp(-35 * s) + 3.685 + 0.2156 * s - 0.1178 * s**2 + 0.3201 * s**3
    wh = battery["series_count"] * 0.5 * (w @ volts) * battery["capacity_ah"]
    return wh / battery.get("specific_energy_wh_per_kg", 150.0)


def lit(plan, fiber, ground, ground_air, here, trim, airspeed, demand):
    laser = Laser(ground["laser"])
    (kind, cooling), = plan["receiver"].get("cooling", {"wake": {}}).items()
    speed = {"wake": trim["wake_m_s"], "stream": airspeed, "still": 0.0}[kind] * cooling.get("fraction_ratio", 0.5)
    receiver = Receiver(plan["receiver"], laser.wavelength, here, speed)
    path = fiber_path(fiber, laser.wavelength, 0.5e-3 * ground["drum"]["core_diameter_mm"])
    rated = ground["laser"]["rated_w"]
    dimmed = ground["laser"].get("control", "steady") == "dimmed_to_demand"
    arriving = receiver.setting(demand, 10 * rated * path)
    setting = None if arriving is None else arriving / path
    emitted = setting if dimmed and setting is not None and setting <= rated else rated
    absorbed = emitted * path * (1 - plan["receiver"]["reflection_ratio"])
    most, hot = receiver.at_maximum_power(emitted * path)
    wanted = receiver.converter.input(demand)
    # A steady laser: less is drawn than could be, and the cells are hotter for it, as long as they can still give it.
    drawn_temp = receiver.with_heat(absorbed - wanted) if wanted <= most * (1 + 1e-9) else hot
    if wanted <= absorbed and receiver.tracking * receiver.most_of_cells(absorbed, receiver.with_heat(absorbed - wanted)) < wanted * (1 - 1e-9):
        drawn_temp = hot
    available = receiver.most_bus(rated * path) if dimmed else receiver.converter.output(most)
    heat, electrical = laser.heat_and_electrical(emitted)
    chiller = heat / ground.get("chiller", {}).get("coefficient_of_performance", 3.0)
    return {
        "available_w": available,
        "margin_w": available - demand,
        "laser_setting_w": setting,
        "light.path_ratio": path,
        "light.arriving_w": emitted * path,
        "light.cell_temp_c": drawn_temp - ZERO_C,
        "light.cell_temp_max_power_c": hot - ZERO_C,
        "light.cell_temp_load_lost_c": receiver.with_heat(absorbed) - ZERO_C,
        "wall_w": electrical + chiller + ground.get("housekeeping_w", 0.0),
    }


# --- comparison --------------------------------------------------------------------------------------------------------


def with_settings(plan, settings):
    plan = copy.deepcopy(plan)
    for setting in settings:
        pointer, text = setting.split("=", 1)
        *path, last = pointer.strip("/").split("/")
        part = plan
        for step in path:
            part = part.setdefault(step, {}) if isinstance(part, dict) else part[int(step)]
        part[last] = json.loads(text)
    return plan


def theirs(program, plan):
    command = [program, "point", "-", "--format", "json"]
    start = time.perf_counter()
    run = subprocess.run(command, input=json.dumps(plan), capture_output=True, text=True)
    spent = time.perf_counter() - start
    if run.returncode not in (0, 1):
        sys.exit(f"{' '.join(command)}\n{run.stdout}{run.stderr}")
    return json.loads(run.stdout), spent


def value_at(point, key):
    for step in key.split("."):
        point = point[step]
    return point


def difference(ours, other):
    if ours is None or other is None:
        return 0.0 if ours is other else math.inf
    return abs(ours - other) / max(abs(other), 1e-12)


def compare(case, program, pace):
    file = ROOT / "scenarios" / case["scenario"]
    plan = with_settings(json.loads(file.read_text()), case.get("set", []))
    # It names numbers that a changed plan may not have, and no point depends on it.
    plan.pop("uncertainty", None)
    # Processor time on both sides: what other programs take must not count.
    start = time.process_time()
    answer = operating_point(plan)
    careful = time.process_time() - start
    start = time.process_time()
    operating_point(plan, rtol=1e-8)
    plain = time.process_time() - start
    point, process = theirs(program, plan)
    rows = []
    for key, other in answer.items():
        mine = value_at(point, key)
        off = difference(mine, other)
        if key == "margin_w":
            # What is left of two large powers: near 0 it has no digits of its own, and is held to their size.
            off = abs(mine - other) / answer["demand_w"]
        rows.append((key, mine, other, off))
    ours = time_of_ours(pace, plan) if pace else None
    return rows, {"careful_s": careful, "plain_s": plain, "process_s": process, "ours_s": ours}


def time_of_ours(pace, plan):
    with tempfile.NamedTemporaryFile("w", suffix=".json") as file:
        json.dump(plan, file)
        file.flush()
        run = subprocess.run([pace, file.name], capture_output=True, text=True, check=True)
    return float(run.stdout.split()[0]) * 1e-6


SHOWN = ["margin_w", "demand_w", "laser_setting_w", "tether.paid_out_m", "tether.max_tension_n", "light.cell_temp_c"]


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--program", default=str(ROOT / "target" / "release" / "beamstay"))
    arguments.add_argument("--pace")
    arguments.add_argument("--markdown")
    arguments.add_argument("--only", help="cases whose name holds this")
    arguments.add_argument("--verbose", action="store_true")
    options = arguments.parse_args()
    cases = json.loads((HERE / "operating_point.json").read_text())
    lines, worst_of_all, failed = [], 0.0, 0
    times = []
    for case in cases:
        if options.only and options.only not in case["name"]:
            continue
        try:
            rows, spent = compare(case, options.program, options.pace)
        except (AssertionError, ArithmeticError, FloatingPointError, ValueError) as error:
            print(f"{case['name']:34} NOT COMPUTED: {error!r}")
            failed += 1
            continue
        key, mine, other, worst = max(rows, key=lambda row: row[3])
        worst_of_all = max(worst_of_all, worst)
        failed += worst > ALLOWED
        times.append(spent)
        print(f"{case['name']:34} {len(rows):3} figures, worst {worst:.1e} in {key:30} {spent['careful_s']:.2f} s, {spent['plain_s']:.2f} s", flush=True)
        for key, mine, other, off in rows:
            if off > ALLOWED or options.verbose:
                print(f"    {key:34} {mine!r:24} {other!r:24} {off:.1e}")
        values = {row[0]: row for row in rows}
        cells = [f"{values[k][2]:.7g} ({values[k][3]:.0e})" if k in values and values[k][2] is not None else "" for k in SHOWN]
        lines.append(f"| {case['name']} | {len(rows)} | {worst:.1e} | " + " | ".join(cells) + " |")
    print(f"worst of all {worst_of_all:.1e}; failed {failed}")
    summary = summarise(times)
    print(summary)
    if options.markdown:
        head = "| case | figures | worst | " + " | ".join(SHOWN) + " |\n|" + " --- |" * (3 + len(SHOWN))
        pathlib.Path(options.markdown).write_text("\n".join([head, *lines, "", summary]) + "\n")
    sys.exit(1 if failed else 0)


def summarise(times):
    median = lambda key: float(np.median([t[key] for t in times]))
    text = f"median of {len(times)} points: SciPy {1e3 * median('careful_s'):.0f} ms at 1e-12, {1e3 * median('plain_s'):.0f} ms at 1e-8"
    if times and times[0]["ours_s"] is not None:
        ratio = float(np.median([t["plain_s"] / t["ours_s"] for t in times]))
        text += f"; beamstay {1e6 * median('ours_s'):.0f} µs in process; ratio at 1e-8 {ratio:.0f}"
    return text + f"; `beamstay point` from start to exit {1e3 * median('process_s'):.1f} ms, levers included"


if __name__ == "__main__":
    main()

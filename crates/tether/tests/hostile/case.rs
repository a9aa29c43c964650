//! Lines and flows far outside the usual, each from its seed.

use beamstay_environment::{
    AirFlow, Atmosphere, Flow, Profile, ProfileShape, UniformFlow, Water, WaterFlow, flow::FlowSample,
};
use beamstay_numerics::{constants::STANDARD_GRAVITY_M_S2, random::Random};
use beamstay_tether::{DragCurve, Ground, Line, NormalDrag};
use nalgebra::Vector3;

/// Strain that every material of a tether bears, 3 %: aramid breaks at 2.4 to 3.6 %, glass and the stiffer fibers before.
const BREAKING_STRAIN: f64 = 0.03;
/// Drum tension over the whole load on the line beyond which a line is nearly straight (sag below a fortieth), so that some
/// length has it, whatever the flow.
const SURELY_HELD: f64 = 5.0;
/// Slack below which lengths cannot be told from the distance well enough: the tension goes with slack^(-1/2), length and distance
/// are rounded by 1.1e-16 each, and a tension to 1e-6 takes the slack to 2e-6.
const LEAST_SLACK: f64 = 1.1e-10;

/// What is known of the line besides the place of its ends.
#[derive(Debug, Clone, Copy)]
pub enum Asked {
    Length(f64),
    DrumTension(f64),
}

#[derive(Debug, Clone)]
pub struct Case {
    pub line: Line,
    pub flow: AnyFlow,
    pub ground: Option<Ground>,
    pub vehicle_m: Vector3<f64>,
    pub asked: Asked,
    /// Bound of the load on a metre, N/m.
    pub load_n_per_m: f64,
    /// Load across the straight line between the ends, N.
    across_n: f64,
}

impl Case {
    pub fn new(seed: u64) -> Self {
        let mut random = Random::new(seed);
        let in_water = random.chance(0.25);
        let distance_m = random.spread(1.0, 2000.0);
        let flow = if in_water { water(&mut random) } else { air(&mut random, distance_m) };
        let density_kg_m3 = flow.at(0.0).density_kg_m3;
        let line = any_line(&mut random, in_water.then_some(density_kg_m3));
        let ground = (!in_water && random.chance(0.4)).then(|| any_ground(&mut random));
        let vehicle_m = any_place(&mut random, distance_m, ground.is_some());
        let reach_m = vehicle_m.norm();
        let load_n_per_m = most_load_n_per_m(&line, &flow, reach_m);
        let asked = if random.chance(0.7) {
            Asked::Length(reach_m * (1.0 + any_slack(&mut random, line.axial_stiffness_n.is_some())))
        } else {
            Asked::DrumTension((load_n_per_m.max(1e-4) * reach_m * random.spread(0.02, 200.0)).max(1e-5))
        };
        let across_n = across_n(&line, &flow, &vehicle_m);
        Self { line, flow, ground, vehicle_m, asked, load_n_per_m, across_n }
    }

    pub fn distance_m(&self) -> f64 {
        self.vehicle_m.norm()
    }

    /// Whether weight and flow leave the tension undetermined.
    pub fn is_without_load(&self) -> bool {
        self.load_n_per_m == 0.0
    }

    /// Whether a line of this world hangs so, judged without solving it: long enough for the distance or stretched to it
    /// within what materials bear, or with a tension that some length surely has.
    pub fn is_solvable(&self) -> bool {
        let (distance_m, stiffness_n) = (self.distance_m(), self.line.axial_stiffness_n);
        if self.is_without_load() {
            return false;
        }
        match self.asked {
            Asked::Length(length_m) => match stiffness_n {
                None => length_m > distance_m,
                Some(_) => self.strain_bound(length_m) < BREAKING_STRAIN,
            },
            Asked::DrumTension(tension_n) => {
                let load_n = self.load_n_per_m * distance_m;
                // Of a line that does not stretch, a slack that can be told from none.
                let slack = (self.across_n / tension_n).powi(2) / 24.0;
                tension_n > SURELY_HELD * load_n
                    && (stiffness_n.is_some() || slack > LEAST_SLACK)
                    && stiffness_n.is_none_or(|ea| (tension_n + load_n) / ea < BREAKING_STRAIN)
            }
        }
    }

    /// Bound of the strain of a line that stretches: that of a straight one between the ends, that of a taut one as long as the
    /// distance, ε³ = (q l/EA)²/24, and what hangs from the upper end.
    pub fn strain_bound(&self, length_m: f64) -> f64 {
        let Some(stiffness_n) = self.line.axial_stiffness_n else { return 0.0 };
        let load = self.load_n_per_m * length_m / stiffness_n;
        (self.distance_m() / length_m - 1.0).max(0.0) + (load * load / 24.0).cbrt() + load
    }
}

/// Bound of the load on a metre anywhere the line may hang, N/m.
fn most_load_n_per_m(line: &Line, flow: &AnyFlow, reach_m: f64) -> f64 {
    let at = |z_m: f64| {
        let sample = flow.at(z_m);
        let speed = sample.velocity_m_s.norm();
        let reynolds = sample.density_kg_m3 * speed * line.diameter_m / sample.dynamic_viscosity_pa_s;
        let pressure = 0.5 * sample.density_kg_m3 * speed * speed;
        let across = if speed > 0.0 { line.normal_drag.coefficient(reynolds) } else { 0.0 };
        let drag = pressure * line.diameter_m * across.max(line.tangential_coefficient);
        let weight =
            (line.mass_kg_per_m - sample.density_kg_m3 * line.buoyancy_area_m2) * STANDARD_GRAVITY_M_S2;
        drag + if weight.abs() < 1e-12 { 0.0 } else { weight.abs() }
    };
    (-20..=20).map(|i| at(0.05 * f64::from(i) * reach_m)).fold(0.0, f64::max)
}

/// Load across the straight line between the ends, N, summed over its middle places.
fn across_n(line: &Line, flow: &AnyFlow, vehicle_m: &Vector3<f64>) -> f64 {
    let chord = vehicle_m.normalize();
    let at = |share: f64| {
        let sample = flow.at(share * vehicle_m.z);
        let across = sample.velocity_m_s - sample.velocity_m_s.dot(&chord) * chord;
        let reynolds = sample.density_kg_m3 * across.norm() * line.diameter_m / sample.dynamic_viscosity_pa_s;
        let half = 0.5 * sample.density_kg_m3 * line.diameter_m;
        let drag = if across.norm() > 0.0 {
            half * line.normal_drag.coefficient(reynolds) * across.norm() * across
        } else {
            across
        };
        let weight = (line.mass_kg_per_m - sample.density_kg_m3 * line.buoyancy_area_m2)
            * STANDARD_GRAVITY_M_S2
            * (Vector3::z() - chord.z * chord);
        drag - weight
    };
    let sum: Vector3<f64> = (0..20).map(|i| at((f64::from(i) + 0.5) / 20.0)).sum();
    0.05 * sum.norm() * vehicle_m.norm()
}

fn any_line(random: &mut Random, water_kg_m3: Option<f64>) -> Line {
    let diameter_m = random.spread(2e-4, 2e-2);
    let area_m2 = 0.25 * std::f64::consts::PI * diameter_m * diameter_m;
    let (mass_kg_per_m, buoyancy_area_m2) = match water_kg_m3 {
        Some(density_kg_m3) => {
            let over_displaced = match random.below(5) {
                0 => 1.0,
                1 | 2 => random.between(0.3, 1.0),
                _ => random.spread(1.0, 8.0),
            };
            (over_displaced * density_kg_m3 * area_m2, area_m2)
        }
        None => (random.spread(1e-4, 1.0), 0.0),
    };
    let curve =
        if random.chance(0.3) { DragCurve::White } else { DragCurve::Constant(random.between(0.3, 3.0)) };
    Line {
        mass_kg_per_m,
        diameter_m,
        buoyancy_area_m2,
        axial_stiffness_n: random.chance(0.55).then(|| random.spread(1e3, 1e7)),
        normal_drag: NormalDrag::new(curve, 1.0).unwrap(),
        tangential_coefficient: if random.chance(0.3) { 0.0 } else { random.between(0.0, 0.1) },
    }
}

fn any_ground(random: &mut Random) -> Ground {
    let exit_m = if random.chance(0.3) { 0.0 } else { random.spread(0.01, 30.0) };
    let friction = if random.chance(0.5) { 0.0 } else { random.spread(0.01, 3.0) };
    Ground::new(-exit_m, friction).unwrap()
}

/// Above, below, beside or anywhere; over a ground never below the drum exit.
fn any_place(random: &mut Random, distance_m: f64, over_ground: bool) -> Vector3<f64> {
    let azimuth = random.between(0.0, std::f64::consts::TAU);
    let up = match random.below(8) {
        0 => 1.0,
        1 if !over_ground => -1.0,
        2 => 0.0,
        3 => 1.0 - random.spread(1e-6, 1e-2),
        _ if over_ground => random.unit(),
        _ => random.between(-1.0, 1.0),
    };
    // A vehicle on the ground itself is none.
    let up = if over_ground { up.max(0.01) } else { up };
    let level = (1.0 - up * up).max(0.0).sqrt();
    distance_m * Vector3::new(level * azimuth.cos(), level * azimuth.sin(), up)
}

/// Near-taut, ordinary, very slack; lines that stretch also shorter than the distance; one in fifty too short.
fn any_slack(random: &mut Random, stretches: bool) -> f64 {
    match random.below(50) {
        0 => -random.spread(1e-6, 0.5),
        1..=12 if stretches => -random.spread(1e-6, 0.02),
        1..=12 => random.spread(1e-6, 1e-3),
        13..=35 => random.spread(1e-3, 0.3),
        _ => random.spread(0.3, 9.0),
    }
}

fn profile(random: &mut Random, law: ProfileShape) -> Profile {
    let veer_deg_per_m = if random.chance(0.5) { 0.0 } else { random.between(-0.3, 0.3) };
    Profile {
        direction_deg: random.between(-180.0, 180.0),
        veer_deg_per_m,
        floor_height_m: random.spread(0.1, 20.0),
        exit_height_m: random.between(0.0, 3.0),
        ..Profile::new(law).unwrap()
    }
}

fn air(random: &mut Random, distance_m: f64) -> AnyFlow {
    let speed_m_s = if random.chance(0.08) { 0.0 } else { random.between(0.0, 60.0) };
    let at_height = Atmosphere::new(random.between(0.0, 4000.0), random.between(-30.0, 30.0)).unwrap();
    let law = match random.below(4) {
        0 => {
            let direction = random.between(0.0, std::f64::consts::TAU);
            let velocity_m_s = speed_m_s * Vector3::new(direction.cos(), direction.sin(), 0.0);
            return AnyFlow::Uniform(UniformFlow::new(at_height.at(0.0), velocity_m_s).unwrap());
        }
        1 => {
            return AnyFlow::Layers(Layers::new(
                random,
                speed_m_s,
                distance_m,
                at_height.at(0.0).density_kg_m3,
            ));
        }
        2 => ProfileShape::PowerLaw {
            speed_m_s,
            reference_height_m: 10.0,
            exponent: random.between(0.05, 0.4),
        },
        _ => ProfileShape::Logarithmic {
            speed_m_s,
            reference_height_m: 10.0,
            roughness_m: random.spread(1e-4, 1.0),
        },
    };
    AnyFlow::Air(Box::new(AirFlow::new(at_height, profile(random, law)).unwrap()))
}

fn water(random: &mut Random) -> AnyFlow {
    let fluid = Water::sea(random.between(0.0, 30.0)).unwrap().fluid(0.0);
    let speed_m_s = if random.chance(0.1) { 0.0 } else { random.spread(0.01, 3.0) };
    let law = if random.chance(0.5) {
        ProfileShape::Uniform { speed_m_s }
    } else {
        ProfileShape::SurfaceExponential {
            surface_speed_m_s: speed_m_s,
            decay_depth_m: random.spread(3.0, 100.0),
        }
    };
    AnyFlow::Water(Box::new(WaterFlow::new(fluid, profile(random, law)).unwrap()))
}

#[derive(Debug, Clone)]
pub enum AnyFlow {
    Uniform(UniformFlow),
    Air(Box<AirFlow>),
    Water(Box<WaterFlow>),
    Layers(Layers),
}

impl Flow for AnyFlow {
    fn at(&self, z_m: f64) -> FlowSample {
        match self {
            Self::Uniform(flow) => flow.at(z_m),
            Self::Air(flow) => flow.at(z_m),
            Self::Water(flow) => flow.at(z_m),
            Self::Layers(flow) => flow.at(z_m),
        }
    }

    fn kink_heights_m(&self) -> &[f64] {
        match self {
            Self::Uniform(flow) => flow.kink_heights_m(),
            Self::Air(flow) => flow.kink_heights_m(),
            Self::Water(flow) => flow.kink_heights_m(),
            Self::Layers(flow) => &flow.heights_m,
        }
    }
}

/// Wind that goes in straight lines from height to height, in speed and direction, as a sounding gives it.
#[derive(Debug, Clone)]
pub struct Layers {
    heights_m: [f64; 4],
    velocities_m_s: [Vector3<f64>; 4],
    density_kg_m3: f64,
}

impl Layers {
    fn new(random: &mut Random, speed_m_s: f64, distance_m: f64, density_kg_m3: f64) -> Self {
        let mut heights_m = [(); 4].map(|()| random.between(-0.5, 1.0) * distance_m);
        heights_m.sort_by(f64::total_cmp);
        let velocities_m_s = [(); 4].map(|()| {
            let (speed, direction) = (speed_m_s * random.unit(), random.between(-2.0, 2.0));
            speed * Vector3::new(direction.cos(), direction.sin(), 0.0)
        });
        Self { heights_m, velocities_m_s, density_kg_m3 }
    }

    fn at(&self, z_m: f64) -> FlowSample {
        let above = self.heights_m.iter().position(|height_m| *height_m > z_m);
        let velocity_m_s = match above {
            Some(0) => self.velocities_m_s[0],
            None => self.velocities_m_s[3],
            Some(i) => {
                let share = (z_m - self.heights_m[i - 1]) / (self.heights_m[i] - self.heights_m[i - 1]);
                self.velocities_m_s[i - 1].lerp(&self.velocities_m_s[i], share)
            }
        };
        FlowSample { velocity_m_s, density_kg_m3: self.density_kg_m3, dynamic_viscosity_pa_s: 1.8e-5 }
    }
}

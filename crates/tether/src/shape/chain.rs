//! A way to a shape from nowhere: the line as a chain of straight links that is let go in a thick fluid until it rests.
//!
//! It sinks by implicit steps in time that grow as it turns less and less and end as Newton's method (pseudo-transient
//! continuation: C. T. Kelley, D. E. Keyes, SIAM J. Numer. Anal. 35, 1998, p. 508). The tensions are unknowns of their own, so
//! that a stiff line may turn in large steps. Then links get shorter where the line turns hard, and it rests anew.

use beamstay_environment::flow::Flow;
use nalgebra::{Matrix3, Vector3};

use super::{
    load::{LoadSlope, Pull, load_n_per_m},
    mesh::{Crowding, Element, Mesh},
    pack::Turn,
    relax::Problem,
    solution::MAX_NODES,
    start,
};

mod follow;

/// Links of the chain.
const LINKS: usize = 96;
/// Links to an element of the mesh and the nodes of one: at first, and where those do not do.
pub(super) const DIVISIONS_OF_MESH: [(usize, usize); 2] = [(12, 10), (6, 9)];
/// Evaluations of the flow that the equations of a link and their solution cost as much as.
const WORK: usize = 8;
/// Stiffness over the tension of a line that does not stretch, or hardly, and tensions over the largest that count for it at
/// least, before the chain first rested and after.
const STIFF: f64 = 1e3;
/// The same of a line with less slack than that stretch, over the inverse of its slack, and the least slack that counts.
const OVER_SLACK: f64 = 30.0;
const LEAST_SLACK: f64 = 1e-7;
const FIRST_SLACKEST: f64 = 1.0;
const SLACKEST: f64 = 1e-5;
/// First step in time: a lump that only its load moves goes this share of the length.
const FIRST_STEP: f64 = 0.3;
/// Largest turn of a link in one step, rad; those below which steps grow and below which the chain rests.
const MOST_TURN: f64 = 0.4;
const LITTLE_TURN: f64 = 0.1;
const REST_TURN: f64 = 1e-7;
/// Turns that are so small as to end the search if they do not shrink any more for some steps: where the load has kinks.
const CALM_TURN: f64 = 3e-3;
const CALM_STEPS: u32 = 6;
/// Time after which nothing but Newton's method is left.
const LONG: f64 = 1e8;
/// Steps in time until the chain must rest, for one division into links.
const STEPS: u32 = 300;
/// Shorter steps in time than this lead nowhere.
const LEAST_STEP: f64 = 1e-9;
/// Divisions into links, and the turn from link to link that is fine enough, rad.
const DIVISIONS: u32 = 5;
const FINE_TURN: f64 = 0.25;
/// Share of the links that goes where the line turns.
const TURN_SHARE: f64 = 0.35;
/// Least tension with which a link keeps its direction, over the largest.
const LEAST_TENSION: f64 = 1e-9;

/// Change of the way of a link by a step, m.
fn change_m(step_m: &Steps, i: usize) -> Vector3<f64> {
    let upper_m = if i + 1 < LINKS { step_m[i + 1] } else { Vector3::zeros() };
    upper_m - step_m[i]
}

/// The chain, from drum to vehicle.
pub(super) struct Chain {
    length_m: f64,
    /// Unstretched lengths of the links, and the tensions in them.
    link_m: [f64; LINKS],
    tension_n: [f64; LINKS],
    position_m: [Vector3<f64>; LINKS + 1],
    links: [Link; LINKS],
    rows: [Row; LINKS],
    /// Step of each lump, the drum exit first, m.
    step_m: Steps,
    /// Share of the true load, and the load of which the rest is, N/m.
    share: f64,
    easy_n_per_m: Vector3<f64>,
    /// Largest load on the line or tension of the guess, N.
    scale_n: f64,
    /// Stiffness of each link, N; see [`Chain::stiffen`].
    stiffness_n: [f64; LINKS],
}

/// A step of every lump, the drum exit first, m.
type Steps = [Vector3<f64>; LINKS];

/// One row of the equations after elimination: how a lump depends on the one below, and follows the one above.
#[derive(Debug, Clone, Copy)]
struct Row {
    inverse: Matrix3<f64>,
    by_lower: Matrix3<f64>,
    follows: Matrix3<f64>,
}

impl Row {
    fn none() -> Self {
        Self { inverse: Matrix3::zeros(), by_lower: Matrix3::zeros(), follows: Matrix3::zeros() }
    }
}

/// One link as it pulls and is loaded, and how both change with the places of its ends.
#[derive(Debug, Clone, Copy)]
struct Link {
    tangent: Vector3<f64>,
    long_m: f64,
    /// Tension by its length, N.
    taut_n: f64,
    load_n: Vector3<f64>,
    /// How the load changes with the share of the true load.
    load_by_share_n: Vector3<f64>,
    pull_by_place: Matrix3<f64>,
    load_by_upper: Matrix3<f64>,
    load_by_lower: Matrix3<f64>,
}

impl Link {
    fn none() -> Self {
        Self {
            tangent: Vector3::zeros(),
            long_m: 0.0,
            taut_n: 0.0,
            load_n: Vector3::zeros(),
            load_by_share_n: Vector3::zeros(),
            pull_by_place: Matrix3::zeros(),
            load_by_upper: Matrix3::zeros(),
            load_by_lower: Matrix3::zeros(),
        }
    }

    fn pull_n(&self) -> Vector3<f64> {
        self.taut_n * self.tangent
    }

    /// Change of the pull with the place, and of what resists its turns.
    fn held(&self, turning_n_per_m: f64) -> Matrix3<f64> {
        let across = Matrix3::identity() - self.tangent * self.tangent.transpose();
        self.pull_by_place + turning_n_per_m * across
    }
}

impl Chain {
    /// A chain of even links in the catenary of the mean load.
    pub(super) fn new<F: Flow>(problem: &Problem<'_, F>, length_m: f64) -> Self {
        let mean = start::load_of_many_n_per_m(problem);
        Self::under(problem, length_m, mean)
    }

    /// A chain of even links in the catenary of a load.
    fn under<F: Flow>(problem: &Problem<'_, F>, length_m: f64, load_n_per_m: Vector3<f64>) -> Self {
        let compliance = problem.compliance_per_n;
        let drum_n = start::drum_force_n(&load_n_per_m, &problem.end_m, length_m, compliance);
        let force_n = |share: f64| drum_n - share * length_m * load_n_per_m;
        let scale_n = drum_n.norm().max(force_n(1.0).norm()).max(load_n_per_m.norm() * length_m);
        let mut chain = Self {
            length_m,
            link_m: [length_m / LINKS as f64; LINKS],
            tension_n: std::array::from_fn(|i| force_n((i as f64 + 0.5) / LINKS as f64).norm()),
            position_m: [Vector3::zeros(); LINKS + 1],
            links: [Link::none(); LINKS],
            rows: [Row::none(); LINKS],
            step_m: [Vector3::zeros(); LINKS],
            share: 1.0,
            easy_n_per_m: Vector3::zeros(),
            scale_n,
            stiffness_n: [0.0; LINKS],
        };
        chain.stiffen(problem, FIRST_SLACKEST);
        for i in 0..LINKS {
            let pull = Pull::new(&force_n((i as f64 + 0.5) / LINKS as f64), 1.0 / chain.stiffness_n[i]);
            chain.position_m[i + 1] = chain.position_m[i] + chain.link_m[i] * pull.gradient();
        }
        let missed_m = problem.end_m - chain.position_m[LINKS];
        for (i, position_m) in chain.position_m.iter_mut().enumerate() {
            *position_m += i as f64 / LINKS as f64 * missed_m;
        }
        chain
    }

    /// Lets each link stretch as the line does, or by a thousandth under its tension if that is more: what stretches less is lost in
    /// rounding beside what bends easily.
    fn stiffen<F: Flow>(&mut self, problem: &Problem<'_, F>, slackest: f64) {
        let compliance = problem.compliance_per_n;
        let own_n = if compliance > 0.0 { compliance.recip() } else { f64::INFINITY };
        let slack = (self.length_m / problem.end_m.norm() - 1.0).max(LEAST_SLACK);
        let stiff = STIFF.max(OVER_SLACK / slack);
        for (stiffness_n, tension_n) in self.stiffness_n.iter_mut().zip(&self.tension_n) {
            *stiffness_n = own_n.min(stiff * tension_n.max(slackest * self.scale_n));
        }
    }

    /// Lets the chain come to rest, with links as short as it bends; whether it did, taut everywhere.
    pub(super) fn rest<F: Flow>(&mut self, problem: &Problem<'_, F>) -> bool {
        for division in 0..DIVISIONS {
            if !self.sink(problem, FIRST_STEP) {
                return false;
            }
            if division + 1 == DIVISIONS || self.most_bend() <= FINE_TURN {
                break;
            }
            self.divide();
            self.stiffen(problem, SLACKEST);
        }
        self.tension_n.iter().all(|tension_n| *tension_n > 0.0)
    }

    /// Steps in time until nothing turns any more.
    fn sink<F: Flow>(&mut self, problem: &Problem<'_, F>, first: f64) -> bool {
        let mut time = first;
        let mut calm = 0;
        for _ in 0..STEPS {
            if problem.budget.is_spent() {
                return false;
            }
            self.link(problem);
            let turn = loop {
                match self.step(time) {
                    Some(turn) if turn <= MOST_TURN => break turn,
                    Some(turn) => time *= (0.8 * MOST_TURN / turn).clamp(0.1, 0.5),
                    None => time *= 0.1,
                }
                if time < LEAST_STEP {
                    return false;
                }
            };
            self.go();
            calm = if turn <= CALM_TURN && time >= LONG { calm + 1 } else { 0 };
            if calm > 0 && turn <= REST_TURN || calm >= CALM_STEPS {
                return true;
            }
            if turn <= LITTLE_TURN {
                time = (time * if turn <= 0.1 * LITTLE_TURN { 10.0 } else { 2.0 }).min(10.0 * LONG);
            }
        }
        false
    }

    /// Pulls and loads of the links where they are.
    fn link<F: Flow>(&mut self, problem: &Problem<'_, F>) {
        for i in 0..LINKS {
            let way_m = self.position_m[i + 1] - self.position_m[i];
            let middle_m = 0.5 * (self.position_m[i + 1].z + self.position_m[i].z);
            let long_m = way_m.norm().max(1e-12 * self.length_m);
            let tangent = way_m / long_m;
            let link_m = self.link_m[i];
            let taut_n = self.stiffness_n[i] * (long_m / link_m - 1.0);
            // The direction changes with the way as it does with a force of that size.
            let pull = Pull { tension_n: long_m, tangent, stretch_ratio: (long_m / link_m).min(2.0) };
            let slope = LoadSlope::of(problem.line, problem.flow, middle_m, &pull, 0.0);
            let true_n = link_m * load_n_per_m(problem.line, &problem.flow.at(middle_m), &pull);
            let easy_n = link_m * self.easy_n_per_m;
            let load_by_share_n = true_n - easy_n;
            let along = tangent * tangent.transpose();
            let across_n = self.tension_n[i].max(LEAST_TENSION * self.scale_n);
            let pull_by_place =
                self.stiffness_n[i] / link_m * along + across_n / long_m * (Matrix3::identity() - along);
            let mut by_height = Matrix3::zeros();
            by_height.set_column(2, &(0.5 * self.share * link_m * slope.by_height));
            let by_way = self.share * link_m * slope.by_force;
            self.links[i] = Link {
                tangent,
                long_m,
                taut_n,
                load_n: easy_n + self.share * load_by_share_n,
                load_by_share_n,
                pull_by_place,
                load_by_upper: by_height + by_way,
                load_by_lower: by_height - by_way,
            };
        }
        problem.budget.spend(WORK * LINKS);
    }

    /// How far the lumps go in a time; the largest turn of a link, rad. `None` if nothing can be told.
    fn step(&mut self, time: f64) -> Option<f64> {
        self.eliminate(time)?;
        self.step_m = self.solved(|chain, i| chain.open_n(i));
        self.largest_turn(&self.step_m)
    }

    /// Force that nothing holds at a lump, N.
    fn open_n(&self, i: usize) -> Vector3<f64> {
        let (below, above) = (&self.links[i - 1], &self.links[i]);
        above.pull_n() - below.pull_n() + 0.5 * (below.load_n + above.load_n)
    }

    /// Elimination from the drum up. The fluid resists turns of links much more than ways of lumps, so that the line moves as a
    /// whole sooner than it wrinkles.
    fn eliminate(&mut self, time: f64) -> Option<()> {
        let turning = self.scale_n / (self.length_m * time);
        let moving = 0.01 * turning / self.length_m;
        for i in 1..LINKS {
            let (below, above) = (&self.links[i - 1], &self.links[i]);
            let lumped_m = 0.5 * (self.link_m[i - 1] + self.link_m[i]);
            let (below_held, above_held) = (below.held(turning), above.held(turning));
            let by_lower = below_held + 0.5 * below.load_by_lower;
            let by_upper = above_held + 0.5 * above.load_by_upper;
            let own = Matrix3::from_diagonal_element(moving * lumped_m) + below_held + above_held
                - 0.5 * (below.load_by_upper + above.load_by_lower);
            let inverse = (own - by_lower * self.rows[i - 1].follows).try_inverse()?;
            self.rows[i] = Row { inverse, by_lower, follows: inverse * by_upper };
        }
        Some(())
    }

    /// Steps that answer a force at every lump.
    fn solved(&self, force_n: impl Fn(&Self, usize) -> Vector3<f64>) -> Steps {
        let mut step_m = [Vector3::zeros(); LINKS];
        for i in 1..LINKS {
            let row = &self.rows[i];
            step_m[i] = row.inverse * (force_n(self, i) + row.by_lower * step_m[i - 1]);
        }
        for i in (1..LINKS - 1).rev() {
            let above_m = step_m[i + 1];
            step_m[i] += self.rows[i].follows * above_m;
        }
        step_m
    }

    /// Largest turn of a link by a step, rad.
    fn largest_turn(&self, step_m: &Steps) -> Option<f64> {
        let mut most: f64 = 0.0;
        for i in 0..LINKS {
            let change_m = change_m(step_m, i);
            let link = &self.links[i];
            let along = link.tangent.dot(&change_m);
            let turn = (change_m - along * link.tangent).norm() / link.long_m;
            if !turn.is_finite() {
                return None;
            }
            most = most.max(turn);
        }
        Some(most)
    }

    /// Product of two steps by what they change of the ways of the links.
    fn product(&self, a: &Steps, b: &Steps) -> f64 {
        let sum: f64 =
            (0..LINKS).map(|i| change_m(a, i).dot(&change_m(b, i)) / (self.link_m[i] * self.link_m[i])).sum();
        sum / LINKS as f64
    }

    /// Takes the step.
    fn go(&mut self) {
        for i in 0..LINKS {
            let stretch = self.links[i].tangent.dot(&change_m(&self.step_m, i)) / self.link_m[i];
            self.tension_n[i] = self.links[i].taut_n + self.stiffness_n[i] * stretch;
        }
        for i in 1..LINKS {
            self.position_m[i] += self.step_m[i];
        }
    }

    /// Turn from a link to the next, rad.
    fn bend(&self, i: usize) -> f64 {
        self.links[i].tangent.dot(&self.links[i + 1].tangent).clamp(-1.0, 1.0).acos()
    }

    fn most_bend(&self) -> f64 {
        (0..LINKS - 1).map(|i| self.bend(i)).fold(0.0, f64::max)
    }

    /// Divides the line anew: half of the links evenly, half as it turns.
    fn divide(&mut self) {
        let total: f64 = (0..LINKS - 1).map(|i| self.bend(i)).sum();
        // Share of the links up to the end of each old one.
        let mut share = [0.0; LINKS + 1];
        for i in 0..LINKS {
            let below = if i > 0 { self.bend(i - 1) } else { 0.0 };
            let above = if i + 1 < LINKS { self.bend(i) } else { 0.0 };
            let turns = 0.5 * (below + above) / total.max(f64::MIN_POSITIVE);
            share[i + 1] =
                share[i] + (1.0 - TURN_SHARE) * self.link_m[i] / self.length_m + TURN_SHARE * turns;
        }
        let whole = share[LINKS];
        let (old_m, old_n, old_position_m) = (self.link_m, self.tension_n, self.position_m);
        let (mut below, mut from_m, mut s_m) = (0, 0.0, 0.0);
        for i in 0..LINKS {
            let wanted = whole * (i + 1) as f64 / LINKS as f64;
            while below + 1 < LINKS && share[below + 1] < wanted {
                s_m += old_m[below];
                below += 1;
            }
            let t = ((wanted - share[below]) / (share[below + 1] - share[below])).clamp(0.0, 1.0);
            let end_m = if i + 1 == LINKS { self.length_m } else { s_m + t * old_m[below] };
            self.link_m[i] = (end_m - from_m).max(1e-12 * self.length_m);
            self.tension_n[i] = old_n[below];
            if i + 1 < LINKS {
                self.position_m[i + 1] = old_position_m[below].lerp(&old_position_m[below + 1], t);
            }
            from_m = end_m;
        }
    }

    /// Force at a place, a share of the length: straight lines through the pulls in the middles of the links.
    pub(super) fn force_n(&self, place: f64) -> Vector3<f64> {
        let s_m = place * self.length_m;
        let pull_n = |i: usize| self.tension_n[i] * self.links[i].tangent;
        let mut middle_m = 0.5 * self.link_m[0];
        for i in 0..LINKS - 1 {
            let next_m = middle_m + 0.5 * (self.link_m[i] + self.link_m[i + 1]);
            if s_m <= next_m || i + 2 == LINKS {
                let t = (s_m - middle_m) / (next_m - middle_m);
                return pull_n(i) + t * (pull_n(i + 1) - pull_n(i));
            }
            middle_m = next_m;
        }
        pull_n(LINKS - 1)
    }

    fn slackest_turn(&self) -> Turn {
        let slackest =
            (0..LINKS).min_by(|a, b| self.tension_n[*a].total_cmp(&self.tension_n[*b])).unwrap_or_default();
        let middle_m = self.link_m[..slackest].iter().sum::<f64>() + 0.5 * self.link_m[slackest];
        let link = &self.links[slackest];
        let load_n = self.length_m / self.link_m[slackest] * link.load_n;
        Turn::of(middle_m / self.length_m, &(self.tension_n[slackest] * link.tangent), &load_n)
    }

    /// A mesh with elements of as many links each, crowded where the tension is least.
    pub(super) fn mesh(&self, (links_count, order): (usize, usize)) -> Mesh {
        let mut mesh = Mesh::empty();
        let turn = self.slackest_turn();
        let mut start_m = 0.0;
        for links in self.link_m.chunks(links_count) {
            let end_m = start_m + links.iter().sum::<f64>();
            let (from, to) = (start_m / self.length_m, end_m / self.length_m);
            let crowding = if turn.is_sharp() { turn.crowding(from, to) } else { Crowding::Even };
            mesh.push(Element { crowding, ..Element::even(from, to, order) }, MAX_NODES);
            start_m = end_m;
        }
        mesh
    }
}

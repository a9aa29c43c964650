//! Published problems with known optima. HS: W. Hock, K. Schittkowski, *Test Examples for Nonlinear Programming Codes*,
//! Lecture Notes in Economics and Mathematical Systems 187, Springer 1981. Problems and optima from memory, each checked
//! to satisfy its limits at the stated optimum.

use super::*;

struct Published {
    name: &'static str,
    bounds: &'static [Bound],
    /// What is minimised, and limits that hold where they are not negative.
    model: fn(&[f64]) -> (f64, Vec<f64>),
    optimum: f64,
}

struct Scaled<'a>(&'a Published);

impl Problem for Scaled<'_> {
    fn evaluate(&mut self, unit: &[f64]) -> Trial {
        let x: Vec<f64> = unit.iter().zip(self.0.bounds).map(|(u, (lo, hi))| lo + u * (hi - lo)).collect();
        let (cost, margins) = (self.0.model)(&x);
        let level = margins.iter().copied().fold(1.0, f64::min);
        Trial { goal: -cost, margins, level }
    }
}

const PROBLEMS: &[Published] = &[
    Published {
        name: "HS 21",
        bounds: &[(2.0, 50.0), (-50.0, 50.0)],
        model: |x| (0.01 * x[0] * x[0] + x[1] * x[1] - 100.0, vec![10.0 * x[0] - x[1] - 10.0]),
        optimum: -99.96,
    },
    Published {
        name: "HS 24",
        bounds: &[(0.0, 6.0), (0.0, 6.0)],
        model: |x| {
            let root = 3.0_f64.sqrt();
            let cost = ((x[0] - 3.0).powi(2) - 9.0) * x[1].powi(3) / (27.0 * root);
            (cost, vec![x[0] / root - x[1], x[0] + root * x[1], 6.0 - x[0] - root * x[1]])
        },
        optimum: -1.0,
    },
    Published {
        name: "HS 34",
        bounds: &[(0.0, 100.0), (0.0, 100.0), (0.0, 10.0)],
        model: |x| (-x[0], vec![x[1] - x[0].exp(), x[2] - x[1].exp()]),
        // ln(ln 10) by hand.
        optimum: -0.834_032_445_247_956,
    },
    Published {
        name: "HS 35 (Beale)",
        bounds: &[(0.0, 3.0), (0.0, 3.0), (0.0, 3.0)],
        model: |x| {
            let cost = 9.0 - 8.0 * x[0] - 6.0 * x[1] - 4.0 * x[2]
                + 2.0 * x[0] * x[0]
                + 2.0 * x[1] * x[1]
                + x[2] * x[2]
                + 2.0 * x[0] * x[1]
                + 2.0 * x[0] * x[2];
            (cost, vec![3.0 - x[0] - x[1] - 2.0 * x[2]])
        },
        optimum: 1.0 / 9.0,
    },
    Published {
        name: "HS 36",
        bounds: &[(0.0, 20.0), (0.0, 11.0), (0.0, 42.0)],
        model: |x| (-x[0] * x[1] * x[2], vec![72.0 - x[0] - 2.0 * x[1] - 2.0 * x[2]]),
        optimum: -3300.0,
    },
    Published {
        name: "HS 37",
        bounds: &[(0.0, 42.0), (0.0, 42.0), (0.0, 42.0)],
        model: |x| {
            let sum = x[0] + 2.0 * x[1] + 2.0 * x[2];
            (-x[0] * x[1] * x[2], vec![72.0 - sum, sum])
        },
        optimum: -3456.0,
    },
    Published {
        name: "HS 43 (Rosen-Suzuki)",
        bounds: &[(-10.0, 10.0), (-10.0, 10.0), (-10.0, 10.0), (-10.0, 10.0)],
        model: |x| {
            let [a, b, c, d] = [x[0], x[1], x[2], x[3]];
            let cost = a * a + b * b + 2.0 * c * c + d * d - 5.0 * a - 5.0 * b - 21.0 * c + 7.0 * d;
            let limits = vec![
                8.0 - a * a - b * b - c * c - d * d - a + b - c + d,
                10.0 - a * a - 2.0 * b * b - c * c - 2.0 * d * d + a + d,
                5.0 - 2.0 * a * a - b * b - c * c - 2.0 * a + b + d,
            ];
            (cost, limits)
        },
        optimum: -44.0,
    },
    Published {
        name: "HS 76",
        bounds: &[(0.0, 5.0), (0.0, 5.0), (0.0, 5.0), (0.0, 5.0)],
        model: |x| {
            let [a, b, c, d] = [x[0], x[1], x[2], x[3]];
            let cost = a * a + 0.5 * b * b + c * c + 0.5 * d * d - a * c + c * d - a - 3.0 * b + c - d;
            (cost, vec![5.0 - a - 2.0 * b - c - d, 4.0 - 3.0 * a - b - 2.0 * c + d, b + 4.0 * c - 1.5])
        },
        optimum: -4.681_818_181_818_182,
    },
    Published {
        name: "HS 100",
        bounds: &[
            (-10.0, 10.0),
            (-10.0, 10.0),
            (-10.0, 10.0),
            (-10.0, 10.0),
            (-10.0, 10.0),
            (-10.0, 10.0),
            (-10.0, 10.0),
        ],
        model: |x| {
            let cost = (x[0] - 10.0).powi(2)
                + 5.0 * (x[1] - 12.0).powi(2)
                + x[2].powi(4)
                + 3.0 * (x[3] - 11.0).powi(2)
                + 10.0 * x[4].powi(6)
                + 7.0 * x[5] * x[5]
                + x[6].powi(4)
                - 4.0 * x[5] * x[6]
                - 10.0 * x[5]
                - 8.0 * x[6];
            let limits = vec![
                127.0 - 2.0 * x[0] * x[0] - 3.0 * x[1].powi(4) - x[2] - 4.0 * x[3] * x[3] - 5.0 * x[4],
                282.0 - 7.0 * x[0] - 3.0 * x[1] - 10.0 * x[2] * x[2] - x[3] + x[4],
                196.0 - 23.0 * x[0] - x[1] * x[1] - 6.0 * x[5] * x[5] + 8.0 * x[6],
                -4.0 * x[0] * x[0] - x[1] * x[1] + 3.0 * x[0] * x[1] - 2.0 * x[2] * x[2] - 5.0 * x[5]
                    + 11.0 * x[6],
            ];
            (cost, limits)
        },
        optimum: 680.630_057_3,
    },
    Published {
        // J. S. Arora, Introduction to Optimum Design (1989); A. D. Belegundu (1982). The optimum as agreed in the
        // literature on constrained search: 0.012665233.
        name: "tension spring",
        bounds: &[(0.05, 2.0), (0.25, 1.3), (2.0, 15.0)],
        model: |x| {
            let [wire, coil, turns] = [x[0], x[1], x[2]];
            let bend = (4.0 * coil * coil - wire * coil) / (12566.0 * (coil * wire.powi(3) - wire.powi(4)));
            let limits = vec![
                coil.powi(3) * turns / (71785.0 * wire.powi(4)) - 1.0,
                1.0 - bend - 1.0 / (5108.0 * wire * wire),
                140.45 * wire / (coil * coil * turns) - 1.0,
                1.0 - (wire + coil) / 1.5,
            ];
            // Thin coils of thick wire have no meaning; the formula turns over there.
            let limits = if coil <= wire { vec![-10.0; 4] } else { limits };
            ((turns + 2.0) * coil * wire * wire, limits)
        },
        optimum: 0.012_665_232_788,
    },
    Published {
        // K. M. Ragsdell, D. T. Phillips (1976); S. S. Rao, Engineering Optimization (1996). Optimum 1.724852309.
        name: "welded beam",
        bounds: &[(0.1, 2.0), (0.1, 10.0), (0.1, 10.0), (0.1, 2.0)],
        model: |x| {
            let [weld, length, depth, thick] = [x[0], x[1], x[2], x[3]];
            let (load, span, young, shear) = (6000.0, 14.0, 30e6, 12e6);
            let moment = load * (span + 0.5 * length);
            let radius = (0.25 * length * length + (0.5 * (weld + depth)).powi(2)).sqrt();
            let polar = 2.0
                * (2.0_f64.sqrt()
                    * weld
                    * length
                    * (length * length / 12.0 + (0.5 * (weld + depth)).powi(2)));
            let direct = load / (2.0_f64.sqrt() * weld * length);
            let twist = moment * radius / polar;
            let stress = (direct * direct + direct * twist * length / radius + twist * twist).sqrt();
            let bending = 6.0 * load * span / (thick * depth * depth);
            let sag = 4.0 * load * span.powi(3) / (young * depth.powi(3) * thick);
            let buckling = 4.013 * young * (depth * depth * thick.powi(6) / 36.0).sqrt() / (span * span)
                * (1.0 - depth / (2.0 * span) * (young / (4.0 * shear)).sqrt());
            let cost = 1.10471 * weld * weld * length + 0.04811 * depth * thick * (14.0 + length);
            let limits = vec![
                1.0 - stress / 13600.0,
                1.0 - bending / 30000.0,
                thick - weld,
                5.0 - 0.10471 * weld * weld - 0.04811 * thick * depth * (14.0 + length),
                weld - 0.125,
                0.25 - sag,
                buckling / load - 1.0,
            ];
            (cost, limits)
        },
        optimum: 1.724_852_309,
    },
];

#[test]
fn val_published_optima_within_one_in_a_million() {
    for problem in PROBLEMS {
        let found = best(
            || Scaled(problem),
            problem.bounds.len(),
            None,
            &Settings {
                finish: Finish { difference: 1e-6, backoff: 1e-10, ..Finish::default() },
                ..Settings::for_dimensions(problem.bounds.len(), 7)
            },
        );
        let error = (-found.trial.goal - problem.optimum) / problem.optimum.abs();
        assert!(found.trial.is_feasible(), "{}: {found:?}", problem.name);
        assert!(error.abs() < 1e-6, "{}: error {error:e}, {found:?}", problem.name);
    }
}

#[test]
fn the_same_seed_gives_the_same_answer() {
    let run = || best(|| Scaled(&PROBLEMS[6]), 4, None, &Settings::for_dimensions(4, 3));
    assert_eq!(run(), run());
}

#[test]
fn where_nothing_is_feasible_the_least_infeasible_is_told() {
    let problem = Published {
        name: "a gap",
        bounds: &[(-1.0, 1.0)],
        model: |x| (x[0], vec![x[0] - 0.5, 0.1 - x[0]]),
        optimum: 0.0,
    };
    let found = best(|| Scaled(&problem), 1, None, &Settings::for_dimensions(1, 1));
    assert!(!found.trial.is_feasible());
    assert!((2.0 * found.unit[0] - 1.0 - 0.3).abs() < 1e-3, "{found:?}");
}

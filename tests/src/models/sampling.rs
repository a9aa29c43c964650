//! Models of the area `sampling`.

use std::f64::consts::PI;

use beamstay_numerics::{
    distribution::Distribution, proportion::wilson, sensitivity::SensitivitySums, sobol::Sobol,
};
use serde_json::Value;

use super::number;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    match model {
        "sobol_coordinate" => sobol_coordinate(inputs),
        "quantile" => quantile(inputs),
        "wilson" => {
            let count = |key| inputs.get(key)?.as_u64();
            let confidence_ratio = number(inputs, "confidence_ratio")?;
            let ends = wilson(count("successes_count")?, count("trials_count")?, confidence_ratio).ok()?;
            Some(if word(inputs, "end")? == "low" { ends.0 } else { ends.1 })
        }
        "sensitivity" => sensitivity(inputs),
        _ => None,
    }
}

fn word<'a>(inputs: &'a Value, key: &str) -> Option<&'a str> {
    inputs.get(key)?.as_str()
}

fn sobol_coordinate(inputs: &Value) -> Option<f64> {
    let axis = inputs.get("axis_count")?.as_u64()? as usize;
    let mut point = vec![0.0; axis];
    Sobol::new(axis).ok()?.point(inputs.get("index_count")?.as_u64()? as u32, &mut point);
    point.last().copied()
}

fn quantile(inputs: &Value) -> Option<f64> {
    let value = |key| number(inputs, key);
    let kind = match word(inputs, "kind")? {
        "normal" => Distribution::Normal { mean: value("mean")?, deviation: value("deviation")? },
        "triangular" => {
            Distribution::Triangular { low: value("low")?, mode: value("mode")?, high: value("high")? }
        }
        "lognormal" => {
            Distribution::Lognormal { median: value("median")?, log_deviation: value("log_deviation")? }
        }
        "weibull" => Distribution::Weibull { scale: value("scale")?, shape: value("shape")? },
        _ => return None,
    };
    kind.check().ok()?;
    Some(kind.quantile(value("probability_ratio")?))
}

fn ishigami(u: &[f64]) -> f64 {
    let x = |i: usize| PI * (2.0 * u[i] - 1.0);
    x(0).sin() + 7.0 * x(1).sin().powi(2) + 0.1 * x(2).powi(4) * x(0).sin()
}

fn sobol_g(u: &[f64]) -> f64 {
    const A: [f64; 8] = [0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0];
    u.iter().zip(A).map(|(x, a)| ((4.0 * x - 2.0).abs() + a) / (1.0 + a)).product()
}

fn sensitivity(inputs: &Value) -> Option<f64> {
    let (function, inputs_count): (fn(&[f64]) -> f64, usize) = match word(inputs, "function")? {
        "ishigami" => (ishigami, 3),
        "sobol_g" => (sobol_g, 8),
        _ => return None,
    };
    let seed = inputs.get("seed_count")?.as_u64()?;
    let sequence = Sobol::scrambled(2 * inputs_count, seed).ok()?;
    let mut sums = SensitivitySums::new(inputs_count);
    let mut point = vec![0.0; 2 * inputs_count];
    for index in 0..inputs.get("samples_count")?.as_u64()? as u32 {
        sequence.point(index, &mut point);
        let (first, second) = point.split_at(inputs_count);
        let mixed: Vec<f64> = (0..inputs_count)
            .map(|input| {
                let mut mix = first.to_vec();
                mix[input] = second[input];
                function(&mix)
            })
            .collect();
        sums.add(function(first), function(second), &mixed);
    }
    let index = *sums.indices()?.get(inputs.get("input_count")?.as_u64()?.checked_sub(1)? as usize)?;
    match word(inputs, "order")? {
        "first" => Some(index.first_order),
        "total" => Some(index.total),
        "mean" => Some(sums.mean()),
        "variance" => Some(sums.variance()),
        _ => None,
    }
}

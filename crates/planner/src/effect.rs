//! What one percent more of each input does to the margin: the levers side by side.

use serde::Serialize;

use crate::{lever::Changed, limit::tightest, point::OperatingPoint};

/// What one percent more of an input does.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Effect {
    /// Which input, by JSON Pointer.
    pub pointer: String,
    /// Change of the power margin, W for one percent more.
    pub margin_w_per_percent: f64,
    /// Change of the margin of the tightest limit, in percent of its bound for one percent more; none where that limit is
    /// gone.
    pub tightest_points_per_percent: Option<f64>,
}

/// The effects on the margin, the largest first; inputs without any are left out.
pub(crate) fn effects(changed: &[Changed], point: &OperatingPoint) -> Vec<Effect> {
    let (Some(margin_w), Some(tight)) = (point.margin_w, tightest(&point.limits)) else {
        return Vec::new();
    };
    let mut list: Vec<Effect> = changed
        .iter()
        .filter_map(|(pointer, percent, changed)| {
            let after = changed.limits.iter().find(|row| row.code == tight.code);
            Some(Effect {
                pointer: (*pointer).to_owned(),
                margin_w_per_percent: (changed.margin_w? - margin_w) / percent,
                tightest_points_per_percent: after
                    .map(|row| 100.0 * (row.closeness() - tight.closeness()) / percent),
            })
        })
        .filter(|effect| {
            effect.margin_w_per_percent.abs() > 1e-6
                || effect.tightest_points_per_percent.is_some_and(|p| p.abs() > 1e-6)
        })
        .collect();
    list.sort_by(|a, b| b.margin_w_per_percent.abs().total_cmp(&a.margin_w_per_percent.abs()));
    list
}

#[cfg(test)]
mod tests {
    use crate::Document;

    #[test]
    fn more_payload_costs_and_more_laser_gives() {
        let document = Document::parse(include_str!("../../../scenarios/breakwater-lookout.json")).unwrap();
        let loaded = crate::load(&document).unwrap();
        let report = crate::point_report(&document, &loaded).unwrap();
        let list = report.effects;
        let of = |pointer: &str| list.iter().find(|e| e.pointer == pointer).unwrap().margin_w_per_percent;
        assert!(of("/payload/mass_kg") < 0.0);
        assert!(of("/ground/laser/rated_w") > 0.0);
        assert!(list.windows(2).all(|p| p[0].margin_w_per_percent.abs() >= p[1].margin_w_per_percent.abs()));
    }
}

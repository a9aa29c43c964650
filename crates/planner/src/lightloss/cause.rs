//! Why the light is lost, and what leaves a broken end until the source is dark.

use serde::Serialize;

use super::descent::Hanging;
use crate::{
    error::PlanError,
    point::OperatingPoint,
    scenario::{Delivery, LineEnd, LossCause, Scenario},
    system::{System, Way},
};

/// A cause and what escapes by it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CauseRow {
    /// Stable name.
    pub code: &'static str,
    /// In words.
    pub name: String,
    /// Place of a cut along the line from the drum exit, m.
    pub cut_at_m: Option<f64>,
    /// Whether the line still holds the vehicle.
    pub line_holds: bool,
    /// Length of line that the vehicle carries away, m.
    pub piece_m: f64,
    /// Optical power that leaves a broken end or misses the receiver until shut-off, W. The laser at its rating: a control that
    /// has lost its signal may turn it up. Attenuation between drum and break is not subtracted.
    pub escaping_w: f64,
    /// Time until the source is dark, s; none where the scenario counts on no shut-off.
    pub shut_off_s: Option<f64>,
    /// Optical energy that leaves until then, J; none without a shut-off: it leaves until somebody turns it off.
    pub escaping_j: Option<f64>,
    /// Voltage of a bare end until then, V; 0 without one.
    pub live_v: f64,
    /// What else happens.
    pub remark: String,
}

impl CauseRow {
    /// What the vehicle carries on its way down.
    pub(super) fn hanging(&self, tethered: bool) -> Hanging {
        match (tethered, self.line_holds) {
            (true, true) => Hanging::Whole,
            (true, false) => Hanging::Piece(self.piece_m),
            (false, _) => Hanging::Nothing,
        }
    }
}

/// The causes to work through: the one that the scenario names, or all that its delivery has.
pub(super) fn causes(
    scenario: &Scenario,
    system: &System,
    point: &OperatingPoint,
) -> Result<Vec<CauseRow>, PlanError> {
    let paid_out_m = point.tether.map_or(0.0, |t| t.paid_out_m);
    let all: Vec<LossCause> = match scenario.delivery {
        Delivery::None {} => {
            return Err(PlanError::needs("/delivery", "loss of light", "a delivery that can be lost"));
        }
        Delivery::FreeBeam(_) => vec![LossCause::SourceTrip, LossCause::BeamLost, LossCause::ConverterFault],
        Delivery::Fiber(_) | Delivery::Copper(_) => {
            let mut list = vec![LossCause::SourceTrip];
            if system.line.is_some() {
                list.extend([LossCause::LineCut { at_m: 0.0 }, LossCause::LineCut { at_m: paid_out_m }]);
            }
            list.extend([
                LossCause::Connector { end: LineEnd::Ground },
                LossCause::Connector { end: LineEnd::Vehicle },
                LossCause::ConverterFault,
            ]);
            list
        }
    };
    let chosen = scenario.light_loss.cause.map_or(all, |cause| vec![cause]);
    chosen.into_iter().map(|cause| row(cause, scenario, system, point, paid_out_m)).collect()
}

fn row(
    cause: LossCause,
    scenario: &Scenario,
    system: &System,
    point: &OperatingPoint,
    paid_out_m: f64,
) -> Result<CauseRow, PlanError> {
    let here = "/light_loss/cause";
    let beam = matches!(scenario.delivery, Delivery::FreeBeam(_));
    if beam && matches!(cause, LossCause::LineCut { .. } | LossCause::Connector { .. }) {
        return Err(PlanError::needs(here, "a cut line or a connector", "a delivery with a line"));
    }
    if !beam && cause == LossCause::BeamLost {
        return Err(PlanError::needs(here, "a lost beam", "\"free_beam\" in delivery"));
    }
    let shut_off_s = shut_off_s(scenario);
    let live_v = match &scenario.delivery {
        Delivery::Copper(copper) => copper.voltage_v,
        _ => 0.0,
    };
    let light = Escape::new(system, point);
    let mut row = CauseRow {
        code: "source_trip",
        name: "the source on the ground stops".into(),
        cut_at_m: None,
        line_holds: true,
        piece_m: 0.0,
        escaping_w: 0.0,
        shut_off_s,
        escaping_j: None,
        live_v: 0.0,
        remark: String::new(),
    };
    match cause {
        LossCause::SourceTrip => {
            row.remark = if system.line.is_some() {
                "if the mains failed, the winch needs a supply of its own to reel in".into()
            } else {
                String::new()
            };
        }
        LossCause::LineCut { at_m } => {
            let at_m = at_m.min(paid_out_m);
            row.code = "line_cut";
            row.name = format!("the line is cut {at_m:.0} m from the drum");
            row.cut_at_m = Some(at_m);
            row.line_holds = system.line.is_none();
            row.piece_m = paid_out_m - at_m;
            row.escaping_w = light.launched_w;
            row.live_v = live_v;
            row.remark = "nothing holds the vehicle any more; both ends whip".into();
        }
        LossCause::Connector { end: LineEnd::Ground } => {
            row.code = "connector_ground";
            row.name = "the connector on the ground lets go".into();
            row.escaping_w = light.emitted_w;
            row.live_v = live_v;
            row.remark = "the light leaves at the height of people".into();
        }
        LossCause::Connector { end: LineEnd::Vehicle } => {
            row.code = "connector_vehicle";
            row.name = "the connector on the vehicle lets go".into();
            row.escaping_w = light.launched_w;
            row.live_v = live_v;
            row.remark = "the light leaves at the vehicle, free to swing".into();
        }
        LossCause::ConverterFault => {
            row.code = "converter_fault";
            row.name = "the converter on board fails".into();
            row.remark = light.heat_words(point);
        }
        LossCause::BeamLost => {
            row.code = "beam_lost";
            row.name = "the beam is blocked or misses the receiver".into();
            row.escaping_w = light.launched_w;
            row.remark = "the whole beam goes on into the sky, or onto what blocks it".into();
        }
    }
    row.escaping_j = row.shut_off_s.map(|shut_off_s| row.escaping_w * shut_off_s);
    Ok(row)
}

/// Time until the source is dark, s.
fn shut_off_s(scenario: &Scenario) -> Option<f64> {
    scenario.hazard.and_then(|hazard| hazard.shut_off_ms).map(|ms| 1e-3 * ms)
}

/// Light at full power, W.
struct Escape {
    emitted_w: f64,
    launched_w: f64,
}

impl Escape {
    fn new(system: &System, point: &OperatingPoint) -> Self {
        let Way::Light(light) = &system.way else { return Self { emitted_w: 0.0, launched_w: 0.0 } };
        let emitted_w = light.laser.rated_optical_w;
        let launch_ratio =
            point.light.map_or(1.0, |l| if l.laser_w > 0.0 { l.launched_w / l.laser_w } else { 1.0 });
        Self { emitted_w, launched_w: emitted_w * launch_ratio }
    }

    fn heat_words(&self, point: &OperatingPoint) -> String {
        match point.light {
            Some(light) => format!(
                "until shut-off all arriving light heats the cells, which settle at {:.0} °C at the laser's setting",
                light.cell_temp_load_lost_c
            ),
            None => "the line stays live until the source is shut off".into(),
        }
    }
}

//! A plan flown through time, as text.

use beamstay_planner::endurance::{Distribution, DutySchedule, EnduranceReport, KeptRow, Totals};
use beamstay_report::number::{quantity, significant};

use super::{
    csv::{csv_text, number},
    point::{Style, cautions, section},
    table::{aligned, folded},
};

const WIDTH: usize = 79;

/// The whole screen.
pub fn render(report: &EnduranceReport, style: Style) -> String {
    let mut parts = vec![head(report, style)];
    match &report.duty {
        Some(duty) => parts.push(section(style, "Work and recharge in turns", turns(duty))),
        None => {
            parts.push(section(style, "Time", time(&report.totals, report.record.gaps_count)));
            parts.push(section(style, "Stays on station and outages between them", stays(report)));
            parts.push(section(style, "What ended the stays", ends(report)));
            parts.push(section(style, "What kept it on the ground", kept_down(report)));
            parts.push(section(style, "Chance of an unbroken stay", windows(report)));
            parts.push(section(style, "Energy", energy(report)));
        }
    }
    parts.push(section(style, "Hours flown", record(report)));
    parts.push(section(style, "Cautions", cautions(&report.cautions)));
    parts.push(format!("scenario {}   beamstay {}", report.digest, report.version));
    parts.join("\n\n")
}

fn head(report: &EnduranceReport, style: Style) -> String {
    let verdict = match &report.duty {
        Some(duty) => format!(
            "{}: {} % of the time",
            style.good("WORKS IN TURNS"),
            significant(100.0 * duty.duty_ratio, 3)
        ),
        None if !report.flies() => {
            let why = report.kept_down_by.first().map_or(String::new(), |row| {
                format!("; for {} by: {}", quantity(row.duration_h, "h"), row.kept_down_by.words())
            });
            format!("{}: no hour allows a launch{why}", style.bad("NEVER ON STATION"))
        }
        None => format!(
            "{} {} % of the time with a record; longest stay {}, longest outage {}",
            style.good("ON STATION"),
            significant(100.0 * report.on_station_ratio, 3),
            quantity(report.stays.longest_h, "h"),
            quantity(report.outages.longest_h, "h")
        ),
    };
    format!("{}\n{}", folded(&report.title, WIDTH, ""), folded(&verdict, WIDTH + 11, "  "))
}

fn pair(name: &str, value: String) -> Vec<String> {
    vec![name.to_owned(), value]
}

fn time(totals: &Totals, gaps_count: usize) -> String {
    let mut rows = vec![
        pair("on station", quantity(totals.on_station_h, "h")),
        pair("of that riding on the battery", quantity(totals.riding_h, "h")),
        pair("waiting on the ground for the weather", quantity(totals.waiting_weather_h, "h")),
        pair("waiting on the ground for the battery", quantity(totals.waiting_charge_h, "h")),
        pair("not known (gaps in the record)", quantity(totals.gap_h, "h")),
        pair("hours without a recorded wind", gaps_count.to_string()),
        pair("launches", totals.launches_count.to_string()),
        pair("forced down by a limit", totals.forced_down_count.to_string()),
    ];
    if totals.recharging_h > 0.0 {
        rows.insert(
            2,
            pair("in the air to recharge, between turns of work", quantity(totals.recharging_h, "h")),
        );
    }
    aligned(&[], rows, &[0])
}

fn stays(report: &EnduranceReport) -> String {
    let (stays, outages) = (&report.stays, &report.outages);
    let row = |name: &str, value: fn(&Distribution) -> f64| {
        vec![name.to_owned(), quantity(value(stays), "h"), quantity(value(outages), "h")]
    };
    let mut rows = vec![
        vec!["how many".into(), stays.count.to_string(), outages.count.to_string()],
        row("longest", |d| d.longest_h),
        row("mean", |d| d.mean_h),
        row("median", |d| d.median_h),
    ];
    let names = [
        "up to 1 h",
        "1 to 3 h",
        "3 to 6 h",
        "6 to 12 h",
        "12 to 24 h",
        "1 to 3 days",
        "3 to 7 days",
        "longer",
    ];
    for (i, name) in names.into_iter().enumerate() {
        rows.push(vec![
            name.into(),
            stays.classes_count[i].to_string(),
            outages.classes_count[i].to_string(),
        ]);
    }
    aligned(&["", "stays", "outages"], rows, &[0])
}

fn ends(report: &EnduranceReport) -> String {
    if report.ended_by.is_empty() {
        return "  there was none".into();
    }
    let rows = report
        .ended_by
        .iter()
        .map(|row| vec![row.ended_by.words().to_owned(), row.count.to_string()])
        .collect();
    aligned(&[], rows, &[0])
}

fn kept_down(report: &EnduranceReport) -> String {
    if report.kept_down_by.is_empty() {
        return "  nothing did".into();
    }
    let row = |row: &KeptRow| pair(&row.kept_down_by.words(), quantity(row.duration_h, "h"));
    aligned(&[], report.kept_down_by.iter().map(row).collect(), &[0])
}

fn windows(report: &EnduranceReport) -> String {
    let percent =
        |share: f64| if share > 0.0 { format!("{} %", significant(100.0 * share, 3)) } else { "0 %".into() };
    let rows = report
        .windows
        .iter()
        .map(|w| {
            vec![
                format!("{} h", w.length_h),
                percent(w.share),
                percent(w.if_independent),
                w.windows_count.to_string(),
            ]
        })
        .collect();
    let table = aligned(&["", "in this record", "were hours independent", "windows"], rows, &[0]);
    format!("{table}\n  Hours are not independent: trust the first column.")
}

fn energy(report: &EnduranceReport) -> String {
    let totals = &report.totals;
    let kwh = |wh: f64| quantity(wh / 1000.0, "kWh");
    let mut rows = vec![
        pair("drawn on station", kwh(totals.demand_wh)),
        pair("from the delivery", kwh(totals.delivered_wh)),
        pair("from the battery", kwh(totals.battery_out_wh)),
        pair("into the battery", kwh(totals.battery_in_wh)),
        pair("from the wall", kwh(totals.wall_wh)),
        pair("wall power in the mean", quantity(report.mean_wall_w, "W")),
        pair("wall power, largest hour", quantity(totals.largest_wall_w, "W")),
    ];
    if let (Some(lowest), Some(recovery)) = (report.lowest_charge_ratio, report.recovery_charge_ratio) {
        rows.push(pair(
            "lowest charge at the end of an hour",
            format!("{} %", significant(100.0 * lowest, 3)),
        ));
        rows.push(pair("charge at which it comes down", format!("{} %", significant(100.0 * recovery, 3))));
    }
    if let Some(fuel) = report.fuel {
        rows.push(pair("fuel", quantity(fuel.fuel_l, "L")));
        rows.push(pair("fuel per hour in the mean", quantity(fuel.mean_l_per_h, "L/h")));
        rows.push(pair("hours on a tank in the mean", quantity(fuel.tank_h, "h")));
        rows.push(pair(
            "generator, largest hour over rating",
            format!("{} %", significant(100.0 * fuel.largest_load_ratio, 3)),
        ));
    }
    aligned(&[], rows, &[0])
}

fn turns(duty: &DutySchedule) -> String {
    let rows = duty
        .turns
        .iter()
        .enumerate()
        .map(|(i, turn)| {
            vec![
                (i + 1).to_string(),
                quantity(turn.work_min, "min"),
                quantity(turn.rest_min, "min"),
                quantity(turn.used_wh, "Wh"),
                quantity(turn.taken_wh, "Wh"),
            ]
        })
        .collect();
    let table = aligned(&["turn", "works", "recharges", "used", "taken"], rows, &[0]);
    let line = format!(
        "draws {} at work and {} while it recharges, of {} supply; round trip {} %; {} % of the time at work, {} % by the closed form",
        quantity(duty.work_w, "W"),
        quantity(duty.rest_w, "W"),
        quantity(duty.supply_w, "W"),
        significant(100.0 * duty.round_trip_ratio, 3),
        significant(100.0 * duty.duty_ratio, 4),
        significant(100.0 * duty.closed_form_duty_ratio, 4)
    );
    format!("{table}\n  {}", folded(&line, WIDTH - 2, "  "))
}

fn record(report: &EnduranceReport) -> String {
    let record = &report.record;
    let mut rows = vec![
        pair("from", record.source.clone()),
        pair("hours", record.hours_count.to_string()),
        pair("hours with a recorded gust; the others take the site's rule", record.gusts_count.to_string()),
        pair("strongest mean at the anemometer", quantity(record.strongest_mean_m_s, "m/s")),
    ];
    if record.strongest_gust_m_s > 0.0 {
        rows.push(pair("strongest recorded gust", quantity(record.strongest_gust_m_s, "m/s")));
    }
    if report.unconverged_count > 0 {
        rows.push(pair("points of the curve that did not converge", report.unconverged_count.to_string()));
    }
    aligned(&[], rows, &[0])
}

/// Hour by hour as comma-separated values.
pub fn hours_csv(report: &EnduranceReport) -> String {
    let header = [
        "hour",
        "wind_m_s",
        "wind_gust_m_s",
        "on_station_s",
        "riding_s",
        "recharging_s",
        "charge_ratio",
        "wall_w",
        "broken_limit",
    ];
    let rows = report.rows.iter().zip(&report.labels).map(|(row, label)| {
        vec![
            label.to_string(),
            number(row.wind_m_s),
            number(row.gust_m_s),
            row.on_station_s.to_string(),
            row.riding_s.to_string(),
            row.recharging_s.to_string(),
            row.charge_ratio.to_string(),
            row.wall_w.to_string(),
            row.broken.map_or(String::new(), |code| code.code()),
        ]
    });
    csv_text(header, rows)
}

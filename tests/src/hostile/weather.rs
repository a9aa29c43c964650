//! Weather files to change.

use super::random::between;
use beamstay_numerics::random::Random;

/// A year of an airport, hourly.
const CSV: &str = include_str!("../../../scenarios/weather/jfk-2013-hourly.csv");

const EPW_HEADER: &str = "LOCATION,Any Place,-,-,-,0,47.5,8.5,1.0,440.0\nDESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\n\
    GROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1,\nCOMMENTS 2,\nDATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n";

/// Some rows of the CSV with its header, seldom all of it, or an EPW of a few days.
pub fn text(random: &mut Random) -> Vec<u8> {
    if random.chance(0.5) {
        return epw(random).into_bytes();
    }
    if random.chance(0.005) {
        return CSV.as_bytes().to_vec();
    }
    let lines: Vec<&str> = CSV.lines().collect();
    let start = 1 + random.below(lines.len() - 80);
    let rows = &lines[start..start + 2 + random.below(70)];
    [&lines[..1], rows].concat().join("\n").into_bytes()
}

fn epw(random: &mut Random) -> String {
    let mut text = EPW_HEADER.to_owned();
    let (month, first) = (1 + random.below(12), 1 + random.below(26));
    for day in first..first + 1 + random.below(3) {
        for hour in 1..=24 {
            let wind = between(random, 0.0, 20.0);
            text += &format!(
                "1999,{month},{day},{hour},60,?9?9,-6.1,-11.7,65,96100,0,0,246,0,0,0,0,0,0,0,240,{wind:.1},10,10\n"
            );
        }
    }
    text
}

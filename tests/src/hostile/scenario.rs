//! Scenarios at random: shipped ones with other numbers, and whole ones from the schema.

use beamstay_planner::schema::scenario_schema;
use serde_json::{Map, Value, json};

use super::random::{between, pick};
use crate::schema::required_keys;
use beamstay_numerics::random::Random;

/// The shipped scenarios.
pub const SHIPPED: &[&str] = &[
    include_str!("../../../scenarios/beam-hover.json"),
    include_str!("../../../scenarios/bench-hover.json"),
    include_str!("../../../scenarios/breakwater-lookout.json"),
    include_str!("../../../scenarios/free-beam-loiter.json"),
    include_str!("../../../scenarios/harvest-market.json"),
    include_str!("../../../scenarios/reservoir-inspector.json"),
    include_str!("../../../scenarios/ridge-relay.json"),
    include_str!("../../../scenarios/switchyard-sensor.json"),
];

/// Numbers at the edge of what a double can be.
const EXTREMES: &[f64] = &[
    0.0,
    -0.0,
    5e-324,
    2.225_073_858_507_201e-308,
    1e-300,
    1e-30,
    1e30,
    1e300,
    f64::MAX,
    -1e-300,
    -1e300,
    f64::MIN,
    f64::EPSILON,
    9_007_199_254_740_993.0,
];

/// Text that a page or a terminal might act on.
const TEXTS: &[&str] = &[
    "",
    "plan",
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "]]><svg onload=alert(1)>",
    "\u{1b}[31mred",
    "\u{202e}reversed",
    "\u{0}",
    "a\nb\rc",
    "../../../etc/passwd",
    "\u{1F4A5}\u{0301}",
];

/// Numbers that nearly every scenario has.
const POINTERS: &[&str] = &["/payload/mass_kg", "/payload/power_w", "/site/elevation_m", "/station/height_m"];

/// Parts that most scenarios do without.
const SELDOM: &[&str] = &["$schema", "uncertainty", "endurance", "hazard"];

/// Parts that light or a tether need.
const OFTEN: &[&str] = &["laser", "drum", "winch", "aperture"];

/// How much is wrong with a generated scenario.
#[derive(Debug, Clone, Copy)]
pub struct Spice {
    /// Share of numbers just outside their range.
    outside_ratio: f64,
    /// Share of numbers at the edge of what a double can be.
    extreme_ratio: f64,
    /// Share of keys left out, values of the wrong type and unknown keys.
    broken_ratio: f64,
}

impl Spice {
    /// Nothing is wrong.
    pub const VALID: Self = Self { outside_ratio: 0.0, extreme_ratio: 0.0, broken_ratio: 0.0 };
    /// A slip or two.
    pub const NEARLY: Self = Self { outside_ratio: 0.01, extreme_ratio: 0.003, broken_ratio: 0.003 };
    /// Much is wrong.
    pub const ABSURD: Self = Self { outside_ratio: 0.1, extreme_ratio: 0.2, broken_ratio: 0.05 };
}

/// A shipped scenario some of whose numbers are others of their range, at its ends, or a factor away.
pub fn renumbered(random: &mut Random) -> String {
    let mut value: Value = serde_json::from_str(pick(random, SHIPPED)).unwrap_or_default();
    let share = pick(random, &[&0.03, &0.1, &0.4]);
    renumber(&mut value, scenario_schema(), *share, random);
    value.to_string()
}

fn renumber(value: &mut Value, schema: &Value, share: f64, random: &mut Random) {
    match value {
        Value::Object(object) => {
            let resolved = resolve(schema);
            for (key, inner) in object.iter_mut() {
                let field = resolved.pointer(&format!("/properties/{key}")).or_else(|| {
                    variants(resolved).into_iter().find(|(name, _)| name == key).and_then(|(_, s)| s)
                });
                if let Some(field) = field {
                    renumber(inner, field, share, random);
                }
            }
        }
        Value::Array(list) => {
            if let Some(items) = resolve(schema).get("items") {
                list.iter_mut().for_each(|item| renumber(item, items, share, random));
            }
        }
        Value::Number(number) if random.chance(share) => {
            let near = number.as_f64().unwrap_or(1.0) * between(random, 0.05, 20.0);
            let field = resolve(schema);
            let new = if random.chance(0.6) {
                clamped(near, field)
            } else {
                number_of(field, Spice::VALID, random)
            };
            if let Some(new) = as_number(new, field) {
                *value = new;
            }
        }
        _ => {}
    }
}

/// A whole scenario from the schema.
pub fn generated(spice: Spice, random: &mut Random) -> String {
    let mut value = generate(scenario_schema(), spice, 0, random);
    // Parts drawn independently seldom go together: most cases are a shipped scenario with a few parts from the schema.
    if random.chance(0.7)
        && let Value::Object(parts) = &mut value
    {
        let mut base: Value = serde_json::from_str(pick(random, SHIPPED)).unwrap_or_default();
        for (key, part) in parts.iter_mut().filter(|_| random.chance(0.2)) {
            base[key.as_str()] = part.take();
        }
        value = base;
    }
    // What surely does not go together would only ever be refused in the same place.
    let swims = value.pointer("/vehicle/underwater").is_some();
    if random.chance(0.8)
        && !swims
        && let Some(site) = value.pointer_mut("/site").and_then(Value::as_object_mut)
    {
        site.remove("water");
    }
    let hangs = value.pointer("/delivery/fiber").is_some();
    if random.chance(0.8)
        && hangs
        && let Some(station) = value.pointer_mut("/station").and_then(Value::as_object_mut)
    {
        station.insert(
            "winch".into(),
            json!({ "drum_tension": { "drum_tension_n": between(random, 0.1, 300.0) } }),
        );
        station.insert("height_m".into(), json!(between(random, 1.0, 400.0)));
    }
    value.to_string()
}

fn generate(field: &Value, spice: Spice, depth: u32, random: &mut Random) -> Value {
    if depth > 12 || random.chance(spice.broken_ratio) {
        return wrong(random);
    }
    let schema = resolve(field);
    let choices = variants(schema);
    if !choices.is_empty() {
        let (name, inner) = &choices[random.below(choices.len())];
        return match inner {
            Some(inner) => json!({ name.as_str(): generate(inner, spice, depth + 1, random) }),
            None => json!(name),
        };
    }
    match kind_of(schema) {
        "object" => object(schema, spice, depth, random),
        "array" => {
            let bound = |key: &str, or: u64| schema.get(key).and_then(Value::as_u64).unwrap_or(or) as usize;
            let (least, most) = (bound("minItems", 0), bound("maxItems", 6).min(12));
            let count = least + random.below(most.saturating_sub(least) + 1);
            let items = schema.get("items").unwrap_or(&Value::Null);
            (0..count).map(|_| generate(items, spice, depth + 1, random)).collect()
        }
        "number" | "integer" => {
            let merged = if field.get("minimum").is_some() { field } else { schema };
            as_number(number_of(merged, spice, random), schema).unwrap_or(Value::Null)
        }
        "boolean" => json!(random.chance(0.5)),
        _ => json!(pick(random, TEXTS)),
    }
}

fn object(schema: &Value, spice: Spice, depth: u32, random: &mut Random) -> Value {
    let required = required_keys(schema);
    let mut object = Map::new();
    for (key, field) in schema.get("properties").and_then(Value::as_object).into_iter().flatten() {
        let often = OFTEN.contains(&key.as_str());
        let needed =
            often || required.contains(&key.as_str()) || (depth == 0 && !SELDOM.contains(&key.as_str()));
        if !random.chance(if needed { 1.0 - spice.broken_ratio } else { 0.3 }) {
            continue;
        }
        let value = match key.as_str() {
            "pointer" if !random.chance(spice.broken_ratio) => json!(pick(random, POINTERS)),
            _ => generate(field, spice, depth + 1, random),
        };
        object.insert(key.clone(), value);
    }
    if random.chance(spice.broken_ratio) {
        object.insert(pick(random, TEXTS).to_owned(), wrong(random));
    }
    Value::Object(object)
}

/// Something that fits nowhere.
fn wrong(random: &mut Random) -> Value {
    match random.below(6) {
        0 => Value::Null,
        1 => json!(pick(random, TEXTS)),
        2 => json!([]),
        3 => json!({}),
        4 => json!(random.chance(0.5)),
        _ => json!(EXTREMES[random.below(EXTREMES.len())]),
    }
}

fn number_of(field: &Value, spice: Spice, random: &mut Random) -> f64 {
    let bound = |key: &str| field.get(key).and_then(Value::as_f64);
    let (lo, hi) = (bound("minimum").unwrap_or(-1e6), bound("maximum").unwrap_or(1e6));
    if random.chance(spice.extreme_ratio) {
        return EXTREMES[random.below(EXTREMES.len())];
    }
    if random.chance(spice.outside_ratio) {
        return if random.chance(0.5) { lo.next_down() } else { hi.next_up() };
    }
    match random.below(10) {
        0 => lo,
        1 => hi,
        2 if lo <= 0.0 && hi >= 0.0 => -0.0,
        // Ranges are wide; what people build lies at their lower end.
        3..=6 if lo >= 0.0 => between(random, lo.max(1e-3 * hi), lo.max(0.1 * hi)),
        _ => between(random, lo, hi),
    }
}

fn clamped(value: f64, field: &Value) -> f64 {
    let bound = |key: &str, or: f64| field.get(key).and_then(Value::as_f64).unwrap_or(or);
    value.max(bound("minimum", f64::MIN)).min(bound("maximum", f64::MAX))
}

fn as_number(value: f64, schema: &Value) -> Option<Value> {
    let whole = kind_of(schema) == "integer" && value.abs() < 1e15;
    Some(if whole {
        json!(value.round() as i64)
    } else {
        Value::Number(serde_json::Number::from_f64(value)?)
    })
}

fn kind_of(schema: &Value) -> &str {
    match schema.get("type") {
        Some(Value::String(kind)) => kind,
        Some(Value::Array(kinds)) => {
            kinds.iter().filter_map(Value::as_str).find(|k| *k != "null").unwrap_or("")
        }
        _ => "",
    }
}

/// Follows references and the wrapper of optional fields.
fn resolve(schema: &Value) -> &Value {
    let mut schema = schema;
    for _ in 0..8 {
        let target = schema.get("$ref").and_then(Value::as_str);
        let wrapped = schema.get("anyOf").and_then(Value::as_array);
        let found = match (target, wrapped) {
            (Some(target), _) => scenario_schema().pointer(target.trim_start_matches('#')),
            (None, Some(options)) => {
                options.iter().find(|o| o.get("type").and_then(Value::as_str) != Some("null"))
            }
            (None, None) => None,
        };
        match found {
            Some(found) => schema = found,
            None => break,
        }
    }
    schema
}

/// The choices of an enum tagged outside: name, and schema of its parts if it has any.
fn variants(schema: &Value) -> Vec<(String, Option<&Value>)> {
    let mut list = Vec::new();
    for choice in schema.get("oneOf").and_then(Value::as_array).into_iter().flatten() {
        if let Some(name) = choice.get("const").and_then(Value::as_str) {
            list.push((name.to_owned(), None));
        }
        for name in
            choice.get("enum").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str)
        {
            list.push((name.to_owned(), None));
        }
        for (name, inner) in choice.get("properties").and_then(Value::as_object).into_iter().flatten() {
            list.push((name.clone(), Some(inner)));
        }
    }
    for name in schema.get("enum").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str) {
        list.push((name.to_owned(), None));
    }
    list
}

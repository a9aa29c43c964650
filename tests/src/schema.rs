//! The schema of scenarios, read.

use serde_json::Value;

/// Keys that a part of the schema asks for.
pub fn required_keys(part: &Value) -> Vec<&str> {
    part.get("required").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str).collect()
}

//! A short name for the exact input of a result, so that a figure can be traced to its scenario.

use serde_json::Value;

/// FNV-1a over the canonical text of the document (keys sorted, no spaces), 64 bits as 16 hexadecimal digits. It tells
/// two scenarios apart; it is no protection against forgery. (G. Fowler, L. C. Noll, K.-P. Vo; RFC 9923.)
///
/// # Examples
/// ```
/// use beamstay_planner::digest::digest;
/// use serde_json::json;
/// assert_eq!(digest(&json!({"a": 1, "b": 2})), digest(&json!({"b": 2, "a": 1})));
/// assert_ne!(digest(&json!({"a": 1})), digest(&json!({"a": 2})));
/// ```
pub fn digest(document: &Value) -> String {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    feed(document, &mut |byte| hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3));
    format!("{hash:016x}")
}

fn feed(value: &Value, eat: &mut impl FnMut(u8)) {
    match value {
        Value::Object(object) => {
            let mut keys: Vec<&String> = object.keys().collect();
            keys.sort();
            eat(b'{');
            for key in keys {
                feed(&Value::String(key.clone()), eat);
                eat(b':');
                feed(&object[key], eat);
                eat(b',');
            }
            eat(b'}');
        }
        Value::Array(array) => {
            eat(b'[');
            for element in array {
                feed(element, eat);
                eat(b',');
            }
            eat(b']');
        }
        other => other.to_string().bytes().for_each(eat),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn known_value_of_the_hash() {
        // FNV-1a of the empty string is the offset basis; of "0" (the text of the number 0) 0xaf63ad4c86019caf.
        assert_eq!(digest(&json!(0)), "af63ad4c86019caf");
    }

    #[test]
    fn nesting_is_told_apart() {
        assert_ne!(digest(&json!([[1], 2])), digest(&json!([1, [2]])));
    }
}

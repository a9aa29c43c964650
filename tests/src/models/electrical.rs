//! Models of the area `electrical`.

use serde_json::Value;

/// See [`super::compute`].
pub(super) fn compute(_model: &str, _inputs: &Value) -> Option<f64> {
    None
}

//! Places in a tree of values, found once and gone to often: keys are not looked up again.

use serde_json::Value;

use crate::document::unescape;

/// Which member of its object, or element of its array, each step of a pointer is. Members that are added later come behind those
/// that were there, so that it stays good while numbers change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Route(Vec<usize>);

impl Route {
    /// To what stands at a pointer (RFC 6901); none if that is nothing.
    pub fn find(tree: &Value, pointer: &str) -> Option<Self> {
        let (mut value, mut steps) = (tree, Vec::new());
        for step in pointer.split('/').skip(1) {
            let step = unescape(step);
            let (at, next) = match value {
                Value::Object(members) => members
                    .iter()
                    .enumerate()
                    .find(|(_, (key, _))| **key == step)
                    .map(|(at, (_, v))| (at, v))?,
                Value::Array(elements) => {
                    let at = step.parse().ok()?;
                    (at, elements.get(at)?)
                }
                _ => return None,
            };
            steps.push(at);
            value = next;
        }
        Some(Self(steps))
    }

    /// What stands there.
    pub fn at<'a>(&self, tree: &'a Value) -> Option<&'a Value> {
        self.0.iter().try_fold(tree, |value, at| match value {
            Value::Object(members) => members.values().nth(*at),
            Value::Array(elements) => elements.get(*at),
            _ => None,
        })
    }

    /// The same to change it.
    pub fn at_mut<'a>(&self, tree: &'a mut Value) -> Option<&'a mut Value> {
        self.0.iter().try_fold(tree, |value, at| match value {
            Value::Object(members) => members.values_mut().nth(*at),
            Value::Array(elements) => elements.get_mut(*at),
            _ => None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_route_leads_where_its_pointer_does() {
        let mut tree = json!({"a": {"b/c": [1, {"d": 2}], "e": 3}, "f": 4});
        for pointer in ["/a", "/a/b~1c", "/a/b~1c/0", "/a/b~1c/1/d", "/a/e", "/f"] {
            let route = Route::find(&tree, pointer).unwrap();
            assert_eq!(route.at(&tree), tree.pointer(pointer), "{pointer}");
            *route.at_mut(&mut tree).unwrap() = json!({"of": pointer});
            assert_eq!(tree.pointer(pointer), Some(&json!({"of": pointer})));
            tree = json!({"a": {"b/c": [1, {"d": 2}], "e": 3}, "f": 4});
        }
        for pointer in ["/b", "/a/b~1c/2", "/a/b~1c/x", "/f/g"] {
            assert_eq!(Route::find(&tree, pointer), None, "{pointer}");
        }
    }

    #[test]
    fn a_route_stays_good_when_a_member_is_added() {
        let mut tree = json!({"a": {"b": 1, "c": 2}});
        let route = Route::find(&tree, "/a/c").unwrap();
        tree["a"]["d"] = json!(3);
        assert_eq!(route.at(&tree), Some(&json!(2)));
    }
}

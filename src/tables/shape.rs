//! What a schema allows at one place of a document: kinds of values, fields, elements.

use std::collections::BTreeSet;

use serde_json::Value;

/// Most references that are followed for one place; ours are a handful deep.
const DEEPEST: usize = 32;

static ANY: Value = Value::Bool(true);

/// A kind of JSON value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    /// A text.
    Text,
    /// A whole number.
    Whole,
    /// Any number.
    Number,
    /// True or false.
    Truth,
    /// A list.
    List,
    /// An object.
    Object,
    /// Null.
    Null,
    /// Whatever JSON can say.
    Any,
}

/// One place of a document, as the alternatives that its schema names for it.
#[derive(Clone, Debug)]
pub(super) struct Shape<'s> {
    root: &'s Value,
    /// The alternatives, references followed and unions opened.
    nodes: Vec<&'s Value>,
    kinds: BTreeSet<Kind>,
}

impl<'s> Shape<'s> {
    /// The whole document that `root` is the schema of.
    pub(super) fn of(root: &'s Value) -> Self {
        Self::from(root, [root].into_iter())
    }

    /// A place where a text stands.
    pub(super) fn text() -> Self {
        Self { root: &ANY, nodes: Vec::new(), kinds: [Kind::Text].into() }
    }

    /// A place where anything may stand.
    pub(super) fn any() -> Self {
        Self { root: &ANY, nodes: Vec::new(), kinds: [Kind::Any].into() }
    }

    fn from(root: &'s Value, nodes: impl Iterator<Item = &'s Value>) -> Self {
        let mut open = Vec::new();
        nodes.for_each(|node| expand(root, node, DEEPEST, &mut open));
        let kinds = open.iter().flat_map(|node| kinds_of(node)).collect();
        Self { root, nodes: open, kinds }
    }

    /// Whether a value of this kind may stand here.
    pub(super) fn holds(&self, kind: Kind) -> bool {
        self.kinds.contains(&kind)
    }

    /// The kinds of values that may stand here, null left out.
    pub(super) fn kinds(&self) -> impl Iterator<Item = Kind> {
        self.kinds.iter().copied().filter(|kind| *kind != Kind::Null)
    }

    /// Whether an object may stand here whose fields the schema describes.
    pub(super) fn has_fields(&self) -> bool {
        let described = |node: &&Value| {
            node["properties"].is_object() || node["additionalProperties"].is_object()
        };
        self.holds(Kind::Object) && self.nodes.iter().any(described)
    }

    /// Whether a list may stand here whose elements are all plain texts.
    pub(super) fn lists_words(&self) -> bool {
        let elements = self.nodes.iter().filter_map(|node| node.get("items"));
        self.holds(Kind::List)
            && Self::from(self.root, elements).kinds == BTreeSet::from([Kind::Text])
    }

    /// The fields that the schema names, in its order; those of a map are not among them.
    pub(super) fn fields(&self) -> Vec<&'s str> {
        let mut names: Vec<&str> = Vec::new();
        for members in self.nodes.iter().filter_map(|node| node["properties"].as_object()) {
            for name in members.keys() {
                if !names.contains(&name.as_str()) {
                    names.push(name);
                }
            }
        }
        names
    }

    /// The only keys that objects here may have, where the schema lists them.
    pub(super) fn keys(&self) -> Vec<&'s str> {
        let listed = self.nodes.iter().filter_map(|node| node["propertyNames"]["enum"].as_array());
        listed.flatten().filter_map(Value::as_str).collect()
    }

    /// What may stand in the field `name`; `None` if the schema allows no such field.
    pub(super) fn field(&self, name: &str) -> Option<Self> {
        let nodes: Vec<&Value> =
            self.nodes.iter().filter_map(|node| field_of(node, name)).collect();
        let shape = Self::from(self.root, nodes.into_iter());
        (!shape.kinds.is_empty()).then_some(shape)
    }

    /// What may stand in each element of a list.
    pub(super) fn elements(&self) -> Self {
        Self::from(self.root, self.nodes.iter().filter_map(|node| node.get("items")))
    }

    /// What may stand under any key of a map.
    pub(super) fn values(&self) -> Self {
        let all = self.nodes.iter().filter_map(|node| node.get("additionalProperties"));
        Self::from(self.root, all)
    }
}

/// Collects what `node` stands for: the target of a reference, each branch of a union, each
/// consequence of a condition, and the node itself where it says anything of its own.
fn expand<'s>(root: &'s Value, node: &'s Value, left: usize, into: &mut Vec<&'s Value>) {
    let Some(members) = node.as_object() else {
        if *node == Value::Bool(true) {
            into.push(node);
        }
        return;
    };
    if left == 0 {
        return;
    }
    if let Some(reference) = members.get("$ref").and_then(Value::as_str) {
        let target = reference.strip_prefix('#').and_then(|pointer| root.pointer(pointer));
        expand(root, target.unwrap_or(&ANY), left - 1, into);
        return;
    }
    let mut opened = false;
    for union in ["oneOf", "anyOf", "allOf"] {
        for branch in members.get(union).and_then(Value::as_array).into_iter().flatten() {
            expand(root, branch, left - 1, into);
            opened = true;
        }
    }
    for consequence in ["then", "else"] {
        if let Some(branch) = members.get(consequence) {
            expand(root, branch, left - 1, into);
            opened = true;
        }
    }
    if members.contains_key("then") && !members.contains_key("else") {
        // Where the condition does not hold, what it excludes may stand: null, with ours.
        if let Some(excluded) = node["if"].get("not") {
            expand(root, excluded, left - 1, into);
        }
    }
    if !opened || ["type", "enum", "const"].iter().any(|word| members.contains_key(*word)) {
        into.push(node);
    }
}

/// The kinds that an opened node allows.
fn kinds_of(node: &Value) -> Vec<Kind> {
    match &node["type"] {
        Value::String(one) => kind_named(one).into_iter().collect(),
        Value::Array(several) => {
            several.iter().filter_map(Value::as_str).filter_map(kind_named).collect()
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::Object(_) => untyped(node),
    }
}

fn kind_named(name: &str) -> Option<Kind> {
    let kind = match name {
        "string" => Kind::Text,
        "integer" => Kind::Whole,
        "number" => Kind::Number,
        "boolean" => Kind::Truth,
        "array" => Kind::List,
        "object" => Kind::Object,
        "null" => Kind::Null,
        _ => return None,
    };
    Some(kind)
}

/// The kinds of a node without a type: those of the values that it lists, else any.
fn untyped(node: &Value) -> Vec<Kind> {
    let listed = node["enum"].as_array().into_iter().flatten().chain(node.get("const"));
    let kinds: Vec<Kind> = listed
        .map(|value| match value {
            Value::Null => Kind::Null,
            Value::Bool(_) => Kind::Truth,
            Value::Number(_) => Kind::Number,
            Value::String(_) => Kind::Text,
            Value::Array(_) => Kind::List,
            Value::Object(_) => Kind::Object,
        })
        .collect();
    match (kinds.is_empty(), node["properties"].is_object()) {
        (false, _) => kinds,
        (true, true) => vec![Kind::Object],
        (true, false) => vec![Kind::Any],
    }
}

/// What an object described by `node` may hold in the field `name`.
fn field_of<'s>(node: &'s Value, name: &str) -> Option<&'s Value> {
    if let Some(named) = node["properties"].get(name) {
        return Some(named);
    }
    // Patterns of ours are plain beginnings, as in `^x-`.
    let patterns = node["patternProperties"].as_object();
    let begins =
        |pattern: &str| pattern.strip_prefix('^').is_some_and(|head| name.starts_with(head));
    let matching = patterns.into_iter().flatten().find(|(pattern, _)| begins(pattern));
    if let Some((_, by_pattern)) = matching {
        return Some(by_pattern);
    }
    node.get("additionalProperties").filter(|rest| **rest != Value::Bool(false))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::{Kind, Shape};

    #[test]
    fn references_unions_and_null_are_opened() {
        let schema = json!({
            "type": "object",
            "properties": {
                "word": {"$ref": "#/$defs/Word"},
                "either": {"oneOf": [{"type": "number"}, {"$ref": "#/$defs/Word"}]},
                "maybe": {"if": {"not": {"type": "null"}}, "then": {"type": "integer"}},
                "listed": {"anyOf": [{"enum": ["a"]}, {"type": "null"}]},
                "words": {"type": "array", "items": {"$ref": "#/$defs/Word"}},
                "rows": {"type": "array", "items": {"type": "object"}},
                "told-apart": {
                    "type": "object", "required": ["kind"],
                    "properties": {"kind": {"enum": ["a", "b"]}},
                    "allOf": [
                        {"if": {"properties": {"kind": {"const": "a"}}},
                         "then": {"properties": {"x": {"type": "boolean"}},
                                  "additionalProperties": false}},
                        {"if": {"properties": {"kind": {"const": "b"}}},
                         "then": {"properties": {"y": {"type": "string"}},
                                  "additionalProperties": false}},
                    ],
                },
            },
            "additionalProperties": false,
            "patternProperties": {"^x-": true},
            "$defs": {"Word": {"type": "string"}},
        });
        let shape = Shape::of(&schema);
        let kinds = |name: &str| {
            let field = shape.field(name).expect("a field of the schema");
            (field.kinds().collect::<Vec<_>>(), field.holds(Kind::Null))
        };
        assert_eq!(kinds("word"), (vec![Kind::Text], false));
        assert_eq!(kinds("either"), (vec![Kind::Text, Kind::Number], false));
        assert_eq!(kinds("maybe"), (vec![Kind::Whole], true));
        assert_eq!(kinds("listed"), (vec![Kind::Text], true));
        assert_eq!(kinds("x-own"), (vec![Kind::Any], false));
        assert!(shape.field("other").is_none());
        assert!(shape.field("words").is_some_and(|one| one.lists_words()));
        assert!(shape.field("rows").is_some_and(|one| !one.lists_words()));
        let apart = shape.field("told-apart").expect("a field");
        assert_eq!(apart.fields(), ["x", "y", "kind"]);
        assert!(apart.has_fields() && apart.field("z").is_none());
    }
}

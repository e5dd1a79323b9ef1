//! A small validator of JSON Schema, draft 2020-12, for the keywords that our schema uses; any other is a fault.
//! What each keyword means: "JSON Schema Validation", sections 6.1 to 6.5, and "JSON Schema Core", sections 8 and 10.

use serde_json::Value;

/// A schema with its definitions.
pub struct Schema(Value);

impl Schema {
    pub fn new(text: &str) -> Self {
        Self(serde_json::from_str(text).expect("the schema is JSON"))
    }

    /// What is wrong with `value` by the definition `name`; `None` when nothing is.
    pub fn fault(&self, name: &str, value: &Value) -> Option<String> {
        let definition = &self.0["$defs"][name];
        assert!(definition.is_object(), "no definition `{name}`");
        self.check(definition, value, "$").err()
    }

    /// Every keyword in the schema is one that is checked here.
    pub fn unknown_keywords(&self) -> Vec<String> {
        let mut unknown = Vec::new();
        for (name, definition) in self.0["$defs"].as_object().expect("definitions") {
            keywords(definition, name, &mut unknown);
        }
        unknown
    }

    fn check(&self, schema: &Value, value: &Value, at: &str) -> Result<(), String> {
        if let Some(reference) = schema["$ref"].as_str() {
            let name = reference.strip_prefix("#/$defs/").ok_or("a reference to elsewhere")?;
            self.check(&self.0["$defs"][name], value, at)?;
        }
        self.choices(schema, value, at)?;
        kinds(schema, value, at)?;
        self.members(schema, value, at)?;
        self.items(schema, value, at)
    }

    fn choices(&self, schema: &Value, value: &Value, at: &str) -> Result<(), String> {
        let wrong = |what: &str| Err(format!("{at}: {value} {what}"));
        if schema.get("const").is_some_and(|only| only != value) {
            return wrong(&format!("is not {}", schema["const"]));
        }
        if schema["enum"].as_array().is_some_and(|list| !list.contains(value)) {
            return wrong("is not in the list");
        }
        let Some(list) = schema["oneOf"].as_array() else { return Ok(()) };
        let faults: Vec<String> = list.iter().filter_map(|one| self.check(one, value, at).err()).collect();
        if faults.len() + 1 == list.len() { Ok(()) } else { wrong(&format!("fits not just one: {faults:?}")) }
    }

    fn members(&self, schema: &Value, value: &Value, at: &str) -> Result<(), String> {
        let Some(members) = value.as_object() else { return Ok(()) };
        for required in schema["required"].as_array().into_iter().flatten() {
            let name = required.as_str().unwrap_or_default();
            members.get(name).ok_or(format!("{at}: `{name}` is missing"))?;
        }
        if schema["minProperties"].as_u64().is_some_and(|least| (members.len() as u64) < least) {
            return Err(format!("{at}: too few members"));
        }
        for (name, member) in members {
            let at = format!("{at}.{name}");
            match (schema["properties"].get(name), schema.get("additionalProperties")) {
                (Some(own), _) | (None, Some(own @ Value::Object(_))) => self.check(own, member, &at)?,
                (None, Some(Value::Bool(false))) => return Err(format!("{at} is not known")),
                (None, _) => {}
            }
        }
        Ok(())
    }

    fn items(&self, schema: &Value, value: &Value, at: &str) -> Result<(), String> {
        let Some(list) = value.as_array() else { return Ok(()) };
        if schema["minItems"].as_u64().is_some_and(|least| (list.len() as u64) < least) {
            return Err(format!("{at}: too few items"));
        }
        let Some(each) = schema.get("items") else { return Ok(()) };
        list.iter().enumerate().try_for_each(|(place, item)| self.check(each, item, &format!("{at}[{place}]")))
    }
}

/// Type, bounds, pattern.
fn kinds(schema: &Value, value: &Value, at: &str) -> Result<(), String> {
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one],
        Value::Array(many) => many.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    if !types.is_empty() && !types.iter().any(|name| is(name, value)) {
        return Err(format!("{at}: {value} is no {}", types.join(" or ")));
    }
    let number = value.as_f64();
    let low = schema["minimum"].as_f64().zip(number).is_some_and(|(least, number)| number < least);
    let high = schema["maximum"].as_f64().zip(number).is_some_and(|(most, number)| number > most);
    if low || high {
        return Err(format!("{at}: {value} is out of range"));
    }
    match (schema["pattern"].as_str(), value.as_str()) {
        (Some(pattern), Some(text)) if !fits(pattern, text) => Err(format!("{at}: {value} does not fit {pattern}")),
        _ => Ok(()),
    }
}

fn is(name: &str, value: &Value) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "number" => value.is_number(),
        "integer" => value.as_f64().is_some_and(|number| number.fract() == 0.0),
        _ => false,
    }
}

/// The three patterns of our schema, by hand.
fn fits(pattern: &str, text: &str) -> bool {
    let even = text.len().is_multiple_of(2);
    match pattern {
        "^([0-9a-f][0-9a-f])*$" => even && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f')),
        "^([0-9a-fA-F][0-9a-fA-F])*$" => even && text.bytes().all(|byte| byte.is_ascii_hexdigit()),
        "^[a-z][a-z-]*$" => {
            text.starts_with(|letter: char| letter.is_ascii_lowercase())
                && text.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'-')
        }
        _ => false,
    }
}

const KNOWN: [&str; 15] = [
    "$ref",
    "const",
    "enum",
    "oneOf",
    "type",
    "minimum",
    "maximum",
    "pattern",
    "properties",
    "required",
    "additionalProperties",
    "minProperties",
    "items",
    "minItems",
    "description",
];

fn keywords(schema: &Value, at: &str, unknown: &mut Vec<String>) {
    let Some(members) = schema.as_object() else { return };
    for (name, member) in members {
        let at = format!("{at}/{name}");
        match name.as_str() {
            "properties" => member
                .as_object()
                .into_iter()
                .flatten()
                .for_each(|(name, own)| keywords(own, &format!("{at}/{name}"), unknown)),
            "oneOf" => member.as_array().into_iter().flatten().for_each(|one| keywords(one, &at, unknown)),
            "items" | "additionalProperties" => keywords(member, &at, unknown),
            _ if !KNOWN.contains(&name.as_str()) => unknown.push(at),
            _ => {}
        }
    }
}

//! JSON in which no key stands twice: of two values one would be lost without a word.

use std::fmt;

use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value as Json};

/// A value; reading it fails where an object has a key twice.
pub struct Strict(pub Json);

impl<'de> Deserialize<'de> for Strict {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Reader).map(Self)
    }
}

struct Reader;

impl<'de> Visitor<'de> for Reader {
    type Value = Json;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Json, E> {
        Ok(Json::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Json, E> {
        Ok(value.into())
    }

    fn visit_i64<E>(self, value: i64) -> Result<Json, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Json, E> {
        Ok(value.into())
    }

    fn visit_f64<E>(self, value: f64) -> Result<Json, E> {
        Ok(value.into())
    }

    fn visit_str<E>(self, value: &str) -> Result<Json, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Json, A::Error> {
        let mut all = Vec::new();
        while let Some(Strict(item)) = items.next_element()? {
            all.push(item);
        }
        Ok(all.into())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Json, A::Error> {
        let mut all = Map::new();
        while let Some((key, Strict(value))) = entries.next_entry::<String, Strict>()? {
            if all.contains_key(&key) {
                return Err(A::Error::custom(format!("`{key}` stands twice in one object")));
            }
            all.insert(key, value);
        }
        Ok(all.into())
    }
}

//! A value as written: a number, a text, or something that is neither.

use std::fmt;

use serde::de::{Deserialize, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};

/// What stood behind a key. Reading never fails; the check says what is wrong with it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Quantity {
    /// A bare number.
    Number(f64),
    /// A text, perhaps a number with its unit.
    Text(String),
    /// `true` or `false`.
    Bool(bool),
    /// A list, table or date, by what it is called.
    Other(&'static str),
}

impl<'de> Deserialize<'de> for Quantity {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(AnyValue)
    }
}

struct AnyValue;

impl<'de> Visitor<'de> for AnyValue {
    type Value = Quantity;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number or a text")
    }

    fn visit_f64<E>(self, v: f64) -> Result<Quantity, E> {
        Ok(Quantity::Number(v))
    }

    fn visit_i64<E>(self, v: i64) -> Result<Quantity, E> {
        // Exact up to 2^53; beyond it every range check refuses the value anyway.
        Ok(Quantity::Number(v as f64))
    }

    fn visit_u64<E>(self, v: u64) -> Result<Quantity, E> {
        Ok(Quantity::Number(v as f64))
    }

    fn visit_str<E>(self, v: &str) -> Result<Quantity, E> {
        Ok(Quantity::Text(v.to_owned()))
    }

    fn visit_bool<E>(self, v: bool) -> Result<Quantity, E> {
        Ok(Quantity::Bool(v))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Quantity, A::Error> {
        while seq.next_element::<IgnoredAny>()?.is_some() {}
        Ok(Quantity::Other("a list"))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Quantity, A::Error> {
        while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(Quantity::Other("a table or a date"))
    }
}

//! Objects that are read as objects alone: a derived reader would take a list of the fields' values
//! for one too, which no schema of ours allows.

use std::{fmt, marker::PhantomData};

use serde::{
    Deserialize, Deserializer,
    de::{MapAccess, Visitor, value::MapAccessDeserializer},
};

/// A `T` that was written as an object.
pub(crate) struct Object<T>(pub(crate) T);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Object<T> {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        struct Members<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for Members<T> {
            type Value = T;

            fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
                out.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, members: A) -> Result<T, A::Error> {
                T::deserialize(MapAccessDeserializer::new(members))
            }
        }
        input.deserialize_map(Members(PhantomData)).map(Self)
    }
}

/// For a field that may be left out.
pub(crate) fn maybe_object<'de, D, T>(input: D) -> Result<Option<T>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    let object = Option::<Object<T>>::deserialize(input)?;
    Ok(object.map(|Object(value)| value))
}

/// For a list.
pub(crate) fn objects<'de, D, T>(input: D) -> Result<Vec<T>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    let all = Vec::<Object<T>>::deserialize(input)?;
    Ok(all.into_iter().map(|Object(value)| value).collect())
}

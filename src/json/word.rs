//! Words: types with one value, which tell the variants of a union apart.

/// Makes a word: a type that is written as one fixed text.
macro_rules! word {
    ($(#[$doc:meta])* $name:ident = $word:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            #[doc = concat!("Always `", $word, "`.")]
            #[serde(rename = $word)]
            Word,
        }

        impl utoipa::ToSchema for $name {}

        impl utoipa::PartialSchema for $name {
            fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::Schema> {
                use utoipa::openapi::schema::{ObjectBuilder, SchemaType, Type};

                ObjectBuilder::new()
                    .schema_type(SchemaType::new(Type::String))
                    .enum_values(Some([$word]))
                    .description(Some(concat!("Always `", $word, "`.")))
                    .into()
            }
        }
    };
}
pub(crate) use word;

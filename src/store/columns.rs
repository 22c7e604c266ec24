//! How our types stand in columns, the same in both databases: text, BIGINT, BOOLEAN, nothing else.
use jiff::{Timestamp, civil};

use crate::planning::WovenFrom;
use crate::planning::chart::Chart;
use crate::planning::cloth::Kind;
use crate::planning::cost::Prices;
use crate::planning::warp::nail_rows::NailRows;
use crate::planning::warp::winding::Winding;
use crate::planning::warp::yarn::Yarn;
use crate::units::Units;

/// Stores a type as TEXT by its `Display` and reads it by its `FromStr`, on both databases.
macro_rules! text_column {
    ($name:ty) => {
        $crate::store::columns::column!($name, String, |value| value.to_string(), |text| {
            text.parse::<$name>()
                .map_err(|e| format!("column holds {text:?}, not a {}: {e}", stringify!($name)).into())
        });
    };
}

/// Stores a type as `$raw` (String or i64) through the two given functions, on both databases.
macro_rules! column {
    ($name:ty, $raw:ty, $to:expr, $from:expr) => {
        $crate::store::columns::column!(@ sqlx::Sqlite, $name, $raw, $to, $from);
        $crate::store::columns::column!(@ sqlx::Postgres, $name, $raw, $to, $from);
    };
    (@ $db:ty, $name:ty, $raw:ty, $to:expr, $from:expr) => {
        impl sqlx::Type<$db> for $name {
            fn type_info() -> <$db as sqlx::Database>::TypeInfo {
                <$raw as sqlx::Type<$db>>::type_info()
            }
            fn compatible(ty: &<$db as sqlx::Database>::TypeInfo) -> bool {
                <$raw as sqlx::Type<$db>>::compatible(ty)
            }
        }
        impl sqlx::Encode<'_, $db> for $name {
            fn encode_by_ref(
                &self,
                buf: &mut <$db as sqlx::Database>::ArgumentBuffer,
            ) -> Result<sqlx::encode::IsNull, sqlx::error::BoxDynError> {
                let to: fn(&$name) -> $raw = $to;
                <$raw as sqlx::Encode<'_, $db>>::encode(to(self), buf)
            }
        }
        impl<'r> sqlx::Decode<'r, $db> for $name {
            fn decode(value: <$db as sqlx::Database>::ValueRef<'r>) -> Result<Self, sqlx::error::BoxDynError> {
                let raw = <$raw as sqlx::Decode<'r, $db>>::decode(value)?;
                let from: fn($raw) -> Result<$name, sqlx::error::BoxDynError> = $from;
                from(raw)
            }
        }
    };
}
pub(crate) use {column, text_column};

column!(Instant, i64, |value| value.0.as_microsecond(), |raw| Timestamp::from_microsecond(raw)
    .map(Instant)
    .map_err(Into::into));

/// An instant, to whole microseconds UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Instant(pub Timestamp);

impl From<Timestamp> for Instant {
    fn from(at: Timestamp) -> Self {
        Self(at)
    }
}

impl From<Instant> for Timestamp {
    fn from(at: Instant) -> Self {
        at.0
    }
}

/// A calendar day, without a time zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day(pub civil::Date);

column!(Day, String, |value| value.0.to_string(), |raw| raw.parse().map(Day).map_err(Into::into));

/// A time of day on the workroom's clock, to the minute.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TimeOfDay(pub civil::Time);

column!(TimeOfDay, String, |value| value.0.strftime("%H:%M").to_string(), |raw| civil::Time::strptime(
    "%H:%M", &raw
)
.map(TimeOfDay)
.map_err(Into::into));

/// Gives a plain enum its words: one list that is its `Display`, its `FromStr`, its column and the choices of a form.
macro_rules! string_enum {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vdoc])* $variant),+ }

        impl $name {
            /// Every value, in the order people are shown them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word for it: on screens, in forms and in the database.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.word())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::store::columns::UnknownWord;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Self::ALL.iter().copied().find(|v| v.word() == text)
                    .ok_or_else(|| $crate::store::columns::UnknownWord(text.chars().take(40).collect()))
            }
        }

        $crate::store::columns::text_column!($name);
    };
}
pub(crate) use string_enum;

/// A word that isn't one of those allowed.
#[derive(Debug, thiserror::Error)]
#[error("{0:?} is none of the words allowed here")]
pub struct UnknownWord(pub String);

column!(crate::units::Length, i64, |value| value.nm(), |raw| Ok(crate::units::Length::from_nm(raw)));
column!(crate::units::Mass, i64, |value| value.mg(), |raw| Ok(crate::units::Mass::from_mg(raw)));

/// The word for a system of units: in the database, in forms.
pub const fn units_word(units: Units) -> &'static str {
    match units {
        Units::Inches => "inches",
        Units::Metric => "metric",
    }
}

column!(Units, String, |value| units_word(*value).to_owned(), |raw| match raw.as_str() {
    "inches" => Ok(Units::Inches),
    "metric" => Ok(Units::Metric),
    _ => Err(UnknownWord(raw).into()),
});

/// Stores a value that is never searched as JSON text.
macro_rules! json_column {
    ($name:ty) => {
        $crate::store::columns::column!($name, String, |value| serde_json::json!(value).to_string(), |raw| {
            serde_json::from_str(&raw).map_err(Into::into)
        });
    };
}
pub(crate) use json_column;
json_column!(Chart);
json_column!(NailRows);
json_column!(Winding);
json_column!(Yarn);
json_column!(Prices);

/// The words for where the weaving begins: in the database, in forms.
pub const fn woven_from_word(from: WovenFrom) -> &'static str {
    match from {
        WovenFrom::OneEnd => "one end",
        WovenFrom::BothEnds => "both ends",
        WovenFrom::BothEndsOtherFirst => "both ends, other strand first",
    }
}

/// Where the weaving begins, by its words.
pub fn woven_from(word: &str) -> Option<WovenFrom> {
    [WovenFrom::OneEnd, WovenFrom::BothEnds, WovenFrom::BothEndsOtherFirst]
        .into_iter()
        .find(|from| woven_from_word(*from) == word)
}

column!(WovenFrom, String, |value| woven_from_word(*value).to_owned(), |raw| woven_from(&raw)
    .ok_or_else(|| UnknownWord(raw).into()));

column!(Kind, String, |value| value.key().to_owned(), |raw| raw.parse().map_err(Into::into));

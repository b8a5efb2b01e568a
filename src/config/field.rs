//! One field of the settings: how it is read from a text, shown, and described.

use std::{ffi::OsStr, net::SocketAddr, path::PathBuf, time::Duration};

use ipnet::IpNet;
use serde_json::{Number, Value};

use super::{
    settings::{LogForm, Logged},
    web,
};
use crate::units::decimal_places;

/// The levels of the log, the most severe first.
const LEVELS: [&str; 5] = ["error", "warn", "info", "debug", "trace"];
const FORMS: [(&str, LogForm); 2] = [("json", LogForm::Json), ("text", LogForm::Text)];
const REQUESTS: [(&str, Logged); 3] =
    [("all", Logged::All), ("failed", Logged::Failed), ("none", Logged::None)];

/// A field to be read or set.
#[derive(Debug)]
pub(super) enum Field<'a> {
    /// A path, or none.
    Path(&'a mut Option<PathBuf>),
    /// Yes or no.
    Switch(&'a mut bool),
    /// How many, within bounds.
    Count(&'a mut usize, [u32; 2]),
    /// How many in a second, within bounds.
    Rate(&'a mut u32, [u32; 2]),
    /// A time, its bounds in milliseconds.
    Time(&'a mut Duration, [u32; 2]),
    /// Where to listen.
    Address(&'a mut SocketAddr),
    /// Networks.
    Networks(&'a mut Vec<IpNet>),
    /// Origins (RFC 6454).
    Origins(&'a mut Vec<String>),
    /// A level of the log.
    Level(&'a mut String),
    /// The form of the log.
    Form(&'a mut LogForm),
    /// Which requests are logged.
    Requests(&'a mut Logged),
    /// Whom to send to, or nobody.
    Receiver(&'a mut Option<String>),
    /// What the codes on cups begin with, or nothing.
    PublicBase(&'a mut Option<String>),
}

/// The kind of value that a TOML file gives for a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Text,
    Texts,
    Boolean,
    Integer,
    Decimal,
}

impl Field<'_> {
    /// The kind of its value in a TOML file.
    pub(super) const fn kind(&self) -> Kind {
        match self {
            Self::Switch(_) => Kind::Boolean,
            Self::Count(..) | Self::Rate(..) => Kind::Integer,
            Self::Time(..) => Kind::Decimal,
            Self::Networks(_) | Self::Origins(_) => Kind::Texts,
            Self::Path(_)
            | Self::Address(_)
            | Self::Level(_)
            | Self::Form(_)
            | Self::Requests(_)
            | Self::Receiver(_)
            | Self::PublicBase(_) => Kind::Text,
        }
    }

    /// Empties a list, which is then filled anew; a layer never adds to the list of another.
    pub(super) fn begin(&mut self) {
        match self {
            Self::Networks(all) => all.clear(),
            Self::Origins(all) => all.clear(),
            Self::Path(_)
            | Self::Switch(_)
            | Self::Count(..)
            | Self::Rate(..)
            | Self::Time(..)
            | Self::Address(_)
            | Self::Level(_)
            | Self::Form(_)
            | Self::Requests(_)
            | Self::Receiver(_)
            | Self::PublicBase(_) => {}
        }
    }

    /// Sets the field to what `given` says, or adds that to a list; whether it could be taken.
    #[must_use]
    pub(super) fn take(&mut self, given: &OsStr) -> bool {
        match (self, given.to_str()) {
            (Self::Path(path), _) => **path = Some(given.into()),
            (field, Some(text)) => return field.read(text).is_some(),
            (_, None) => return false,
        }
        !given.is_empty()
    }

    fn read(&mut self, text: &str) -> Option<()> {
        match self {
            Self::Switch(on) => **on = text.parse().ok()?,
            Self::Count(n, bounds) => **n = usize::try_from(within(text, *bounds)?).ok()?,
            Self::Rate(n, bounds) => **n = within(text, *bounds)?,
            Self::Time(time, bounds) => **time = seconds(text, *bounds)?,
            Self::Address(address) => **address = text.parse().ok()?,
            Self::Networks(all) => all.push(network(text)?),
            Self::Origins(all) => all.push(web::origin(text)?),
            Self::Level(level) => {
                LEVELS.into_iter().find(|known| *known == text)?.clone_into(level);
            }
            Self::Form(form) => **form = named(&FORMS, text)?,
            Self::Requests(which) => **which = named(&REQUESTS, text)?,
            Self::Receiver(to) => **to = Some(web::receiver(text)?),
            Self::PublicBase(base) => **base = Some(web::public_base(text)?),
            Self::Path(path) => **path = Some(text.into()),
        }
        Some(())
    }

    /// What a text must be to be taken.
    pub(super) fn expected(&self) -> String {
        match self {
            Self::Path(_) => "a path".to_owned(),
            Self::Switch(_) => "`true` or `false`".to_owned(),
            Self::Count(_, [least, most]) | Self::Rate(_, [least, most]) => {
                format!("a whole number from {least} to {most}")
            }
            Self::Time(_, [least, most]) => {
                let [least, most] = [least, most].map(|ms| f64::from(*ms) / 1_000.0);
                format!("seconds from {least} to {most}, with at most three decimal places")
            }
            Self::Address(_) => {
                "an IP address with its port, such as `127.0.0.1:8080` or `[::1]:8080`".to_owned()
            }
            Self::Networks(_) => {
                "an IP address or a network, such as `10.0.0.0/8` or `fd00::/8`".to_owned()
            }
            Self::Origins(_) => {
                "an origin (RFC 6454): scheme, host and perhaps a port, and no path, such as \
                 `https://till.example`"
                    .to_owned()
            }
            Self::Level(_) => one_of(LEVELS.into_iter()),
            Self::Form(_) => one_of(FORMS.iter().map(|(name, _)| *name)),
            Self::Requests(_) => one_of(REQUESTS.iter().map(|(name, _)| *name)),
            Self::Receiver(_) => {
                "an address of HTTP without user and password, such as `http://127.0.0.1:4318`"
                    .to_owned()
            }
            Self::PublicBase(_) => format!(
                "an address of HTTP of at most {} letters, digits, `-`, `.`, `:` and `/`, such as \
                 `https://cups.example`",
                web::PUBLIC_BASE_MOST
            ),
        }
    }

    /// The value as JSON has it; times are seconds, and what is not set is null.
    pub(super) fn value(&self) -> Value {
        match self {
            Self::Path(path) => {
                path.as_ref().map_or(Value::Null, |path| path.display().to_string().into())
            }
            Self::Switch(on) => Value::Bool(**on),
            Self::Count(n, _) => Value::from(**n),
            Self::Rate(n, _) => Value::from(**n),
            Self::Time(time, _) if time.subsec_millis() == 0 => Value::from(time.as_secs()),
            Self::Time(time, _) => {
                Number::from_f64(time.as_secs_f64()).map_or(Value::Null, Value::Number)
            }
            Self::Address(address) => address.to_string().into(),
            Self::Networks(all) => all.iter().map(ToString::to_string).collect(),
            Self::Origins(all) => all.iter().map(String::as_str).collect(),
            Self::Level(level) => level.as_str().into(),
            Self::Form(form) => name_of(&FORMS, form).into(),
            Self::Requests(which) => name_of(&REQUESTS, which).into(),
            Self::Receiver(to) | Self::PublicBase(to) => {
                to.as_deref().map_or(Value::Null, Into::into)
            }
        }
    }
}

fn within(text: &str, [least, most]: [u32; 2]) -> Option<u32> {
    text.parse().ok().filter(|n| (least..=most).contains(n))
}

/// Seconds with at most three decimal places; the bounds are milliseconds.
fn seconds(text: &str, bounds: [u32; 2]) -> Option<Duration> {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|one| one.is_ascii_digit());
    let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
    if !digits(whole) || !digits(part) || decimal_places(text) > 3 {
        return None;
    }
    let part = format!("{part:0<3}");
    let ms = within(&format!("{whole}{}", &part[..3]), bounds)?;
    Some(Duration::from_millis(ms.into()))
}

/// A network, or an address as the network of it alone.
fn network(text: &str) -> Option<IpNet> {
    let network: Option<IpNet> = text.parse().ok();
    network
        .map(|one| one.trunc())
        .or_else(|| text.parse().ok().map(|one: std::net::IpAddr| one.into()))
}

fn named<T: Copy>(known: &[(&str, T)], text: &str) -> Option<T> {
    known.iter().find(|(name, _)| *name == text).map(|(_, one)| *one)
}

fn name_of<T: PartialEq>(known: &[(&'static str, T)], one: &T) -> &'static str {
    known.iter().find(|(_, known)| known == one).map_or("", |(name, _)| name)
}

fn one_of(names: impl Iterator<Item = &'static str>) -> String {
    let names: Vec<String> = names.map(|name| format!("`{name}`")).collect();
    format!("one of {}", names.join(", "))
}

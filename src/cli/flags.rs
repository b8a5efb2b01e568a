//! The flags of `serve`, made from the list of settings.

use std::{
    collections::BTreeMap,
    ffi::{OsStr, OsString},
    path::PathBuf,
};

use clap::{
    Arg, ArgAction, ArgMatches, Command, Error, FromArgMatches,
    builder::{TypedValueParser, ValueParser},
    error::ErrorKind,
    value_parser,
};
use serde_json::Value;

use crate::config::{SETTINGS, Setting, Settings};

/// Flags that every command takes, so that they are not among those of `serve`.
const EVERYWHERE: [&str; 2] = ["book", "sites"];

/// What the command line says of the settings.
#[derive(Clone, Debug, Default)]
pub(super) struct Flags {
    /// The file of settings.
    pub(super) file: Option<PathBuf>,
    /// What each flag says, by its name without dashes.
    pub(super) given: BTreeMap<&'static str, Vec<OsString>>,
}

impl Flags {
    /// With the flags that every command takes.
    pub(super) fn and(mut self, others: [(&'static str, Option<PathBuf>); 2]) -> Self {
        let given = others.into_iter().filter_map(|(name, path)| Some((name, vec![path?.into()])));
        self.given.extend(given);
        self
    }
}

impl clap::Args for Flags {
    fn augment_args(command: Command) -> Command {
        let file = Arg::new("config")
            .long("config")
            .value_name("FILE")
            .value_parser(value_parser!(PathBuf))
            .help("File of settings (TOML) [env: CUPWRIGHT_CONFIG]");
        let own = SETTINGS.iter().filter(|setting| !EVERYWHERE.contains(&setting.flag));
        command.arg(file).args(own.map(arg))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Flags {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, Error> {
        let file = matches.get_one("config").cloned();
        let own = SETTINGS.iter().filter(|setting| !EVERYWHERE.contains(&setting.flag));
        let given = own.filter_map(|setting| {
            let values = matches.get_many::<OsString>(setting.flag)?;
            Some((setting.flag, values.cloned().collect()))
        });
        Ok(Self { file, given: given.collect() })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

/// The flag of a setting.
fn arg(setting: &'static Setting) -> Arg {
    let default = match setting.value(&Settings::default()) {
        Value::String(text) => format!(" [default: {text}]"),
        plain @ (Value::Bool(_) | Value::Number(_)) => format!(" [default: {plain}]"),
        Value::Null | Value::Array(_) | Value::Object(_) => String::new(),
    };
    let several = if setting.is_list() { " Give it several times for several." } else { "" };
    let help = format!("{}{several} [env: {}]{default}", setting.about, setting.variable);
    let arg = Arg::new(setting.flag)
        .long(setting.flag)
        .value_name(setting.stands)
        .value_parser(ValueParser::new(Taken(setting)))
        .help(help);
    if setting.is_switch() {
        // `--watch` alone is yes; `--watch=false` undoes what a file says.
        arg.num_args(0..=1).require_equals(true).default_missing_value("true")
    } else if setting.is_list() {
        arg.action(ArgAction::Append)
    } else {
        arg
    }
}

/// Judges the value of a flag as the file's and the environment's are judged.
#[derive(Clone, Copy)]
struct Taken(&'static Setting);

impl TypedValueParser for Taken {
    type Value = OsString;

    fn parse_ref(
        &self,
        command: &Command,
        _: Option<&Arg>,
        value: &OsStr,
    ) -> Result<OsString, Error> {
        self.0.check(value).map(|()| value.to_owned()).map_err(|(found, expected)| {
            let fault = format!("--{}: found {found}; expected {expected}", self.0.flag);
            command.clone().error(ErrorKind::ValueValidation, fault)
        })
    }
}

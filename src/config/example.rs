//! A file of settings to start from.

use std::fmt::Write;

use super::{settings::Settings, table::SETTINGS};

const HEAD: &str = "\
# Settings of `cupwright serve`. Each stands here with its default; what begins with `#` is not set.
# A flag goes before an environment variable, and that before this file.
# Paths are relative to the folder of this file.
# Try it: cupwright config check --config FILE
";

/// A file of settings that says of each what it is for, and sets it to its default.
pub fn example() -> String {
    let mut out = HEAD.to_owned();
    let (defaults, mut section) = (Settings::default(), "");
    for setting in SETTINGS {
        if setting.section() != section {
            section = setting.section();
            let _ = write!(out, "\n[{section}]");
        }
        let (flag, variable) = (setting.flag, setting.variable);
        let _ = write!(out, "\n# {}\n# --{flag}, {variable}\n", setting.about);
        let key = setting.key();
        let value = setting.value(&defaults);
        let _ = if value.is_null() {
            writeln!(out, "# {key} = {}", setting.sample)
        } else {
            // Every other value of a setting is written in TOML as in JSON.
            writeln!(out, "{key} = {value}")
        };
    }
    out
}

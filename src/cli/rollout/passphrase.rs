//! The passphrase of the keys off line: from a file, or asked at the terminal.

use std::{
    fs,
    io::{IsTerminal as _, stdin},
    path::PathBuf,
};

use anstream::eprintln;

use super::{super::Outcome, tell};
use crate::rollout::{Fault, Passphrase};

/// Where the passphrase comes from.
#[derive(Clone, Debug, clap::Args)]
pub(in super::super) struct PassphraseArg {
    /// File whose first line is the passphrase of the keys off line; it is asked for if not given.
    #[arg(long, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
}

impl PassphraseArg {
    /// The passphrase.
    ///
    /// * `twice`: whether it is a new one, which is asked for twice.
    pub(super) fn read(&self, twice: bool) -> Result<Passphrase, Outcome> {
        let text = match &self.passphrase_file {
            Some(path) => {
                let text = fs::read_to_string(path)
                    .map_err(|fault| tell(&Fault::File(path.clone(), fault)))?;
                text.lines().next().unwrap_or_default().to_owned()
            }
            None => asked(twice)?,
        };
        Passphrase::new(&text).map_err(|fault| tell(&fault))
    }
}

fn asked(twice: bool) -> Result<String, Outcome> {
    if !stdin().is_terminal() {
        eprintln!("There is no terminal to ask at; give `--passphrase-file`.");
        return Err(Outcome::Failed);
    }
    let ask = |prompt: &str| {
        rpassword::prompt_password(prompt).map_err(|fault| {
            eprintln!("The passphrase cannot be read: {fault}");
            Outcome::Failed
        })
    };
    let text = ask("Passphrase of the keys off line: ")?;
    if twice && ask("Once more: ")? != text {
        eprintln!("These are two passphrases. Nothing was made.");
        return Err(Outcome::Failed);
    }
    Ok(text)
}

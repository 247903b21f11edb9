//! `withy shell`: completions and the manual page, made from the command line's own description.

use crate::args::{Arguments, ShellArgs, ShellText};
use clap::CommandFactory;
use clap_complete::{Shell, generate};
use std::io;

/// The text asked for.
///
/// # Errors
/// None that can be caused: the text is made in memory.
pub fn shell(args: &ShellArgs) -> io::Result<String> {
    let mut command = Arguments::command();
    let shell = match args.what {
        ShellText::Bash => Shell::Bash,
        ShellText::Zsh => Shell::Zsh,
        ShellText::Fish => Shell::Fish,
        ShellText::Powershell => Shell::PowerShell,
        ShellText::Elvish => Shell::Elvish,
        ShellText::Manual => {
            let mut text = Vec::new();
            clap_mangen::Man::new(command).render(&mut text)?;
            return Ok(String::from_utf8_lossy(&text).into_owned());
        }
    };
    let mut text = Vec::new();
    generate(shell, &mut command, "withy", &mut text);
    Ok(String::from_utf8_lossy(&text).into_owned())
}

//! What other programs read about this one: schema, completions, manual pages.

use std::io;

use clap::CommandFactory;
use clap_complete::aot;
use clap_mangen::Man as Page;

use crate::args::{Arguments, Completions, Man, Shell};
use crate::exit::Exit;
use crate::report::{failure, print_json, print_message, print_result};

pub(crate) fn schema() -> Exit {
    print_json(&overbend::document::schema(), true);
    Exit::Done
}

pub(crate) fn completions(wanted: &Completions) -> Exit {
    let shell = match wanted.shell {
        Shell::Bash => aot::Shell::Bash,
        Shell::Zsh => aot::Shell::Zsh,
        Shell::Fish => aot::Shell::Fish,
        Shell::Powershell => aot::Shell::PowerShell,
        Shell::Elvish => aot::Shell::Elvish,
    };
    let mut script = Vec::new();
    aot::generate(shell, &mut Arguments::command(), "overbend", &mut script);
    print_result(&String::from_utf8_lossy(&script));
    Exit::Done
}

pub(crate) fn man(wanted: &Man) -> Exit {
    let mut whole = Arguments::command();
    whole.build();
    let Some(folder) = &wanted.output else {
        return match page(&whole) {
            Ok(text) => {
                print_result(&text);
                Exit::Done
            }
            Err(e) => cannot(&e),
        };
    };
    let mut written = 0;
    let mut pages = vec![&whole];
    pages.extend(whole.get_subcommands().filter(|c| c.get_name() != "help"));
    for command in pages {
        let name = command.get_display_name().unwrap_or_else(|| command.get_name());
        let path = folder.join(format!("{name}.1"));
        if let Err(e) = page(command).and_then(|text| std::fs::write(&path, text)) {
            failure(&format!("{} cannot be written: {e}. Make the folder first.", path.display()));
            return Exit::Disk;
        }
        written += 1;
    }
    print_message(&format!("{written} manual pages are in {}.\n", folder.display()));
    Exit::Done
}

fn page(command: &clap::Command) -> io::Result<String> {
    let mut out = Vec::new();
    // No date: the same version gives the same page.
    Page::new(command.clone()).render(&mut out)?;
    String::from_utf8(out).map_err(io::Error::other)
}

fn cannot(error: &io::Error) -> Exit {
    failure(&format!("the page cannot be made: {error}."));
    Exit::Disk
}

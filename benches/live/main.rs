//! Live sound on this machine: the callback's share of its buffer, the process beside `aplay`,
//! the screen. Prints a Markdown table. Linux; the second and third need PulseAudio, `aplay` and
//! tmux, and say so loudly where they are missing. About three minutes.
#![allow(clippy::print_stdout, clippy::print_stderr)] // the table is what this program is for

#[cfg(target_os = "linux")]
mod keys;
#[cfg(target_os = "linux")]
#[path = "../commands/machine.rs"]
#[allow(dead_code)]
mod machine;
#[cfg(target_os = "linux")]
mod measured;
#[cfg(target_os = "linux")]
#[path = "../../tests/live/server.rs"]
#[allow(dead_code)]
mod server;
#[cfg(target_os = "linux")]
#[path = "../shared/mod.rs"]
mod shared;
#[cfg(target_os = "linux")]
#[path = "../../tests/support/mod.rs"]
mod support;
#[cfg(target_os = "linux")]
#[path = "../../tests/live/terminal.rs"]
#[allow(dead_code)]
mod terminal;
#[cfg(target_os = "linux")]
mod thread_time;

fn main() {
    let asked = std::env::args().any(|word| word == "--bench");
    #[cfg(target_os = "linux")]
    if let Some(told) = std::env::args().skip_while(|word| word != "--keys").nth(1) {
        return keys::watched(&told);
    }
    #[cfg(target_os = "linux")]
    if asked {
        return measured::all();
    }
    println!(
        "not measured: this is for cargo bench, on Linux{}",
        if asked { " only" } else { "" }
    );
}

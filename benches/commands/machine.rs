//! What the numbers were measured on.

use std::process::Command;

/// Prints the processor, the system, the tools and how busy the machine is.
pub fn describe() {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let processor = value_of("/proc/cpuinfo", "model name", ':');
    let system = value_of("/etc/os-release", "PRETTY_NAME", '=');
    println!(
        "Machine: {}, {cores} cores; {}; {}.",
        processor
            .as_deref()
            .unwrap_or("a processor that does not tell its name"),
        system.as_deref().unwrap_or(std::env::consts::OS),
        first_line("rustc", "--version").unwrap_or_default(),
    );
    let tools = [
        ("dd", "--version"),
        ("sox", "--version"),
        ("ffmpeg", "-version"),
        ("python3", "--version"),
    ];
    let tools: Vec<String> = (tools.into_iter())
        .map(|(tool, flag)| first_line(tool, flag).unwrap_or(format!("{tool} is missing")))
        .collect();
    println!("Tools: {}.", tools.join("; "));
    println!("{}\n", load());
}

/// How many processes wanted a core of late, where the system tells.
pub fn load() -> String {
    match std::fs::read_to_string("/proc/loadavg") {
        Ok(text) => {
            let averages: Vec<&str> = text.split_whitespace().take(3).collect();
            format!("Load over 1, 5 and 15 minutes: {}.", averages.join(", "))
        }
        Err(_) => "Load: not told by this system.".into(),
    }
}

/// The first value of a key in a file of keys and values.
fn value_of(file: &str, key: &str, between: char) -> Option<String> {
    let text = std::fs::read_to_string(file).ok()?;
    let line = text.lines().find(|line| line.starts_with(key))?;
    let (_, value) = line.split_once(between)?;
    Some(value.trim().trim_matches('"').to_string())
}

/// What a tool says of itself; none where it is missing.
fn first_line(tool: &str, flag: &str) -> Option<String> {
    let output = Command::new(tool).arg(flag).output().ok()?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    Some(text.lines().next()?.trim().to_string())
}

/// Whether a tool is there.
pub fn has(tool: &str) -> bool {
    Command::new(tool).arg("--version").output().is_ok()
}

//! The README begins with the job and two commands, and the Makefile has both.

use std::fs;
use std::path::Path;

fn file(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// What stands in fenced blocks, a command a line, comments and prompts taken off.
fn commands(text: &str) -> Vec<String> {
    let mut inside = false;
    let mut commands = Vec::new();
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            inside = !inside;
        } else if inside {
            let command = line.split('#').next().unwrap_or_default();
            let command = command.trim().trim_start_matches("$ ");
            if !command.is_empty() {
                commands.push(command.to_string());
            }
        }
    }
    commands
}

/// Why a README does not begin as it should; empty where it does.
fn opening_faults(readme: &str) -> Vec<String> {
    let mut faults = Vec::new();
    let mut lines = readme.lines();
    if !lines.next().is_some_and(|title| title.starts_with("# ")) {
        faults.push("no title".to_string());
    }
    let rest: Vec<&str> = lines.collect();
    let mut inside = false;
    let heading = rest.iter().position(|line| {
        inside ^= line.trim_start().starts_with("```");
        !inside && line.starts_with('#')
    });
    let opening = rest[..heading.unwrap_or(rest.len())].join("\n");
    let job = opening
        .trim_start()
        .split("\n\n")
        .next()
        .unwrap_or_default();
    if job.split_whitespace().count() < 20 || !job.starts_with(char::is_alphabetic) {
        faults.push(format!("no job in one paragraph: {job:?}"));
    }
    let after_job = opening.trim_start()[job.len()..].trim_start();
    if !after_job.starts_with("```") {
        faults.push("the commands do not follow the job".to_string());
    }
    if commands(&opening) != ["make demo", "make test"] {
        faults.push(format!("commands {:?}", commands(&opening)));
    }
    faults
}

#[test]
fn the_readme_opens_with_the_job_and_two_commands() {
    let faults = opening_faults(&file("README.md"));
    assert!(faults.is_empty(), "{faults:?}");
}

#[test]
fn an_opening_without_the_job_or_with_a_third_command_is_noticed() {
    let job = "This tool does one job for one kind of person, and here is the whole of it, in \
        twenty words or more.";
    let block = "```sh\nmake demo\nmake test   # all of it\n```";
    let good = format!("# name\n\n{job}\n\n{block}\n\n## Next\n\n```\ncargo run\n```\n");
    assert_eq!(opening_faults(&good), Vec::<String>::new());
    for bad in [
        good.replace(job, ""),
        good.replace("make demo\n", ""),
        good.replace("make test", "make test\ncargo doc"),
        good.replace(block, &format!("{block}\n\n```\ncargo doc\n```")),
        good.replace(block, &format!("One more thing.\n\n{block}")),
        good.replace("# name", "name"),
    ] {
        assert_ne!(opening_faults(&bad), Vec::<String>::new(), "{bad}");
    }
}

#[test]
fn the_makefile_has_both_commands_and_the_gate_runs_the_tests() {
    let makefile = file("Makefile");
    for target in ["demo:", "test:", "soak:"] {
        assert!(
            makefile.lines().any(|line| line.starts_with(target)),
            "no {target}"
        );
    }
    assert!(
        file(".ci/run")
            .lines()
            .any(|line| line.trim() == "make test")
    );
}

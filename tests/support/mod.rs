//! What the tests of whole commands share: running the program, finding an independent Python.
#![allow(dead_code, clippy::unwrap_used)] // each test binary uses its own part of it

pub mod edits;
pub mod filmed;
pub mod message;
pub mod page;
pub mod system;
pub mod wavs;

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

/// The program, ready for arguments, in a folder of the test's own.
pub fn cuelane(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_cuelane"));
    command.current_dir(folder).env("NO_COLOR", "1");
    // Speech is the same on every system: a program that is installed here would join in.
    command.env("PATH", "");
    command
}

/// Runs the program.
pub fn run(folder: &Path, args: &[&str]) -> Output {
    cuelane(folder)
        .args(args)
        .output()
        .expect("the program starts")
}

/// Runs the program, which must succeed, and gives what it printed.
pub fn ok(folder: &Path, args: &[&str]) -> String {
    let output = run(folder, args);
    assert!(
        output.status.success(),
        "cuelane {args:?} failed:\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("results are UTF-8")
}

/// Runs the program, which must refuse with `code`, and gives its message.
pub fn refused(folder: &Path, args: &[&str], code: i32) -> String {
    let output = run(folder, args);
    let message = String::from_utf8(output.stderr).expect("messages are UTF-8");
    assert_eq!(
        output.status.code(),
        Some(code),
        "cuelane {args:?}:\n{message}"
    );
    assert!(!message.contains("panicked"), "{message}");
    message
}

/// Writes a file into a folder and gives its path.
pub fn write(folder: &Path, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, text).expect("the test's own folder can be written");
    path
}

/// A Python 3 that has numpy and scipy: an ear that is not ours.
pub fn python() -> &'static str {
    static PYTHON: OnceLock<&'static str> = OnceLock::new();
    PYTHON.get_or_init(|| {
        ["python3", "/usr/bin/python3", "python"]
            .into_iter()
            .find(|python| {
                let import = Command::new(python)
                    .args(["-c", "import numpy, scipy"])
                    .output();
                import.is_ok_and(|output| output.status.success())
            })
            .expect("the tests need a Python 3 with numpy and scipy: .ci/setup test installs it")
    })
}

/// Runs a Python script from `tests/`, which must succeed, and gives what it printed.
pub fn python_script(script: &str, args: &[&str]) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests")
        .join(script);
    let output = Command::new(python())
        .arg(path)
        .args(args)
        .output()
        .expect("Python starts");
    assert!(
        output.status.success(),
        "{script} {args:?} failed:\n{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("the script prints UTF-8")
}

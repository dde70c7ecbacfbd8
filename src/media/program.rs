//! A speech program of the system: text in, a WAV file out, within a time limit.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use super::decode::{DecodedSound, decode};
use crate::error::{Error, Result};

/// A program that speaks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Program {
    path: PathBuf,
    manner: Manner,
}

/// How a program wants its text and its file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Manner {
    /// `espeak-ng -w OUT --stdin`.
    Espeak,
    /// `flite -voice slt -f TEXT -o OUT`.
    Flite,
    /// `say -o OUT --data-format=LEI16@22050 -f TEXT`, on macOS.
    Say,
    /// `NAME TEXT OUT`: two paths.
    Plain,
}

/// The programs that are looked for, nearest to the shipped clips first.
const KNOWN: [(&str, Manner); 4] = [
    ("flite", Manner::Flite),
    ("espeak-ng", Manner::Espeak),
    ("espeak", Manner::Espeak),
    ("say", Manner::Say),
];

/// The longest that one sentence may take a program, and last.
const LIMIT: Duration = Duration::from_secs(10);
const LONGEST_S: f64 = 120.0;
/// The largest file that a program may write, bytes.
const LARGEST_BYTES: u64 = 64 << 20;

/// The first of the known programs that is installed.
pub fn find() -> Option<Program> {
    (KNOWN.into_iter()).find_map(|(name, manner)| {
        let path = on_path(name)?;
        Some(Program { path, manner })
    })
}

/// The line that installs one on this system.
pub fn installed_by() -> &'static str {
    if cfg!(windows) {
        "pacman -S mingw-w64-ucrt-x86_64-espeak-ng, in MSYS2's UCRT64 shell"
    } else if cfg!(target_os = "macos") {
        "brew install espeak-ng"
    } else {
        "sudo apt-get install flite (Fedora: sudo dnf install flite, Arch: sudo pacman -S flite)"
    }
}

/// The program of a name or path.
///
/// # Errors
/// When there is none.
pub fn named(name: &str) -> Result<Program> {
    let as_path = Path::new(name);
    let path = match as_path.components().count() {
        1 => on_path(name),
        _ => as_path.is_file().then(|| as_path.to_path_buf()),
    };
    let path = path.ok_or_else(|| {
        let known: Vec<&str> = KNOWN.iter().map(|(name, _)| *name).collect();
        Error::input(format!("found {name:?}, and no such program is installed"))
            .at("--speech")
            .accepted(format!(
                "auto, off, {}, or the path of a program that is called as PROGRAM TEXT-FILE WAV-FILE",
                known.join(", ")
            ))
            .example("--speech auto")
    })?;
    let stem = as_path.file_stem().and_then(|stem| stem.to_str());
    let known = KNOWN.iter().find(|(name, _)| Some(*name) == stem);
    let manner = known.map_or(Manner::Plain, |(_, manner)| *manner);
    Ok(Program { path, manner })
}

/// Where a program of this name is installed.
fn on_path(name: &str) -> Option<PathBuf> {
    let folders = std::env::var_os("PATH")?;
    let ending = std::env::consts::EXE_SUFFIX;
    std::env::split_paths(&folders)
        .map(|folder| folder.join(format!("{name}{ending}")))
        .find(|path| path.is_file())
}

impl Program {
    /// Its name.
    pub fn name(&self) -> String {
        self.path.display().to_string()
    }

    /// Speaks a sentence.
    ///
    /// # Errors
    /// When the program cannot be started, fails, takes longer than its limit, or writes no
    /// sound that can be read.
    pub fn speak(&self, text: &str) -> Result<DecodedSound> {
        let io = |error: &std::io::Error| Error::io("cannot be used", self.path.display(), error);
        let folder = tempfile::tempdir().map_err(|error| io(&error))?;
        let (words, out) = (
            folder.path().join("text.txt"),
            folder.path().join("out.wav"),
        );
        std::fs::write(&words, format!("{text}\n")).map_err(|error| io(&error))?;
        let mut command = Command::new(&self.path);
        match self.manner {
            Manner::Espeak => command.arg("-w").arg(&out).arg("--stdin"),
            Manner::Flite => (command.args(["-voice", "slt", "-f"]))
                .arg(&words)
                .arg("-o")
                .arg(&out),
            Manner::Say => (command.arg("-o").arg(&out))
                .args(["--data-format=LEI16@22050", "-f"])
                .arg(&words),
            Manner::Plain => command.arg(&words).arg(&out),
        };
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command.stdin(match self.manner {
            Manner::Espeak => Stdio::piped(),
            _ => Stdio::null(),
        });
        let mut child = command.spawn().map_err(|error| io(&error))?;
        if let Some(mut input) = child.stdin.take() {
            // A program that does not read its text is found out by what it writes.
            let _ = input.write_all(format!("{text}\n").as_bytes());
        }
        self.wait(&mut child)?;
        let mut bytes = Vec::new();
        let file = std::fs::File::open(&out).map_err(|_| self.failed("wrote no sound"))?;
        let mut file = file.take(LARGEST_BYTES);
        file.read_to_end(&mut bytes).map_err(|error| io(&error))?;
        decode(
            Box::new(std::io::Cursor::new(bytes)),
            &self.name(),
            LONGEST_S,
        )
        .map_err(|error| self.failed(&format!("wrote no sound: {error}")))
    }

    /// Waits for the program, and ends it where it takes too long.
    fn wait(&self, child: &mut Child) -> Result<()> {
        let since = Instant::now();
        loop {
            match child.try_wait() {
                Ok(Some(status)) if status.success() => return Ok(()),
                Ok(Some(status)) => return Err(self.failed(&format!("failed ({status})"))),
                Ok(None) if since.elapsed() < LIMIT => {
                    std::thread::sleep(Duration::from_millis(5));
                }
                Ok(None) => {
                    let _ = child.kill();
                    let _ = child.wait();
                    let limit = LIMIT.as_secs();
                    return Err(self.failed(&format!("took longer than {limit} s for a sentence")));
                }
                Err(error) => return Err(Error::io("cannot be used", self.path.display(), &error)),
            }
        }
    }

    fn failed(&self, what: &str) -> Error {
        Error::failed(format!("the speech program {what}"))
            .at(self.path.display())
            .accepted("a speech program that works; without one the fixed phrases still speak")
            .example("--speech auto")
    }
}

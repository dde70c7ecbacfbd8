//! The program in a terminal of 80 x 24, worked with keys and read as a screen: tmux.

use std::process::Command;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};

use super::server::Server;

/// A program on a terminal of its own; ended when dropped.
pub struct Terminal<'s> {
    server: &'s Server,
    /// Which of the terminals it is: one that ends may still hold the name of its socket.
    number: u32,
    /// The program's process.
    pub pid: u32,
}

/// How often a screen is looked at: each look starts a program, and many tests look at once.
const POLL: Duration = Duration::from_millis(50);

/// Terminals started so far.
static STARTED: AtomicU32 = AtomicU32::new(0);

impl<'s> Terminal<'s> {
    /// Starts the program; without a path, as [`Server::cuelane`] does and for the same reason.
    pub fn start(server: &'s Server, args: &[&str]) -> Self {
        let line = ["PATH=", env!("CARGO_BIN_EXE_cuelane")];
        Self::start_other(server, "env", &[&line, args].concat())
    }

    /// Starts another program.
    pub fn start_other(server: &'s Server, program: &str, args: &[&str]) -> Self {
        let number = STARTED.fetch_add(1, Ordering::Relaxed);
        let mut terminal = Self {
            server,
            number,
            pid: 0,
        };
        // The last screen stays to be read after the end.
        let settings = server.folder().join("tmux.conf");
        std::fs::write(&settings, "set -g remain-on-exit on\n").expect("the folder is ours");
        let mut command = terminal.tmux();
        command
            .arg("-f")
            .arg(settings)
            .args([
                "new-session",
                "-d",
                "-s",
                "deck",
                "-x",
                "80",
                "-y",
                "24",
                "--",
            ])
            .arg(program)
            .args(args);
        let output = (command.output()).expect("tmux starts: .ci/setup test installs it");
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        terminal.pid = terminal.ask_pid();
        terminal
    }

    fn tmux(&self) -> Command {
        let mut command = self.server.command("tmux");
        command
            .env("TERM", "xterm")
            .env("LC_ALL", "C.UTF-8")
            .env_remove("TMUX");
        command
            .arg("-S")
            .arg(self.server.folder().join(format!("tmux-{}", self.number)));
        command
    }

    /// Presses a key, by tmux's name for it.
    pub fn key(&mut self, key: &str) {
        let sent = self.tmux().args(["send-keys", "-t", "deck", key]).status();
        assert!(
            sent.is_ok_and(|status| status.success()),
            "the key {key} was not taken"
        );
    }

    /// Gives the window another size.
    pub fn resize(&self, columns: u16, rows: u16) {
        let (columns, rows) = (columns.to_string(), rows.to_string());
        let line = ["resize-window", "-t", "deck", "-x", &columns, "-y", &rows];
        let resized = self.tmux().args(line).status();
        assert!(
            resized.is_ok_and(|status| status.success()),
            "resize-window"
        );
    }

    /// What tmux knows of the terminal, in its own words for it.
    pub fn ask(&self, what: &str) -> String {
        let line = ["display-message", "-p", "-t", "deck", what];
        let told = self.tmux().args(line).output().expect("tmux answers");
        String::from_utf8_lossy(&told.stdout).trim().to_string()
    }

    /// The process that tmux has started.
    fn ask_pid(&self) -> u32 {
        let pid = self.ask("#{pane_pid}");
        pid.parse().expect("tmux knows the program's process")
    }

    /// Sends the program a signal.
    pub fn signal(&self, name: &str) {
        let pid = self.pid.to_string();
        let sent = Command::new("kill")
            .args([&format!("-{name}"), &pid])
            .status();
        assert!(
            sent.is_ok_and(|status| status.success()),
            "kill -{name} {pid}"
        );
    }

    /// What the screen shows.
    pub fn screen(&self) -> String {
        let shown = self
            .tmux()
            .args(["capture-pane", "-p", "-t", "deck"])
            .output();
        String::from_utf8_lossy(&shown.expect("tmux answers").stdout).into_owned()
    }

    /// Whether the screen shows a text.
    pub fn shows(&self, text: &str) -> bool {
        self.screen().contains(text)
    }

    /// Waits until the screen shows a text.
    pub fn wait_for(&self, text: &str) {
        let begun = Instant::now();
        while !self.shows(text) {
            let waited = begun.elapsed();
            assert!(
                waited < Duration::from_secs(20),
                "no {text:?} on\n{}",
                self.screen()
            );
            std::thread::sleep(POLL);
        }
    }

    /// Waits until the program has ended, which must be by itself and without failing. The
    /// system is asked, since tmux does not always hear of it.
    pub fn wait_for_end(&self) {
        let begun = Instant::now();
        let code = loop {
            // proc(5): after the name in brackets come the state and, last, the exit code. An
            // ended program stays there until tmux asks for it.
            let stat = std::fs::read_to_string(format!("/proc/{}/stat", self.pid));
            let fields = stat.as_deref().ok().and_then(|stat| stat.rsplit_once(") "));
            match fields {
                None => break Some(self.ask("#{pane_dead_status}")),
                Some((_, fields)) if fields.starts_with('Z') => {
                    break fields.split_whitespace().last().map(str::to_string);
                }
                Some(_) => {}
            }
            let waited = begun.elapsed();
            assert!(
                waited < Duration::from_secs(20),
                "it goes on:\n{}",
                self.screen()
            );
            std::thread::sleep(POLL);
        };
        assert_eq!(code.as_deref(), Some("0"), "{}", self.screen());
    }
}

impl Drop for Terminal<'_> {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.tmux().arg("kill-server").output();
    }
}

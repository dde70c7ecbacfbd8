//! The program in a terminal of 80 x 24, worked with keys and read as a screen: tmux.

use std::process::Command;
use std::time::{Duration, Instant};

use super::server::Server;

/// A program on a terminal of its own; ended when dropped.
pub struct Terminal<'s> {
    server: &'s Server,
}

impl<'s> Terminal<'s> {
    /// Starts the program.
    pub fn start(server: &'s Server, args: &[&str]) -> Self {
        let terminal = Self { server };
        let program = env!("CARGO_BIN_EXE_cuelane");
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
        let output = command.output().expect("tmux starts");
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        terminal
    }

    fn tmux(&self) -> Command {
        let mut command = self.server.command("tmux");
        command
            .env("TERM", "xterm")
            .env("LC_ALL", "C.UTF-8")
            .env_remove("TMUX");
        command.arg("-S").arg(self.server.folder().join("tmux"));
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

    /// The program's process.
    pub fn pid(&self) -> u32 {
        let line = ["display-message", "-p", "-t", "deck", "#{pane_pid}"];
        let pid = self.tmux().args(line).output().expect("tmux answers");
        let pid = String::from_utf8_lossy(&pid.stdout).trim().to_string();
        pid.parse().expect("tmux knows the program's process")
    }

    /// Sends the program a signal.
    pub fn signal(&self, name: &str) {
        let pid = self.pid().to_string();
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
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Waits until the program has ended, which must be by itself and without failing.
    pub fn wait_for_end(&self) {
        self.wait_for("Pane is dead");
        assert!(
            self.shows("status 0") || !self.shows("status"),
            "{}",
            self.screen()
        );
    }
}

impl Drop for Terminal<'_> {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.tmux().arg("kill-server").output();
    }
}

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
        let mut command = terminal.tmux();
        // A second pane's worth of time keeps the last screen to be read after the end.
        command
            .args([
                "-f",
                "/dev/null",
                "new-session",
                "-d",
                "-s",
                "deck",
                "-x",
                "80",
                "-y",
                "24",
            ])
            .args([";", "set-option", "-g", "remain-on-exit", "on", ";"])
            .args(["respawn-pane", "-k", "-t", "deck", "--"])
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

//! A PulseAudio server of the test's own: a loudspeaker that nobody hears, and its monitor as a
//! microphone.

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// A running server in a folder of its own; stopped when dropped.
pub struct Server {
    folder: TempDir,
    daemon: std::cell::RefCell<Option<Child>>,
}

const SOUND: &str = "pcm.!default { type pulse }\nctl.!default { type pulse }\n";

impl Server {
    /// Starts one.
    pub fn start() -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        std::fs::write(folder.path().join(".asoundrc"), SOUND).expect("the folder is ours");
        let server = Self {
            folder,
            daemon: std::cell::RefCell::new(None),
        };
        server.run_daemon();
        server
    }

    /// Starts the server itself and waits until it answers.
    pub fn run_daemon(&self) {
        let daemon = self
            .command("pulseaudio")
            .args([
                "-n",
                "--daemonize=no",
                "--exit-idle-time=60", // one that a stopped test leaves behind ends by itself
                "--use-pid-file=no",
            ])
            .args(["-L", "module-native-protocol-unix"])
            .args(["-L", "module-null-sink sink_name=pool rate=44100"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("pulseaudio starts: .ci/setup test installs it");
        *self.daemon.borrow_mut() = Some(daemon);
        let begun = Instant::now();
        while !self.pactl(&["info"]) {
            assert!(
                begun.elapsed() < Duration::from_secs(20),
                "the sound server does not answer"
            );
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Ends the server at once.
    pub fn kill_daemon(&self) {
        if let Some(mut daemon) = self.daemon.borrow_mut().take() {
            daemon.kill().expect("our own child");
            daemon.wait().expect("our own child");
        }
    }

    fn pactl(&self, args: &[&str]) -> bool {
        let output = self.command("pactl").args(args).output();
        let output = output.expect("pactl starts: .ci/setup test installs it");
        output.status.success()
    }

    /// Suspends the sink, or lets it go on.
    pub fn suspend(&self, suspended: bool) {
        let word = if suspended { "1" } else { "0" };
        assert!(
            self.pactl(&["suspend-sink", "pool", word]),
            "pactl suspend-sink"
        );
    }

    /// Its folder.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// A program that lives with this server and hears of no other, whatever a desktop says.
    pub fn command(&self, program: &str) -> Command {
        let mut command = Command::new(program);
        command
            .env("HOME", self.folder())
            .env("XDG_RUNTIME_DIR", self.folder())
            .current_dir(self.folder());
        let of_others = ["DISPLAY", "PULSE_CLIENTCONFIG", "PULSE_RUNTIME_PATH"];
        for name in (of_others.iter()).chain(&["PULSE_SERVER", "PULSE_SINK", "PULSE_SOURCE"]) {
            command.env_remove(name);
        }
        command
    }

    /// The program under test. It has no path: speech is the same on every system, and a program
    /// that is installed here would join in.
    pub fn cuelane(&self) -> Command {
        let mut command = self.command(env!("CARGO_BIN_EXE_cuelane"));
        command.env("PATH", "");
        command
    }

    /// Records what the sink plays.
    pub fn record(&self, name: &str) -> Recording {
        let path = self.folder().join(name);
        // An older recording of that name would tell of its own length.
        let _ = std::fs::remove_file(&path);
        let recorder = self
            .command("parec")
            .args([
                "-d",
                "pool.monitor",
                "--file-format=wav",
                "--rate=44100",
                "--channels=2",
                "--latency-msec=20",
            ])
            .arg(&path)
            .stderr(Stdio::null())
            .spawn()
            .expect("parec starts: .ci/setup test installs it");
        // Until sound arrives; what has arrived by then tells when it began.
        let asked = Instant::now();
        let begun = loop {
            let bytes = std::fs::metadata(&path).map_or(0, |about| about.len());
            if bytes > 8_000 {
                let held = Duration::from_secs_f64((bytes - 44) as f64 / (4.0 * 44_100.0));
                break Instant::now() - held;
            }
            assert!(
                asked.elapsed() < Duration::from_secs(20),
                "nothing is recorded"
            );
            std::thread::sleep(Duration::from_millis(5));
        };
        Recording {
            recorder,
            path,
            begun,
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.kill_daemon();
    }
}

/// A recording that goes on.
pub struct Recording {
    recorder: Child,
    path: PathBuf,
    /// When its first frame was played, to some 50 ms.
    pub begun: Instant,
}

impl Recording {
    /// Ends it and gives its file.
    pub fn stop(mut self) -> PathBuf {
        // What is on its way still arrives.
        std::thread::sleep(Duration::from_millis(1200));
        crate::support::system::signal(&self.recorder, "INT");
        self.recorder.wait().expect("our own child");
        self.path
    }
}

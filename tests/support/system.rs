//! What the operating system can do to the program: another user, signals, a small disk.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output};
use std::time::{Duration, Instant};

fn user_id() -> Option<String> {
    let output = Command::new("id").arg("-u").output().ok()?;
    Some(String::from_utf8(output.stdout).ok()?.trim().to_string())
}

/// Whether the tests run as root, whom no mode bit keeps out.
pub fn is_root() -> bool {
    user_id().as_deref() == Some("0")
}

/// Makes a program from a file. Another process writes it: while this one held it open, a test that
/// starts a program at the same moment would hand it on, and it could not be run, being busy.
#[cfg(unix)]
pub fn copy_program(from: &Path, to: &Path) {
    let copied = Command::new("sh")
        .args(["-c", "cp -- \"$1\" \"$2\" && chmod 755 \"$2\"", "sh"])
        .args([from, to])
        .status();
    assert!(
        copied.is_ok_and(|status| status.success()),
        "{}",
        to.display()
    );
}

/// The program as a user whom mode bits keep out, in a `folder` that this user may enter: the
/// tests' own user, or nobody (65534) where that is root.
#[cfg(unix)]
pub fn unprivileged(folder: &Path) -> Command {
    use std::os::unix::fs::PermissionsExt;
    if !is_root() {
        return super::cuelane(folder);
    }
    // The build's own folder may be closed to others; so is a fresh temporary folder.
    let program = folder.join("cuelane");
    copy_program(Path::new(env!("CARGO_BIN_EXE_cuelane")), &program);
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755)).expect("the folder is ours");
    let become_nobody = || {
        let mut command = Command::new("setpriv");
        command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]);
        command.arg(&program).current_dir(folder);
        command
    };
    let works = become_nobody().arg("--version").output();
    assert!(
        works.as_ref().is_ok_and(|output| output.status.success()),
        "root must become another user here: setpriv (util-linux), or run the tests as one: {works:?}"
    );
    become_nobody()
}

/// Sends a signal (`INT`, `TERM`, `KILL`, `STOP`, `CONT`) to a program that a test started.
#[cfg(unix)]
pub fn signal(child: &Child, name: &str) {
    let kill = Command::new("kill")
        .args([&format!("-{name}"), &child.id().to_string()])
        .status();
    assert!(kill.is_ok_and(|status| status.success()), "kill -{name}");
}

/// Waits until `happened` gives something; the program must not end before.
pub fn wait_until<T>(child: &mut Child, happened: impl Fn() -> Option<T>) -> T {
    let start = Instant::now();
    loop {
        if let Some(found) = happened() {
            return found;
        }
        let ended = child.try_wait().expect("a child can be asked");
        assert!(ended.is_none(), "the program ended too early: {ended:?}");
        assert!(
            start.elapsed() < Duration::from_secs(60),
            "nothing happened in a minute"
        );
        std::thread::sleep(Duration::from_millis(1));
    }
}

/// The code and the message with which a started program ends.
pub fn ended(child: Child) -> (Option<i32>, String) {
    let Output { status, stderr, .. } = child.wait_with_output().expect("a child can be awaited");
    let message = String::from_utf8(stderr).expect("messages are UTF-8");
    assert!(!message.contains("panicked"), "{message}");
    (status.code(), message)
}

/// What a started program printed, where it ends by itself within a minute.
pub fn in_time(mut child: Child) -> Output {
    let start = Instant::now();
    while child.try_wait().expect("a child can be asked").is_none() {
        if start.elapsed() > Duration::from_secs(60) {
            child.kill().expect("a child can be ended");
            let output = child.wait_with_output();
            panic!("still at work after a minute: {output:?}");
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    child.wait_with_output().expect("a child can be awaited")
}

/// The names in a folder, in order.
pub fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("the folder can be read");
    let name = |entry: std::io::Result<fs::DirEntry>| {
        let entry = entry.expect("an entry can be read");
        entry.file_name().to_string_lossy().into_owned()
    };
    let mut names: Vec<String> = entries.map(name).collect();
    names.sort();
    names
}

/// A small disk in memory, gone when dropped.
pub struct SmallDisk {
    pub path: PathBuf,
}

impl SmallDisk {
    /// Mounts one at `path`, which the system must let us.
    #[cfg(target_os = "linux")]
    pub fn mount(path: &Path, options: &str) -> Self {
        fs::create_dir_all(path).expect("the test's own folder can be written");
        let mount = Command::new("mount")
            .args(["-t", "tmpfs", "-o", options, "none"])
            .arg(path)
            .output()
            .expect("mount starts");
        let message = String::from_utf8_lossy(&mount.stderr);
        assert!(mount.status.success(), "{message}");
        Self {
            path: path.to_path_buf(),
        }
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        // A mount left behind would keep the temporary folder from going; nothing else can help.
        let _ = Command::new("umount").arg(&self.path).status();
    }
}

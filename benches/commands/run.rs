//! One command, timed and weighed; many of them in turn.

use std::fs::{self, File};
use std::io::Write;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

/// What one run took.
#[derive(Debug, Clone, Copy)]
pub struct Taken {
    /// From before the start of the process until its end, s.
    pub seconds: f64,
    /// Of the processor, the system's own share included, s; none where the system does not tell.
    pub processor_s: Option<f64>,
    /// The most memory it held at once, bytes; none where the system does not tell.
    pub peak_bytes: Option<u64>,
}

/// The program, ready for arguments.
pub fn cuelane() -> Command {
    Command::new(env!("CARGO_BIN_EXE_cuelane"))
}

/// Runs a command to its end; it must succeed.
pub fn run(command: &mut Command) -> Taken {
    let before = processor_s();
    let start = Instant::now();
    let (status, peak_bytes) = watch(&mut spawn(command));
    let seconds = start.elapsed().as_secs_f64();
    assert!(status.success(), "{command:?} ended with {status}");
    Taken {
        seconds,
        processor_s: processor_s()
            .zip(before)
            .map(|(after, before)| after - before),
        peak_bytes,
    }
}

/// Runs a command to its end without looking at its memory, which costs a short one too much.
pub fn run_short(command: &mut Command) -> f64 {
    let start = Instant::now();
    let status = spawn(command).wait().expect("a child can be waited for");
    let seconds = start.elapsed().as_secs_f64();
    assert!(status.success(), "{command:?} ended with {status}");
    seconds
}

fn spawn(command: &mut Command) -> Child {
    let command = command.stdin(Stdio::null()).stdout(Stdio::null());
    command.spawn().expect("the command was found before")
}

/// Waits for a process. The system keeps the peak of its memory for as long as it lives and the
/// peak never falls, so that the last look misses only what the last two milliseconds add.
fn watch(child: &mut Child) -> (ExitStatus, Option<u64>) {
    let status_file = format!("/proc/{}/status", child.id());
    let mut peak = None;
    loop {
        if let Some(status) = child.try_wait().expect("a child can be waited for") {
            return (status, peak);
        }
        let text = fs::read_to_string(&status_file).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kib = line.and_then(|line| line.trim().strip_suffix(" kB")?.parse::<u64>().ok());
        peak = peak.max(kib.map(|kib| kib * 1024));
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// Seconds of processor that all ended children have used so far, where the system tells.
pub fn processor_s() -> Option<f64> {
    let text = fs::read_to_string("/proc/self/stat").ok()?;
    // proc(5): after the name in brackets comes field 3; cutime and cstime are 16 and 17, in
    // hundredths of a second.
    let (_, fields) = text.rsplit_once(") ")?;
    let of_children = fields.split(' ').skip(16 - 3).take(2);
    let hundredths = of_children.map(|field| field.parse::<u64>().ok());
    Some(hundredths.sum::<Option<u64>>()? as f64 / 100.0)
}

/// Brings memory and disk into the same state before each run: writes as much as the run will,
/// syncs it, and takes it away.
pub fn settle(folder: &Path, bytes: u64) {
    let path = folder.join("settle");
    let block = vec![1; 1 << 20];
    let mut file = File::create(&path).expect("the target folder can be written");
    for _ in 0..bytes.div_ceil(block.len() as u64) {
        file.write_all(&block).expect("the disk has room");
    }
    file.sync_all().expect("the disk can be synced");
    drop(file);
    fs::remove_file(&path).expect("it was written a moment ago");
}

/// Seconds that the system takes to bring a finished file to the disk.
pub fn sync(file: &Path) -> f64 {
    let file = File::options()
        .write(true)
        .open(file)
        .expect("it was written a moment ago");
    let start = Instant::now();
    file.sync_all().expect("the disk can be synced");
    start.elapsed().as_secs_f64()
}

/// The middle, the least and the largest of some numbers.
#[derive(Debug, Clone, Copy)]
pub struct Spread {
    pub median: f64,
    pub least: f64,
    pub most: f64,
}

impl Spread {
    /// # Panics
    /// When there are no values.
    pub fn of(values: impl IntoIterator<Item = f64>) -> Self {
        let mut values: Vec<f64> = values.into_iter().collect();
        values.sort_by(f64::total_cmp);
        let (low, high) = ((values.len() - 1) / 2, values.len() / 2);
        Self {
            median: (values[low] + values[high]) / 2.0,
            least: values[0],
            most: values[values.len() - 1],
        }
    }
}

/// A peak in MiB, for a table.
pub fn mib(taken: &[Taken]) -> String {
    match taken.iter().filter_map(|taken| taken.peak_bytes).max() {
        Some(bytes) => format!("{:.1} MiB", bytes as f64 / f64::from(1 << 20)),
        None => "not told by this system".into(),
    }
}

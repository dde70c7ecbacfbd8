//! The sets of a session as blocks of lines, laid out over as many sheets as they take.

use super::super::letters::{Weight, lines, width};
use super::text::{ACROSS, Anchor, LEFT, RIGHT, text};
use crate::model::resolve::{Resolved, Set};
use crate::model::words;
use crate::timeline::{Repeat, Schedule};
use crate::units::{Fix, Time};

/// Starts that a set lists.
const STARTS: usize = 6;
/// Sizes of letters, mm: the largest and the least on a single sheet, and those where one is not enough.
const LARGEST: f64 = 4.2;
const LEAST: f64 = 2.4;
const ON_SHEETS: f64 = 3.6;
/// Of the size of the letters: a set's heading, and the space between two sets, at least and at most.
const HEAD: f64 = 1.25;
const LEAST_GAP: f64 = 0.5;
const MOST_GAP: f64 = 1.1;
/// A line from its top to its base, and down to the top of the next.
pub const RISE: f64 = 0.95;
pub const PITCH: f64 = 1.25;
/// How far the lines of a set stand in, mm.
const INDENT: f64 = 5.0;
/// A line is written so much smaller before it is broken into two.
const SMALLER: f64 = 0.85;

/// One set, as large as it is to be written.
pub struct Block {
    /// Its lines: size, weight, words.
    lines: Vec<(f64, Weight, String)>,
    /// The rate, on the right of the first.
    rate: Option<String>,
    size: f64,
}

impl Block {
    fn new(index: usize, set: &Set, starts: &str, size: f64) -> Self {
        let head = size * HEAD;
        let rate = set.rate.short();
        let wide = width(&rate, Weight::Bold) * head;
        let beside = wide < ACROSS * 0.4;
        let room = (ACROSS - if beside { wide + 4.0 } else { 0.0 }) / head;
        // A long name is cut; how often and how far stays.
        let swims = words::notation(set);
        let most = room * 1.6 - width(&swims, Weight::Bold);
        let name = lines(&set.name, Weight::Bold, most.max(8.0), 1).concat();
        let heading = format!("{} {name}: {swims}", index + 1);
        let mut block = Self {
            lines: (lines(&heading, Weight::Bold, room, 2).into_iter())
                .map(|line| (head, Weight::Bold, line))
                .collect(),
            rate: beside.then(|| rate.clone()),
            size,
        };
        if !beside {
            block.add(Weight::Bold, &rate);
        }
        block.add(
            Weight::Plain,
            &format!("{}: {}", words::kick(set), words::feet(set)),
        );
        block.add(Weight::Plain, &format!("sounds: {}", words::cues(set)));
        block.add(Weight::Plain, starts);
        block
    }

    /// A text on one line where it fits when it is a little smaller, else on two.
    fn add(&mut self, weight: Weight, words: &str) {
        let room = ACROSS - INDENT;
        let fits = room / width(words, weight);
        if fits >= self.size * SMALLER {
            self.lines.push((self.size.min(fits), weight, words.into()))
        } else {
            let broken = lines(words, weight, room / self.size, 2);
            self.lines
                .extend(broken.into_iter().map(|line| (self.size, weight, line)));
        }
    }

    fn height(&self) -> f64 {
        self.lines.iter().map(|line| line.0 * PITCH).sum()
    }

    fn draw(&self, svg: &mut String, mut top: f64) {
        for (at, (size, weight, words)) in self.lines.iter().enumerate() {
            let base = top + size * RISE;
            let x = if *size > self.size {
                LEFT
            } else {
                LEFT + INDENT
            };
            text(svg, (x, base), *size, (*weight, Anchor::Start), words);
            if let Some(rate) = self.rate.as_ref().filter(|_| at == 0) {
                text(svg, (RIGHT, base), *size, (Weight::Bold, Anchor::End), rate);
            }
            top += size * PITCH;
        }
    }
}

/// Blocks on one sheet, with the space that follows each.
pub struct PosterSheet {
    blocks: Vec<Block>,
    gap: f64,
}

impl PosterSheet {
    /// Draws them from a height downwards.
    pub fn draw(&self, svg: &mut String, mut top: f64) {
        for block in &self.blocks {
            block.draw(svg, top);
            top += block.height() + self.gap;
        }
    }
}

/// The sets on a single sheet with so much height for them, as large as they fit there; else on as
/// many as they take, with `further` on each after the first.
pub fn sheets(
    session: &Resolved,
    schedule: &Schedule,
    first: f64,
    further: f64,
) -> Vec<PosterSheet> {
    let starts: Vec<String> = (0..session.sets.len())
        .map(|index| starts(schedule, index))
        .collect();
    let blocks = |size: f64| -> Vec<Block> {
        (session.sets.iter().zip(&starts).enumerate())
            .map(|(index, (set, starts))| Block::new(index, set, starts, size))
            .collect()
    };
    // A session that cannot fit at the least size is not tried at every size.
    let least = LEAST * (HEAD + 3.0) * PITCH * session.sets.len() as f64;
    let mut size = if least > first { 0.0 } else { LARGEST };
    while size >= LEAST {
        let blocks = blocks(size);
        let (count, height) = (
            blocks.len() as f64,
            blocks.iter().map(Block::height).sum::<f64>(),
        );
        let gap = (first - height) / count / size;
        if gap >= LEAST_GAP {
            let gap = gap.min(MOST_GAP) * size;
            return vec![PosterSheet { blocks, gap }];
        }
        size -= 0.1;
    }
    let gap = ON_SHEETS * (LEAST_GAP + MOST_GAP) / 2.0;
    let sheet = || PosterSheet {
        blocks: Vec::new(),
        gap,
    };
    let (mut sheets, mut left) = (vec![sheet()], first);
    for block in blocks(ON_SHEETS) {
        if block.height() > left {
            sheets.push(sheet());
            left = further;
        }
        left -= block.height() + gap;
        sheets.last_mut().expect("one at least").blocks.push(block);
    }
    sheets
}

/// The first starts of a set, and its last.
fn starts(schedule: &Schedule, index: usize) -> String {
    let clock = |s: &Fix| Time::from_s(*s).rounded();
    let from = schedule
        .repeats
        .partition_point(|repeat| repeat.set < index);
    let to = schedule
        .repeats
        .partition_point(|repeat| repeat.set <= index);
    let repeats: &[Repeat] = &schedule.repeats[from..to];
    let mut starts: Vec<String> = (repeats.iter().take(STARTS))
        .map(|repeat| clock(&repeat.start_s))
        .collect();
    if repeats.len() > STARTS {
        starts.push("…".into());
        starts.extend(repeats.last().map(|repeat| clock(&repeat.start_s)));
    }
    format!("starts at {}", starts.join(", "))
}

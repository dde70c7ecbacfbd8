//! cuelane: cues that put a freestyle swimmer's kick on the right moment of the arm stroke.
pub mod analysis;
pub mod chart;
pub mod cli;
pub mod error;
pub mod export;
pub mod files;
pub mod live;
pub mod mark;
pub mod media;
pub mod model;
pub mod render;
pub mod sound;
pub mod sync;
pub mod timeline;
pub mod tui;
pub mod units;

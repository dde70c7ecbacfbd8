//! cuelane: cues that put a freestyle swimmer's kick on the right moment of the arm stroke.
pub mod error;
pub mod files;
pub mod model;
pub mod timeline;
pub mod units;

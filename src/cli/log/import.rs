//! A CSV file of other making, as `log list` and `log add` take it.

use crate::error::Result;
use crate::files::{Mapped, Rows, import_log};

#[derive(Debug, Clone, clap::Args)]
pub struct ImportArgs {
    /// A CSV file of other making, such as a watch's: list it, or add what it has to the log
    #[arg(long, value_name = "FILE", requires = "map")]
    pub import: Option<String>,
    /// Which of its columns is which: COLUMN=HEADER, or COLUMN=HEADER:UNIT for bare numbers
    #[arg(long, value_name = "COLUMN=HEADER", requires = "import")]
    pub map: Vec<String>,
    /// Whose strokes the imported file counts
    #[arg(long, requires = "import")]
    pub counted: Option<Counted>,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Counted {
    /// One arm: a stroke of the file is a cycle
    OneArm,
    /// Both arms
    BothArms,
}

impl ImportArgs {
    /// The file's rows, where one is named.
    ///
    /// # Errors
    /// When it cannot be read, or the map does not fit it.
    pub fn rows(&self) -> Result<Option<Rows<'static>>> {
        let Some(file) = &self.import else {
            return Ok(None);
        };
        let map = self.map.iter().map(|text| Mapped::parse(text));
        let map = map.collect::<Result<Vec<_>>>()?;
        let arms = self.counted.map(|counted| match counted {
            Counted::OneArm => 1,
            Counted::BothArms => 2,
        });
        import_log(file, &map, arms).map(Some)
    }
}

//! The `solve` command, asked in process: JSON in, JSON out.
use std::io::Write as _;

use clap::Parser;
use serde_json::Value;
use thrumhall::cli::reckon::BadInput;
use thrumhall::cli::solve::{SolveArgs, run};
use thrumhall::optimize::design::DesignBand;
use thrumhall::planning::colour::Hex;
use thrumhall::units::Length;

#[derive(Parser)]
struct Line {
    #[command(flatten)]
    args: SolveArgs,
}

fn ask(what: &str, asked: &Value) -> anyhow::Result<Value> {
    let mut file = tempfile::NamedTempFile::new()?;
    file.write_all(asked.to_string().as_bytes())?;
    let args = Line::try_parse_from(["solve", what, file.path().to_str().unwrap()])?.args;
    let mut out = Vec::new();
    run(&args, &mut out)?;
    Ok(serde_json::from_slice(&out)?)
}

/// The answer to a question that has one.
#[track_caller]
pub fn solve(what: &str, asked: &Value) -> Value {
    ask(what, asked).unwrap_or_else(|e| panic!("{asked} was refused: {e:#}"))
}

/// The answer, or why there is none.
pub fn solve_or_refuse(what: &str, asked: &Value) -> Result<Value, String> {
    ask(what, asked).map_err(|e| e.downcast::<BadInput>().unwrap().to_string())
}

/// Numbers from a seed, one after the other (the multiplier and increment of Knuth's MMIX, from memory).
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, end: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as u32 % end
    }

    /// From the least to the most, both among them.
    pub fn within(&mut self, least: u32, most: u32) -> u32 {
        least + self.below(most - least + 1)
    }

    /// Once in so many times.
    pub fn once_in(&mut self, times: u32) -> bool {
        self.below(times) == 0
    }
}

/// The bands of a design that was answered.
pub fn bands(design: &Value) -> Vec<DesignBand> {
    let hex = |value: &Value| Hex::parse(value.as_str().unwrap()).unwrap();
    let band = |band: &Value| DesignBand {
        height: Length::millimetres(band["height_mm"].as_f64().unwrap()),
        colours: [hex(&band["first"]), hex(&band["other"])],
    };
    design["bands"].as_array().unwrap().iter().map(band).collect()
}

//! `solve rugs`: the plans of many rugs at once, each asked for as `reckon` would be.
use super::bad;
use crate::cli::reckon::{ReckonArgs, as_json, plan_of};
use clap::Parser;
use serde::Deserialize;
use serde_json::{Map, Value};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"rugs": [{"span": "33 in", "width": "18 in", "nails": 33}]}, named like the flags of reckon
Out: a line for each, as reckon --json prints it"#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RugsRequest {
    rugs: Vec<Map<String, Value>>,
}

/// The flags of `reckon`, whichever it has by now.
#[derive(Parser)]
#[command(no_binary_name = true)]
struct RugLine {
    #[command(flatten)]
    args: ReckonArgs,
}

/// A flag and its value, as the command line would have them; a name that is false or null is left out.
fn flag((name, value): (&String, &Value)) -> Vec<String> {
    let flag = format!("--{name}");
    match value {
        Value::Null | Value::Bool(false) => Vec::new(),
        Value::Bool(true) => vec![flag],
        Value::String(text) => vec![flag, text.clone()],
        other => vec![flag, other.to_string()],
    }
}

pub(super) fn answer(asked: &RugsRequest) -> anyhow::Result<Vec<Value>> {
    let one = |(at, rug): (usize, &Map<String, Value>)| {
        let wrong = |why: &str| bad("rugs", &format!("rug {}: {}", at + 1, why.trim()));
        let line = RugLine::try_parse_from(rug.iter().flat_map(flag)).map_err(|e| wrong(&e.to_string()))?;
        let plan = plan_of(&line.args.one).map_err(|e| wrong(&e.to_string()))?;
        Ok(as_json(&plan, line.args.one.units.units()))
    };
    asked.rugs.iter().enumerate().map(one).collect()
}

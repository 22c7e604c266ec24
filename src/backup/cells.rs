//! A value as a cell of CSV and back again, exactly: what is nothing, and what a spreadsheet would take for a formula.
use crate::store::whole::{ColumnType, Value};

/// The cell of a value that isn't there.
const NOTHING: &str = r"\N";

/// What a text begins with that gets an apostrophe in front: formulas, and what would be taken for one of our own marks.
const MARKED: [char; 8] = ['=', '+', '-', '@', '\t', '\r', '\'', '\\'];

pub(super) fn cell(value: &Value) -> String {
    match value {
        Value::Text(None) | Value::Bigint(None) | Value::Boolean(None) => NOTHING.to_owned(),
        Value::Text(Some(text)) if text.starts_with(MARKED) => format!("'{text}"),
        Value::Text(Some(text)) => text.clone(),
        Value::Bigint(Some(number)) => number.to_string(),
        Value::Boolean(Some(is)) => is.to_string(),
    }
}

/// The value of a cell, or `None` where it can't be of this type.
pub(super) fn value(kind: ColumnType, cell: &str) -> Option<Value> {
    let there = (cell != NOTHING).then_some(cell);
    Some(match kind {
        ColumnType::Text => Value::Text(there.map(|cell| cell.strip_prefix('\'').unwrap_or(cell).to_owned())),
        ColumnType::Bigint => Value::Bigint(there.map(str::parse).transpose().ok()?),
        ColumnType::Boolean => Value::Boolean(there.map(str::parse).transpose().ok()?),
    })
}

#[cfg(test)]
mod tests {
    use super::{cell, value};
    use crate::store::whole::{ColumnType, Value};

    #[test]
    fn every_value_comes_back_and_none_is_a_formula() {
        let texts = [
            "",
            r"\N",
            "'",
            "''tis",
            "=1+1",
            "-1",
            "@x",
            "\tx",
            "\r\n",
            r"\\",
            "plain",
            "a,\"b\"\nc",
            "é\u{202e}",
        ];
        for text in texts {
            let it = Value::Text(Some(text.to_owned()));
            let written = cell(&it);
            assert!(!written.starts_with(['=', '+', '-', '@', '\t', '\r']), "{written}");
            assert_eq!(value(ColumnType::Text, &written), Some(it));
        }
        for number in [None, Some(i64::MIN), Some(-1), Some(0), Some(i64::MAX)] {
            assert_eq!(value(ColumnType::Bigint, &cell(&Value::Bigint(number))), Some(Value::Bigint(number)));
        }
        for is in [None, Some(true), Some(false)] {
            assert_eq!(value(ColumnType::Boolean, &cell(&Value::Boolean(is))), Some(Value::Boolean(is)));
        }
        assert_eq!(value(ColumnType::Text, &cell(&Value::Text(None))), Some(Value::Text(None)));
        assert_eq!((value(ColumnType::Bigint, "many"), value(ColumnType::Boolean, "1")), (None, None));
    }
}

//! Function bodies that give back the simplest value of their type at once.
use syn::{Block, GenericArgument, PathArguments, ReturnType, Signature, Type};

use super::{Around, Places};

/// The simplest values of a type, as source.
fn simplest(kind: &Type) -> Vec<String> {
    let one = |text: &str| vec![text.to_owned()];
    match kind {
        Type::Tuple(tuple) if tuple.elems.is_empty() => one("()"),
        Type::Tuple(_) => one("Default::default()"),
        Type::Reference(reference) => match &*reference.elem {
            Type::Path(path) if path.path.is_ident("str") => one("\"\""),
            Type::Slice(_) if reference.mutability.is_none() => one("&[]"),
            _ => Vec::new(),
        },
        Type::Path(path) => {
            let Some(last) = path.path.segments.last() else { return Vec::new() };
            let inner = || match &last.arguments {
                PathArguments::AngleBracketed(given) => {
                    given.args.iter().find_map(|argument| match argument {
                        GenericArgument::Type(inner) => Some(simplest(inner)),
                        _ => None,
                    })
                }
                _ => None,
            };
            match last.ident.to_string().as_str() {
                "bool" => vec!["true".to_owned(), "false".to_owned()],
                "f64" | "f32" => one("0.0"),
                "i64" | "u64" | "i32" | "u32" | "usize" | "isize" | "u8" | "i8" | "u16" | "i16" | "u128" => {
                    one("0")
                }
                "String" => one("String::new()"),
                "Vec" => one("Vec::new()"),
                "Option" => one("None"),
                "Result" => inner()
                    .unwrap_or_else(|| one("Default::default()"))
                    .iter()
                    .map(|v| format!("Ok({v})"))
                    .collect(),
                _ => one("Default::default()"),
            }
        }
        _ => Vec::new(),
    }
}

impl Places<'_> {
    pub(super) fn function(&mut self, signature: &Signature, block: &Block) {
        let values = match &signature.output {
            ReturnType::Default => vec!["()".to_owned()],
            ReturnType::Type(_, kind) => simplest(kind),
        };
        let open = block.brace_token.span.open().byte_range().end;
        let body = self.text[open..self.range(block).end - 1].trim().to_owned();
        for value in values {
            if body != value && !body.is_empty() {
                self.add_at("body", open..open, ("{…}", &value), Around::Return(value.clone()));
            }
        }
    }
}

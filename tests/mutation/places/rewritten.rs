//! A function with a piece of its body changed, beside the body as it was.
use std::ops::Range;

use syn::visit::{self, Visit};
use syn::{Block, Signature};

use super::{Around, Constants, Mutant, Places};

/// The innermost function whose body has this range in it.
struct Innermost<'a> {
    range: &'a Range<usize>,
    found: Option<(Range<usize>, String)>,
}

impl Innermost<'_> {
    fn look(&mut self, signature: &Signature, block: &Block) {
        let (open, close) = (block.brace_token.span.open(), block.brace_token.span.close());
        let body = open.byte_range().end..close.byte_range().start;
        if signature.constness.is_none() && body.start <= self.range.start && self.range.end <= body.end {
            self.found = Some((body, signature.ident.to_string()));
        }
    }
}

impl<'ast> Visit<'ast> for Innermost<'_> {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.look(&item.sig, &item.block);
        visit::visit_item_fn(self, item);
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.look(&item.sig, &item.block);
        visit::visit_impl_item_fn(self, item);
    }
}

/// The fault that has `to` instead of this range; nothing where the range is in no function.
pub fn rewritten(
    file: &str,
    text: &str,
    range: &Range<usize>,
    to: &str,
) -> Result<Option<Mutant>, syn::Error> {
    let tree = syn::parse_file(text)?;
    let mut innermost = Innermost { range, found: None };
    innermost.visit_file(&tree);
    let Some((body, name)) = innermost.found else { return Ok(None) };
    let changed = format!("{}{to}{}", &text[body.start..range.start], &text[range.end..body.end]);
    let constants = Constants::new();
    let mut places = Places { file, text, constants: &constants, scope: vec![name], found: Vec::new() };
    places.add_at("by hand", body, (&text[range.clone()], to), Around::Instead(format!("{changed}\n")));
    Ok(places.found.pop())
}

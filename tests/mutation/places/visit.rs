//! The walk: what is passed over, and which questions are asked of each node.
use syn::visit::{self, Visit};
use syn::{Attribute, Block, Expr, ImplItemFn, ItemFn, ItemImpl, ItemMod, Stmt};

use super::{Around, Places};

fn is_test(attributes: &[Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        attribute.path().is_ident("test")
            || (attribute.path().is_ident("cfg")
                && attribute.parse_args::<syn::Path>().is_ok_and(|path| path.is_ident("test")))
    })
}

impl<'ast> Visit<'ast> for Places<'_> {
    // What is worked out by the compiler can't be switched at run time.
    fn visit_item_const(&mut self, _: &'ast syn::ItemConst) {}
    fn visit_item_static(&mut self, _: &'ast syn::ItemStatic) {}
    fn visit_impl_item_const(&mut self, _: &'ast syn::ImplItemConst) {}
    fn visit_trait_item_const(&mut self, _: &'ast syn::TraitItemConst) {}
    fn visit_expr_const(&mut self, _: &'ast syn::ExprConst) {}
    fn visit_variant(&mut self, _: &'ast syn::Variant) {}
    fn visit_type(&mut self, _: &'ast syn::Type) {}
    fn visit_generic_argument(&mut self, _: &'ast syn::GenericArgument) {}
    fn visit_pat(&mut self, _: &'ast syn::Pat) {}
    fn visit_attribute(&mut self, _: &'ast Attribute) {}
    fn visit_item_macro(&mut self, _: &'ast syn::ItemMacro) {}

    fn visit_expr_repeat(&mut self, repeat: &'ast syn::ExprRepeat) {
        self.visit_expr(&repeat.expr);
    }

    fn visit_item_mod(&mut self, module: &'ast ItemMod) {
        if !is_test(&module.attrs) {
            self.scope.push(module.ident.to_string());
            visit::visit_item_mod(self, module);
            self.scope.pop();
        }
    }

    fn visit_item_impl(&mut self, item: &'ast ItemImpl) {
        let name = self.source(&item.self_ty).split('<').next().unwrap_or("").to_owned();
        let name = match &item.trait_ {
            Some((_, path, _)) => format!("<{name} as {}>", self.source(path)),
            None => name,
        };
        self.scope.push(name);
        visit::visit_item_impl(self, item);
        self.scope.pop();
    }

    fn visit_item_fn(&mut self, item: &'ast ItemFn) {
        if item.sig.constness.is_none() && !is_test(&item.attrs) {
            self.scope.push(item.sig.ident.to_string());
            self.function(&item.sig, &item.block);
            self.visit_block(&item.block);
            self.scope.pop();
        }
    }

    fn visit_impl_item_fn(&mut self, item: &'ast ImplItemFn) {
        if item.sig.constness.is_none() {
            self.scope.push(item.sig.ident.to_string());
            self.function(&item.sig, &item.block);
            self.visit_block(&item.block);
            self.scope.pop();
        }
    }

    fn visit_trait_item_fn(&mut self, item: &'ast syn::TraitItemFn) {
        if let Some(block) = &item.default {
            self.scope.push(item.sig.ident.to_string());
            self.function(&item.sig, block);
            self.visit_block(block);
            self.scope.pop();
        }
    }

    fn visit_block(&mut self, block: &'ast Block) {
        for statement in &block.stmts {
            self.statement(statement);
            self.visit_stmt(statement);
        }
    }

    fn visit_macro(&mut self, mac: &'ast syn::Macro) {
        self.macro_call(mac);
    }

    fn visit_arm(&mut self, arm: &'ast syn::Arm) {
        if let Some((_, guard)) = &arm.guard {
            self.visit_expr(guard);
        }
        self.visit_expr(&arm.body);
    }

    fn visit_expr(&mut self, expr: &'ast Expr) {
        match expr {
            Expr::Binary(binary) => self.binary(binary),
            Expr::Unary(unary) => self.unary(unary),
            Expr::Lit(literal) => self.literal(literal),
            Expr::Path(path) => self.path(path),
            Expr::If(conditional) => self.conditional(conditional),
            Expr::Match(choice) => self.arms(choice),
            Expr::Range(range) => self.interval(range),
            Expr::MethodCall(call) => self.method(call),
            Expr::Call(call) => self.call(call),
            _ => {}
        }
        visit::visit_expr(self, expr);
    }
}

impl Places<'_> {
    /// A statement that is run for what it does can be left out.
    fn statement(&mut self, statement: &Stmt) {
        let droppable = match statement {
            Stmt::Expr(expr, Some(_)) => match expr {
                Expr::MethodCall(_) | Expr::Await(_) | Expr::Assign(_) => true,
                Expr::Call(call) => !self.source(&call.func).ends_with("drop"),
                Expr::Try(inner) => !matches!(*inner.expr, Expr::Path(_)),
                Expr::Binary(binary) => super::operators::assigns(&binary.op),
                _ => false,
            },
            Stmt::Macro(call) => {
                call.semi_token.is_some()
                    && call
                        .mac
                        .path
                        .segments
                        .last()
                        .is_some_and(|name| name.ident == "sql" || name.ident == "questions")
            }
            _ => false,
        };
        if droppable {
            let from = self.source(statement).to_owned();
            let span = syn::spanned::Spanned::span(statement);
            self.add("statement left out", span, &from, "", Around::Skip);
        }
    }
}

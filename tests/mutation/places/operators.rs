//! Operators, literals, constants, ranges and conditions.
use syn::spanned::Spanned as _;
use syn::{BinOp, Expr, ExprBinary, ExprIf, ExprLit, ExprPath, ExprRange, ExprUnary, Lit, RangeLimits, UnOp};

use super::{Around, Places};

pub(super) fn assigns(op: &BinOp) -> bool {
    matches!(
        op,
        BinOp::AddAssign(_)
            | BinOp::SubAssign(_)
            | BinOp::MulAssign(_)
            | BinOp::DivAssign(_)
            | BinOp::RemAssign(_)
    )
}

/// What an operator is changed into; a comparison at its boundary and as a whole.
fn changed(op: &BinOp) -> &'static [&'static str] {
    match op {
        BinOp::Lt(_) => &["<=", ">="],
        BinOp::Le(_) => &["<", ">"],
        BinOp::Gt(_) => &[">=", "<="],
        BinOp::Ge(_) => &[">", "<"],
        BinOp::Eq(_) => &["!="],
        BinOp::Ne(_) => &["=="],
        BinOp::Add(_) => &["-"],
        BinOp::Sub(_) => &["+"],
        BinOp::Mul(_) => &["/"],
        BinOp::Div(_) => &["*"],
        BinOp::Rem(_) => &["/"],
        BinOp::AddAssign(_) => &["-="],
        BinOp::SubAssign(_) => &["+="],
        BinOp::MulAssign(_) => &["/="],
        BinOp::DivAssign(_) => &["*="],
        _ => &[],
    }
}

/// Whether a condition has a `let` in its chain, which can't go into brackets.
pub(super) fn has_let(expr: &Expr) -> bool {
    match expr {
        Expr::Let(_) => true,
        Expr::Binary(binary) => has_let(&binary.left) || has_let(&binary.right),
        _ => false,
    }
}

/// Whether a block ends by leaving: what stands behind is not reached.
fn leaves(block: &syn::Block) -> bool {
    matches!(
        block.stmts.last(),
        Some(syn::Stmt::Expr(Expr::Return(_) | Expr::Break(_) | Expr::Continue(_), _))
    )
}

impl Places<'_> {
    pub(super) fn binary(&mut self, binary: &ExprBinary) {
        match binary.op {
            BinOp::And(_) => self.joined(binary, &Around::Always, "true"),
            BinOp::Or(_) => self.joined(binary, &Around::Never, "false"),
            _ => {
                let (left, right) = (self.source(&binary.left), self.source(&binary.right));
                let changes: Vec<String> =
                    changed(&binary.op).iter().map(|op| format!("{left} {op} {right}")).collect();
                for to in changes {
                    self.instead("operator", binary, &to);
                }
            }
        }
    }

    /// Each operand of `&&` or `||` left out of it.
    fn joined(&mut self, binary: &ExprBinary, around: &Around, to: &str) {
        for operand in [&*binary.left, &*binary.right] {
            let same = matches!(
                (operand, binary.op),
                (Expr::Binary(ExprBinary { op: BinOp::And(_), .. }), BinOp::And(_))
                    | (Expr::Binary(ExprBinary { op: BinOp::Or(_), .. }), BinOp::Or(_))
            );
            if !same && !has_let(operand) {
                let from = self.source(operand).to_owned();
                self.add("operand left out", operand.span(), &from, to, around.clone());
            }
        }
    }

    pub(super) fn unary(&mut self, unary: &ExprUnary) {
        let inner = self.source(&unary.expr).to_owned();
        let is_literal = matches!(*unary.expr, Expr::Lit(_));
        match unary.op {
            UnOp::Not(_) => self.instead("operator", unary, &inner),
            UnOp::Neg(_) if !is_literal => self.instead("operator", unary, &inner),
            _ => {}
        }
    }

    pub(super) fn literal(&mut self, literal: &ExprLit) {
        let to = match &literal.lit {
            Lit::Bool(value) => (!value.value).to_string(),
            Lit::Int(number) => match number.base10_parse::<u64>() {
                Ok(0) => format!("1{}", number.suffix()),
                Ok(1) => format!("0{}", number.suffix()),
                Ok(value) => format!("{}{}", value.saturating_add(1), number.suffix()),
                Err(_) => return,
            },
            Lit::Float(number) => match number.base10_parse::<f64>() {
                Ok(0.0) => format!("1.0{}", number.suffix()),
                Ok(value) => format!("{:?}{}", value * 1.1, number.suffix()),
                Err(_) => return,
            },
            _ => return,
        };
        self.instead("literal", literal, &to);
    }

    /// A named number where it is used.
    pub(super) fn path(&mut self, path: &ExprPath) {
        let last = path.path.segments.last().map(|segment| segment.ident.to_string());
        if let Some(change) = last.and_then(|name| self.constants.get(&name)) {
            let to = format!("{} {change}", self.source(path));
            self.instead("constant", path, &to);
        }
    }

    /// The end of a range one further, or one less.
    pub(super) fn interval(&mut self, range: &ExprRange) {
        let Some(end) = &range.end else { return };
        let change = match range.limits {
            RangeLimits::HalfOpen(_) => "+ 1",
            RangeLimits::Closed(_) => "- 1",
        };
        let from = self.source(range).to_owned();
        let end_text = format!("({}) {change}", self.source(end));
        let to = format!("{}{end_text}", &from[..from.len() - self.source(end).len()]);
        self.add("range", end.span(), &from, &to, Around::Instead(end_text));
    }

    /// The block of an `if` never entered, and where nothing else of its condition is changed, always.
    pub(super) fn conditional(&mut self, conditional: &ExprIf) {
        let cond = &*conditional.cond;
        let from = format!("if {}", self.source(cond));
        if has_let(cond) {
            self.add("condition", cond.span(), &from, &format!("{from} && false"), Around::AndNot);
            return;
        }
        self.add("condition", cond.span(), &from, "if false", Around::Never);
        let alone = !matches!(cond, Expr::Binary(_) | Expr::Unary(_));
        if alone || (leaves(&conditional.then_branch) && !matches!(cond, Expr::Unary(_))) {
            self.add("condition", cond.span(), &from, "if true", Around::Always);
        }
    }
}

//! Two variants of a rug while it is planned: the form carries the other one in a hidden field, `held`, so that nothing is
//! kept before it is asked for, and scripts aren't needed.
use crate::web::Form;

/// The field that carries the variant set aside.
const HELD: &str = "held";
/// Fields that belong to the form and not to a variant of the rug.
const OF_THE_FORM: &[&str] =
    &["key", "revision", "weaver", HELD, "hold", "swap", "drop", "look", "more", "band", "strand"];

/// Does what a button of the comparison asks; whether one did.
pub(super) fn act(form: &mut Form) -> bool {
    if form.ticked("hold") {
        form.set(HELD, form.serialize(OF_THE_FORM));
    } else if form.ticked("swap") {
        if let Some(mut other) = held(form) {
            other.key = form.key;
            other.set(HELD, form.serialize(OF_THE_FORM));
            for name in ["revision", "weaver"] {
                other.set(name, form.value(name));
            }
            *form = other;
        }
    } else if form.ticked("drop") {
        form.set(HELD, "");
    } else {
        return false;
    }
    true
}

/// The variant that was set aside.
pub(super) fn held(form: &Form) -> Option<Form> {
    (!form.is_empty(HELD)).then(|| form.deserialize(form.value(HELD)))
}

//! Which rod the first row begins at, as the guide's addresses and its papers' say it.
use crate::planning::locking::stepping::BeginAt;
use crate::web::Form;

/// At the left unless the address says otherwise.
pub(in crate::web) fn begin_at(form: Option<&Form>) -> BeginAt {
    if form.is_some_and(|form| form.value("begin") == "right") { BeginAt::Right } else { BeginAt::Left }
}

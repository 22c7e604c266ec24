//! Whose is it: every route, feed and paper as its owner, as another weaver, as nobody, as somebody who left, by a replaced
//! link, and as volunteer and instructor. Contents are compared, not only status: each person's things bear a mark, and
//! `design.md` (what must always hold, 8) says who may read it.
mod acts;
mod class;
mod forms;
mod kept;
mod looks;
mod one_view;
mod reading;
mod routes;
mod secrets;
mod ways;

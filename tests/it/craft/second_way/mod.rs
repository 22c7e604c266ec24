//! Every formula of one rug a second time, written apart from the program: by hand, by simulation, by counting. The program
//! is asked by what it prints (`reckon --json`, `solve`) where it prints the number, and else through `contact` alone.
mod book;
mod cloth_cut;
mod contact;
mod contact_build;
mod contact_class;
mod contact_figures;
mod contact_log;
mod explained;
mod lasting;
mod learning;
mod limits;
mod meetings;
mod notes;
mod pieced_rugs;
mod plans;
mod ranges;
mod reading_lengths;
mod rods_and_balls;
mod rug;
mod standing;
mod twining;
mod wound;

use contact::{Asked, reckon};

#[track_caller]
fn close(what: &str, got: f64, wanted: f64, part: f64) {
    let within = part * wanted.abs().max(1e-9);
    assert!(
        (got - wanted).abs() <= within,
        "{what}: the program says {got}, worked out apart it is {wanted}"
    );
}

//! Feeds the program with what nobody would type: inputs kept in `corpus/` and what chance makes of them, to whatever reads
//! something from outside.
//!
//! Each target reads one input, and panics where the program does what it must not: it panics itself, answers that it is at fault, refuses
//! without a reason, or shows something that doesn't read back as what was read. An input that takes longer than [`LONGEST`] is a
//! fault, too.
//!
//! It needs no other compiler than the program does. Fuzzers that follow what code was reached (`cargo-fuzz`, `afl`) need a build of
//! everything with other flags; where they have been, their findings are lines of the corpus.
#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a command that says what it found, and a test")]
mod corpus;
mod mutate;
mod targets;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use clap::Parser;

use crate::mutate::Dice;
use crate::targets::{ALL, Target};

/// The longest that one input may take: as long as the service may take for an answer.
const LONGEST: Duration = Duration::from_secs(30);

/// Feeds whatever reads something from outside with what nobody would type.
#[derive(Parser)]
struct Arguments {
    /// What is fed: lengths, tables, solve, requests; all of them where none is named.
    targets: Vec<String>,
    /// How long, in all.
    #[arg(long, default_value_t = 20)]
    seconds: u64,
    /// Which inputs chance makes.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// One input alone, written as in the corpus.
    #[arg(long)]
    input: Option<String>,
}

/// The input under way, and since when.
type Watched = Arc<Mutex<Option<(Instant, Vec<u8>)>>>;

/// Ends the program when one input takes too long: no other way leads out of a loop.
fn watch(name: &'static str, watched: Watched) {
    std::thread::spawn(move || {
        loop {
            std::thread::sleep(Duration::from_secs(1));
            let now = watched.lock().unwrap_or_else(PoisonError::into_inner).clone();
            if let Some((since, input)) = now
                && since.elapsed() > LONGEST
            {
                println!("{name}: takes longer than {LONGEST:?}:\n{}", corpus::written(&input));
                std::process::exit(1);
            }
        }
    });
}

/// What a run of one target came to.
#[derive(Debug, PartialEq, Eq)]
enum Ran {
    /// So many inputs, without a fault.
    Through(usize),
    /// The input that the program was at fault with.
    Fault(Vec<u8>),
}

/// Feeds a target with its corpus, then with what chance makes of it, until the time is over; the corpus is fed in any case.
fn feed(
    name: &'static str,
    seeds: &[Vec<u8>],
    words: &[&str],
    dice: &mut Dice,
    until: Instant,
    target: &mut dyn FnMut(&[u8]),
) -> Ran {
    let watched = Watched::default();
    watch(name, watched.clone());
    let mut number = 0;
    loop {
        let input = match seeds.get(number) {
            Some(seed) => seed.clone(),
            None if Instant::now() >= until => return Ran::Through(number),
            None => mutate::one(dice, seeds, words),
        };
        *watched.lock().unwrap() = Some((Instant::now(), input.clone()));
        let ended = catch_unwind(AssertUnwindSafe(|| target(&input)));
        *watched.lock().unwrap() = None;
        if ended.is_err() {
            return Ran::Fault(input);
        }
        number += 1;
    }
}

fn main() -> ExitCode {
    let asked = Arguments::parse();
    let chosen: Vec<&Target> = ALL
        .iter()
        .filter(|one| asked.targets.is_empty() || asked.targets.iter().any(|name| name == one.name))
        .collect();
    if chosen.is_empty() || asked.targets.len() > chosen.len() {
        println!("The targets are {}", ALL.map(|one| one.name).join(", "));
        return ExitCode::FAILURE;
    }
    let share = Duration::from_secs(asked.seconds) / u32::try_from(chosen.len()).unwrap();
    for one in chosen {
        let mut target = (one.make)();
        let seeds = match &asked.input {
            Some(line) => vec![corpus::read(line)],
            None => one.corpus.lines().map(corpus::read).collect(),
        };
        let until = if asked.input.is_some() { Instant::now() } else { Instant::now() + share };
        let mut dice = Dice(asked.seed);
        match feed(one.name, &seeds, one.words, &mut dice, until, &mut target) {
            Ran::Through(number) => {
                println!("{}: {number} inputs, {} of them kept ones", one.name, seeds.len());
            }
            Ran::Fault(input) => {
                let line = corpus::written(&input);
                println!("{}: at fault with\n{line}", one.name);
                println!("Once it is mended, that line belongs into tests/fuzz/corpus/{}.txt", one.name);
                return ExitCode::FAILURE;
            }
        }
    }
    ExitCode::SUCCESS
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_found_and_told_as_a_line_that_reads_back() {
        let seeds = vec![b"12 in".to_vec(), b"1 ft".to_vec()];
        let mut target = |input: &[u8]| assert!(!input.ends_with(b"ftft"), "found");
        let until = Instant::now() + Duration::from_mins(1);
        let Ran::Fault(found) = feed("test", &seeds, &["ft"], &mut Dice(1), until, &mut target) else {
            panic!("not found within a minute");
        };
        assert!(found.ends_with(b"ftft"));
        assert_eq!(corpus::read(&corpus::written(&found)), found);
        // The same seed finds the same.
        let again = feed("test", &seeds, &["ft"], &mut Dice(1), until, &mut target);
        assert_eq!(again, Ran::Fault(found));
    }

    /// All targets with their corpora and for a while with what chance makes of them; `THRUMHALL_FUZZ_SECONDS` says how long in all.
    #[test]
    fn whatever_is_fed_the_program_is_not_at_fault() {
        let seconds = std::env::var("THRUMHALL_FUZZ_SECONDS").map_or(4, |text| text.parse().unwrap());
        let share = Duration::from_secs(seconds) / ALL.len() as u32;
        for one in &ALL {
            let seeds: Vec<_> = one.corpus.lines().map(corpus::read).collect();
            let until = Instant::now() + share;
            let ran = feed(one.name, &seeds, one.words, &mut Dice(1), until, &mut (one.make)());
            match ran {
                Ran::Through(number) => assert!(number >= seeds.len()),
                Ran::Fault(input) => panic!("{}: at fault with\n{}", one.name, corpus::written(&input)),
            }
        }
    }

    #[test]
    fn the_corpus_is_fed_even_when_no_time_is_left() {
        let seeds = vec![b"a".to_vec(), b"b".to_vec()];
        let mut fed = Vec::new();
        let ran =
            feed("test", &seeds, &[], &mut Dice(1), Instant::now(), &mut |input| fed.push(input.to_vec()));
        assert_eq!((ran, fed), (Ran::Through(2), seeds));
    }

    #[test]
    fn every_kept_input_is_written_as_it_would_be_told() {
        for one in ALL {
            for line in one.corpus.lines() {
                assert_eq!(corpus::written(&corpus::read(line)), line, "{}", one.name);
            }
        }
    }
}

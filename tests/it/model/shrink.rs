//! The shortest sequence at hand that still fails. Acts mean something in any sequence, so they are simply left out:
//! first all after the one that failed, then halves, quarters and so on, then one by one.
use super::acts::Act;

/// Where the service and the model part: after how many acts, and in what.
pub struct Parted {
    pub after: usize,
    pub why: String,
}

/// So many sequences are tried at most.
const TRIES: usize = 120;

/// A short sequence that fails, and how, from one that failed.
pub fn smallest(mut acts: Vec<Act>, fails: impl Fn(&[Act]) -> Option<Parted>) -> (Vec<Act>, String) {
    let Some(Parted { after, mut why }) = fails(&acts) else {
        return (acts, "It failed once, and then no more: something in it hangs on chance.".to_owned());
    };
    acts.truncate(after);
    let (mut chunk, mut tries) = (acts.len() / 2, 0);
    while chunk > 0 && tries < TRIES {
        let (mut at, before) = (0, acts.len());
        while at < acts.len() && tries < TRIES {
            let end = (at + chunk).min(acts.len());
            let fewer: Vec<Act> = acts[..at].iter().chain(&acts[end..]).cloned().collect();
            tries += 1;
            match fails(&fewer) {
                Some(parted) => {
                    acts = fewer;
                    acts.truncate(parted.after);
                    why = parted.why;
                }
                None => at = end,
            }
        }
        if chunk > 1 || acts.len() == before {
            chunk /= 2;
        }
    }
    (acts, why)
}

//! The line rate, found from what is heard at trial rates while a person keeps tapping a button.
//!
//! Each trial rate distorts a sender of another rate in its own way: a receiver faster than the sender sees each bit
//! several times, a slower one skips bits. What was heard is held against what each sender would have given
//! ([`expectation`]), and the likeliest is tried. A rate is answered only when whole lines or good frames came at it
//! and, at another rate, they did not. Readable bytes alone prove nothing: some wrong rates give many.

pub mod banner;
pub mod clock;
pub mod expectation;
pub mod trial;
pub mod uart;
pub mod verdict;

use std::sync::Arc;

use wheeltap_parsers::Profile;

use banner::Banners;
use expectation::{Expectations, RATES, scale, senders};
use trial::Trial;
use uart::HeardByte;
pub use verdict::Verdict;

/// The rate tried first when nothing else is known: the usual one of such links (common practice, no source).
pub const FIRST: u32 = 115_200;

/// Senders less likely than the likeliest by more than this, in natural logarithms, are not tried for now.
const FAR_BEHIND: f64 = 8.0;

/// Senders less likely than that are ruled out when the answer can only be fenced in: generous, to be honest.
const RULED_OUT: f64 = 20.0;

/// So far ahead of all others, a sender is tried at once.
const FAR_AHEAD: f64 = 5.0;

/// Bytes count less than their likelihood: those of one order belong together, and every link has words of its own.
const TEMPER: f64 = 0.5;

/// The same for a trial slower than the sender, where bits are skipped and the words decide most of what comes.
const TEMPER_SLOWER: f64 = 0.25;

/// Bursts at one rate before another is tried in any case.
const BURSTS: usize = 2;

/// Bursts that do not read clean before a rate is refused.
const REFUSED: usize = 2;

/// Fewest bytes from which anything is said.
const FEW: usize = 8;

/// What the models say, worked out once for any number of searches.
#[derive(Clone, Debug, Default)]
pub struct Models {
    expectations: Expectations,
    banners: Banners,
}

/// A search under way.
#[derive(Clone, Debug)]
pub struct Search {
    models: Arc<Models>,
    profile: Option<Arc<Profile>>,
    trials: Vec<Trial>,
    rate: u32,
    /// Start-up text heard: at which rate it was printed.
    banners: Vec<u32>,
}

impl Search {
    /// A search that begins at `first` baud, which must be one of [`RATES`]. With `profile`, frames count too.
    pub fn new(models: Arc<Models>, first: u32, profile: Option<Arc<Profile>>) -> Self {
        let rate = if RATES.contains(&first) { first } else { FIRST };
        Self { models, profile, trials: Vec::new(), rate, banners: Vec::new() }
    }

    /// The rate to listen at now, baud.
    pub const fn rate(&self) -> u32 {
        self.rate
    }

    /// Takes what one tap gave at [`Search::rate`]: the bytes between two silences, or a part `cut` out of a stream
    /// that has none. Then ask for the rate again.
    pub fn hear(&mut self, burst: &[HeardByte], cut: bool) {
        if burst.is_empty() {
            return;
        }
        if let Some(printed) = self.models.banners.printed_at(self.rate, burst) {
            self.banners.push(printed);
            return;
        }
        let (rate, profile) = (self.rate, self.profile.clone());
        self.trial(rate).take(burst, cut, profile.as_ref());
        self.rate = self.next_rate();
    }

    fn trial(&mut self, rate: u32) -> &mut Trial {
        let place = self.trials.iter().position(|trial| trial.rate == rate).unwrap_or_else(|| {
            self.trials.push(Trial::new(rate));
            self.trials.len() - 1
        });
        &mut self.trials[place]
    }

    fn of(&self, rate: u32) -> Option<&Trial> {
        self.trials.iter().find(|trial| trial.rate == rate)
    }

    /// Whether the port tells of framing errors: it has told of one.
    fn told(&self) -> bool {
        self.trials.iter().any(|trial| trial.framing_errors() > 0)
    }

    /// The senders with how likely they are, likeliest first.
    fn ranked(&self) -> Vec<(u32, f64)> {
        let told = self.told();
        let mut ranked: Vec<(u32, f64)> = senders().map(|sender| (sender, self.likely(sender, told))).collect();
        ranked.sort_by(|one, other| other.1.total_cmp(&one.1).then(one.0.cmp(&other.0)));
        ranked
    }

    fn likely(&self, sender: u32, told: bool) -> f64 {
        let of = |trial: &Trial| -> f64 {
            let log = |burst: &Vec<HeardByte>| self.models.expectations.log(sender, trial.rate, burst, told);
            let own = if trial.rate == sender { 4.0 * trial.clean as f64 - 6.0 * trial.unclean() as f64 } else { 0.0 };
            temper(sender, trial.rate) * (trial.bursts.iter().map(log).sum::<f64>() - even(trial)) + own
        };
        self.trials.iter().map(of).sum()
    }

    fn refused(&self, rate: u32) -> bool {
        self.of(rate).is_some_and(|trial| trial.unclean() >= REFUSED && !trial.reads_clean())
    }

    fn next_rate(&self) -> u32 {
        if let Some(clean) = self.trials.iter().find(|trial| trial.reads_clean()) {
            return if self.control(clean.rate).is_some() { clean.rate } else { beside(clean.rate) };
        }
        let here = self.of(self.rate);
        let may = |rate: u32| RATES.contains(&rate) && !self.refused(rate);
        if here.is_some_and(|trial| trial.clean > 0 && trial.unclean() <= trial.clean) && may(self.rate) {
            return self.rate;
        }
        let ranked: Vec<(u32, f64)> = self.ranked().into_iter().filter(|(rate, _)| may(*rate)).collect();
        let Some((best, top)) = ranked.first().copied() else { return self.least_heard() };
        let second = ranked.get(1).map_or(f64::NEG_INFINITY, |(_, score)| *score);
        if top - second > FAR_AHEAD {
            return best;
        }
        if here.is_some_and(|trial| trial.bursts.len() < BURSTS && trial.bytes() < FEW) {
            return self.rate;
        }
        // Faster than the sender tells more than slower: each bit is seen.
        let near = ranked.iter().filter(|(_, score)| top - score <= FAR_BEHIND).map(|(rate, _)| *rate);
        near.filter(|rate| self.of(*rate).is_none()).max().unwrap_or(best)
    }

    fn least_heard(&self) -> u32 {
        let heard = |rate: &u32| self.of(*rate).map_or(0, Trial::bytes);
        RATES.into_iter().min_by_key(heard).unwrap_or(FIRST)
    }

    /// A trial at another rate, at which the taps did not read clean.
    fn control(&self, rate: u32) -> Option<&Trial> {
        self.trials.iter().find(|trial| trial.rate != rate && (trial.unclean() > 0 || trial.reads_clean()))
    }

    /// The answer, once it is certain.
    pub fn certain(&self) -> Option<Verdict> {
        let clean: Vec<&Trial> = self.trials.iter().filter(|trial| trial.reads_clean()).collect();
        match clean.as_slice() {
            [] => None,
            [one] => {
                self.control(one.rate)?;
                let others: Vec<&Trial> = self.trials.iter().filter(|trial| trial.rate != one.rate).collect();
                Some(Verdict::Found { rate: one.rate, clock: clock::error(one, &others, self.told()) })
            }
            _ => Some(Verdict::SameAtEveryRate),
        }
    }

    /// The best that can be said now.
    pub fn so_far(&self) -> Verdict {
        let bytes = self.trials.iter().map(Trial::bytes).sum();
        match self.certain() {
            Some(verdict) => verdict,
            None if bytes < FEW => Verdict::TooFew { bytes },
            None => self.bounds(),
        }
    }

    fn bounds(&self) -> Verdict {
        let told = self.told();
        let close = |sender: u32| -> f64 {
            let of = |trial: &Trial| {
                let log = |burst: &Vec<HeardByte>| self.models.expectations.log_close(sender, trial.rate, burst, told);
                temper(sender, trial.rate) * (trial.bursts.iter().map(log).sum::<f64>() - even(trial))
            };
            self.trials.iter().map(of).sum()
        };
        let scored: Vec<(u32, f64)> = scale().map(|sender| (sender, close(sender))).collect();
        let top = scored.iter().map(|(_, score)| *score).fold(f64::NEG_INFINITY, f64::max);
        let near = |(_, score): &&(u32, f64)| top - score <= RULED_OUT;
        let (slowest, fastest) = (scored.iter().find(near), scored.iter().rev().find(near));
        Verdict::Bounded {
            at_least: slowest.filter(|one| Some(*one) != scored.first()).map(|(rate, _)| rate - rate / 25),
            at_most: fastest.filter(|one| Some(*one) != scored.last()).map(|(rate, _)| rate + rate / 25),
        }
    }

    /// Why, in words: one line for each thing that speaks for it.
    pub fn evidence(&self) -> Vec<String> {
        let mut lines: Vec<String> = self.trials.iter().map(|trial| self.heard_words(trial)).collect();
        if !self.trials.is_empty() && !self.told() {
            lines.push("The port told of no framing errors: it may not tell of them at all.".to_owned());
        }
        if let Some(printed) = self.banners.last() {
            lines.push(format!(
                "Start-up text of a chip came {} times, printed at {printed} baud. It has a rate of its own and was \
                 left out.",
                self.banners.len()
            ));
        }
        lines
    }

    fn heard_words(&self, trial: &Trial) -> String {
        let mut words = format!(
            "At {} baud: {} bytes in {} bursts, {} of them whole lines or frames",
            trial.rate,
            trial.bytes(),
            trial.bursts.len(),
            trial.clean
        );
        if trial.lines > 0 {
            words += &format!(", {} complete lines", trial.lines);
        }
        if self.profile.is_some() {
            words += &format!(", {} good frames of the rover file", trial.frames);
        }
        if self.told() {
            words += &format!(", {} framing errors", trial.framing_errors());
        }
        words + "."
    }
}

/// The likeliest sender of what was heard at `rate` alone, and how much likelier it is than one of that rate and than
/// bytes of no sender, in natural logarithms.
pub fn likeliest(models: &Models, rate: u32, bursts: &[Vec<HeardByte>]) -> Option<(u32, f64)> {
    let even: f64 = bursts.iter().map(|burst| burst.len() as f64 * -(256.0_f64.ln())).sum();
    let likely = |sender: u32| -> f64 {
        let log: f64 = bursts.iter().map(|burst| models.expectations.log(sender, rate, burst, false)).sum();
        temper(sender, rate) * (log - even)
    };
    let own = likely(rate);
    let best = senders().map(|sender| (sender, likely(sender))).max_by(|one, other| one.1.total_cmp(&other.1))?;
    Some((best.0, best.1 - own.max(0.0)))
}

/// How much bytes count that were heard at `rate` of this sender.
fn temper(sender: u32, rate: u32) -> f64 {
    if rate < sender { TEMPER_SLOWER } else { TEMPER }
}

/// The logarithm for bytes as likely as any other: no evidence, so it counts as nought.
fn even(trial: &Trial) -> f64 {
    trial.bytes() as f64 * -(256.0_f64.ln())
}

/// A rate for the control: far enough that nothing reads clean there, near enough that something comes.
fn beside(rate: u32) -> u32 {
    let place = RATES.iter().position(|known| *known == rate).unwrap_or(0);
    let faster = RATES.iter().skip(place + 1).find(|known| f64::from(**known) >= f64::from(rate) * 1.4);
    let slower = || RATES.iter().take(place).rev().find(|known| f64::from(**known) <= f64::from(rate) * 0.7);
    faster.or_else(slower).copied().unwrap_or(FIRST)
}

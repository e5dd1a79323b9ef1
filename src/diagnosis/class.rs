//! Classes: hypotheses that the tests on hand cannot tell apart.

use crate::diagnosis::hypothesis::Hypothesis;
use crate::diagnosis::posterior::Posterior;
use crate::diagnosis::prediction::{Predictions, Question};
use crate::diagnosis::space::Space;
use crate::diagnosis::test::Test;

/// Classes below this probability are left out of a ranking (their members are still weighed).
pub const LEAST: f64 = 1e-6;

/// Members listed in one class; the rest are counted.
pub const MOST_MEMBERS: usize = 12;

/// One class.
#[derive(Clone, Debug, PartialEq)]
pub struct Class {
    /// Probability of the whole class, 0 to 1.
    pub probability: f64,
    /// Its likeliest members, likeliest first.
    pub members: Vec<Member>,
    /// How many members it has, listed or not.
    pub count: usize,
}

/// One member of a class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Member {
    /// Its place in the space.
    pub place: usize,
    /// What it says is wrong.
    pub hypothesis: Hypothesis,
    /// Its probability, 0 to 1.
    pub probability: f64,
}

/// By hypothesis: the number of its class.
#[derive(Clone, Debug)]
pub struct Partition {
    class: Vec<u32>,
    count: usize,
}

impl Partition {
    /// Splits a space by these questions, each asked of the rover after its exchanges.
    ///
    /// Hypotheses are compared by a 64-bit sum over all their answers; two different ones agree by chance about once
    /// in 10^9 spaces of 130,000.
    pub fn new(space: &Space, questions: &[(&Predictions, Question)]) -> Self {
        let mut sums = vec![0_u64; space.len()];
        for (number, (predictions, question)) in questions.iter().enumerate() {
            predictions.blocks(space, *question, |at, answers| {
                let places = sums.iter_mut().skip(at);
                for (sum, answer) in places.zip(answers) {
                    *sum = sum.wrapping_add(scatter((number as u64) << 8 | u64::from(*answer)));
                }
            });
        }
        Self::by_sum(&sums)
    }

    /// Classes are numbered by their first member.
    fn by_sum(sums: &[u64]) -> Self {
        let mut order: Vec<u32> = (0..sums.len() as u32).collect();
        order.sort_unstable_by_key(|place| (sums[*place as usize], *place));
        let mut first = vec![0_u32; sums.len()];
        let mut leader = 0;
        for (index, place) in order.iter().enumerate() {
            let starts = index == 0 || sums[order[index - 1] as usize] != sums[*place as usize];
            leader = if starts { *place } else { leader };
            first[*place as usize] = leader;
        }
        let mut number = vec![0_u32; sums.len()];
        let mut count = 0;
        for place in 0..first.len() {
            if first[place] as usize == place {
                number[place] = count;
                count += 1;
            }
        }
        Self { class: first.iter().map(|leader| number[*leader as usize]).collect(), count: count as usize }
    }

    /// How many classes.
    pub const fn count(&self) -> usize {
        self.count
    }

    /// The class of the hypothesis at this place.
    pub fn class_of(&self, place: usize) -> Option<usize> {
        self.class.get(place).map(|class| *class as usize)
    }

    /// Classes above [`LEAST`], likeliest first.
    pub fn ranked(&self, space: &Space, posterior: &Posterior) -> Vec<Class> {
        let mut sums = vec![(0.0, 0_usize); self.count];
        for (class, probability) in self.class.iter().zip(posterior.probabilities()) {
            let sum = &mut sums[*class as usize];
            *sum = (sum.0 + probability, sum.1 + 1);
        }
        let mut members = vec![Vec::new(); self.count];
        for (place, class) in self.class.iter().enumerate() {
            if sums[*class as usize].0 >= LEAST {
                members[*class as usize].push(place);
            }
        }
        let kept = sums.into_iter().zip(members).filter(|((probability, _), _)| *probability >= LEAST);
        let mut classes: Vec<Class> = kept
            .map(|((probability, count), places)| Class {
                probability,
                members: listed(space, posterior, &places),
                count,
            })
            .collect();
        classes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        classes
    }
}

/// The likeliest of these, likeliest first; of equals the one with fewer faults, then the earlier.
fn listed(space: &Space, posterior: &Posterior, places: &[usize]) -> Vec<Member> {
    let member = |place: &usize| Member {
        place: *place,
        hypothesis: space.hypothesis(*place),
        probability: posterior.probability(*place),
    };
    let mut members: Vec<Member> = places.iter().map(member).collect();
    members.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.place.cmp(&b.place)));
    members.truncate(MOST_MEMBERS);
    members
}

/// The questions a test asks.
pub const fn question(test: Test) -> Option<Question> {
    match test {
        Test::Tape | Test::Correction => None,
        Test::Look => Some(Question::Rollers),
        Test::Stand(order, duty) => Some(Question::Wheels(order, duty)),
        Test::Floor(row, duty) => Some(Question::Body(row, duty)),
    }
}

/// Spreads a number over 64 bits (splitmix64's finaliser; G. Steele, D. Lea, C. Flood, OOPSLA 2014, from memory).
const fn scatter(number: u64) -> u64 {
    let mut z = number.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

//! Shares of a ranking as whole per cents that add up.

/// What is surer than this is never given a number: it is `over 99 %`.
const MOST: f64 = 0.99;

/// Each probability in words. Whole per cents add up to 100 when they stand for everything, to less where a share below
/// one per cent stands beside them. Certainty and impossibility are never claimed.
pub fn words(probabilities: &[f64]) -> Vec<String> {
    let whole = whole(probabilities);
    let word = |(probability, whole): (&f64, Option<u32>)| match whole {
        _ if *probability > MOST => "over 99 %".to_owned(),
        Some(whole) => format!("{whole} %"),
        None => "< 1 %".to_owned(),
    };
    probabilities.iter().zip(whole).map(word).collect()
}

/// Whole per cents by the largest remainder; `None` for what lies below one per cent.
fn whole(probabilities: &[f64]) -> Vec<Option<u32>> {
    let shares: Vec<f64> = probabilities.iter().map(|probability| probability * 100.0).collect();
    let large = |share: &f64| *share >= 1.0;
    let sum: f64 = shares.iter().filter(|share| large(share)).sum();
    let floors: u32 = shares.iter().filter(|share| large(share)).map(|share| *share as u32).sum();
    let spare = ((sum + 1e-6) as u32).saturating_sub(floors) as usize;
    let mut order: Vec<usize> = (0..shares.len()).filter(|place| large(&shares[*place])).collect();
    order.sort_by(|a, b| shares[*b].fract().total_cmp(&shares[*a].fract()).then(a.cmp(b)));
    let raised: Vec<usize> = order.into_iter().take(spare).collect();
    let one = |(place, share): (usize, &f64)| large(share).then(|| *share as u32 + u32::from(raised.contains(&place)));
    shares.iter().enumerate().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thirds_add_up_to_a_hundred() {
        assert_eq!(words(&[1.0 / 3.0; 3]), ["34 %", "33 %", "33 %"]);
        assert_eq!(words(&[0.985, 0.015]), ["99 %", "1 %"]);
    }

    #[test]
    fn what_is_small_or_sure_is_not_rounded_away() {
        assert_eq!(words(&[0.604, 0.392, 0.004]), ["60 %", "39 %", "< 1 %"]);
        assert_eq!(words(&[0.9996, 0.0004, 0.0]), ["over 99 %", "< 1 %", "< 1 %"]);
    }

    #[test]
    fn whole_shares_never_exceed_a_hundred() {
        for split in 1..500 {
            let share = f64::from(split) / 1000.0;
            let all = [share, share * share, 1.0 - share - share * share];
            let sum: u32 = whole(&all).into_iter().flatten().sum();
            let small = all.iter().any(|one| *one < 0.01);
            assert!(sum == 100 || (small && (98..100).contains(&sum)), "{all:?}: {sum}");
        }
    }
}

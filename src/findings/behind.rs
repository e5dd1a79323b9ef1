//! What is behind a symptom: the causes that its troubles were put down to, so that a finding names the layer that the
//! verdict names.

use std::collections::BTreeMap;

use crate::findings::Layer;
use crate::findings::attribution::cause::Cause;
use crate::findings::ledger::Words;

/// The troubles of one symptom, counted by cause.
#[derive(Clone, Debug, Default)]
pub struct Behind {
    causes: BTreeMap<Cause, u64>,
}

impl Behind {
    /// One more trouble has its cause.
    pub fn add(&mut self, cause: Cause) {
        *self.causes.entry(cause).or_default() += 1;
    }

    /// The cause that explains most; of equal ones the one that stands first in [`Cause::ALL`].
    pub fn most(&self) -> Option<Cause> {
        let by_count = |(cause, count): &(&Cause, &u64)| (**count, std::cmp::Reverse(**cause));
        self.causes.iter().max_by_key(by_count).map(|(cause, _)| *cause)
    }

    /// The layer that explains more than half; `otherwise` while no cause is decided, and [`Layer::Untold`] where no
    /// layer does.
    pub fn layer(&self, otherwise: Layer) -> Layer {
        let all: u64 = self.causes.values().sum();
        let mut layers: BTreeMap<Layer, u64> = BTreeMap::new();
        for (cause, count) in &self.causes {
            *layers.entry(cause.layer().unwrap_or(Layer::Untold)).or_default() += count;
        }
        let most = layers.into_iter().find(|(_, count)| 2 * count > all).map(|(layer, _)| layer);
        if all == 0 { otherwise } else { most.unwrap_or(Layer::Untold) }
    }

    /// To go behind what a finding says: `; behind it: ` and each cause with its count, most first. Empty while no cause
    /// is decided, and where the only one is what the rule says anyway, one of its `own`.
    pub fn words(&self, own: &[Cause]) -> String {
        if let [cause] = self.causes.keys().copied().collect::<Vec<_>>().as_slice() {
            return if own.contains(cause) { String::new() } else { format!("; behind it: {}", cause.says()) };
        }
        let mut parts: Vec<(Cause, u64)> = self.causes.iter().map(|(cause, count)| (*cause, *count)).collect();
        parts.sort_by_key(|(cause, count)| (std::cmp::Reverse(*count), *cause));
        let each: Vec<String> = parts.iter().map(|(cause, count)| format!("{} ({count})", cause.says())).collect();
        if each.is_empty() { String::new() } else { format!("; behind it: {}", each.join("; ")) }
    }

    /// The rule's words with the layer that explains most, and with what to do about the cause that does, where that is
    /// not one that the rule's own advice is for.
    pub fn into_words(&self, words: &Words, own: &[Cause]) -> Words {
        let advice = self.most().filter(|cause| !own.contains(cause)).and_then(Cause::what_to_do);
        Words { layer: self.layer(words.layer), what_to_do: advice.unwrap_or(words.what_to_do), ..*words }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn behind(causes: &[(Cause, u64)]) -> Behind {
        Behind { causes: causes.iter().copied().collect() }
    }

    #[test]
    fn the_layer_that_explains_more_than_half_is_named() {
        let rows: [(&[(Cause, u64)], Layer); 6] = [
            (&[], Layer::CommandBoard),
            (&[(Cause::Wire, 3), (Cause::Radio, 1)], Layer::Wire),
            (&[(Cause::HeldUp, 2), (Cause::SendsOnChange, 2), (Cause::Radio, 3)], Layer::CommandBoard),
            (&[(Cause::Wire, 2), (Cause::Radio, 2)], Layer::Untold),
            (&[(Cause::CannotTell, 3), (Cause::Stopped, 1), (Cause::Wire, 3)], Layer::Untold),
            (&[(Cause::CannotTell, 2), (Cause::Wire, 3)], Layer::Wire),
        ];
        for (causes, due) in rows {
            assert_eq!(behind(causes).layer(Layer::CommandBoard), due, "{causes:?}");
        }
    }

    #[test]
    fn causes_are_told_most_first() {
        let text = behind(&[(Cause::Radio, 1), (Cause::Wire, 12)]).words(&[Cause::Wire]);
        assert_eq!(
            text,
            "; behind it: frames were hit on the wire (12); messages of the panel were lost in the air (1)"
        );
        assert_eq!(behind(&[(Cause::Wire, 12)]).words(&[]), "; behind it: frames were hit on the wire");
        assert_eq!(behind(&[(Cause::Wire, 12)]).words(&[Cause::Wire]), "");
        assert_eq!(behind(&[]).words(&[]), "");
    }
}

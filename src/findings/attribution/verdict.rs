//! The verdict: where to look, with the share of all trouble that each layer explains, and what is left.

use std::collections::{BTreeMap, BTreeSet};

use super::cause::Cause;
use super::trouble::Trouble;
use crate::findings::{Finding, Layer, Severity};

/// Findings whose troubles are in the ledger, each with its cause, so that their layers have their share already: by id,
/// with the troubles that they tell of.
const IN_LEDGER: &[(&str, &[Trouble])] = &[
    ("silent-while-moving", &[Trouble::Silence]),
    ("lapse", &[Trouble::Lapse]),
    ("sends-on-change", &[Trouble::Lapse]),
    ("reset", &[Trouble::Start, Trouble::SequenceRestart]),
    ("reset-brown-out", &[Trouble::Start]),
    ("reset-watchdog", &[Trouble::Start]),
    ("reset-crash", &[Trouble::Start]),
    ("reset-power", &[Trouble::Start]),
    ("start-fails", &[Trouble::Start]),
    ("glued-at-start", &[Trouble::Glued]),
    ("refused-intact", &[Trouble::Refused]),
    ("bad-check", &[Trouble::Damage]),
    ("truncated", &[Trouble::Damage]),
    ("overlong", &[Trouble::Damage]),
    ("glued", &[Trouble::Damage]),
    ("out-of-range", &[Trouble::Damage]),
    ("not-a-number", &[Trouble::Damage]),
    ("unknown-word", &[Trouble::Damage]),
    ("no-end-mark", &[Trouble::Damage]),
    ("noise-with-duty", &[Trouble::Damage, Trouble::Noise]),
    ("clock-off", &[Trouble::Damage]),
    ("nearly-an-order", &[Trouble::Nearly, Trouble::Noise]),
    ("late", &[Trouble::Late]),
    ("bunched", &[Trouble::Bunch, Trouble::Late]),
    ("sequence-gap", &[Trouble::SequenceGap]),
    ("sequence-order", &[Trouble::SequenceOrder]),
    ("panel-gap", &[Trouble::PanelJump]),
    ("two-panels", &[Trouble::PanelJump, Trouble::PanelBack]),
    ("noise", &[Trouble::Noise]),
    ("nothing-fits", &[Trouble::Damage, Trouble::Noise]),
    ("wrong-rate", &[Trouble::Damage, Trouble::Noise]),
    ("port-gone", &[Trouble::Deaf]),
    ("bytes-not-kept", &[Trouble::Deaf]),
    ("bytes-missing", &[Trouble::Deaf]),
];

/// Where to look. A pure function of the ledger of causes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verdict {
    /// All troubles observed, those that wait included.
    pub troubles: u64,
    /// Troubles whose horizon is still open.
    pub undecided: u64,
    /// Troubles whose layer cannot be told.
    pub unexplained: u64,
    /// Layers that explain some, most first.
    pub layers: Vec<Share>,
    /// Every cause with what it explains, most first; those without a layer last.
    pub causes: Vec<Part>,
    /// Where else to look: what was found that is no single trouble and so has no share, by layer.
    pub besides: Vec<Beside>,
}

/// Findings that have no share of the troubles.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Beside {
    /// The layer.
    pub layer: Layer,
    /// Their ids, the worst first.
    pub findings: Vec<&'static str>,
}

/// What one layer explains.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Share {
    /// The layer.
    pub layer: Layer,
    /// How many troubles.
    pub count: u64,
}

/// What one cause explains.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// The cause.
    pub cause: Cause,
    /// How many troubles.
    pub count: u64,
    /// Of which sort how many.
    pub of: Vec<(Trouble, u64)>,
}

impl Verdict {
    /// The verdict of a ledger with so many more waiting.
    pub(super) fn of(ledger: &BTreeMap<(Cause, Trouble), u64>, undecided: u64) -> Self {
        let mut causes: Vec<Part> = Vec::new();
        for ((cause, trouble), count) in ledger {
            match causes.last_mut().filter(|part| part.cause == *cause) {
                Some(part) => {
                    part.count += count;
                    part.of.push((*trouble, *count));
                }
                None => causes.push(Part { cause: *cause, count: *count, of: vec![(*trouble, *count)] }),
            }
        }
        causes.sort_by_key(|part| (part.cause.layer().is_none(), std::cmp::Reverse(part.count), part.cause));
        let unexplained = causes.iter().filter(|part| part.cause.layer().is_none()).map(|part| part.count).sum();
        let troubles = ledger.values().sum::<u64>() + undecided;
        Self { troubles, undecided, unexplained, layers: layers(&causes), causes, besides: Vec::new() }
    }

    /// The same with those of these findings, notes left out, whose troubles are not in the ledger.
    pub(super) fn beside(mut self, findings: &[Finding]) -> Self {
        let troubles: BTreeSet<Trouble> =
            self.causes.iter().flat_map(|part| &part.of).map(|(trouble, _)| *trouble).collect();
        let counted = |finding: &&Finding| {
            let of = IN_LEDGER.iter().find(|(id, _)| *id == finding.id).map(|(_, of)| *of);
            of.is_some_and(|of| of.iter().any(|trouble| troubles.contains(trouble)))
        };
        for finding in findings.iter().filter(|one| one.severity != Severity::Note && !counted(one)) {
            match self.besides.iter_mut().find(|beside| beside.layer == finding.layer) {
                Some(beside) if beside.findings.contains(&finding.id) => {}
                Some(beside) => beside.findings.push(finding.id),
                None => self.besides.push(Beside { layer: finding.layer, findings: vec![finding.id] }),
            }
        }
        self
    }

    /// A share of all troubles, in whole per cent.
    pub fn percent(&self, count: u64) -> u64 {
        (count * 100 + self.troubles / 2) / self.troubles.max(1)
    }

    /// In words: the head line, then one line for each cause. Empty when nothing was amiss.
    pub fn words(&self) -> Vec<String> {
        if self.troubles == 0 {
            return self.beside_words("Where to look: ").into_iter().collect();
        }
        let shares = self.layers.iter().map(|share| self.share(share.layer.id(), share.count));
        let open = [("cannot be told", self.unexplained), ("not decided yet", self.undecided)];
        let open = open.into_iter().filter(|(_, count)| *count > 0).map(|(words, count)| self.share(words, count));
        let head = format!(
            "Where to look, of {} {}: {}.",
            self.troubles,
            if self.troubles == 1 { "trouble" } else { "troubles" },
            shares.chain(open).collect::<Vec<_>>().join(", ")
        );
        let causes = self.causes.iter().map(part_words);
        std::iter::once(head).chain(causes).chain(self.beside_words("    also: ")).collect()
    }

    fn beside_words(&self, before: &str) -> Option<String> {
        let each = self.besides.iter().map(|beside| format!("{} ({})", beside.layer.id(), beside.findings.join(", ")));
        let each: Vec<String> = each.collect();
        (!each.is_empty()).then(|| format!("{before}{}", each.join("; ")))
    }

    fn share(&self, words: &str, count: u64) -> String {
        format!("{words} {count} ({} %)", self.percent(count))
    }
}

fn part_words(part: &Part) -> String {
    let layer = part.cause.layer().map_or("not known", Layer::id);
    let of: Vec<String> = part.of.iter().map(|(trouble, count)| format!("{count} {}", trouble.words(*count))).collect();
    format!("    {layer}: {} ({})", part.cause.says(), of.join(", "))
}

fn layers(causes: &[Part]) -> Vec<Share> {
    let mut layers: Vec<Share> = Vec::new();
    for (layer, count) in causes.iter().filter_map(|part| Some((part.cause.layer()?, part.count))) {
        match layers.iter_mut().find(|share| share.layer == layer) {
            Some(share) => share.count += count,
            None => layers.push(Share { layer, count }),
        }
    }
    layers.sort_by_key(|share| (std::cmp::Reverse(share.count), share.layer));
    layers
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_add_up_and_the_largest_stands_first() {
        let ledger = BTreeMap::from([
            ((Cause::Radio, Trouble::Lapse), 3),
            ((Cause::SendsOnChange, Trouble::Lapse), 37),
            ((Cause::CommandSupply, Trouble::Lapse), 2),
            ((Cause::CommandSupply, Trouble::Start), 2),
            ((Cause::CannotTell, Trouble::Lapse), 1),
        ]);
        let verdict = Verdict::of(&ledger, 5);
        assert_eq!((verdict.troubles, verdict.undecided, verdict.unexplained), (50, 5, 1));
        let shares: Vec<(Layer, u64)> = verdict.layers.iter().map(|share| (share.layer, share.count)).collect();
        assert_eq!(shares, [(Layer::CommandBoard, 37), (Layer::Power, 4), (Layer::Panel, 3)]);
        let all: u64 = shares.iter().map(|(_, count)| count).sum::<u64>() + verdict.unexplained + verdict.undecided;
        assert_eq!(all, verdict.troubles);
        assert_eq!(verdict.percent(37), 74);
        assert_eq!(verdict.causes.last().map(|part| part.cause), Some(Cause::CannotTell));
    }

    #[test]
    fn nothing_amiss_says_nothing() {
        assert_eq!(Verdict::of(&BTreeMap::new(), 0).words(), Vec::<String>::new());
    }
}

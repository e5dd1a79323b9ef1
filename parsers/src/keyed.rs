//! Keyed values: every key once with its value, in whatever order the sender writes them.

use memchr::memmem;

use crate::damage::Cause;
use crate::fields::Field;
use crate::layout::{PROOF, Slot, can_begin, field_size, fixed, leaf, note};
use crate::profile::{Keyed, Kind};

/// Most keyed values of one kind: one bit each tells which were there.
pub(crate) const MOST: usize = 64;

impl Keyed {
    /// Fewest and most bytes of all items.
    pub(crate) fn size(&self, kind: &Kind) -> (usize, usize) {
        let between = self.between.len() * self.items.len().saturating_sub(1);
        let sizes =
            self.items.iter().map(|(key, field)| (key.len(), kind.fields.get(*field).map_or((0, 0), field_size)));
        sizes.fold((between, between), |(least, most), (key, field)| {
            (least.saturating_add(key + field.0), most.saturating_add(key).saturating_add(field.1))
        })
    }

    /// Whether the bytes of `body` begin as one of the items does.
    pub(crate) fn begins(&self, kind: &Kind, body: &[u8]) -> bool {
        self.items.iter().any(|(key, field)| {
            let Some(rest) = body.strip_prefix(key.as_slice()) else {
                return false;
            };
            let field = kind.fields.get(*field);
            key.len() >= PROOF || field.is_some_and(|field| rest.first().is_some_and(|byte| can_begin(field, *byte)))
        })
    }

    /// Reads exactly `group`, which stands at `at`.
    pub(crate) fn read(
        &self,
        kind: &Kind,
        group: &[u8],
        at: usize,
        slots: &mut [Slot],
        soft: &mut Option<Cause>,
    ) -> Result<(), Cause> {
        let (mut seen, mut from) = (0_u64, 0);
        for place in 0..self.items.len() {
            if place > 0 {
                from += crate::layout::literal(&self.between, group.get(from..).unwrap_or_default())?;
            }
            let rest = group.get(from..).unwrap_or_default();
            let (item, key, field) = self.item(kind, rest, seen)?;
            seen |= 1 << item;
            let text = rest.get(key..).unwrap_or_default();
            let len = self.extent(field, text)?;
            let slot = self.items.get(item).and_then(|(_, field)| slots.get_mut(*field));
            note(leaf(field, text.get(..len).unwrap_or_default(), at + from + key), slot, soft);
            from += key + len;
        }
        if from < group.len() { Err(Cause::Overlong) } else { Ok(()) }
    }

    /// The item not in `seen` whose key, the longest that fits, begins `rest`: its number, the key's length, its field.
    fn item<'k>(&self, kind: &'k Kind, rest: &[u8], seen: u64) -> Result<(usize, usize, &'k Field), Cause> {
        let left = self.items.iter().enumerate().filter(|(item, _)| seen & (1 << item) == 0);
        let able = left.filter(|(_, (key, _))| rest.starts_with(key));
        let found = able.max_by_key(|(_, (key, _))| key.len());
        let missing = if rest.is_empty() { Cause::Truncated } else { Cause::UnknownWord };
        let (item, (key, field)) = found.ok_or(missing)?;
        Ok((item, key.len(), kind.fields.get(*field).ok_or(Cause::UnknownWord)?))
    }

    fn extent(&self, field: &Field, text: &[u8]) -> Result<usize, Cause> {
        let free = || memmem::find(text, &self.between).unwrap_or(text.len());
        let len = fixed(field, text).unwrap_or_else(free);
        if len == 0 || len > text.len() { Err(Cause::Truncated) } else { Ok(len) }
    }

    /// What is wrong with it, in words.
    pub(crate) fn faults(&self, kind: &Kind) -> Vec<String> {
        let mut all = Vec::new();
        if !(1..=MOST).contains(&self.items.len()) {
            all.push(format!("{} keyed values; 1 to {MOST} are allowed", self.items.len()));
        }
        if self.between.is_empty() {
            all.push("nothing stands between its keyed values; at least one byte is needed".into());
        }
        for (place, (key, field)) in self.items.iter().enumerate() {
            let text = key.escape_ascii();
            if key.is_empty() {
                all.push("a key is empty".into());
            }
            if self.items.iter().take(place).any(|(other, _)| other == key) {
                all.push(format!("the key {text} stands twice"));
            }
            if *field >= kind.fields.len() {
                all.push(format!("the key {text} asks for field {field}; there are {}", kind.fields.len()));
            }
        }
        all
    }
}

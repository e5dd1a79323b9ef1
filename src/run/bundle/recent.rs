//! The newest bytes of each wire, so that a long frame can be looked through to its end.

use wheeltap_parsers::{Input, Wire};

/// How many bytes of a wire are kept: far more than the longest frame, and the engine is never so far behind.
const KEPT: usize = 1 << 20;

/// The newest bytes of each wire.
#[derive(Default)]
pub(super) struct Recent {
    wires: [Stretch; 2],
}

/// Bytes without a gap, and the place of the first.
#[derive(Default)]
struct Stretch {
    begins: u64,
    bytes: Vec<u8>,
}

impl Recent {
    /// Takes what comes in.
    pub(super) fn take(&mut self, input: &Input<'_>) {
        let Input::Chunk(chunk) = input else { return };
        let stretch = &mut self.wires[chunk.wire.index()];
        if stretch.begins + stretch.bytes.len() as u64 != chunk.offset {
            *stretch = Stretch { begins: chunk.offset, bytes: Vec::new() };
        }
        stretch.bytes.extend_from_slice(chunk.bytes);
        if stretch.bytes.len() > 2 * KEPT {
            let old = stretch.bytes.len() - KEPT;
            stretch.bytes.drain(..old);
            stretch.begins += old as u64;
        }
    }

    /// `length` bytes from `offset` on, where all of them are still there.
    pub(super) fn get(&self, wire: Wire, offset: u64, length: u64) -> Option<&[u8]> {
        let stretch = &self.wires[wire.index()];
        let from = usize::try_from(offset.checked_sub(stretch.begins)?).ok()?;
        stretch.bytes.get(from..from.checked_add(usize::try_from(length).ok()?)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use wheeltap_parsers::Chunk;

    #[test]
    fn bytes_are_found_until_they_are_too_old() {
        let mut recent = Recent::default();
        let mut put = |offset: u64, bytes: &[u8]| {
            let wire = Wire::ToDrive;
            recent.take(&Input::Chunk(Chunk { wire, offset, bytes, lo: 0, hi: 0, byte_ns: 0 }));
            [2, 7, offset].map(|at| recent.get(wire, at, 3).map(<[u8]>::to_vec))
        };
        assert_eq!(put(2, b"abcdef"), [Some(b"abc".to_vec()), None, Some(b"abc".to_vec())]);
        assert_eq!(put(8, b"ghi"), [Some(b"abc".to_vec()), Some(b"fgh".to_vec()), Some(b"ghi".to_vec())]);
        // Bytes are missing before it.
        assert_eq!(put(20, b"uvw"), [None, None, Some(b"uvw".to_vec())]);
        let much = vec![b'z'; 2 * KEPT];
        assert_eq!(put(23, &much), [None, None, None]);
        assert_eq!(put(23 + much.len() as u64, b"end")[2], Some(b"end".to_vec()));
    }
}

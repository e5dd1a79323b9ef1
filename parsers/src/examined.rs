//! How often bytes are looked at: counted in the tests of this crate, nothing otherwise.

/// `bytes` bytes were searched, decoded or read.
#[inline]
pub(crate) fn looked_at(bytes: usize) {
    #[cfg(test)]
    count::LOOKED_AT.with(|all| all.set(all.get() + bytes as u64));
    #[cfg(not(test))]
    let _ = bytes;
}

/// A check was worked out over `bytes` bytes.
#[inline]
pub(crate) fn checked(bytes: usize) {
    #[cfg(test)]
    count::CHECKED.with(|all| all.set(all.get() + bytes as u64));
    #[cfg(not(test))]
    let _ = bytes;
}

#[cfg(test)]
mod count {
    use std::cell::Cell;

    thread_local! {
        pub(super) static LOOKED_AT: Cell<u64> = const { Cell::new(0) };
        pub(super) static CHECKED: Cell<u64> = const { Cell::new(0) };
    }
}

/// How many bytes `work` looked at, and over how many it worked out a check.
#[cfg(test)]
pub(crate) fn counted<T>(work: impl FnOnce() -> T) -> (u64, u64) {
    count::LOOKED_AT.set(0);
    count::CHECKED.set(0);
    let _ = work();
    (count::LOOKED_AT.get(), count::CHECKED.get())
}

#[cfg(test)]
#[path = "../tests/links/wagon.rs"]
pub(crate) mod wagon;

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::sync::Arc;

    use super::{counted, wagon};
    use crate::{Chunk, Decoder, Framing, Profile, Record, Value, Wire};

    /// For each byte of `rounds` times `wire`: how often it was looked at, and how often checked.
    fn looks(profile: &Arc<Profile>, wire: &[u8], rounds: usize) -> (f64, f64) {
        let (mut offset, mut records) = (0, 0_u64);
        let mut sink = |_: &Record<'_>| records += 1;
        let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
        let (looked_at, checked) = counted(|| {
            for _ in 0..rounds {
                decoder.push(&Chunk { wire: Wire::ToDrive, offset, bytes: wire, lo: 0, hi: 0, byte_ns: 0 }, &mut sink);
                offset += wire.len() as u64;
            }
            decoder.cut(&mut sink);
        });
        assert!(records > 0);
        (looked_at as f64 / offset as f64, checked as f64 / offset as f64)
    }

    /// `unit` again and again, about 64 KiB of it.
    fn long(unit: &[u8]) -> Vec<u8> {
        unit.repeat((1 << 16) / unit.len())
    }

    /// Frames of each link.
    fn clean() -> Vec<(&'static str, Arc<Profile>, Vec<u8>)> {
        let encoded = |profile: &Profile, values: &[i64]| {
            let values: Vec<Value<'_>> = values.iter().copied().map(Value::Int).collect();
            profile.encode(0, &values).unwrap()
        };
        let bead = [7, 30, -65, 2, 30];
        let of = |name, profile: Arc<Profile>, values: &[i64]| (name, Arc::clone(&profile), encoded(&profile, values));
        vec![
            ("cue", wagon::cue(), b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n".to_vec()),
            ("plain", wagon::plain(), b"way,port\npace,180\nway,rest\n".to_vec()),
            ("starred", wagon::starred(), b"D,N,0*3A\n".to_vec()),
            of("stave", wagon::stave(), &[12, 100, 150, 50, 100, 60, 2, 2]),
            of("ladder", wagon::ladder(), &[620, -230, -230, 620]),
            of("bead", wagon::bead(), &bead),
            of("slipped", wagon::slipped(), &bead),
            of("stuffed", wagon::stuffed(), &bead),
            of("bare", wagon::bare(), &bead),
            of("led", wagon::led(), &bead),
        ]
    }

    /// Every byte is searched for an end and read once, at most. Where frames are encoded, the end is found and the check
    /// worked out while the encoding is taken off; elsewhere the check goes once more over its span.
    #[test]
    fn on_clean_links_a_byte_is_looked_at_twice_at_most() {
        for (name, profile, frames) in clean() {
            let (looked_at, checked) = looks(&profile, &long(&frames), 1);
            println!("{name}: looked at {looked_at:.2}, checked {checked:.2}");
            assert!(looked_at >= 0.8, "{name}: {looked_at}");
            assert!(looked_at <= 2.0, "{name}: {looked_at}");
            let encoded = matches!(profile.framing, Framing::Cobs | Framing::Slip | Framing::Stuffed);
            assert!(checked <= if encoded { 0.0 } else { 1.0 }, "{name}: {checked}");
        }
    }

    /// What makes most work: what begins as a frame and is none, ends without frames, one byte for ever, text.
    fn worst() -> Vec<Vec<u8>> {
        let units: [&[u8]; 16] = [
            b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D",
            b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93E.\n",
            b"c000 p00 drv f+000c000 p00 drv f+000\n",
            b"cccccccccccccccccccccccccccccccccccccccccccccccccccccccccccccccc\n",
            b"way,way,way,way,way,way,\n",
            b"D,N,0*00D,N,0*00\n",
            b"\n",
            b"\0",
            b"\xF1",
            b"\xF1\x01\x02\x03\x04\x05\x06\x07\x08\x09\xFE",
            b"\xA7\x3C\x09\x21",
            b"\xA7\x3C",
            b"\x11\x11\x11\x11\x11\x11\x11\x11\x11\x00",
            b"\xDB\xDC\xC0\x11\x7D\x5E\x7E",
            b"eye ok heap 91k net up GC2 rom 1.4 rst(",
            b"\x01\x02\x03\xFF\xFE\x80",
        ];
        units.into_iter().map(long).collect()
    }

    /// What is no frame is judged as text besides: searched for line ends, for the patterns of boards, for what can be read.
    const AS_TEXT: f64 = 6.0;

    /// Counted against the longest frame of the link; checks beside it.
    #[test]
    fn on_the_worst_links_a_byte_is_looked_at_no_more_often_than_the_longest_frame_is_long() {
        for (name, profile) in wagon::all() {
            for wire in worst() {
                let (looked_at, checked) = looks(&profile, &wire, 2);
                let unit = wire[..48].escape_ascii();
                println!("{name}: looked at {looked_at:.1}, checked {checked:.1}, longest {}: {unit}", profile.longest);
                assert!(looked_at <= profile.longest as f64 + AS_TEXT, "{name}: {looked_at} of {unit}");
                assert!(checked <= profile.longest as f64, "{name}: {checked} of {unit}");
            }
        }
    }

    /// Sixteen times the bytes are sixteen times the work: nothing grows with what came before.
    #[test]
    fn the_work_for_a_byte_does_not_grow() {
        for (name, profile, wire) in
            [("cue", wagon::cue(), 3), ("bead", wagon::bead(), 15), ("ladder", wagon::ladder(), 10)]
        {
            let wire = &worst()[wire];
            let rounds = (4 << 20) / wire.len();
            let (short, long) = (looks(&profile, wire, rounds), looks(&profile, wire, 16 * rounds));
            let ratio = (long.0 + long.1) / (short.0 + short.1);
            println!("{name}: {ratio:.3}");
            assert!(ratio <= 1.05, "{name}: {ratio}");
        }
    }
}

//! The wagon's frames, written by hand: five styles of order and two of answer.
//!
//! Checks are reckoned bit by bit here, on purpose without the decoder's tables.

use crate::rover::wheels::Duties;

/// A cue-line order without its number and check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Cue {
    /// `drv`, `hlt`, `one`, `ask` or `set`.
    pub(super) verb: &'static str,
    /// Forward, per cent; for `one` the wheel, 1 to 4.
    pub(super) f: i32,
    /// Slide to the left, per cent; for `one` the duty.
    pub(super) s: i32,
    /// Turn counter-clockwise, per cent.
    pub(super) t: i32,
    /// 1 to 3.
    pub(super) gear: u8,
    /// How long it may be obeyed, 10 ms units, 0 to 99.
    pub(super) deadline: u8,
}

/// CRC-16, polynomial 0x1021, most significant bit first.
pub(super) fn crc16(start: u16, bytes: &[u8]) -> u16 {
    bytes.iter().fold(start, |crc, byte| {
        (0..8).fold(crc ^ (u16::from(*byte) << 8), |crc, _| (crc << 1) ^ if crc & 0x8000 == 0 { 0 } else { 0x1021 })
    })
}

/// CRC-16/IBM-SDLC: polynomial 0x1021, least significant bit first, all ones before and after.
pub(super) fn crc16_sdlc(bytes: &[u8]) -> u16 {
    !bytes.iter().fold(0xFFFF, |crc, byte| {
        (0..8).fold(crc ^ u16::from(*byte), |crc, _| (crc >> 1) ^ if crc & 1 == 0 { 0 } else { 0x8408 })
    })
}

/// CRC-8, most significant bit first.
pub(super) fn crc8(polynomial: u8, start: u8, bytes: &[u8]) -> u8 {
    bytes.iter().fold(start, |crc, byte| {
        (0..8).fold(crc ^ byte, |crc, _| (crc << 1) ^ if crc & 0x80 == 0 { 0 } else { polynomial })
    })
}

/// Start value of the cue line's check.
pub(super) const CUE_START: u16 = 0x5A17;

/// A text with its check, point and line end: `text` must end with the space before `#`.
fn checked(text: &str) -> Vec<u8> {
    format!("{text}#{:04X}.\n", crc16(CUE_START, text.as_bytes())).into_bytes()
}

/// `c<seq> p<panel> <verb> f s t g d #check.`
pub(super) fn cue(seq: u16, panel: u8, cue: Cue) -> Vec<u8> {
    let Cue { verb, f, s, t, gear, deadline } = cue;
    checked(&format!("c{seq:03} p{panel:02} {verb} f{f:+04} s{s:+04} t{t:+04} g{gear} d{deadline:02} "))
}

/// `a<seq> got|nay v<tenths of a volt> e<errors> #check.`
pub(super) fn answer(seq: u16, taken: bool, decivolts: u16, errors: u8) -> Vec<u8> {
    let word = if taken { "got" } else { "nay" };
    checked(&format!("a{seq:03} {word} v{decivolts:03} e{errors:02X} "))
}

/// `=lapsed <seq> #check.`
pub(super) fn lapsed(seq: u16) -> Vec<u8> {
    checked(&format!("=lapsed {seq:03} "))
}

/// `=up <firmware> <reason> #check.`
pub(super) fn up(firmware: &str, reason: &str) -> Vec<u8> {
    checked(&format!("=up {firmware} {reason} "))
}

/// First byte of a stave.
pub(super) mod stave_type {
    /// An order to drive.
    pub(in crate::simulation) const DRIVE: u8 = 0xF1;
    /// An order to stop.
    pub(in crate::simulation) const STOP: u8 = 0xF2;
    /// What the wheels are told, from the drive board.
    pub(in crate::simulation) const REPORT: u8 = 0xF3;
    /// The drive board has started.
    pub(in crate::simulation) const HELLO: u8 = 0xF4;
}

/// Last byte of a stave.
pub(super) const STAVE_END: u8 = 0xFE;

/// The check of a stave's first eight bytes.
pub(super) fn stave_check(bytes: &[u8]) -> u8 {
    crc8(0x97, 0x3C, bytes)
}

/// Eleven bytes: type, sequence, four duties, deadline in 5 ms units, gear, check in two halves, end.
pub(super) fn stave(kind: u8, seq: u8, duties: Duties, deadline: u8, gear: u8) -> Vec<u8> {
    let [fl, fr, rl, rr] = duties.map(|duty| (duty / 10 + 100).clamp(0, 200) as u8);
    let mut frame = vec![kind, seq, fl, fr, rl, rr, deadline, gear];
    let check = stave_check(&frame);
    frame.extend([check >> 4, check & 0x0F, STAVE_END]);
    frame
}

/// COBS body 0x11, sequence, f, s, t (per cent), deadline (10 ms units), CRC-16/IBM-SDLC low byte first; zero at the end.
pub(super) fn bead(seq: u8, [f, s, t]: [i32; 3], deadline: u8) -> Vec<u8> {
    let mut body = vec![0x11, seq, f as i8 as u8, s as i8 as u8, t as i8 as u8, deadline];
    let check = crc16_sdlc(&body);
    body.extend(check.to_le_bytes());
    let mut frame = stuffed(&body);
    frame.push(0);
    frame
}

/// Consistent overhead byte stuffing of fewer than 254 bytes (Cheshire and Baker, IEEE/ACM Transactions on Networking
/// 7(2), 1999): each zero gives way to the distance to the next one.
fn stuffed(body: &[u8]) -> Vec<u8> {
    let mut out = Vec::with_capacity(body.len() + 1);
    for run in body.split(|byte| *byte == 0) {
        out.push(run.len() as u8 + 1);
        out.extend_from_slice(run);
    }
    out
}

/// First two bytes of a ladder frame.
pub(super) const LADDER_SYNC: [u8; 2] = [0xA7, 0x3C];

/// CRC-8/AUTOSAR: polynomial 0x2F, all ones before and after.
pub(super) fn ladder_check(bytes: &[u8]) -> u8 {
    !crc8(0x2F, 0xFF, bytes)
}

/// Sync, length, 0x21 and the four duties in thousandths, low byte first, then the check over length and payload.
pub(super) fn ladder(duties: Duties) -> Vec<u8> {
    let mut frame = LADDER_SYNC.to_vec();
    frame.extend([9, 0x21]);
    for duty in duties {
        frame.extend((duty as i16).to_le_bytes());
    }
    frame.push(ladder_check(&frame[2..]));
    frame
}

#[cfg(test)]
mod tests {
    //! The listed bytes are the wagon's format notes; the checks are compared with the general-purpose `crc` crate.
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn drv(f: i32, s: i32, t: i32, gear: u8) -> Cue {
        Cue { verb: "drv", f, s, t, gear, deadline: 30 }
    }

    fn hex(text: &str) -> Vec<u8> {
        text.split(' ').map(|pair| u8::from_str_radix(pair, 16).unwrap()).collect()
    }

    #[test]
    fn cue_lines_as_listed() {
        let halt = Cue { verb: "hlt", ..drv(0, 0, 0, 2) };
        let listed = [
            (42, 17, drv(30, -65, 0, 2), "c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n"),
            (43, 18, drv(0, 80, 0, 2), "c043 p18 drv f+000 s+080 t+000 g2 d30 #3784.\n"),
            (44, 19, drv(0, 0, 0, 2), "c044 p19 drv f+000 s+000 t+000 g2 d30 #8D82.\n"),
            (45, 20, drv(60, 0, 18, 2), "c045 p20 drv f+060 s+000 t+018 g2 d30 #84D3.\n"),
            (46, 21, drv(100, 100, 40, 3), "c046 p21 drv f+100 s+100 t+040 g3 d30 #0492.\n"),
            (47, 22, halt, "c047 p22 hlt f+000 s+000 t+000 g2 d30 #D49A.\n"),
            (189, 19, drv(0, 80, -14, 2), "c189 p19 drv f+000 s+080 t-014 g2 d30 #8DFE.\n"),
            (3, 3, drv(0, -100, 15, 3), "c003 p03 drv f+000 s-100 t+015 g3 d30 #24FA.\n"),
        ];
        for (seq, panel, order, text) in listed {
            assert_eq!(String::from_utf8(cue(seq, panel, order)).unwrap(), text);
        }
    }

    #[test]
    fn answers_as_listed() {
        let listed = [
            (answer(42, true, 111, 0), "a042 got v111 e00 #E253.\n"),
            (answer(43, false, 104, 2), "a043 nay v104 e02 #A482.\n"),
            (answer(333, true, 98, 0), "a333 got v098 e00 #898A.\n"),
            (lapsed(45), "=lapsed 045 #5D83.\n"),
            (lapsed(333), "=lapsed 333 #E969.\n"),
        ];
        for (bytes, text) in listed {
            assert_eq!(String::from_utf8(bytes).unwrap(), text);
        }
    }

    #[test]
    fn staves_as_listed() {
        let listed = [
            (stave(0xF1, 0x2A, [620, -230, -230, 620], 60, 2), "F1 2A A2 4D 4D A2 3C 02 04 00 FE"),
            (stave(0xF1, 0x2B, [-520, 520, 520, -520], 60, 2), "F1 2B 30 98 98 30 3C 02 0E 0B FE"),
            (stave(0xF1, 0x2C, [0; 4], 60, 2), "F1 2C 64 64 64 64 3C 02 06 0B FE"),
            (stave(0xF1, 0x2D, [270, 510, 270, 510], 60, 2), "F1 2D 7F 97 7F 97 3C 02 01 02 FE"),
            (stave(0xF2, 0x30, [0; 4], 0, 2), "F2 30 64 64 64 64 00 02 07 04 FE"),
        ];
        for (bytes, text) in listed {
            assert_eq!(bytes, hex(text));
        }
    }

    #[test]
    fn beads_and_ladders_as_listed() {
        assert_eq!(bead(7, [30, -65, 0], 30), hex("05 11 07 1E BF 04 1E 51 D5 00"));
        assert_eq!(bead(8, [0, 0, 0], 30), hex("03 11 08 01 01 04 1E CB 12 00"));
        assert_eq!(ladder([620, -230, -230, 620]), hex("A7 3C 09 21 6C 02 1A FF 1A FF 6C 02 3F"));
        assert_eq!(ladder([0; 4]), hex("A7 3C 09 21 00 00 00 00 00 00 00 00 2D"));
    }

    #[test]
    fn checks_agree_with_a_general_library() {
        const CUE: crc::Algorithm<u16> = crc::Algorithm {
            width: 16,
            poly: 0x1021,
            init: CUE_START,
            refin: false,
            refout: false,
            xorout: 0,
            check: 0,
            residue: 0,
        };
        const STAVE: crc::Algorithm<u8> = crc::Algorithm {
            width: 8,
            poly: 0x97,
            init: 0x3C,
            refin: false,
            refout: false,
            xorout: 0,
            check: 0,
            residue: 0,
        };
        let bytes: Vec<u8> = (0..=255).collect();
        for length in 0..bytes.len() {
            let part = &bytes[..length];
            assert_eq!(crc16(CUE_START, part), crc::Crc::<u16>::new(&CUE).checksum(part));
            assert_eq!(stave_check(part), crc::Crc::<u8>::new(&STAVE).checksum(part));
            assert_eq!(crc16_sdlc(part), crc::Crc::<u16>::new(&crc::CRC_16_IBM_SDLC).checksum(part));
            assert_eq!(ladder_check(part), crc::Crc::<u8>::new(&crc::CRC_8_AUTOSAR).checksum(part));
        }
    }
}

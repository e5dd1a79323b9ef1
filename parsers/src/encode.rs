//! Frames written from values: the way back.

use crate::fields::{Field, Letters, Read, Sign, Value};
use crate::framing::{cobs, slip, stuffed};
use crate::layout::{Layout, some_bits};
use crate::profile::{Framing, Keyed, Kind, Part, Profile};

impl Kind {
    /// The parts of a frame of this kind, without marks: one value for each field, in the kind's order.
    ///
    /// Fails, in words, where a value does not fit its field or would not be read back as itself.
    pub fn encode(&self, values: &[Value<'_>]) -> Result<Vec<u8>, String> {
        if values.len() != self.fields.len() {
            return Err(format!("{}: {} values for {} fields", self.name, values.len(), self.fields.len()));
        }
        let mut out = Vec::new();
        for part in &self.parts {
            match part {
                Part::Literal(bytes) => out.extend_from_slice(bytes),
                Part::Field(index) => self.write_field(*index, values, &mut out)?,
                Part::Check => self.write_check(&mut out)?,
                Part::Keyed(keyed) => self.write_keyed(keyed, values, &mut out)?,
            }
        }
        self.reads_back(&out, values)?;
        Ok(out)
    }

    fn write_field(&self, index: usize, values: &[Value<'_>], out: &mut Vec<u8>) -> Result<(), String> {
        let (Some(field), Some(value)) = (self.fields.get(index), values.get(index)) else {
            return Err(format!("{}: a part asks for field {index}, which is not there", self.name));
        };
        write(field, *value, out).map_err(|fault| format!("{}, field {}: {fault}", self.name, field.name))
    }

    fn write_keyed(&self, keyed: &Keyed, values: &[Value<'_>], out: &mut Vec<u8>) -> Result<(), String> {
        for (place, (key, field)) in keyed.items.iter().enumerate() {
            if place > 0 {
                out.extend_from_slice(&keyed.between);
            }
            out.extend_from_slice(key);
            self.write_field(*field, values, out)?;
        }
        Ok(())
    }

    fn write_check(&self, out: &mut Vec<u8>) -> Result<(), String> {
        let span = out.len().checked_sub(self.check.leave_out).and_then(|end| out.get(self.check.skip..end));
        let span = span.ok_or_else(|| format!("{}: the check leaves out more than is there", self.name))?;
        let value = self.check.value(span);
        self.check.write(value, out);
        Ok(())
    }

    fn reads_back(&self, body: &[u8], values: &[Value<'_>]) -> Result<(), String> {
        let mut slots = Vec::new();
        let read = Layout::new(self).read(self, body, &mut slots);
        read.map_err(|failure| format!("{}: written so, {}", self.name, failure.cause.says()))?;
        for ((field, value), slot) in self.fields.iter().zip(values).zip(&slots) {
            if slot.value(body) != *value {
                let found = slot.value(body);
                return Err(format!("{}, field {}: {value:?} would be read as {found:?}", self.name, field.name));
            }
        }
        Ok(())
    }
}

impl Profile {
    /// A whole frame of kind number `kind` as it stands on the wire: marks, encoding and check included.
    ///
    /// Fails, in words, where there is no such kind, a value does not fit, or the frame would break the framing.
    pub fn encode(&self, kind: usize, values: &[Value<'_>]) -> Result<Vec<u8>, String> {
        let kind =
            self.kinds.get(kind).ok_or_else(|| format!("no kind number {kind}; there are {}", self.kinds.len()))?;
        let body = kind.encode(values)?;
        let frame = self.framed(&kind.name, &body)?;
        if frame.len() > self.longest {
            return Err(format!("{}: {} bytes, the longest frame has {}", kind.name, frame.len(), self.longest));
        }
        Ok(frame)
    }

    fn framed(&self, name: &str, body: &[u8]) -> Result<Vec<u8>, String> {
        match &self.framing {
            Framing::Lines { start, end } => line(start, body, end),
            Framing::Markers { first } => between_markers(body, *first),
            Framing::Cobs => Ok(encoded(cobs::encode, &[], body, cobs::END)),
            Framing::Slip => Ok(encoded(slip::encode, &[], body, slip::END)),
            Framing::Stuffed => Ok(encoded(stuffed::encode, &[stuffed::FLAG], body, stuffed::FLAG)),
            Framing::Fixed { sync, len } => sized([sync.as_slice(), body].concat(), *len),
            Framing::SyncLength { sync, beyond } => {
                let said = body.first().map_or(0, |byte| usize::from(*byte) + beyond);
                sized([sync.as_slice(), body].concat(), said)
            }
        }
        .map_err(|fault| format!("{name}: {fault}"))
    }
}

fn line(start: &[u8], body: &[u8], end: &[u8]) -> Result<Vec<u8>, String> {
    let frame = [start, body, end].concat();
    match memchr::memmem::find(&frame, end) {
        Some(place) if place + end.len() == frame.len() => Ok(frame),
        _ => Err("the end mark stands inside it".into()),
    }
}

fn between_markers(body: &[u8], first: u8) -> Result<Vec<u8>, String> {
    let inside = body.get(1..body.len().saturating_sub(1)).unwrap_or_default();
    match inside.iter().find(|byte| **byte >= first) {
        Some(byte) => Err(format!("byte {byte:02X} inside it could only be a marker")),
        None => Ok(body.to_vec()),
    }
}

fn encoded(encode: fn(&[u8], &mut Vec<u8>), begin: &[u8], body: &[u8], end: u8) -> Vec<u8> {
    let mut frame = begin.to_vec();
    encode(body, &mut frame);
    frame.push(end);
    frame
}

fn sized(frame: Vec<u8>, len: usize) -> Result<Vec<u8>, String> {
    if frame.len() == len { Ok(frame) } else { Err(format!("it has {} bytes where {len} are due", frame.len())) }
}

fn write(field: &Field, value: Value<'_>, out: &mut Vec<u8>) -> Result<(), String> {
    match (field.read, value) {
        (Read::Decimal { digits, sign }, Value::Int(number)) => decimal(number, digits, sign, out),
        (Read::Hex { digits, letters }, Value::Int(number)) if number >= 0 => {
            let width = usize::from(digits.unwrap_or(1));
            let text = format!("{number:0width$X}");
            out.extend(if letters == Letters::Lower { text.to_ascii_lowercase() } else { text }.bytes());
            Ok(())
        }
        (Read::Binary { bytes, signed, big_endian }, Value::Int(number)) => {
            binary(number, bytes, signed, big_endian, out)
        }
        (Read::Float { big_endian }, Value::Real(number)) => {
            out.extend(if big_endian { number.to_be_bytes() } else { number.to_le_bytes() });
            Ok(())
        }
        (Read::Word, Value::Word(word)) => {
            let word = field.words.get(word).ok_or_else(|| format!("no word number {word}"))?;
            out.extend(word.bytes());
            Ok(())
        }
        (Read::Word, Value::Text(word)) if field.words.is_empty() => {
            out.extend(word.bytes());
            Ok(())
        }
        (_, value) => Err(format!("{value:?} cannot be written as {:?}", field.read)),
    }
}

fn decimal(number: i64, digits: Option<u8>, sign: Sign, out: &mut Vec<u8>) -> Result<(), String> {
    match sign {
        Sign::Never if number < 0 => {
            return Err(format!("{number} is negative and the field has no sign"));
        }
        Sign::Must if number >= 0 => out.push(b'+'),
        _ if number < 0 => out.push(b'-'),
        _ => {}
    }
    let width = usize::from(digits.unwrap_or(1));
    out.extend(format!("{:0width$}", number.unsigned_abs()).bytes());
    Ok(())
}

fn binary(number: i64, bytes: u8, signed: bool, big_endian: bool, out: &mut Vec<u8>) -> Result<(), String> {
    let width = 8 * bytes.clamp(1, 4);
    let (least, most) = if signed {
        (-some_bits(-1, 0, width - 1) - 1, some_bits(-1, 0, width - 1))
    } else {
        (0, some_bits(-1, 0, width))
    };
    if !(least..=most).contains(&number) {
        return Err(format!("{number} does not fit; {least} to {most} do"));
    }
    let all = number.to_le_bytes();
    let low = all.get(..usize::from(width / 8)).unwrap_or_default();
    if big_endian {
        out.extend(low.iter().rev());
    } else {
        out.extend(low);
    }
    Ok(())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::check::Check;

    fn profile(read: Read, words: &[&str], range: Option<(i64, i64)>) -> Profile {
        let words = words.iter().map(ToString::to_string).collect();
        let field = Field { name: "value".into(), read, range, words, offset: 0, multiply: 1, divide: 1 };
        let parts = vec![Part::Literal(b"set ".to_vec()), Part::Field(0)];
        let kinds = vec![Kind { name: "set".into(), parts, fields: vec![field], check: Check::none() }];
        let framing = Framing::Lines { start: b"$".to_vec(), end: b"\r\n".to_vec() };
        Profile { framing, kinds, longest: 16, start_up: Vec::new(), idle: 1 }
    }

    #[test]
    fn values_are_written_in_the_shape_of_their_field() {
        let decimal = |digits, sign| Read::Decimal { digits, sign };
        let rows = [
            (decimal(Some(3), Sign::Must), Value::Int(-65), "$set -065\r\n"),
            (decimal(Some(3), Sign::Must), Value::Int(0), "$set +000\r\n"),
            (decimal(None, Sign::May), Value::Int(-5), "$set -5\r\n"),
            (decimal(None, Sign::Never), Value::Int(180), "$set 180\r\n"),
            (Read::Hex { digits: Some(2), letters: Letters::Either }, Value::Int(15), "$set 0F\r\n"),
            (Read::Hex { digits: Some(3), letters: Letters::Lower }, Value::Int(0xAF), "$set 0af\r\n"),
            (Read::Word, Value::Text("port"), "$set port\r\n"),
        ];
        for (read, value, expected) in rows {
            assert_eq!(profile(read, &[], None).encode(0, &[value]).unwrap(), expected.as_bytes());
        }
        assert_eq!(profile(Read::Word, &["N", "S"], None).encode(0, &[Value::Word(1)]).unwrap(), b"$set S\r\n");
    }

    #[test]
    fn what_cannot_be_written_is_said() {
        let digits = |digits, sign| Read::Decimal { digits: Some(digits), sign };
        let byte = Read::Binary { bytes: 1, signed: true, big_endian: false };
        let rows = [
            (profile(digits(2, Sign::Never), &[], None), Value::Int(100), "it is too long"),
            (profile(digits(2, Sign::Never), &[], None), Value::Int(-1), "negative"),
            (profile(digits(2, Sign::Must), &[], Some((-9, 9))), Value::Int(10), "out of range"),
            (profile(byte, &[], None), Value::Int(128), "-128 to 127"),
            (profile(Read::Word, &["N"], None), Value::Word(1), "no word number 1"),
            (profile(Read::Word, &[], None), Value::Text("a\r\n"), "the end mark stands inside"),
            (profile(Read::Word, &[], None), Value::Text("a long, long word"), "the longest frame has 16"),
            (profile(Read::Word, &[], None), Value::Int(1), "cannot be written"),
        ];
        for (profile, value, expected) in rows {
            let fault = profile.encode(0, &[value]).unwrap_err();
            assert!(fault.contains(expected), "{fault} / {expected}");
        }
        assert!(profile(Read::Word, &[], None).encode(1, &[]).unwrap_err().contains("no kind number 1"));
        assert!(profile(Read::Word, &[], None).encode(0, &[]).unwrap_err().contains("0 values for 1 fields"));
    }
}

//! Wires to decode: clean frames of a link, one after the other, and the same with one frame in twenty damaged.

use wheeltap_parsers::{Profile, Read, Value};

/// A small linear generator: the same wire in every run.
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as i64
    }
}

/// About `len` bytes: frames of the first kind with values over the whole of each field's range.
pub fn clean(profile: &Profile, len: usize) -> Vec<u8> {
    frames(profile, len).concat()
}

/// As [`clean`], with one bit of every twentieth frame turned over.
pub fn damaged(profile: &Profile, len: usize) -> Vec<u8> {
    let mut all = frames(profile, len);
    let mut draw = Draw(7);
    for frame in all.iter_mut().step_by(20) {
        let bit = draw.next() as usize % (8 * frame.len());
        frame[bit / 8] ^= 1 << (bit % 8);
    }
    all.concat()
}

fn frames(profile: &Profile, len: usize) -> Vec<Vec<u8>> {
    let (mut all, mut made, mut draw) = (Vec::new(), 0, Draw(42));
    while made < len {
        let frame = profile.encode(0, &values(profile, &mut draw)).expect("values in range");
        made += frame.len();
        all.push(frame);
    }
    all
}

fn values(profile: &Profile, draw: &mut Draw) -> Vec<Value<'static>> {
    let mut all: Vec<Value<'static>> = Vec::new();
    for field in &profile.kinds[0].fields {
        all.push(match field.read {
            Read::Word => Value::Word(draw.next() as usize % field.words.len()),
            Read::Bits { of, low, count } => match all[of] {
                Value::Int(whole) => Value::Int((whole >> low) & ((1 << count) - 1)),
                _ => unreachable!("bits of no number"),
            },
            Read::Decimal { digits: Some(digits), .. } => {
                let (least, most) = field.range.unwrap_or((0, 10_i64.pow(digits.into()) - 1));
                Value::Int(least + draw.next() % (most - least + 1))
            }
            _ => {
                let (least, most) = field.range.unwrap_or((0, 255));
                Value::Int(least + draw.next() % (most - least + 1))
            }
        });
    }
    all
}

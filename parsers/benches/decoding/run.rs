//! One run over a wire: everything is decoded and every value taken in hand.

use wheeltap_parsers::{Chunk, Decoder, Record, Value, What, Wire};

use super::wagon;

/// Decodes `wire` in reads of `len` bytes and takes every value of every frame in hand. The decoder is made before and
/// handed back, so that neither its beginning nor its end is part of the run.
pub fn decode(mut decoder: Decoder, wire: &[u8], len: usize) -> (Decoder, i64) {
    let mut sum = 0;
    let mut sink = |record: &Record<'_>| match record.what {
        What::Frame { values, .. } => sum += values.iter().map(number).sum::<i64>(),
        _ => sum += record.len as i64,
    };
    let (mut offset, mut now) = (0, 0);
    for bytes in wire.chunks(len) {
        now += bytes.len() as i64 * wagon::BYTE;
        decoder.push(&Chunk { wire: Wire::ToDrive, offset, bytes, lo: 0, hi: now, byte_ns: wagon::BYTE }, &mut sink);
        offset += bytes.len() as u64;
    }
    decoder.cut(&mut sink);
    (decoder, sum)
}

fn number(value: &Value<'_>) -> i64 {
    match value {
        Value::Int(number) => *number,
        Value::Word(word) => *word as i64,
        Value::Real(_) | Value::Text(_) => 1,
    }
}

//! The values of one frame, owned and in little room: most are numbers, and events are moved and kept often.

use wheeltap_parsers::Value;

/// The most values one frame may have.
pub const MOST: usize = 16;

/// How a kept number is to be read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Sort {
    /// As it is.
    #[default]
    Int,
    /// The bits of a floating-point number.
    Real,
    /// The place of a known word.
    Word,
    /// The place in `texts`.
    Text,
}

/// The values of one frame.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Values {
    count: u8,
    sorts: [Sort; MOST],
    kept: [i64; MOST],
    /// Words that no list knows: few frames have one.
    texts: Vec<Box<str>>,
}

impl Values {
    /// Owns these values; more than [`MOST`] never come (the rover file's loader sees to it).
    pub fn new(values: &[Value<'_>]) -> Self {
        let mut new = Self { count: values.len().min(MOST) as u8, ..Self::default() };
        for ((sort, kept), value) in new.sorts.iter_mut().zip(&mut new.kept).zip(values) {
            (*sort, *kept) = match *value {
                Value::Int(number) => (Sort::Int, number),
                Value::Real(number) => (Sort::Real, number.to_bits().into()),
                Value::Word(place) => (Sort::Word, place as i64),
                Value::Text(text) => {
                    new.texts.push(text.into());
                    (Sort::Text, new.texts.len() as i64 - 1)
                }
            };
        }
        new
    }

    /// The values, in the kind's order.
    pub fn iter(&self) -> impl Iterator<Item = Value<'_>> {
        (0..self.count.into()).filter_map(|place| self.get(place))
    }

    /// The value at a place of the kind's order; `None` where there is none.
    pub fn get(&self, place: usize) -> Option<Value<'_>> {
        let (sort, kept) = (*self.sorts.get(place)?, *self.kept.get(place)?);
        (place < self.count.into()).then(|| match sort {
            Sort::Int => Value::Int(kept),
            Sort::Real => Value::Real(f32::from_bits(kept as u32)),
            Sort::Word => Value::Word(kept as usize),
            Sort::Text => Value::Text(self.texts.get(kept as usize).map_or("", |text| text)),
        })
    }

    /// Whether both hold the same, whatever stands at the places that `any` names.
    pub fn same_but(&self, other: &Self, any: impl Fn(usize) -> bool) -> bool {
        let same = |place: usize| self.get(place) == other.get(place);
        self.count == other.count && (0..self.count.into()).all(|place| any(place) || same(place))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sort_of_value_comes_back_as_it_went_in() {
        let all = [
            Value::Int(i64::MIN),
            Value::Text("caf\u{e9}"),
            Value::Real(-0.5),
            Value::Word(7),
            Value::Text(""),
            Value::Int(3),
        ];
        let values = Values::new(&all);
        assert_eq!(values.iter().collect::<Vec<_>>(), all);
        assert_eq!(values.get(5), Some(Value::Int(3)));
        assert_eq!((values.get(6), values.get(MOST)), (None, None));
    }

    #[test]
    fn what_may_be_any_number_makes_no_difference() {
        let [one, other] = [3, 4].map(|number| Values::new(&[Value::Int(number), Value::Text("go")]));
        assert!(one.same_but(&other, |place| place == 0));
        assert!(!one.same_but(&other, |_| false));
        assert!(!one.same_but(&Values::new(&[Value::Int(3)]), |_| false));
        assert!(!one.same_but(&Values::new(&[Value::Int(3), Value::Text("stop")]), |place| place == 0));
    }
}

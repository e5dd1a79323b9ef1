//! Identifier codes of a value-change dump by number.

use std::collections::HashMap;

/// Identifier codes by number. Short ones, by far the most, are looked up in a table.
#[derive(Default)]
pub struct Codes {
    short: Vec<Option<u32>>,
    long: HashMap<Box<[u8]>, u32>,
    /// How many are known.
    pub count: u32,
}

impl Codes {
    /// The place in the table of a code of one or two printable characters.
    fn place(code: &[u8]) -> Option<usize> {
        let digit = |byte: u8| matches!(byte, b'!'..=b'~').then(|| usize::from(byte - b'!'));
        match code {
            [one] => digit(*one),
            [one, two] => Some(94 + digit(*one)? * 94 + digit(*two)?),
            _ => None,
        }
    }

    /// The number of this code, where it is known.
    pub fn get(&self, code: &[u8]) -> Option<u32> {
        match Self::place(code) {
            Some(place) => self.short.get(place).copied().flatten(),
            None => self.long.get(code).copied(),
        }
    }

    /// The number of this code; a new one when it was not known. Several variables may share a code.
    pub fn add(&mut self, code: &[u8]) -> u32 {
        if let Some(known) = self.get(code) {
            return known;
        }
        let number = self.count;
        self.count += 1;
        match Self::place(code) {
            Some(place) => {
                self.short.resize(self.short.len().max(place + 1), None);
                if let Some(free) = self.short.get_mut(place) {
                    *free = Some(number);
                }
            }
            None => drop(self.long.insert(code.into(), number)),
        }
        number
    }
}

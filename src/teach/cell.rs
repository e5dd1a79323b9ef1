//! Cells: the smallest pieces of a frame's body that can mean something: a word, a number, a byte, or what parts them.

/// One piece.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cell {
    /// Letters.
    Word(String),
    /// Decimal digits, with a sign where one stands before them.
    Number(String),
    /// What parts them.
    Mark(String),
    /// A byte of a binary frame.
    Byte(u8),
}

impl Cell {
    /// The value as a code of a move table writes it.
    pub fn code(&self) -> String {
        match self {
            Self::Word(text) | Self::Mark(text) => text.clone(),
            Self::Number(text) => text.parse::<i64>().map_or_else(|_| text.clone(), |number| number.to_string()),
            Self::Byte(byte) => byte.to_string(),
        }
    }

    /// The value as a number.
    pub fn number(&self) -> Option<i64> {
        match self {
            Self::Number(text) => text.parse().ok(),
            Self::Byte(byte) => Some(i64::from(*byte)),
            Self::Word(_) | Self::Mark(_) => None,
        }
    }

    /// Whether it can carry a meaning.
    pub const fn is_value(&self) -> bool {
        !matches!(self, Self::Mark(_))
    }

    /// Whether it can name what a frame is about.
    pub const fn is_name(&self) -> bool {
        matches!(self, Self::Word(_) | Self::Byte(_))
    }

    /// Whether both are of one sort; marks must be equal.
    pub fn like(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Mark(a), Self::Mark(b)) => a == b,
            _ => std::mem::discriminant(self) == std::mem::discriminant(other),
        }
    }
}

/// How finely text is taken apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// Letters and digits are apart: `F180` is a word and a number.
    Fine,
    /// A run of letters and digits that holds a letter is one word: `F1` is a word.
    Coarse,
}

/// The cells of a line.
pub fn cells(line: &str, cut: Cut) -> Vec<Cell> {
    let letters: Vec<char> = line.chars().collect();
    let mut cells = Vec::new();
    let mut at = 0;
    while let Some(cell) = next(&letters, at, cut) {
        let len = match &cell {
            Cell::Word(text) | Cell::Number(text) | Cell::Mark(text) => text.chars().count(),
            Cell::Byte(_) => 1,
        };
        at += len.max(1);
        cells.push(cell);
    }
    cells
}

fn next(letters: &[char], at: usize, cut: Cut) -> Option<Cell> {
    let text = |len: usize| letters.iter().skip(at).take(len).collect::<String>();
    letters.get(at)?;
    let word = word_len(letters, at, cut);
    if word > 0 {
        return Some(Cell::Word(text(word)));
    }
    let number = number_len(letters, at);
    if number > 0 {
        return Some(Cell::Number(text(number)));
    }
    let mark = (at..letters.len()).take_while(|place| begins_nothing(letters, *place, cut)).count();
    Some(Cell::Mark(text(mark.max(1))))
}

fn begins_nothing(letters: &[char], at: usize, cut: Cut) -> bool {
    word_len(letters, at, cut) == 0 && number_len(letters, at) == 0
}

fn word_len(letters: &[char], at: usize, cut: Cut) -> usize {
    let is = |place: usize, test: fn(char) -> bool| letters.get(place).is_some_and(|letter| test(*letter));
    let inside = |place: usize| {
        is(place, is_letter)
            || (cut == Cut::Coarse && is(place, |letter| letter.is_ascii_digit()))
            || (place > at && is(place, |letter| letter == '-') && is(place - 1, is_letter) && is(place + 1, is_letter))
    };
    let len = (at..letters.len()).take_while(|place| inside(*place)).count();
    let has_letter = letters.iter().skip(at).take(len).any(|letter| is_letter(*letter));
    if has_letter { len } else { 0 }
}

fn number_len(letters: &[char], at: usize) -> usize {
    let digit = |place: usize| letters.get(place).is_some_and(char::is_ascii_digit);
    let behind_digit = at.checked_sub(1).is_some_and(digit);
    let sign = matches!(letters.get(at), Some('+' | '-')) && digit(at + 1) && !behind_digit;
    let from = at + usize::from(sign);
    let digits = (from..letters.len()).take_while(|place| digit(*place)).count();
    // More digits than a number of a rover file may have are no number.
    if digits == 0 || digits > 15 { 0 } else { digits + usize::from(sign) }
}

fn is_letter(letter: char) -> bool {
    letter.is_alphabetic() || letter == '_'
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(line: &str, cut: Cut) -> String {
        let cells = cells(line, cut).into_iter().map(|cell| match cell {
            Cell::Word(text) => format!("w{text}"),
            Cell::Number(text) => format!("n{text}"),
            Cell::Mark(text) => format!("m{text}"),
            Cell::Byte(byte) => format!("b{byte}"),
        });
        cells.collect::<Vec<_>>().join("|")
    }

    #[test]
    fn lines_fall_into_words_numbers_and_what_parts_them() {
        let rows = [
            ("way,ahead-port", "wway|m,|wahead-port"),
            ("pace,180", "wpace|m,|n180"),
            ("F180;", "wF|n180|m;"),
            ("x=-5 y=+07", "wx|m=|n-5|m |wy|m=|n+07"),
            ("10-20", "n10|m-|n20"),
            ("", ""),
        ];
        for (line, expected) in rows {
            assert_eq!(told(line, Cut::Fine), expected, "{line}");
        }
        assert_eq!(told("cmd,F1", Cut::Coarse), "wcmd|m,|wF1");
        assert_eq!(told("cmd,12", Cut::Coarse), "wcmd|m,|n12");
    }
}

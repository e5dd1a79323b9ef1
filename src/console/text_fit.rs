//! Text that fits: made harmless, measured, cut with a mark, wrapped at words.

use std::borrow::Cow;

use ratatui::text::Span;

/// Width of `text` in cells.
pub fn width(text: &str) -> usize {
    if text.is_ascii() { text.len() } else { Span::raw(text).width() }
}

/// `text` with everything replaced that could move the cursor, turn the writing round or hide; in ASCII mode,
/// everything outside ASCII too.
pub fn harmless(text: &str, ascii: bool) -> Cow<'_, str> {
    if text.chars().all(|c| allowed(c, ascii)) {
        return Cow::Borrowed(text);
    }
    let swap = |c: char| match (allowed(c, ascii), c.is_control(), ascii) {
        (true, ..) => c,
        (_, false, true) => '?',
        (_, _, true) => '.',
        _ => '·',
    };
    Cow::Owned(text.chars().map(swap).collect())
}

fn allowed(c: char, ascii: bool) -> bool {
    if c.is_ascii() {
        return !c.is_ascii_control();
    }
    // Marks that turn the direction of writing, join or hide (Unicode general category Cf), and line separators.
    let unseen = matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}');
    !ascii && !c.is_control() && !unseen
}

/// The longest beginning of `text` that is at most `cells` wide, in bytes.
pub fn fitting(text: &str, cells: usize) -> usize {
    if text.is_ascii() {
        return text.len().min(cells);
    }
    let mut used = 0;
    for (at, c) in text.char_indices() {
        used += width(c.encode_utf8(&mut [0; 4]));
        if used > cells {
            return at;
        }
    }
    text.len()
}

/// `text` in at most `cells` cells; `mark` stands at the end of what was cut.
pub fn cut<'a>(text: &'a str, cells: usize, mark: &str) -> Cow<'a, str> {
    if width(text) <= cells {
        return Cow::Borrowed(text);
    }
    let mark = if cells <= width(mark) { "" } else { mark };
    let kept = fitting(text, cells - width(mark));
    Cow::Owned(format!("{}{mark}", text.get(..kept).unwrap_or_default()))
}

/// `text` broken at spaces into rows of at most `cells` cells; a longer word is broken where it must be.
pub fn wrap(text: &str, cells: usize) -> Vec<&str> {
    let mut rows = Vec::new();
    let mut rest = text.trim_end();
    while !rest.is_empty() && cells > 0 {
        let (row, after) = split_row(rest, cells);
        rows.push(row);
        rest = after;
    }
    rows
}

fn split_row(text: &str, cells: usize) -> (&str, &str) {
    let fits = fitting(text, cells);
    if fits == text.len() {
        return (text, "");
    }
    let reach = fits + usize::from(text[fits..].starts_with(' '));
    let breaks = text[..reach].rmatch_indices(' ');
    let good = breaks.map(|(at, _)| at).find(|at| *at > 0 && !unit_at(&text[*at..]));
    if let Some(at) = good {
        return (text[..at].trim_end(), text[at..].trim_start());
    }
    // At least one character a row, even where it is wider than the row.
    let first = text.chars().next().map_or(0, char::len_utf8);
    text.split_at(fits.max(first))
}

/// Whether `text` goes on with a unit, which stays with its number.
fn unit_at(text: &str) -> bool {
    let word = text.trim_start().split(' ').next().unwrap_or_default();
    matches!(word.trim_end_matches([',', ';', '.', ':']), "%" | "s" | "ms" | "V")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn control_and_turning_marks_are_replaced() {
        assert_eq!(harmless("a\u{1b}[2Jb", false), "a·[2Jb");
        assert_eq!(harmless("a\u{202e}b", false), "a·b");
        assert_eq!(harmless("größe\n", true), "gr??e.");
        assert!(matches!(harmless("way,port", true), Cow::Borrowed(_)));
    }

    #[test]
    fn a_cut_text_says_so() {
        assert_eq!(cut("forward", 4, "…"), "for…");
        assert_eq!(cut("forward", 7, "…"), "forward");
        assert_eq!(cut("月月月", 4, "…"), "月…");
        assert_eq!(cut("abc", 1, ".."), "a");
    }

    #[test]
    fn rows_break_at_words() {
        assert_eq!(wrap("the drive board obeys", 10), ["the drive", "board", "obeys"]);
        assert_eq!(wrap("forward 30 %, right 65 %, gear 2", 22), ["forward 30 %, right", "65 %, gear 2"]);
        assert_eq!(wrap("abcdefgh", 3), ["abc", "def", "gh"]);
        assert!(wrap("abc", 0).is_empty());
    }

    proptest! {
        #[test]
        fn wrapping_loses_no_letter_and_keeps_the_width(text in "[a-zé月 ]{0,60}", cells in 2usize..30) {
            let rows = wrap(&text, cells);
            let letters = |s: &str| s.chars().filter(|c| *c != ' ').collect::<String>();
            prop_assert_eq!(letters(&rows.concat()), letters(&text));
            for row in rows {
                prop_assert!(width(row) <= cells);
            }
        }

        #[test]
        fn nothing_harmful_is_left(text in any::<String>(), ascii in any::<bool>()) {
            let clean = harmless(&text, ascii);
            prop_assert!(!clean.chars().any(char::is_control));
            prop_assert!(!ascii || clean.is_ascii());
        }
    }
}

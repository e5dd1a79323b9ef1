//! How long the functions are: half of them under ten lines, nine in ten under thirty.

use super::rust_text;

/// One function with a body.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Function {
    /// Lines from `fn` to its last brace, both counted.
    pub lines: usize,
    /// Where it begins, `file:line`, and its name.
    pub place: String,
}

/// Half of all functions are shorter than this.
const MEDIAN: usize = 10;
/// Nine in ten are shorter than this.
const NINE_IN_TEN: usize = 30;

/// Every function of a source that has a body.
pub fn of(file: &str, text: &str) -> Vec<Function> {
    let tokens = rust_text::tokens(&rust_text::code_only(text));
    let texts: Vec<&str> = tokens.iter().map(|token| token.text.as_str()).collect();
    let begins = (0..texts.len()).filter(|at| texts[*at] == "fn" && is_name(texts.get(at + 1)));
    begins
        .filter_map(|at| {
            let end = end_of(&texts, at)?;
            let first = tokens[at].line;
            let place = format!("{file}:{first} {}", texts[at + 1]);
            Some(Function { lines: tokens[end].line - first + 1, place })
        })
        .collect()
}

/// A name follows the `fn` of a function, a bracket that of a type.
fn is_name(text: Option<&&str>) -> bool {
    text.is_some_and(|text| text.starts_with(|c: char| c.is_alphabetic() || c == '_'))
}

/// The token that closes the body of the function that begins at `at`; `None` when it has no body.
fn end_of(texts: &[&str], at: usize) -> Option<usize> {
    // Brackets before the body hold parameters and array types, where a `;` may stand.
    let (mut brackets, mut braces) = (0_i32, 0_i32);
    for (index, text) in texts.iter().enumerate().skip(at) {
        match *text {
            "(" | "[" => brackets += 1,
            ")" | "]" => brackets -= 1,
            ";" if brackets == 0 && braces == 0 => return None,
            "{" => braces += 1,
            "}" => braces -= 1,
            _ => continue,
        }
        if *text == "}" && braces == 0 && brackets == 0 {
            return Some(index);
        }
    }
    None
}

/// What is wrong with the lengths of all functions together, with the longest ones; `None` when nothing is.
pub fn fault(mut functions: Vec<Function>) -> Option<String> {
    functions.sort();
    let part = |tenths: usize| functions.get(functions.len() * tenths / 10).map_or(0, |function| function.lines);
    let (median, most) = (part(5), part(9));
    if median < MEDIAN && most < NINE_IN_TEN {
        return None;
    }
    let longest: Vec<String> = functions
        .iter()
        .rev()
        .take(10)
        .map(|function| format!("{} lines: {}", function.lines, function.place))
        .collect();
    let says = format!("half of {} functions are under {median} lines and nine in ten under {most}", functions.len());
    Some(format!("{says}; wanted {MEDIAN} and {NINE_IN_TEN}. The longest:\n{}", longest.join("\n")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn long(count: usize, lines: usize) -> Vec<Function> {
        (0..count).map(|index| Function { lines, place: format!("src/x.rs:{index} f") }).collect()
    }

    #[test]
    fn functions_are_measured_from_their_name_to_their_last_brace() {
        let text = "fn a() {}\ntrait T {\n    fn b(x: [u8; 4]);\n    fn c(x: [u8; 4]) -> fn(u8) -> u8 {\n        {\n        }\n    }\n}\n\
                    const D: &str = \"fn d() {\";\nfn e(\n    f: fn(),\n) where\n    X: Y,\n{\n    g(|| { 1 })\n}\nfn broken() {";
        let found: Vec<(usize, String)> = of("src/x.rs", text).into_iter().map(|f| (f.lines, f.place)).collect();
        let wanted = [(1, "src/x.rs:1 a"), (4, "src/x.rs:4 c"), (7, "src/x.rs:10 e")];
        assert_eq!(found, wanted.map(|(lines, place)| (lines, place.to_owned())));
    }

    #[test]
    fn too_many_long_functions_are_named() {
        assert_eq!(fault([long(91, 9), long(9, 200)].concat()), None);
        assert!(
            fault([long(90, 9), long(10, 31)].concat()).is_some_and(|says| says.contains("31 lines: src/x.rs:9 f"))
        );
        assert!(fault([long(49, 2), long(51, 10)].concat()).is_some_and(|says| says.contains("under 10 lines")));
    }
}

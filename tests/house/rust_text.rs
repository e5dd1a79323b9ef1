//! Rust source as a reader of imports sees it: without comments and literals, cut into tokens, then into paths.

/// A path such as `crate::engine::snapshot`, with the place where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path {
    /// Line in the file, from 1.
    pub line: usize,
    /// Its segments; the last is `*` when everything is imported.
    pub segments: Vec<String>,
    /// Inline modules around it, outermost first.
    pub within: Vec<String>,
}

/// An identifier, `::`, or one other character.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    /// Line in the file, from 1.
    pub line: usize,
    /// Its text.
    pub text: String,
}

impl Token {
    fn is_word(&self) -> bool {
        self.text.starts_with(|c: char| c.is_alphabetic() || c == '_')
    }
}

/// `text` with comments and literals blanked. Line ends stay, so that lines keep their numbers.
pub fn code_only(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    let mut after_word = false;
    while let Some(first) = rest.chars().next() {
        let quiet = quiet_len(rest, after_word);
        let (taken, left) = rest.split_at(if quiet == 0 { first.len_utf8() } else { quiet });
        if quiet == 0 {
            out.push(first);
        } else {
            out.extend(taken.chars().map(|c| if c == '\n' { '\n' } else { ' ' }));
        }
        after_word = quiet == 0 && (first.is_alphanumeric() || first == '_');
        rest = left;
    }
    out
}

/// Length in bytes of the comment or literal that begins here; 0 when none does.
fn quiet_len(rest: &str, after_word: bool) -> usize {
    match rest.as_bytes() {
        [b'/', b'/', ..] => rest.find('\n').unwrap_or(rest.len()),
        [b'/', b'*', ..] => block_comment_len(rest),
        [b'"', ..] => quoted_len(rest, b'"'),
        [b'\'', b'\\', ..] => quoted_len(rest, b'\''),
        [b'\'', ..] => plain_char_len(rest),
        _ if !after_word => raw_string_len(rest),
        _ => 0,
    }
}

fn block_comment_len(rest: &str) -> usize {
    let bytes = rest.as_bytes();
    let (mut at, mut depth) = (0, 0);
    while at < bytes.len() {
        match &bytes[at..] {
            [b'/', b'*', ..] => (depth, at) = (depth + 1, at + 2),
            [b'*', b'/', ..] => (depth, at) = (depth - 1, at + 2),
            _ => at += 1,
        }
        if depth == 0 {
            return at;
        }
    }
    rest.len()
}

fn quoted_len(rest: &str, quote: u8) -> usize {
    let bytes = rest.as_bytes();
    let mut at = 1;
    while at < bytes.len() {
        match bytes[at] {
            b'\\' => at += 2,
            byte if byte == quote => return at + 1,
            _ => at += 1,
        }
    }
    rest.len()
}

/// `'x'`; 0 for a lifetime.
fn plain_char_len(rest: &str) -> usize {
    let mut chars = rest.char_indices().skip(2);
    match chars.next() {
        Some((at, '\'')) => at + 1,
        _ => 0,
    }
}

fn raw_string_len(rest: &str) -> usize {
    let body = ["r", "br", "cr"].iter().find_map(|prefix| rest.strip_prefix(prefix)).unwrap_or_default();
    let hashes = body.len() - body.trim_start_matches('#').len();
    if !body[hashes..].starts_with('"') {
        return 0;
    }
    let end = format!("\"{}", "#".repeat(hashes));
    let before = rest.len() - body.len() + hashes + 1;
    rest[before..].find(&end).map_or(rest.len(), |at| before + at + end.len())
}

/// Cuts code without comments and literals into tokens.
pub fn tokens(code: &str) -> Vec<Token> {
    let mut found = Vec::new();
    for (number, line) in code.lines().enumerate() {
        let mut rest = line.trim_start();
        while let Some(first) = rest.chars().next() {
            let word = rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len());
            let len = match word {
                0 if rest.starts_with("::") => 2,
                0 => first.len_utf8(),
                len => len,
            };
            found.push(Token { line: number + 1, text: rest[..len].to_owned() });
            rest = rest[len..].trim_start();
        }
    }
    found
}

/// Every path of a source: imports one by one, and paths of two or more segments wherever they stand.
pub fn paths(text: &str) -> Vec<Path> {
    let tokens = tokens(&code_only(text));
    let mut walk = Walk { tokens: &tokens, at: 0, depth: 0, modules: Vec::new(), found: Vec::new() };
    while walk.at < tokens.len() {
        walk.step();
    }
    walk.found
}

struct Walk<'a> {
    tokens: &'a [Token],
    at: usize,
    depth: usize,
    modules: Vec<(String, usize)>,
    found: Vec<Path>,
}

impl Walk<'_> {
    fn text(&self, at: usize) -> &str {
        self.tokens.get(at).map_or("", |token| token.text.as_str())
    }

    fn is_word(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(Token::is_word)
    }

    fn step(&mut self) {
        match self.text(self.at) {
            "mod" if self.text(self.at + 2) == "{" => {
                self.modules.push((self.text(self.at + 1).to_owned(), self.depth));
                self.at += 2;
            }
            "{" => (self.depth, self.at) = (self.depth + 1, self.at + 1),
            "}" => self.close(),
            "use" => {
                self.at += 1;
                self.import(&[]);
            }
            "extern" if self.text(self.at + 1) == "crate" => {
                let line = self.tokens[self.at].line;
                let name = self.text(self.at + 2).to_owned();
                self.keep(line, vec![name]);
                self.at += 3;
            }
            _ if self.is_word(self.at) => self.path(),
            _ => self.at += 1,
        }
    }

    fn close(&mut self) {
        self.depth = self.depth.saturating_sub(1);
        if self.modules.last().is_some_and(|(_, depth)| *depth == self.depth) {
            self.modules.pop();
        }
        self.at += 1;
    }

    fn path(&mut self) {
        let line = self.tokens[self.at].line;
        let mut segments = vec![self.text(self.at).to_owned()];
        self.at += 1;
        while self.text(self.at) == "::" && self.is_word(self.at + 1) {
            segments.push(self.text(self.at + 1).to_owned());
            self.at += 2;
        }
        if segments.len() > 1 {
            self.keep(line, segments);
        }
    }

    /// One branch of a `use`, after `use` or inside its braces.
    fn import(&mut self, before: &[String]) {
        let line = self.tokens.get(self.at).map_or(0, |token| token.line);
        let mut segments = before.to_vec();
        if self.text(self.at) == "::" {
            self.at += 1;
        }
        loop {
            match self.text(self.at) {
                "{" => return self.branches(&segments),
                word if word == "*" || self.is_word(self.at) => segments.push(word.to_owned()),
                _ => break,
            }
            self.at += 1;
            if self.text(self.at) != "::" {
                break;
            }
            self.at += 1;
        }
        if self.text(self.at) == "as" {
            self.at += 2;
        }
        self.keep(line, segments);
    }

    fn branches(&mut self, before: &[String]) {
        self.at += 1;
        while self.at < self.tokens.len() && self.text(self.at) != "}" {
            if self.is_word(self.at) || matches!(self.text(self.at), "*" | "{" | "::") {
                self.import(before);
            } else {
                self.at += 1;
            }
        }
        self.at += 1;
    }

    fn keep(&mut self, line: usize, segments: Vec<String>) {
        let within = self.modules.iter().map(|(name, _)| name.clone()).collect();
        self.found.push(Path { line, segments, within });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> Vec<String> {
        paths(text).iter().map(|path| format!("{} {}", path.line, path.segments.join("::"))).collect()
    }

    #[test]
    fn comments_and_literals_are_blanked_and_lines_stay() {
        let text = "a // b\n/* c /* d */\n e */ f \"g\\\"h\" i r#\"j\"k\"# l 'm' '\\'' 'n o b\"p\" br\"q\"";
        let words: Vec<String> = tokens(&code_only(text)).into_iter().map(|token| token.text).collect();
        assert_eq!(words, ["a", "f", "i", "l", "'", "n", "o", "b"]);
        assert_eq!(code_only(text).lines().count(), text.lines().count());
    }

    #[test]
    fn a_tree_of_imports_gives_each_path() {
        let text = "use a::{b, c::{self, d as e}, f::*};\npub use crate::{\n    g,\n    h::i,\n};\nuse ::j;";
        assert_eq!(
            shown(text),
            ["1 a::b", "1 a::c::self", "1 a::c::d", "1 a::f::*", "3 crate::g", "4 crate::h::i", "6 j"]
        );
    }

    #[test]
    fn paths_in_code_are_found_with_their_inline_modules() {
        let text = "fn a() { crate::b::c(); x.d::<E>() }\nmod tests {\n    fn f() { super::g::h!() }\n}\nk::l;";
        assert_eq!(shown(text), ["1 crate::b::c", "3 super::g::h", "5 k::l"]);
        let within: Vec<Vec<String>> = paths(text).into_iter().map(|path| path.within).collect();
        assert_eq!(within, [vec![], vec!["tests".to_owned()], vec![]]);
    }

    #[test]
    fn broken_source_ends() {
        for text in ["use a::{", "use", "use a::{b::{c", "\"", "/*", "r#\"", "'\\", "mod x {", "}}}", "extern crate"] {
            let _ends = paths(text);
        }
    }
}

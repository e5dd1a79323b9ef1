//! Walking a parsed TOML document so that every fault is found in one go, each with its line and key.

use std::cell::RefCell;
use std::fmt;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// One fault of a rover file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Line, from 1.
    pub line: usize,
    /// Full key, such as `frame[2].fields.duty.kind`; empty for the file as a whole.
    pub key: String,
    /// What was found.
    pub found: String,
    /// What is allowed, or what to do.
    pub allowed: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, key, found, allowed } = self;
        if key.is_empty() {
            write!(out, "line {line}: {found}. {allowed}")
        } else {
            write!(out, "line {line}, {key}: {found}. {allowed}")
        }
    }
}

/// Collects faults while the document is walked.
pub struct Faults<'t> {
    text: &'t str,
    list: RefCell<Vec<Fault>>,
}

impl<'t> Faults<'t> {
    /// An empty list for this text.
    pub fn new(text: &'t str) -> Self {
        Self { text, list: RefCell::default() }
    }

    /// Adds a fault at a place of the text.
    pub fn add(&self, span: &Range<usize>, key: &str, found: impl Into<String>, allowed: impl Into<String>) {
        let before = self.text.get(..span.start).unwrap_or(self.text);
        let line = 1 + before.bytes().filter(|byte| *byte == b'\n').count();
        let fault = Fault { line, key: key.to_owned(), found: found.into(), allowed: allowed.into() };
        self.list.borrow_mut().push(fault);
    }

    /// How many so far.
    pub fn count(&self) -> usize {
        self.list.borrow().len()
    }

    /// All of them, by line.
    pub fn into_list(self) -> Vec<Fault> {
        let mut list = self.list.into_inner();
        list.sort_by_key(|fault| fault.line);
        list
    }
}

/// A value with its place and full key.
pub struct Item<'w> {
    /// The value.
    pub value: &'w DeValue<'w>,
    /// Its place in the text.
    pub span: Range<usize>,
    /// Its full key.
    pub key: String,
    faults: &'w Faults<'w>,
}

impl<'w> Item<'w> {
    /// Adds a fault at this value.
    pub fn fault(&self, found: impl Into<String>, allowed: impl Into<String>) {
        self.faults.add(&self.span, &self.key, found, allowed);
    }

    fn wrong_type(&self, wanted: &str) {
        let article = if self.value.type_str().starts_with(['a', 'i']) { "an" } else { "a" };
        self.fault(format!("{article} {} stands here", self.value.type_str()), format!("Write {wanted}"));
    }

    /// As text.
    pub fn text(&self) -> Option<String> {
        let text = self.value.as_str().map(str::to_owned);
        if text.is_none() {
            self.wrong_type("text in quotes");
        }
        text
    }

    /// As a whole number.
    pub fn whole(&self) -> Option<i64> {
        let number =
            self.value.as_integer().and_then(|number| i64::from_str_radix(number.as_str(), number.radix()).ok());
        if number.is_none() {
            self.wrong_type("a whole number");
        }
        number
    }

    /// As a number with or without a fraction.
    pub fn number(&self) -> Option<f64> {
        if let Some(float) = self.value.as_float() {
            return float.as_str().parse().ok().filter(|v: &f64| v.is_finite());
        }
        self.value.as_integer()?;
        self.whole().map(|whole| whole as f64)
    }

    /// As true or false.
    pub fn yes_no(&self) -> Option<bool> {
        let yes = self.value.as_bool();
        if yes.is_none() {
            self.wrong_type("true or false");
        }
        yes
    }

    /// As a list.
    pub fn list(&self) -> Vec<Item<'w>> {
        let Some(array) = self.value.as_array() else {
            self.wrong_type("a list in square brackets");
            return Vec::new();
        };
        let item = |(place, value): (usize, &'w Spanned<DeValue<'w>>)| Item {
            value: value.get_ref(),
            span: value.span(),
            key: format!("{}[{}]", self.key, place + 1),
            faults: self.faults,
        };
        array.iter().enumerate().map(item).collect()
    }

    /// As a table.
    pub fn table(&self) -> Option<Table<'w>> {
        let table = self.value.as_table();
        if table.is_none() {
            self.wrong_type("a table of keys");
        }
        table.map(|table| Table::new(table, self.span.clone(), self.key.clone(), self.faults))
    }
}

/// A table that remembers which of its keys were asked for.
pub struct Table<'w> {
    entries: &'w DeTable<'w>,
    /// Its place in the text.
    pub span: Range<usize>,
    /// Its full key.
    pub key: String,
    /// Where faults go.
    pub faults: &'w Faults<'w>,
    asked: RefCell<Vec<String>>,
}

impl<'w> Table<'w> {
    /// A table at `span` whose full key is `key`.
    pub fn new(table: &'w DeTable<'w>, span: Range<usize>, key: String, faults: &'w Faults<'w>) -> Self {
        Self { entries: table, span, key, faults, asked: RefCell::default() }
    }

    fn full_key(&self, key: &str) -> String {
        if self.key.is_empty() { key.to_owned() } else { format!("{}.{key}", self.key) }
    }

    /// The value of `key`, if it is there.
    pub fn item(&self, key: &str) -> Option<Item<'w>> {
        self.asked.borrow_mut().push(key.to_owned());
        let (_, value) = self.entries.iter().find(|(name, _)| name.get_ref() == key)?;
        let (value, span) = (value.get_ref(), value.span());
        Some(Item { value, span, key: self.full_key(key), faults: self.faults })
    }

    /// Every key and value, for tables whose keys are the person's own names.
    pub fn entries(&self) -> Vec<(String, Item<'w>)> {
        let entry = |(name, value): (&'w Spanned<_>, &'w Spanned<DeValue<'w>>)| {
            let name: &std::borrow::Cow<'_, str> = name.get_ref();
            let item =
                Item { value: value.get_ref(), span: value.span(), key: self.full_key(name), faults: self.faults };
            (name.to_string(), item)
        };
        let all: Vec<_> = self.entries.iter().map(entry).collect();
        self.asked.borrow_mut().extend(all.iter().map(|(name, _)| name.clone()));
        all
    }

    /// Adds a fault for `key`, whether it is there or not.
    pub fn fault(&self, key: &str, found: impl Into<String>, allowed: impl Into<String>) {
        let span = self
            .entries
            .iter()
            .find(|(name, _)| name.get_ref() == key)
            .map_or(self.span.clone(), |(_, value)| value.span());
        self.faults.add(&span, &self.full_key(key), found, allowed);
    }

    fn missing(&self, key: &str, allowed: &str) {
        self.faults.add(&self.span, &self.full_key(key), "this key is missing", allowed);
    }

    /// Text that may be left out.
    pub fn text(&self, key: &str) -> Option<String> {
        self.item(key)?.text()
    }

    /// Text that must be there; `allowed` says what it should be.
    pub fn need_text(&self, key: &str, allowed: &str) -> Option<String> {
        let item = self.item(key);
        if item.is_none() {
            self.missing(key, allowed);
        }
        item?.text()
    }

    /// A whole number that may be left out, within `range`.
    pub fn whole(&self, key: &str, range: std::ops::RangeInclusive<i64>) -> Option<i64> {
        let item = self.item(key)?;
        let number = item.whole()?;
        if range.contains(&number) {
            return Some(number);
        }
        item.fault(format!("{number} is out of range"), format!("Allowed: {} to {}", range.start(), range.end()));
        None
    }

    /// A number that may be left out, as thousandths, within `range` (also thousandths).
    pub fn thousandths(&self, key: &str, range: std::ops::RangeInclusive<i64>) -> Option<i64> {
        let item = self.item(key)?;
        item_thousandths(&item, &range)
    }

    /// A list of numbers as thousandths.
    pub fn list_thousandths(&self, key: &str, range: std::ops::RangeInclusive<i64>) -> Option<Vec<i64>> {
        let item = self.item(key)?;
        Some(item.list().iter().filter_map(|one| item_thousandths(one, &range)).collect())
    }

    /// True or false, `usual` when left out.
    pub fn yes_no(&self, key: &str, usual: bool) -> bool {
        self.item(key).and_then(|item| item.yes_no()).unwrap_or(usual)
    }

    /// One of a set of words, when it is there.
    pub fn word<T: Copy>(&self, key: &str, words: &[(&str, T)]) -> Option<T> {
        let item = self.item(key)?;
        let text = item.text()?;
        let hit = words.iter().find(|(word, _)| *word == text).map(|(_, value)| *value);
        if hit.is_none() {
            item.fault(format!("`{text}` is not known here"), allowed_words(words.iter().map(|(word, _)| *word)));
        }
        hit
    }

    /// One of a set of words that must be there.
    pub fn need_word<T: Copy>(&self, key: &str, words: &[(&str, T)]) -> Option<T> {
        if self.entries.iter().all(|(name, _)| name.get_ref() != key) {
            self.missing(key, &allowed_words(words.iter().map(|(word, _)| *word)));
        }
        self.word(key, words)
    }

    /// A table inside this one, when it is there.
    pub fn table(&self, key: &str) -> Option<Table<'w>> {
        self.item(key)?.table()
    }

    /// A table that must be there.
    pub fn need_table(&self, key: &str, allowed: &str) -> Option<Table<'w>> {
        let item = self.item(key);
        if item.is_none() {
            self.missing(key, allowed);
        }
        item?.table()
    }

    /// A list of tables, empty when it is not there.
    pub fn tables(&self, key: &str) -> Vec<Table<'w>> {
        self.item(key).map(|item| item.list().iter().filter_map(Item::table).collect()).unwrap_or_default()
    }

    /// A list of texts, empty when it is not there.
    pub fn texts(&self, key: &str) -> Vec<String> {
        self.item(key).map(|item| item.list().iter().filter_map(Item::text).collect()).unwrap_or_default()
    }

    /// Names every key that nobody asked for.
    pub fn finish(&self) {
        let asked = self.asked.borrow();
        for (name, _) in self.entries {
            if !asked.iter().any(|key| key == name.get_ref()) {
                let known = allowed_words(asked.iter().map(String::as_str));
                self.faults.add(&name.span(), &self.full_key(name.get_ref()), "this key is not known here", known);
            }
        }
    }
}

fn item_thousandths(item: &Item<'_>, range: &std::ops::RangeInclusive<i64>) -> Option<i64> {
    let Some(number) = item.number() else {
        item.wrong_type("a number");
        return None;
    };
    let thousandths = (number * 1000.0).round() as i64;
    if range.contains(&thousandths) {
        return Some(thousandths);
    }
    let bound = |value: &i64| *value as f64 / 1000.0;
    item.fault(
        format!("{number} is out of range"),
        format!("Allowed: {} to {}", bound(range.start()), bound(range.end())),
    );
    None
}

fn allowed_words<'a>(words: impl Iterator<Item = &'a str>) -> String {
    let mut list: Vec<&str> = Vec::new();
    for word in words {
        if !list.contains(&word) {
            list.push(word);
        }
    }
    format!("Allowed: {}", list.join(", "))
}

//! The help, made from the key table and from what each page says of itself.

use ratatui::style::Style;

use crate::console::key_table::{Place, TABLE};
use crate::console::page::Page;
use crate::console::pen::Pen;
use crate::console::scroll::Scroll;
use crate::console::sheet::Sheet;
use crate::findings::Severity;

/// Width of a key's name.
const KEY: usize = 12;

/// Draws the page: first what was in view, then the keys, then everything else.
pub fn draw(pen: &mut Pen, before: Page, scroll: &mut Scroll) {
    let mut sheet = Sheet::new(pen.width());
    add_page(&mut sheet, pen, before);
    add_symbols(&mut sheet, pen);
    for place in Place::ALL {
        add_keys(&mut sheet, pen, place);
    }
    for page in Page::ALL.into_iter().filter(|page| *page != before) {
        add_page(&mut sheet, pen, page);
    }
    add_texts(&mut sheet, pen, "Take care", &CARE);
    sheet.draw(pen, scroll);
}

fn add_page(sheet: &mut Sheet, pen: &Pen, page: Page) {
    if !page.explains().is_empty() {
        let title = format!("What is in view: {}", page.name());
        add_texts(sheet, pen, &title, page.explains());
    }
}

fn add_texts(sheet: &mut Sheet, pen: &Pen, title: &str, texts: &[&str]) {
    sheet.gap();
    sheet.text(0, title, pen.theme.heading());
    for text in texts {
        sheet.text(2, text, Style::new());
    }
}

fn add_keys(sheet: &mut Sheet, pen: &Pen, place: Place) {
    sheet.gap();
    sheet.text(0, &format!("Keys {}", place.words()), pen.theme.heading());
    for binding in TABLE.iter().filter(|binding| binding.place == place) {
        let name = binding.key.name();
        sheet.text(2, &format!("{name:<KEY$}{}", binding.says), Style::new());
    }
}

fn add_symbols(sheet: &mut Sheet, pen: &Pen) {
    sheet.gap();
    sheet.text(0, "How bad a finding is", pen.theme.heading());
    for severity in [Severity::Danger, Severity::Fault, Severity::Doubt, Severity::Note] {
        let text = format!("{} {}", pen.theme.symbol(severity), severity.id());
        sheet.text(2, &text, pen.theme.severity(severity));
    }
}

const CARE: [&str; 5] = [
    "wheeltap only listens: it sends nothing on either wire, and it cannot stop the rover.",
    "Moving wheels: prop the rover up before you test, keep fingers, hair and cables away, keep a hand at the pack plug.",
    "Lithium packs: stop at the pack maker's lowest volts per cell; never leave a swollen or hot pack connected.",
    "Regulators and motor drivers can be hot enough to burn.",
    "Tap with ground and a receive line only, at the boards' own level (3.3 V or 5 V).",
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::theme::Theme;
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    #[test]
    fn every_key_stands_in_the_help_with_its_sentence() {
        let area = Rect::new(0, 0, 120, 160);
        let mut buffer = Buffer::empty(area);
        let mut pen = Pen::new(&mut buffer, area, Theme::default());
        draw(&mut pen, Page::Overview, &mut Scroll::default());
        let row = |y| (0..120).map(|x| buffer[(x, y)].symbol()).collect::<String>();
        let rows: Vec<String> = (0..160).map(row).collect();
        for binding in TABLE {
            let start = format!("  {:<KEY$}{}", binding.key.name(), binding.says);
            assert!(rows.iter().any(|row| row.starts_with(&start)), "{start}");
        }
    }
}

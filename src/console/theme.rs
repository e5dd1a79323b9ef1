//! Colours, borders and symbols. Never colour alone: each meaning also has a word, a line style or a shape.
//!
//! The hues follow the set that M. Okabe and K. Ito published as unambiguous to colour-blind and other eyes (Color
//! Universal Design, 2002, revised 2008), each taken to the nearest entry of the 6 x 6 x 6 colour cube that stands out
//! from black and from white alike.

use ratatui::style::{Color, Modifier, Style};

use crate::findings::Severity;

/// How the console draws.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Theme {
    /// False: bold, reverse and underline only.
    pub colour: bool,
    /// True: nothing outside ASCII.
    pub ascii: bool,
}

/// Vermillion, for danger and faults.
const VERMILLION: Color = Color::Indexed(166);
/// Reddish purple, for doubts.
const PURPLE: Color = Color::Indexed(133);
/// Blue, for notes and for what is meant.
const BLUE: Color = Color::Indexed(31);
/// Bluish green, for what was seen or is well.
const GREEN: Color = Color::Indexed(29);

/// The border of a thing, told apart by its line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Border {
    /// Across.
    pub across: &'static str,
    /// Down.
    pub down: &'static str,
    /// Top left, top right, bottom left, bottom right.
    pub corners: [&'static str; 4],
}

impl Theme {
    /// From what the caller read in the environment: `NO_COLOR` set, and ASCII asked for.
    pub const fn from_env(no_color: bool, ascii: bool) -> Self {
        Self { colour: !no_color, ascii }
    }

    /// `fine`, or `ascii` in ASCII mode.
    pub const fn pick(self, fine: &'static str, ascii: &'static str) -> &'static str {
        if self.ascii { ascii } else { fine }
    }

    /// What is most important.
    pub const fn strong(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }

    /// What may be overlooked.
    pub const fn faint(self) -> Style {
        if self.colour { Style::new().add_modifier(Modifier::DIM) } else { Style::new() }
    }

    /// Heading of a pane.
    pub const fn heading(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD).add_modifier(Modifier::UNDERLINED)
    }

    /// A key to press.
    pub const fn key(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD).add_modifier(Modifier::UNDERLINED)
    }

    /// The row at the cursor, the line being typed.
    pub const fn chosen(self) -> Style {
        Style::new().add_modifier(Modifier::REVERSED)
    }

    /// Something that must not be overlooked.
    pub const fn alarm(self) -> Style {
        self.hue(VERMILLION).add_modifier(Modifier::BOLD)
    }

    /// What stood on the wire.
    pub const fn ordered(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }

    /// What the rover file makes of it.
    pub const fn meant(self) -> Style {
        self.hue(BLUE)
    }

    /// What a person saw.
    pub const fn seen(self) -> Style {
        self.hue(GREEN)
    }

    /// By severity.
    pub const fn severity(self, severity: Severity) -> Style {
        match severity {
            Severity::Danger => self.alarm().add_modifier(Modifier::REVERSED),
            Severity::Fault => self.alarm(),
            Severity::Doubt => self.hue(PURPLE).add_modifier(Modifier::BOLD),
            Severity::Note => self.hue(BLUE),
        }
    }

    /// A shape for each severity, two cells wide.
    pub const fn symbol(self, severity: Severity) -> &'static str {
        match severity {
            Severity::Danger => self.pick("◆◆", "##"),
            Severity::Fault => self.pick("◆ ", "# "),
            Severity::Doubt => self.pick("◇ ", "? "),
            Severity::Note => self.pick("○ ", "o "),
        }
    }

    /// Dashed: meant, not yet seen.
    pub const fn dashed(self) -> Border {
        if self.ascii {
            return Border { across: "-", down: ":", corners: [".", ".", "'", "'"] };
        }
        Border { across: "╌", down: "╎", corners: ["┌", "┐", "└", "┘"] }
    }

    /// Solid and thin: ordered, or meant and seen.
    pub const fn solid(self) -> Border {
        if self.ascii {
            return Border { across: "-", down: "|", corners: ["+", "+", "+", "+"] };
        }
        Border { across: "─", down: "│", corners: ["┌", "┐", "└", "┘"] }
    }

    /// Heavy: the rover's body.
    pub const fn heavy(self) -> Border {
        if self.ascii {
            return Border { across: "=", down: "H", corners: ["#", "#", "#", "#"] };
        }
        Border { across: "━", down: "┃", corners: ["┏", "┓", "┗", "┛"] }
    }

    const fn hue(self, colour: Color) -> Style {
        if self.colour { Style::new().fg(colour) } else { Style::new() }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// The 6 x 6 x 6 cube of the 256-colour set: 16 + 36 r + 6 g + b, levels 0 95 135 175 215 255.
    fn rgb(colour: Color) -> [f64; 3] {
        let Color::Indexed(index) = colour else { unreachable!("only cube colours are used") };
        let place = usize::from(index) - 16;
        let level = [0.0, 95.0, 135.0, 175.0, 215.0, 255.0];
        [place / 36, place / 6 % 6, place % 6].map(|step| level[step])
    }

    /// Relative luminance and contrast as WCAG 2.2 defines them (W3C, "relative luminance", "contrast ratio").
    fn luminance(colour: [f64; 3]) -> f64 {
        let part = colour.map(|level| {
            let share = level / 255.0;
            if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        });
        0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2]
    }

    #[test]
    fn every_hue_stands_out_from_black_and_from_white() {
        // WCAG 2.2, 1.4.3 and 1.4.11: 3:1 for large text and for shapes.
        for hue in [VERMILLION, PURPLE, BLUE, GREEN] {
            let light = luminance(rgb(hue));
            let (on_black, on_white) = ((light + 0.05) / 0.05, 1.05 / (light + 0.05));
            assert!(on_black >= 3.0 && on_white >= 3.0, "{hue:?}: {on_black:.2} {on_white:.2}");
        }
    }

    #[test]
    fn no_colour_means_no_colour_and_no_dim() {
        let theme = Theme::from_env(true, false);
        let all = [Severity::Danger, Severity::Fault, Severity::Doubt, Severity::Note];
        let styles = all.map(|severity| theme.severity(severity));
        for style in styles.into_iter().chain([theme.meant(), theme.seen(), theme.faint()]) {
            assert_eq!((style.fg, style.bg), (None, None));
            assert!(!style.add_modifier.contains(Modifier::DIM));
        }
    }

    #[test]
    fn borders_differ_in_every_piece_that_tells_them_apart() {
        for theme in [Theme::from_env(true, false), Theme::from_env(true, true)] {
            let (dashed, solid, heavy) = (theme.dashed(), theme.solid(), theme.heavy());
            assert!(dashed.down != solid.down && solid.down != heavy.down && dashed.down != heavy.down);
        }
    }

    #[test]
    fn severities_differ_in_shape() {
        for theme in [Theme::from_env(true, false), Theme::from_env(true, true)] {
            let all = [Severity::Danger, Severity::Fault, Severity::Doubt, Severity::Note];
            let shapes: std::collections::BTreeSet<_> = all.iter().map(|s| theme.symbol(*s)).collect();
            assert_eq!(shapes.len(), 4);
        }
    }
}

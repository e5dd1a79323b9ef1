//! The move table: the column whose value changes with the button and comes back when it is let go.

use crate::rover::mecanum::Motion;

use super::body::{Body, Group, groups, without_repeats};
use super::cell::Cell;
use super::step::Step;

/// Where the code of the move stands, and what it was for each move.
#[derive(Clone, Debug)]
pub struct Table<'b> {
    /// The frames it stands in.
    pub group: Group<'b>,
    /// Its column.
    pub column: usize,
    /// For each move asked: the codes heard, the rest left out, most frequent first.
    pub heard: Vec<(Motion, Vec<String>)>,
    /// The code to which it comes back.
    pub rest: Option<String>,
    score: Score,
}

/// How well a column tells the moves apart; compared from the first number on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Score {
    /// Different codes.
    codes: usize,
    /// Moves with exactly one code.
    single: usize,
    /// Moves that came back to rest.
    rested: usize,
    /// Frames whose meaning does not depend on the first cell alone are second choice.
    word: bool,
    keyed: bool,
}

/// What one column said during one move, repeats left out.
struct Said {
    motion: Motion,
    codes: Vec<String>,
}

/// The best table that the bodies give; `None` when no column changed with any move.
pub fn table(bodies: &[Body]) -> Option<Table<'_>> {
    let all = groups(bodies).into_iter().flat_map(|group| {
        let columns: Vec<usize> = group.columns().collect();
        let pressed = pressed(bodies, &group);
        columns.into_iter().filter_map(move |column| judge(&pressed, &group, column))
    });
    // Of equals the first counts, so that nothing depends on the order of search from behind.
    all.fold(None, |best: Option<Table<'_>>, table| match best {
        Some(best) if best.score >= table.score => Some(best),
        _ => Some(table),
    })
}

impl Table<'_> {
    /// Whether a number that touches the code belongs to it: always the same for one code, not the same for all.
    pub fn is_torn(&self, bodies: &[Body]) -> bool {
        let next = self.column + 1;
        let number = |body: &Body| body.cells.get(next).filter(|cell| matches!(cell, Cell::Number(_))).map(Cell::code);
        let mut pairs: Vec<(String, String)> = bodies
            .iter()
            .filter(|body| self.owns(body) && self.code_of(body) != self.rest)
            .filter_map(|body| Some((self.code_of(body)?, number(body)?)))
            .collect();
        pairs.sort_unstable();
        pairs.dedup();
        let one_each =
            pairs.windows(2).all(|two| two.first().map(|(code, _)| code) != two.get(1).map(|(code, _)| code));
        let mut numbers: Vec<&String> = pairs.iter().map(|(_, number)| number).collect();
        numbers.sort_unstable();
        numbers.dedup();
        one_each && numbers.len() > 1
    }

    /// Whether this table tells more moves apart than `other`.
    pub fn beats(&self, other: &Self) -> bool {
        (self.score.codes, self.score.single) > (other.score.codes, other.score.single)
    }

    /// Whether `body` carries a code that was learned, the rest included.
    pub fn owns(&self, body: &Body) -> bool {
        let known = |code: &String| {
            self.rest.as_ref() == Some(code) || self.heard.iter().any(|(_, codes)| codes.first() == Some(code))
        };
        self.code_of(body).is_some_and(|code| known(&code))
    }

    /// The code that stands in `body` where the table's code stands.
    pub fn code_of(&self, body: &Body) -> Option<String> {
        let cell = body.cells.get(self.column).filter(|_| self.group.has(body))?;
        Some(cell.code())
    }
}

/// The group's bodies heard while a move was pressed.
fn pressed<'b>(bodies: &'b [Body], group: &Group<'b>) -> Vec<(Motion, &'b Body)> {
    let motion = |body: &&Body| match body.step {
        Some(Step::Move(motion)) => Some(motion),
        _ => None,
    };
    bodies.iter().filter_map(|body| Some((motion(&body)?, body))).filter(|(_, body)| group.has(body)).collect()
}

fn judge<'b>(pressed: &[(Motion, &'b Body)], group: &Group<'b>, column: usize) -> Option<Table<'b>> {
    let said = said(pressed, column);
    let rest = rest(&said);
    let heard: Vec<(Motion, Vec<String>)> =
        said.iter().map(|said| (said.motion, codes(pressed, column, said, rest.as_deref()))).collect();
    let mut firsts: Vec<&String> = heard.iter().filter_map(|(_, codes)| codes.first()).collect();
    firsts.sort_unstable();
    firsts.dedup();
    let single = heard.iter().filter(|(_, codes)| codes.len() == 1).count();
    let rested = said.iter().filter(|said| said.codes.len() > 1 && said.codes.last() == rest.as_ref()).count();
    let word = matches!(group.sample.cells.get(column), Some(Cell::Word(_)));
    let score = Score { codes: firsts.len(), single, rested, word, keyed: group.key.is_some() };
    // Something that counts on is no code.
    let steady = heard.iter().all(|(_, codes)| codes.len() <= 3);
    let useful = score.codes > 0 && single * 2 >= heard.len() && steady;
    useful.then(|| Table { group: group.clone(), column, heard, rest, score })
}

fn said(pressed: &[(Motion, &Body)], column: usize) -> Vec<Said> {
    let moves = Motion::ALL.into_iter().filter(|motion| *motion != Motion::Rest);
    let said = moves.filter_map(|motion| {
        let codes = without_repeats(during(pressed, motion, column).into_iter());
        (!codes.is_empty()).then_some(Said { motion, codes })
    });
    said.collect()
}

/// The codes of one column during one move.
fn during(pressed: &[(Motion, &Body)], motion: Motion, column: usize) -> Vec<String> {
    let own = pressed.iter().filter(move |(known, _)| *known == motion);
    own.filter_map(|(_, body)| Some(body.cells.get(column)?.code())).collect()
}

/// The code that ends at least half of the moves that changed at all.
fn rest(said: &[Said]) -> Option<String> {
    let ends: Vec<&String> =
        said.iter().filter(|said| said.codes.len() > 1).filter_map(|said| said.codes.last()).collect();
    let count = |code: &String| ends.iter().filter(|end| **end == code).count();
    let most = ends.iter().max_by_key(|code| count(code))?;
    (count(most) * 2 >= ends.len()).then(|| (**most).clone())
}

/// The codes of one move without the rest, most frames first.
fn codes(pressed: &[(Motion, &Body)], column: usize, said: &Said, rest: Option<&str>) -> Vec<String> {
    let mut counted: Vec<(String, usize)> = Vec::new();
    for code in during(pressed, said.motion, column) {
        match counted.iter_mut().find(|(known, _)| *known == code) {
            _ if Some(code.as_str()) == rest => {}
            Some((_, count)) => *count += 1,
            None => counted.push((code, 1)),
        }
    }
    counted.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    counted.into_iter().map(|(code, _)| code).collect()
}

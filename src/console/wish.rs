//! What the console asks of the loop.

use wheeltap_parsers::Nanos;

/// Something a person asked for that the console cannot do itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// End the program.
    Quit,
    /// Keep this remark, at the session time on screen.
    Note(String),
    /// This key was tapped together with a button of the panel, just now.
    Tapped,
    /// Begin a lesson, or go on with it.
    Teach,
    /// Give this answer to the lesson.
    Answer(String),
    /// Run the replay, or stand still.
    RunOrStand,
    /// One speed faster.
    Faster,
    /// One speed slower.
    Slower,
    /// One record on.
    StepOn,
    /// One record back.
    StepBack,
    /// Go by this many nanoseconds, back when negative.
    SeekBy(Nanos),
    /// Go to the beginning.
    ToStart,
    /// Go to the end.
    ToEnd,
    /// Go to this instant, nanoseconds.
    GoTo(Nanos),
    /// Another sort of place to go to.
    OtherSort,
    /// Go to the next place of the chosen sort.
    NextPlace,
    /// Go to the place before.
    PreviousPlace,
    /// Go round between two notes, or end that.
    Round,
}

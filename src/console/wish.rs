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
    /// Play or pause the replay.
    PlayPause,
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
    /// Go to the next finding's next place.
    NextFinding,
    /// Go to the place before.
    PreviousFinding,
}

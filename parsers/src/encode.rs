//! Frames written from values: the way back.

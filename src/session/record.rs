//! Sessions written.
